//! The demo fleet on its springs, and why its first vehicle leans.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo::{self, DEPARTURE};

on_both_databases! {
    async fn every_vehicle_of_the_demo_stands_and_its_wheels_carry_its_weight(database: &Database) {
        let (server, admin) = demo::start(database).await;
        for vehicle in ["v1", "v2", "v3", "v4"] {
            let vehicle = demo::name(&format!("vehicles/{vehicle}"));
            let request = v1::ComputeStanceRequest { departure: DEPARTURE.into(), vehicle: vehicle.clone(), ..Default::default() };
            let stances: v1::ComputeStanceResponse = admin.ask(request).await.unwrap();
            let request = v1::ComputeLoadStatesRequest { departure: DEPARTURE.into(), vehicle: vehicle.clone(), ..Default::default() };
            let loads: v1::ComputeLoadStatesResponse = admin.ask(request).await.unwrap();
            assert_eq!(stances.states.len(), loads.states.len());
            for (stance, load) in stances.states.iter().zip(&loads.states) {
                assert!(stance.missing.is_empty() && stance.problem.is_empty(), "{stance:?}");
                let clearance = stance.clearance_mm.as_ref().unwrap();
                assert!(clearance.value > 0.0 && !clearance.point.is_empty(), "{clearance:?}");
                assert!(stance.approach_deg.is_some() && stance.departure_deg.is_some() && stance.breakover_deg.is_some());
                let wheels: Vec<f64> = stance.wheels.iter().map(|wheel| wheel.load_kg).collect();
                let total = load.total.as_ref().unwrap().load_kg;
                assert!((wheels.iter().sum::<f64>() - total).abs() < 1e-6 * total, "{vehicle} {wheels:?}");
                let front = load.front_axle.as_ref().unwrap().load_kg;
                assert!((wheels[0] + wheels[1] - front).abs() < 1e-6 * total, "{vehicle} {wheels:?}");
            }
        }
        server.stop().await;
    }

    // The heights are the ones written down on the demo's test drive; 23.0 mm is the demo's own reference sum.
    async fn the_exchanged_springs_are_ranked_first_with_their_height(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let request = v1::DiagnoseLeanRequest {
            name: demo::name("weighings/heights-v1-0320"),
            heights: None,
        };
        let diagnosis: v1::LeanDiagnosis = admin.ask(request).await.unwrap();
        let first = &diagnosis.causes[0];
        assert!(first.explanation.starts_with("rear springs exchanged left for right"), "{first:?}");
        assert!((first.rear_difference_mm - 23.0).abs() < 0.1, "{first:?}");
        assert!(first.probability > 0.5, "{first:?}");
        let sum: f64 = diagnosis.causes.iter().map(|cause| cause.probability).sum();
        assert!((sum - 1.0).abs() < 1e-9);
        assert!(!diagnosis.next_measurements[0].predictions.is_empty());

        let readiness = demo::readiness(&admin).await;
        let found = demo::findings(&readiness, "v1");
        let lean = found.iter().find(|(gate, finding)| {
            gate.id == "wheels" && finding.text.contains("rear springs exchanged left for right")
        });
        let (_, lean) = lean.expect("the measured lean of v1");
        assert!(lean.text.contains("23 mm lower") && lean.text.contains("right 23.0 mm lower"), "{}", lean.text);
        let record = found.iter().find(|(gate, finding)| gate.id == "stance" && finding.answer() == v1::Answer::NotMet);
        assert!(record.is_some(), "found from the record alone too");
        for vehicle in ["v2", "v3", "v4"] {
            let gates = demo::findings(&readiness, vehicle);
            let wheels: Vec<_> = gates.iter().filter(|(gate, _)| gate.id == "wheels").collect();
            assert!(!wheels.is_empty());
            for (_, finding) in wheels {
                assert_eq!(finding.answer(), v1::Answer::Met, "{vehicle}: {}", finding.text);
            }
        }
        server.stop().await;
    }

    // Statics: with the front raised the rear scale reads (M/L)(x + h' tan angle); 800 mm and x 1 520 mm put in, own
    // calculation. Half the track over the height is the US road-safety agency's static stability factor (read):
    // 1 545 / (2 x 800) = 0.9656, atan of it 44.0 degrees.
    async fn stability_is_computed_from_raised_axle_readings_alone(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let reading = |angle_deg: f64, scale_kg: f64| v1::RaisedAxleReading {
            raised: v1::RaisedAxle::Front.into(),
            angle_deg,
            scale_kg,
        };
        let mut request = v1::ComputeStabilityRequest {
            wheelbase_mm: 2850.0,
            front_track_mm: 1545.0,
            rear_track_mm: 1545.0,
            height: Some(v1::compute_stability_request::Height::RaisedAxle(v1::RaisedAxleReadings {
                mass_kg: 3000.0,
                front_loaded_radius_mm: 380.0,
                rear_loaded_radius_mm: 380.0,
                scale_tolerance_kg: 2.0,
                readings: vec![
                    reading(0.0, 1600.0),
                    reading(10.0, 1677.96),
                    reading(15.0, 1718.46),
                    reading(20.0, 1760.91),
                ],
                ..Default::default()
            })),
            ..Default::default()
        };
        let found: v1::Stability = admin.ask(request.clone()).await.unwrap();
        assert!((found.height_mm - 800.0).abs() < 0.5, "{found:?}");
        assert!((found.centre_x_mm - 1520.0).abs() < 0.5, "{found:?}");
        assert!((found.static_stability_factor - 0.9656).abs() < 0.001, "{found:?}");
        assert!((found.left_ceiling.unwrap().ceiling_deg - 44.0).abs() < 0.05);
        assert!(found.cautions.iter().any(|caution| caution.contains("never a safe slope")));
        request.height = None;
        let refused = admin.ask::<v1::Stability>(request).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument);
        server.stop().await;
    }

    // The readings of v1 were made from a bare height of 770 mm by moments (own calculation), rounded to whole kilograms.
    async fn stability_of_the_demo_is_known_and_as_asked_at_every_moment(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let readiness = demo::readiness(&admin).await;
        for (vehicle, track_mm) in [("v1", 1640.0), ("v2", 1560.0), ("v3", 1460.0), ("v4", 1740.0)] {
            let request = v1::ComputeVehicleStabilityRequest {
                departure: DEPARTURE.into(),
                vehicle: demo::name(&format!("vehicles/{vehicle}")),
            };
            let found: v1::VehicleStability = admin.ask(request).await.unwrap();
            assert!(found.missing.is_empty(), "{vehicle}: {:?}", found.missing);
            if vehicle == "v1" {
                assert!((found.bare_height_mm.unwrap() - 770.0).abs() < 5.0, "{found:?}");
            }
            for state in &found.states {
                let stability = state.stability.as_ref().unwrap_or_else(|| panic!("{vehicle} {state:?}"));
                let by_definition = track_mm / 2.0 / stability.height_mm;
                assert!((stability.static_stability_factor - by_definition).abs() < 1e-9, "{vehicle} {stability:?}");
                assert!(stability.unconfirmed.is_empty());
            }
            assert!(found.cautions.iter().any(|caution| caution.contains("never a safe slope")));
            let gates = demo::findings(&readiness, vehicle);
            let stability: Vec<_> = gates.iter().filter(|(gate, _)| gate.id == "stability").collect();
            assert_eq!(stability.len(), 2, "{vehicle}");
            for (_, finding) in stability {
                assert_eq!(finding.answer(), v1::Answer::Met, "{vehicle}: {}", finding.text);
            }
        }
        server.stop().await;
    }

    async fn pictures_are_drawn_when_asked_for(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let vehicle = demo::name("vehicles/v2");
        let mut request = v1::ComputeStanceRequest {
            departure: DEPARTURE.into(),
            vehicle: vehicle.clone(),
            picture_of: "departure".into(),
        };
        let drawn: v1::ComputeStanceResponse = admin.ask(request.clone()).await.unwrap();
        // The rear axle of the second vehicle is over its rating, its wheels are not over their tyres.
        assert!(drawn.picture_svg.starts_with("<svg") && drawn.picture_svg.contains("OVER: rear axle"));
        request.picture_of = "on the moon".into();
        let refused = admin.ask::<v1::ComputeStanceResponse>(request).await.unwrap_err();
        assert_eq!(ostler_tests::client::Refusal::of(&refused).fields(), ["picture_of"]);
        let request = v1::ComputeLoadStatesRequest { departure: DEPARTURE.into(), vehicle, picture: true };
        let run: v1::ComputeLoadStatesResponse = admin.ask(request).await.unwrap();
        assert!(run.picture_svg.contains("OVER the limit of 2,020 kg by 38"), "{}", run.picture_svg);
        server.stop().await;
    }

    async fn a_weighing_without_heights_asks_for_them(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let mut request = v1::DiagnoseLeanRequest { name: demo::name("weighings/wb-1182"), heights: None };
        let refused = admin.ask::<v1::LeanDiagnosis>(request.clone()).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument);
        assert!(refused.message().contains("heights"), "{}", refused.message());
        request.heights = Some(v1::Heights {
            floor_level: true,
            readings: [v1::WheelPosition::RearLeft, v1::WheelPosition::RearRight]
                .map(|wheel| v1::HeightReading {
                    wheel: wheel.into(),
                    kind: v1::HeightKind::ArchToFloor.into(),
                    height_mm: 960.0,
                    tolerance_mm: None,
                })
                .into(),
        });
        let diagnosis: v1::LeanDiagnosis = admin.ask(request).await.unwrap();
        assert!(diagnosis.missing.is_empty(), "{:?}", diagnosis.missing);
        assert!(diagnosis.causes[0].explanation.starts_with("springs, load and floor as recorded"), "{:?}", diagnosis.causes[0]);
        server.stop().await;
    }
}
