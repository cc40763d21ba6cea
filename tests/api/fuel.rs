//! Fuel of the demo fleet.

use ostler_proto::v1;
use ostler_tests::client::Client;
use ostler_tests::on_both_databases;

use crate::demo;

/// What the fuel of a vehicle of the demo comes to.
struct Expected {
    vehicle: &'static str,
    route_l: f64,
    required_l: f64,
    nominal_l: f64,
    usable_l: f64,
    balance_l: f64,
    balance_percent: f64,
    mean_l_per_100km: f64,
    range_km: f64,
    answer: v1::Answer,
}

/// A reference calculation of its own for the invented demo, written apart from the server.
#[rustfmt::skip]
const EXPECTED: [Expected; 4] = [
    Expected { vehicle: "v1", route_l: 299.6, required_l: 359.5, nominal_l: 373.0, usable_l: 362.0, balance_l: 2.5, balance_percent: 0.7, mean_l_per_100km: 17.6, range_km: 2062.0, answer: v1::Answer::Met },
    Expected { vehicle: "v2", route_l: 256.7, required_l: 308.0, nominal_l: 320.0, usable_l: 311.0, balance_l: 3.0, balance_percent: 1.0, mean_l_per_100km: 15.0, range_km: 2068.0, answer: v1::Answer::MetWithConditions },
    Expected { vehicle: "v3", route_l: 312.3, required_l: 374.8, nominal_l: 390.0, usable_l: 378.0, balance_l: 3.2, balance_percent: 0.9, mean_l_per_100km: 18.3, range_km: 2065.0, answer: v1::Answer::MetWithConditions },
    Expected { vehicle: "v4", route_l: 508.1, required_l: 609.7, nominal_l: 597.0, usable_l: 573.0, balance_l: -36.7, balance_percent: -6.0, mean_l_per_100km: 29.8, range_km: 1925.0, answer: v1::Answer::NotMet },
];

async fn fuel(client: &Client, vehicle: &str) -> v1::FuelResult {
    let request = v1::ComputeFuelRequest {
        departure: demo::DEPARTURE.into(),
        vehicle: match vehicle {
            "" => String::new(),
            vehicle => demo::name(&format!("vehicles/{vehicle}")),
        },
    };
    client.ask(request).await.unwrap()
}

fn close(what: &str, found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{what}: {found}, not {expected}"
    );
}

fn margin(loads: &[v1::WorstLoad], limited: &str) -> f64 {
    let found = loads.iter().find(|worst| worst.limited_load == limited).unwrap();
    found.load.as_ref().unwrap().margin_kg.unwrap()
}

