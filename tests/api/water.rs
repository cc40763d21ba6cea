//! Water of the demo fleet.

use ostler_proto::v1;
use ostler_tests::on_both_databases;

use crate::demo;

on_both_databases! {
    async fn every_interval_matches_the_reference(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let request = v1::ComputeWaterRequest { departure: demo::DEPARTURE.into() };
        let water: v1::WaterResult = admin.ask(request).await.unwrap();
        assert!(water.missing.is_empty(), "{:?}", water.missing);
        assert_eq!(water.people_count, 9);
        assert_eq!(water.answer(), v1::Answer::Met);
        // A reference calculation of its own for the invented demo, written apart from the server.
        let expected = [
            ("Kestrel Junction", "Hollow Well", 3.0, 297.0, 263.0),
            ("Hollow Well", "Corrow Airstrip", 7.0, 549.0, 11.0),
            ("Corrow Airstrip", "Varn Crossing", 7.0, 549.0, 11.0),
        ];
        assert_eq!(water.intervals.len(), expected.len());
        for (interval, (start, end, days, required_l, balance_l)) in water.intervals.iter().zip(expected) {
            assert_eq!((interval.start_place.as_str(), interval.end_place.as_str()), (start, end));
            for (found, expected) in [
                (interval.days_counted, days),
                (interval.required_l, required_l),
                (interval.carried_l, 560.0),
                (interval.balance_l, balance_l),
            ] {
                assert!((found - expected).abs() < 0.1, "{start}: {found}, not {expected}");
            }
            let loss = interval.largest_loss.as_ref().unwrap();
            assert_eq!(loss.container, "v4/w4a");
            // Half of it is gone: 9 people at 6 l need 108 l for two days and 324 l for six (own calculation).
            assert_eq!(loss.survived, start == "Kestrel Junction");
        }
        assert_eq!(water.points_not_counted, ["Teal Soak has water for washing only", "Lastwater is not confirmed"]);
        server.stop().await;
    }

    async fn the_policy_decides_what_a_loss_means(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let departure: v1::Departure =
            admin.ask(v1::GetDepartureRequest { name: demo::DEPARTURE.into() }).await.unwrap();
        for (rule, answer) in [
            (v1::WaterLossRule::Unspecified, v1::Answer::Met),
            (v1::WaterLossRule::Condition, v1::Answer::MetWithConditions),
            (v1::WaterLossRule::Required, v1::Answer::NotMet),
        ] {
            let mut changed = departure.clone();
            changed.etag = String::new();
            let policy = changed.policy.as_mut().unwrap();
            policy.water.as_mut().unwrap().largest_loss = rule.into();
            let update = v1::UpdateDepartureRequest {
                departure: Some(changed),
                update_mask: Some(prost_types::FieldMask { paths: vec!["policy".into()] }),
                ..Default::default()
            };
            let _: v1::Departure = admin.ask(update).await.unwrap();
            let readiness = demo::readiness(&admin).await;
            let gate = readiness.gates.iter().find(|gate| gate.id == "water").unwrap();
            assert_eq!(gate.answer(), answer, "{gate:?}");
        }
        server.stop().await;
    }
}
