//! Tyres and spare wheels of the demo fleet, and one tyre at the bench.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo::{self, DEPARTURE};

on_both_databases! {
    async fn every_tyre_of_the_demo_is_known_and_reduced_pressures_carry_their_speed(database: &Database) {
        let (server, admin) = demo::start(database).await;
        for vehicle in ["v1", "v2", "v3", "v4"] {
            let vehicle = demo::name(&format!("vehicles/{vehicle}"));
            let request = v1::ComputeTyresRequest { departure: DEPARTURE.into(), vehicle: vehicle.clone() };
            let tyres: v1::ComputeTyresResponse = admin.ask(request).await.unwrap();
            assert_eq!(tyres.axles.len(), 2);
            for axle in &tyres.axles {
                let (load_kg, capacity_kg) = (axle.wheel_load_kg.unwrap(), axle.capacity_kg.unwrap());
                assert!(axle.from_stance && load_kg < capacity_kg, "{vehicle} {axle:?}");
                assert_eq!(axle.planned.len(), 4);
                assert!(axle.needed_kpa.is_some());
            }
            for finding in &tyres.findings {
                let reduced = finding.text.starts_with("reduced pressures as planned");
                let open = finding.answer() != v1::Answer::Met;
                assert!(!open || reduced, "{vehicle}: {}", finding.text);
                assert!(!reduced || finding.text.contains("at most 30 km/h"), "{vehicle}: {}", finding.text);
            }
        }
        server.stop().await;
    }

    // The scenario of the demo: V1 and V3 share rims, but one runs tubeless and the other with tubes; no other pair shares a
    // bolt circle.
    async fn spares_serve_their_own_vehicles_and_two_share_in_emergency(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let request = v1::ComputeSpareInterchangeRequest { departure: DEPARTURE.into() };
        let spares: v1::ComputeSpareInterchangeResponse = admin.ask(request).await.unwrap();
        assert!(spares.missing.is_empty(), "{:?}", spares.missing);
        let wheels = spares.pairs.iter().filter(|pair| pair.pieces() == v1::SparePieces::Wheel);
        let mut seen = 0;
        for pair in wheels {
            let id = |name: &str| name.rsplit('/').next().unwrap().to_owned();
            let expected = match (id(&pair.carried_on).as_str(), id(&pair.vehicle).as_str()) {
                (on, of) if on == of => v1::SpareOutcome::Serves,
                ("v1", "v3") | ("v3", "v1") => v1::SpareOutcome::EmergencyOnly,
                _ => v1::SpareOutcome::DoesNotServe,
            };
            assert_eq!(pair.outcome(), expected, "{pair:?}");
            seen += 1;
        }
        assert_eq!(seen, 6 * 4);
        let readiness = demo::readiness(&admin).await;
        let gate = readiness.gates.iter().find(|gate| gate.id == "spares_fit").unwrap();
        assert_eq!(gate.answer(), v1::Answer::Met, "{gate:?}");
        server.stop().await;
    }

    // 265/75R16 is 803.9 mm by the published design-size form; load index 123 is 1,550 kg in the published table.
    async fn a_tyre_at_the_bench_needs_no_record(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let request = v1::CalculateTyreRequest {
            designation: "lt265/75 r16 123/120q".into(),
            rated_pressure_kpa: Some(450.0),
            load_kg: Some(1550.0),
            load_exponent: Some(0.7),
            ..Default::default()
        };
        let tyre: v1::TyreCalculation = admin.ask(request.clone()).await.unwrap();
        assert!((tyre.diameter_mm.unwrap() - 803.9).abs() < 0.01 && tyre.diameter_is_nominal);
        assert_eq!((tyre.capacity_kg, tyre.needed_kpa), (Some(1550.0), Some(450.0)));
        let request = v1::CalculateTyreRequest { designation: "265/75Q16".into(), ..request };
        let refused: tonic::Status = admin.ask::<v1::TyreCalculation>(request).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument);
        server.stop().await;
    }
}
