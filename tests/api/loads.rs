//! Masses and axle loads of the demo fleet at departure.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo;

/// What a vehicle of the demo loads.
struct Expected {
    vehicle: &'static str,
    /// Baseline, change by parts fitted since, people, fuel, water, cargo, kilograms.
    parts_kg: [f64; 6],
    /// Total, front axle, rear axle, kilograms.
    loads_kg: [f64; 3],
    /// Margins of the same, kilograms.
    margins_kg: [f64; 3],
    lateral_moment_kgm: f64,
    roof_kg: f64,
}

/// A reference calculation of its own for the invented demo: a script that sums masses and moments of
/// the scenario, written apart from the server.
const EXPECTED: [Expected; 4] = [
    Expected {
        vehicle: "v1",
        parts_kg: [2684.4, 0.0, 164.0, 333.3, 94.0, 472.9],
        loads_kg: [3748.6, 1515.8, 2232.9],
        margins_kg: [51.4, 284.2, 17.1],
        lateral_moment_kgm: 7.3,
        roof_kg: 44.5,
    },
    Expected {
        vehicle: "v2",
        parts_kg: [2474.8, 0.0, 157.0, 289.8, 88.0, 422.4],
        loads_kg: [3432.0, 1374.2, 2057.8],
        margins_kg: [68.0, 175.8, -37.8],
        lateral_moment_kgm: -10.8,
        roof_kg: 0.0,
    },
    Expected {
        vehicle: "v3",
        parts_kg: [2469.0, 38.0, 240.0, 347.6, 113.0, 555.3],
        loads_kg: [3762.9, 1410.7, 2352.2],
        margins_kg: [137.1, 189.3, 97.8],
        lateral_moment_kgm: -68.1,
        roof_kg: 81.0,
    },
    Expected {
        vehicle: "v4",
        parts_kg: [3999.6, 0.0, 177.0, 539.3, 308.0, 1387.6],
        loads_kg: [6411.5, 2706.7, 3704.8],
        margins_kg: [88.5, 43.3, 895.2],
        lateral_moment_kgm: -130.5,
        roof_kg: 0.0,
    },
];

fn close(what: &str, found: f64, expected: f64) {
    assert!((found - expected).abs() <= 0.1, "{what}: {found}, not {expected}");
}

on_both_databases! {
    async fn the_demo_weighs_what_its_reference_says(database: &Database) {
        let (server, admin) = demo::start(database).await;
        for expected in EXPECTED {
            let vehicle = expected.vehicle;
            let request = v1::ComputeLoadsRequest {
                departure: demo::DEPARTURE.into(),
                vehicle: demo::name(&format!("vehicles/{vehicle}")),
            };
            let found: v1::LoadResult = admin.ask(request).await.unwrap();
            let parts_kg = [
                found.baseline_mass_kg,
                found.fitment_change_kg,
                found.crew_mass_kg,
                found.fuel_mass_kg,
                found.water_mass_kg,
                found.cargo_mass_kg,
            ];
            for (what, (found, expected)) in
                ["baseline", "fitments", "crew", "fuel", "water", "cargo"].into_iter().zip(parts_kg.into_iter().zip(expected.parts_kg))
            {
                close(&format!("{vehicle} {what}"), found, expected);
            }
            let loads = [&found.total, &found.front_axle, &found.rear_axle].map(|load| load.as_ref().unwrap());
            for (index, load) in loads.into_iter().enumerate() {
                close(&format!("{vehicle} load {index}"), load.load_kg, expected.loads_kg[index]);
                close(&format!("{vehicle} margin {index}"), load.margin_kg.unwrap(), expected.margins_kg[index]);
            }
            close(vehicle, found.lateral_moment_kgm, expected.lateral_moment_kgm);
            let roof_kg = found.roof.as_ref().map_or(0.0, |roof| roof.load_kg);
            close(&format!("{vehicle} roof"), roof_kg, expected.roof_kg);
            let lines_kg: f64 = found.lines.iter().map(|line| line.mass_kg).sum();
            close(&format!("{vehicle} sum of lines"), lines_kg, loads[0].load_kg);
        }
        server.stop().await;
    }

    async fn rear_axle_of_v2_is_over_while_the_vehicle_is_not(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let request = v1::ComputeLoadsRequest {
            departure: demo::DEPARTURE.into(),
            vehicle: demo::name("vehicles/v2"),
        };
        let found: v1::LoadResult = admin.ask(request).await.unwrap();
        assert_eq!(found.rear_axle.unwrap().answer(), v1::Answer::NotMet);
        assert_ne!(found.total.unwrap().answer(), v1::Answer::NotMet);
        server.stop().await;
    }

    async fn a_later_weighing_becomes_the_baseline_and_others_are_refused(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let request = v1::GetWeighingRequest { name: demo::name("weighings/wb-1181") };
        let mut weighing: v1::Weighing = admin.ask(request).await.unwrap();
        weighing.weighed_date = "2027-03-30".to_owned();
        weighing.name = String::new();
        weighing.etag = String::new();
        let request = v1::CreateWeighingRequest {
            parent: demo::FLEET.into(),
            weighing_id: "wb-later".into(),
            weighing: Some(weighing),
            ..Default::default()
        };
        let later: v1::Weighing = admin.ask(request).await.unwrap();
        let adopt = |weighing: &str| v1::AdoptBaselineRequest {
            name: demo::name(&format!("weighings/{weighing}")),
            ..Default::default()
        };
        let vehicle: v1::Vehicle = admin.ask(adopt("wb-later")).await.unwrap();
        assert_eq!(vehicle.baseline_weighing, later.name);
        // The baseline already, older than it, without scale readings.
        for (weighing, said) in [
            ("wb-later", "already"),
            ("wb-1181", "older"),
            ("heights-v1-0320", "no scale readings"),
        ] {
            let refused = admin.ask::<v1::Vehicle>(adopt(weighing)).await.unwrap_err();
            assert_eq!(refused.code(), Code::FailedPrecondition, "{weighing}");
            assert!(refused.message().contains(said), "{weighing}: {}", refused.message());
        }
        server.stop().await;
    }
}
