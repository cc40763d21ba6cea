//! Conditions that somebody signs for.

use ostler_proto::v1;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use tonic::{Code, Status};

use crate::demo::{self, DEPARTURE, FLEET};

async fn sign(
    client: &Client,
    id: &str,
    vehicle: &str,
    gate: &str,
    finding: &str,
) -> Result<v1::Acceptance, Status> {
    let request = v1::AcceptFindingRequest {
        parent: FLEET.into(),
        acceptance_id: id.into(),
        acceptance: Some(v1::Acceptance {
            departure: DEPARTURE.into(),
            vehicle: demo::name(&format!("vehicles/{vehicle}")),
            gate: gate.into(),
            finding: finding.into(),
            condition: Some(v1::AcceptedCondition {
                condition: "no more load in front".into(),
                owner: "driver".into(),
                check_interval: "every morning".into(),
                accepted_by: "convoy lead".into(),
                accepted_date: "2027-05-20".into(),
            }),
            ..Default::default()
        }),
        ..Default::default()
    };
    client.ask(request).await
}

fn gate<'a>(readiness: &'a v1::Readiness, vehicle: &str, id: &str) -> &'a v1::Gate {
    let vehicle = demo::name(&format!("vehicles/{vehicle}"));
    let own = readiness.vehicles.iter().find(|own| own.vehicle == vehicle);
    own.unwrap().gates.iter().find(|gate| gate.id == id).unwrap()
}

/// Keys of the conditions of a gate that nobody has signed for.
fn open(gate: &v1::Gate) -> Vec<String> {
    gate.findings
        .iter()
        .filter(|finding| finding.answer() == v1::Answer::MetWithConditions && finding.acceptance.is_empty())
        .map(|finding| finding.key.clone())
        .collect()
}

on_both_databases! {
    async fn a_gate_whose_conditions_are_signed_for_is_met(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::readiness(&admin).await;
        assert_eq!(gate(&before, "v4", "axles").answer(), v1::Answer::MetWithConditions);
        let keys = open(gate(&before, "v4", "axles"));
        assert!(!keys.is_empty() && keys.iter().all(|key| !key.is_empty()), "{keys:?}");
        for (index, key) in keys.iter().enumerate() {
            let signed = sign(&admin, &format!("a{index}"), "v4", "axles", key).await.unwrap();
            assert_eq!(signed.signed_by, "admin");
            assert!(!signed.finding_text.is_empty());
        }
        let after = demo::readiness(&admin).await;
        let signed = gate(&after, "v4", "axles");
        assert_eq!(signed.answer(), v1::Answer::Met, "{}", signed.summary);
        assert_eq!(open(signed), Vec::<String>::new());

        let request = v1::DeleteAcceptanceRequest { name: demo::name("acceptances/a0"), ..Default::default() };
        admin.ask::<()>(request).await.unwrap();
        assert_eq!(gate(&demo::readiness(&admin).await, "v4", "axles").answer(), v1::Answer::MetWithConditions);
        server.stop().await;
    }

    async fn a_condition_that_got_worse_is_signed_for_again(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let keys = open(gate(&demo::readiness(&admin).await, "v4", "axles"));
        for (index, key) in keys.iter().enumerate() {
            sign(&admin, &format!("a{index}"), "v4", "axles", key).await.unwrap();
        }
        let more = |mass_kg: f64| v1::CreateCargoItemRequest {
            parent: FLEET.into(),
            cargo_item_id: "anvil".into(),
            cargo_item: Some(v1::CargoItem {
                display_name: "anvil".into(),
                vehicle: demo::name("vehicles/v4"),
                zone: "tray-rear".into(),
                quantity: 1,
                unit_mass: Some(v1::Mass {
                    mass_kg,
                    provenance: v1::MassProvenance::Weighed.into(),
                    ..Default::default()
                }),
                position: Some(v1::Position { x_mm: 0.0, y_mm: 0.0, z_mm: Some(1_200.0) }),
                ..Default::default()
            }),
            ..Default::default()
        };
        admin.ask::<v1::CargoItem>(more(2.0)).await.unwrap();
        let after = demo::readiness(&admin).await;
        let axles = gate(&after, "v4", "axles");
        assert_eq!(axles.answer(), v1::Answer::MetWithConditions, "{}", axles.summary);
        assert!(!open(gate(&after, "v4", "axles")).is_empty());
        server.stop().await;
    }

    async fn only_a_condition_can_be_signed_for_and_only_by_who_may(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let readiness = demo::readiness(&admin).await;
        let blocking = gate(&readiness, "v2", "axles");
        let not_met = blocking.findings.iter().find(|finding| finding.answer() == v1::Answer::NotMet).unwrap();
        let refusal = refused(sign(&admin, "a1", "v2", "axles", &not_met.key).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["acceptance.finding"]));
        assert!(refusal.violations[0].1.contains("not met"), "{:?}", refusal.violations);
        let refusal = refused(sign(&admin, "a1", "v2", "axels", "x").await);
        assert_eq!(refusal.fields(), ["acceptance.gate"]);
        let refusal = refused(sign(&admin, "a1", "v2", "axles", "no-such-finding").await);
        assert_eq!(refusal.fields(), ["acceptance.finding"]);

        let key = open(gate(&readiness, "v4", "axles")).remove(0);
        let workshop = server.add_token("workshop", v1::Role::Workshop).await;
        assert_eq!(refused(sign(&workshop, "a1", "v4", "axles", &key).await).reason, "ROLE_TOO_WEAK");
        let lead = server.add_token("lead", v1::Role::Lead).await;
        let mut departure: v1::Departure = admin.ask(v1::GetDepartureRequest { name: DEPARTURE.into() }).await.unwrap();
        departure.policy.get_or_insert_default().acceptance_roles.insert("axles".into(), v1::Role::Admin.into());
        let request = v1::UpdateDepartureRequest { departure: Some(departure), ..Default::default() };
        admin.ask::<v1::Departure>(request).await.unwrap();
        let refusal = refused(sign(&lead, "a1", "v4", "axles", &key).await);
        assert_eq!((refusal.reason.as_str(), refusal.metadata["needed_role"].as_str()), ("ROLE_TOO_WEAK", "admin"));
        sign(&admin, "a1", "v4", "axles", &key).await.unwrap();
        server.stop().await;
    }

    async fn a_gate_that_does_not_bind_is_shown_and_does_not_count(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::readiness(&admin).await;
        let every: Vec<String> = before.vehicles.iter().flat_map(|own| &own.gates).chain(&before.gates)
            .map(|gate| gate.id.clone()).collect();
        let mut departure: v1::Departure = admin.ask(v1::GetDepartureRequest { name: DEPARTURE.into() }).await.unwrap();
        let mut gates = every.clone();
        gates.sort();
        gates.dedup();
        gates.retain(|gate| gate != "masses");
        departure.policy.get_or_insert_default().not_binding_gates = gates;
        let request = v1::UpdateDepartureRequest { departure: Some(departure), ..Default::default() };
        admin.ask::<v1::Departure>(request).await.unwrap();
        let after = demo::readiness(&admin).await;
        let worst = after.vehicles.iter().map(|own| gate(&after, own.vehicle.rsplit('/').next().unwrap(), "masses").answer).max();
        assert_eq!(worst, Some(v1::Answer::MetWithConditions.into()));
        assert_eq!(after.verdict(), v1::Verdict::GoWithConditions);
        assert!(after.vehicles.iter().flat_map(|own| &own.gates).all(|gate| gate.not_binding == (gate.id != "masses")));
        server.stop().await;
    }
}