on_both_databases! {
    async fn every_vehicle_matches_the_reference(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let all = fuel(&admin, "").await;
        assert_eq!(all.vehicles.len(), 4);
        for (expected, found) in EXPECTED.iter().zip(&all.vehicles) {
            let id = expected.vehicle;
            assert_eq!(found.vehicle, demo::name(&format!("vehicles/{id}")));
            assert!(found.missing.is_empty(), "{id}: {:?}", found.missing);
            assert_eq!(found.answer(), expected.answer, "{id}");
            // The drums at the airstrip are not confirmed: one interval, and they are said not to count.
            assert_eq!(found.intervals.len(), 1, "{id}");
            assert_eq!(found.points_not_counted, ["Corrow Airstrip is not confirmed"]);
            let interval = &found.intervals[0];
            close(id, interval.litres, expected.route_l, 0.1);
            close(id, interval.required_l, expected.required_l, 0.1);
            close(id, found.nominal_capacity_l.unwrap(), expected.nominal_l, 0.1);
            close(id, interval.usable_at_start_l, expected.usable_l, 0.1);
            close(id, interval.balance_l, expected.balance_l, 0.1);
            close(id, 100.0 * interval.balance_fraction.unwrap(), expected.balance_percent, 0.1);
            close(id, interval.mean_l_per_100km.unwrap(), expected.mean_l_per_100km, 0.1);
            close(id, interval.range_without_reserve_km.unwrap(), expected.range_km, 0.5);
            let burnt_l: f64 = found.legs.iter().map(|leg| leg.litres).sum();
            close(id, burnt_l, interval.litres, 1e-9);
            assert!(found.legs.iter().is_sorted_by(|a, b| a.chance_of_short <= b.chance_of_short), "{id}");
            assert!(found.chance_most.unwrap() < 0.05, "{id}: {:?}", found.chance_most);
        }
        // What counting nominal capacity would say of the truck.
        let truck = &all.vehicles[3].intervals[0];
        close("nominal", 100.0 * truck.nominal_balance_fraction.unwrap(), -2.1, 0.05);
        server.stop().await;
    }

    async fn the_others_cannot_cover_the_truck_but_two_cans_can(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let all = fuel(&admin, "v4").await;
        assert_eq!(all.vehicles.len(), 1);
        let [sharing] = all.sharing.as_slice() else { panic!("{:?}", all.sharing) };
        close("usable", sharing.usable_l, 1624.0, 0.1);
        close("required", sharing.required_l, 1652.0, 0.1);
        close("surplus", sharing.surplus_l, 8.7, 0.1);
        close("shortfall", sharing.shortfall_l, 36.7, 0.1);
        close("uncovered", sharing.uncovered_l, 28.0, 0.1);
        assert!(sharing.moves.iter().all(|one| one.to_vehicle.ends_with("/v4") && one.place == "Dray Bore"));

        let [extra] = all.extra.as_slice() else { panic!("{:?}", all.extra) };
        assert!(extra.covered && !extra.passed_on && extra.missing.is_empty(), "{extra:?}");
        let [load] = extra.loads.as_slice() else { panic!("{extra:?}") };
        assert!(load.vehicle.ends_with("/v4"));
        assert_eq!(load.containers, [v1::ExtraContainers { container: "can-20".into(), count: 2 }]);
        close("mass", load.mass_kg, 41.6, 1e-6);
        assert!(load.balance_after_l.unwrap() > 0.0, "{load:?}");
        // The margins at departure of the reference calculation, less moments of two full cans 2500 mm aft of the
        // front axle on a wheelbase of 3400 mm (own calculation).
        let rear_kg = 41.6 * 2500.0 / 3400.0;
        close("front before", margin(&load.before, "front_axle"), 43.3, 0.1);
        close("front", margin(&load.after, "front_axle"), 43.3 - (41.6 - rear_kg), 0.1);
        close("rear", margin(&load.after, "rear_axle"), 895.2 - rear_kg, 0.1);
        close("gross", margin(&load.after, "total"), 88.5 - 41.6, 0.1);
        server.stop().await;
    }

    async fn a_confirmed_point_parts_the_way_and_a_missing_reserve_is_not_known(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let departure: v1::Departure = admin
            .ask(v1::GetDepartureRequest { name: demo::DEPARTURE.into() })
            .await
            .unwrap();
        let update = |change: &dyn Fn(&mut v1::Departure), path: &str| {
            let mut changed = departure.clone();
            changed.etag = String::new();
            change(&mut changed);
            v1::UpdateDepartureRequest {
                departure: Some(changed),
                update_mask: Some(prost_types::FieldMask { paths: vec![path.into()] }),
                ..Default::default()
            }
        };
        let confirmed = update(
            &|departure| departure.supply_points.iter_mut().for_each(|point| point.confirmed |= point.id == "f1"),
            "supply_points",
        );
        let _: v1::Departure = admin.ask(confirmed).await.unwrap();
        let all = fuel(&admin, "v4").await;
        assert_eq!(all.vehicles[0].intervals.len(), 2);
        assert_eq!(all.vehicles[0].answer(), v1::Answer::Met, "{:?}", all.vehicles[0]);

        let without = update(&|departure| departure.policy.as_mut().unwrap().fuel_reserve = None, "policy.fuel_reserve");
        let _: v1::Departure = admin.ask(without).await.unwrap();
        let all = fuel(&admin, "").await;
        for vehicle in &all.vehicles {
            assert_eq!(vehicle.answer(), v1::Answer::NotKnown);
            assert!(vehicle.missing.iter().any(|missing| missing.contains("fuel_reserve")));
        }
        assert!(!all.sharing_missing.is_empty());
        server.stop().await;
    }
}
