//! Restraint of the demo fleet, and of data that are given.

use ostler_proto::v1;
use ostler_proto::v1::assess_restraint_request::Subject;
use ostler_tests::client::{Client, Refusal};
use ostler_tests::on_both_databases;
use tonic::{Code, Status};

use crate::demo;

async fn ask(client: &Client, subject: Option<Subject>) -> Result<v1::AssessRestraintResponse, Status> {
    client.ask(v1::AssessRestraintRequest { subject }).await
}

fn recorded(vehicle: &str, ids: &[&str]) -> Option<Subject> {
    Some(Subject::Recorded(v1::RecordedRestraint {
        departure: demo::DEPARTURE.into(),
        vehicle: demo::name(&format!("vehicles/{vehicle}")),
        ids: ids.iter().map(|id| (*id).to_owned()).collect(),
    }))
}

/// 1,000 kg on a friction of 0.4, held by one strap of 10,000 N straight to the rear.
fn given() -> v1::GivenRestraint {
    v1::GivenRestraint {
        mass_kg: 1_000.0,
        restraint: Some(v1::Restraint {
            friction: Some(0.4),
            lashings: vec![v1::Lashing {
                name: "chain".into(),
                count: 1,
                ratings: Some(v1::LashingRatings {
                    lashing_capacity_n: Some(10_000.0),
                    ..Default::default()
                }),
                geometry: Some(v1::lashing::Geometry::DirectBearing(v1::LashingBearing {
                    angle_to_deck_deg: 0.0,
                    bearing_deg: 180.0,
                })),
            }],
            ..Default::default()
        }),
        standard: v1::RestraintStandard::AuGuide2018.into(),
        ..Default::default()
    }
}

on_both_databases! {
    /// Required forward forces as stated with the invented convoy, in kgf.
    async fn exactly_the_four_stated_items_of_the_demo_are_short(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let mut short = Vec::new();
        for vehicle in ["v1", "v2", "v3", "v4"] {
            let found = ask(&admin, recorded(vehicle, &[])).await.unwrap();
            assert!(found.missing.is_empty() && !found.cautions.is_empty());
            for thing in &found.things {
                assert_ne!(thing.answer(), v1::Answer::NotKnown, "{thing:?}");
                for row in thing.assessments.iter().flat_map(|assessment| &assessment.rows) {
                    if row.shortfall_n > 0.0 {
                        assert_eq!(row.direction(), v1::RestraintDirection::Forward);
                        let id = thing.record.rsplit('/').next().unwrap_or_default().to_owned();
                        let required_kgf = (row.required_n / 9.806_65 * 10.0).round() / 10.0;
                        // One strap of the policy closes each.
                        assert_eq!(row.closing[0].further_count, Some(1), "{row:?}");
                        short.push((id, required_kgf));
                    }
                }
            }
        }
        short.sort_by(|left, right| left.0.cmp(&right.0));
        let stated = [("c012", 15.2), ("c069", 22.8), ("c070", 38.4), ("c089", 46.4)];
        assert_eq!(short, stated.map(|(id, kgf)| (id.to_owned(), kgf)));
        server.stop().await;
    }

    async fn one_thing_of_a_vehicle_can_be_asked_about_and_a_wrong_one_is_named(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let found = ask(&admin, recorded("v4", &["t4c"])).await.unwrap();
        assert_eq!(found.things.len(), 1);
        // 205 l of diesel at 0.84 kg/l and a drum of 18 kg (own calculation).
        assert!((found.things[0].mass_kg.unwrap() - 190.2).abs() < 1e-9);
        assert_eq!(found.things[0].answer(), v1::Answer::Met);
        let refused = Refusal::of(&ask(&admin, recorded("v4", &["c089", "c012"])).await.unwrap_err());
        assert_eq!((refused.code, refused.fields()), (Code::InvalidArgument, vec!["recorded.ids[1]"]));
        let refused = Refusal::of(&ask(&admin, None).await.unwrap_err());
        assert_eq!((refused.code, refused.fields()), (Code::InvalidArgument, vec!["recorded"]));
        server.stop().await;
    }

    /// 0.8 x 1,000 kg x 9.80665 = 7,845 N forward. Friction by the guide's formula as in its published clamping table
    /// (c / mu - 0.8): 0.4 x 0.8 x 9,806.65 = 3,138 N; the strap adds 10,000 N forward and nothing elsewhere
    /// (own calculation).
    async fn data_that_are_given_are_assessed_without_a_record(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let found = ask(&admin, Some(Subject::Given(given()))).await.unwrap();
        let rows = &found.things[0].assessments[0].rows;
        let row = |direction| rows.iter().find(|row| row.direction() == direction).unwrap();
        let forward = row(v1::RestraintDirection::Forward);
        assert!((forward.required_n - 7_845.32).abs() < 0.01 && (forward.provided_n - 13_138.128).abs() < 0.01);
        assert_eq!(forward.answer(), v1::Answer::Met);
        let rearward = row(v1::RestraintDirection::Rearward);
        assert!((rearward.shortfall_n - (4_903.325 - 3_138.128)).abs() < 0.01, "{rearward:?}");
        assert_eq!(found.things[0].answer(), v1::Answer::NotMet);

        let mut light = given();
        light.standard = v1::RestraintStandard::En1219512010.into();
        light.gross_mass_kg = Some(3_500.0);
        let found = ask(&admin, Some(Subject::Given(light))).await.unwrap();
        let scope = &found.things[0].assessments[0].scope;
        assert!(scope.iter().any(|scope| scope.outside == Some(true) && scope.text.contains("3,500 kg")), "{scope:?}");

        let mut nothing_asked = given();
        nothing_asked.standard = 0;
        let refused = Refusal::of(&ask(&admin, Some(Subject::Given(nothing_asked))).await.unwrap_err());
        assert_eq!(refused.fields(), ["given.standard"]);
        let mut leads_nowhere = given();
        leads_nowhere.restraint.as_mut().unwrap().lashings[0].geometry =
            Some(v1::lashing::Geometry::DirectLead(v1::LashingLead::default()));
        let refused = Refusal::of(&ask(&admin, Some(Subject::Given(leads_nowhere))).await.unwrap_err());
        assert_eq!(refused.fields(), ["given.restraint.lashings[0].direct_lead"]);
        server.stop().await;
    }
}
