//! Readiness of the demo fleet: what stands in its way, by name.

use ostler_proto::v1;
use ostler_tests::on_both_databases;

use crate::demo;

/// The substitutions of the demo that block, with the interfaces that do.
const BLOCKING: [(&str, &[&str]); 7] = [
    ("s01", &["output_flange.rear", "parking_brake"]),
    ("s03", &["u_bolt_leg_length"]),
    ("s04", &["closed_length"]),
    ("s05", &["thread_engagement"]),
    ("s06", &["load_capacity_kg"]),
    ("s08", &["end_inside_diameter.engine"]),
    ("s10", &["spigot_thread"]),
];

/// Those that do not.
const NOT_BLOCKING: [&str; 3] = ["s02", "s07", "s09"];

async fn assess(client: &ostler_tests::client::Client, id: &str) -> v1::SubstitutionAssessment {
    let name = demo::name(&format!("substitutions/{id}"));
    let request = v1::AssessSubstitutionRequest {
        subject: Some(v1::assess_substitution_request::Subject::Name(name)),
        ..Default::default()
    };
    client.ask(request).await.unwrap()
}

fn blocking_kinds(assessment: &v1::SubstitutionAssessment) -> Vec<&str> {
    let mut kinds: Vec<&str> = assessment
        .interfaces
        .iter()
        .filter(|interface| interface.blocks)
        .map(|interface| interface.interface_kind.as_str())
        .collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

on_both_databases! {
    async fn the_demo_does_not_go_and_says_why(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let readiness = demo::readiness(&admin).await;
        assert_eq!(readiness.verdict(), v1::Verdict::NoGo);
        assert_eq!(readiness.vehicles.len(), 4);

        let axle = demo::findings(&readiness, "v2").into_iter().find(|(gate, finding)| {
            gate.id == "axles" && finding.answer() == v1::Answer::NotMet
        });
        let (_, axle) = axle.expect("the rear axle of v2");
        assert!(axle.text.to_lowercase().contains("rear"), "{}", axle.text);
        let over = axle.figures.iter().find(|figure| figure.id.contains("margin") && (figure.value + 37.8).abs() < 0.1);
        assert!(over.is_some() || axle.text.contains("37.8"), "{axle:?}");

        let tank = demo::findings(&readiness, "v3").into_iter().find(|(gate, finding)| {
            gate.id == "rules" && finding.records.iter().any(|record| record.ends_with("regulatedItems/k07"))
                && finding.answer() == v1::Answer::NotMet
        });
        let (_, tank) = tank.expect("the bolted tank of v3");
        assert!(tank.text.to_lowercase().contains("certificate"), "{tank:?}");

        let inspection = demo::findings(&readiness, "v1").into_iter().find(|(_, finding)| {
            finding.answer() == v1::Answer::NotMet && finding.text.contains("inspection")
        });
        assert!(inspection.is_some(), "the inspection of v1 expires before departure: {:#?}", demo::findings(&readiness, "v1"));
        server.stop().await;
    }

    async fn seven_of_ten_substitutions_block_each_by_its_interface(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let readiness = demo::readiness(&admin).await;
        for (id, kinds) in BLOCKING {
            let assessment = assess(&admin, id).await;
            assert!(assessment.blocks, "{id}");
            assert_eq!(blocking_kinds(&assessment), kinds, "{id}");
            let record = demo::name(&format!("substitutions/{id}"));
            let named = readiness.vehicles.iter().flat_map(|vehicle| &vehicle.gates).any(|gate| {
                gate.findings.iter().any(|finding| {
                    finding.records.contains(&record)
                        && matches!(finding.answer(), v1::Answer::NotMet | v1::Answer::NotKnown)
                })
            });
            assert!(named, "readiness does not name {id}");
        }
        for id in NOT_BLOCKING {
            let assessment = assess(&admin, id).await;
            assert!(!assessment.blocks, "{id} by {:?}", blocking_kinds(&assessment));
        }
        server.stop().await;
    }
}
