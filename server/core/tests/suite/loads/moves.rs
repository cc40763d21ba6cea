//! The smallest single move of cargo that clears an axle.

use ostler_core::loads::{CargoMove, LimitedLoad, compute, smallest_move};
use ostler_core::record::{Departure, Record};

use crate::builder::{
    add_cargo, add_vehicle, add_way, at, cargo, departure, fill, going, kg, name, record, v1, v1_mut,
};
use crate::builder::{vehicle, weighing, zone};

/// `v1` with its rear axle over by `excess_kg`, a zone in front of the rear axle, and three boxes in the
/// rear, of 10, 20 and 60 kg.
fn over_by(excess_kg: f64) -> (Record, Departure) {
    let mut record = record();
    let mut departure = departure();
    add_way(&mut departure);
    for (item, mass_kg) in [("small", 10.0), ("middle", 20.0), ("large", 60.0)] {
        add_cargo(&mut record, cargo(item, "v1", "rear", kg(mass_kg, 0.1)));
    }
    let front = zone("front", 300.0, None, false);
    v1_mut(&mut record).specification.zones.push(front);
    let rear_kg = compute(&record, &departure, v1(&record))
        .rear_axle
        .unwrap()
        .load_kg;
    v1_mut(&mut record).specification.rear_axle_rating_kg = Some(rear_kg - excess_kg);
    (record, departure)
}

fn of(record: &Record, departure: &Departure) -> Option<CargoMove> {
    smallest_move(record, departure, v1(record), &LimitedLoad::RearAxle)
}

/// From the rear zone at 3,300 mm to the front one at 300 mm takes the whole mass off the rear axle, with a
/// wheelbase of 3,000 mm: 20 kg clear an excess of 15 kg and leave 5 kg, 10 kg do not.
#[test]
fn the_lightest_item_that_clears_it_is_named() {
    let (record, departure) = over_by(15.0);
    let found = of(&record, &departure).unwrap();
    assert_eq!(found.cargo_item, name("cargoItems/middle"));
    assert_eq!(
        (found.to_vehicle, &*found.to_zone),
        (name("vehicles/v1"), "front")
    );
    assert!((found.margin_kg - 5.0).abs() < 1e-9);
}

#[test]
fn what_is_pinned_stays_and_a_full_zone_takes_nothing() {
    let (mut record, departure) = over_by(15.0);
    let middle = name("cargoItems/middle");
    record.cargo_items.get_mut(&middle).unwrap().pinned = true;
    assert_eq!(
        of(&record, &departure).unwrap().cargo_item,
        name("cargoItems/large")
    );
    v1_mut(&mut record).specification.zones[2].limit_kg = Some(30.0);
    assert_eq!(of(&record, &departure), None);
}

#[test]
fn another_vehicle_with_margin_may_take_it_and_one_without_may_not() {
    let (mut record, mut departure) = over_by(15.0);
    v1_mut(&mut record).specification.zones.pop();
    add_vehicle(&mut record, vehicle("v2"), weighing("v2"));
    let fills = vec![fill("main", 50.0), fill("water", 10.0)];
    departure.vehicles.push(going("v2", fills));
    let found = of(&record, &departure).unwrap();
    assert_eq!(found.cargo_item, name("cargoItems/middle"));
    assert_eq!((found.to_vehicle, &*found.to_zone), (name("vehicles/v2"), "rear"));
    let v2 = record.vehicles.get_mut(&name("vehicles/v2")).unwrap();
    v2.specification.gross_mass_kg = Some(2_400.0);
    v2.specification.rear_axle_rating_kg = Some(1_000.0);
    assert_eq!(of(&record, &departure), None);
}

/// A zone without a centre counts where its things sit; without things it is no place to move to.
#[test]
fn a_zone_without_a_centre_counts_where_its_things_sit() {
    let (mut record, departure) = over_by(15.0);
    v1_mut(&mut record).specification.zones[2].position = None;
    assert_eq!(of(&record, &departure), None);
    let mut there = cargo("there", "v1", "front", kg(1.0, 0.1));
    there.position = Some(at(300.0, 0.0));
    add_cargo(&mut record, there);
    let found = of(&record, &departure).unwrap();
    assert_eq!(found.cargo_item, name("cargoItems/middle"));
    assert!((found.to_x_mm - 300.0).abs() < 1e-9);
}

#[test]
fn an_axle_within_its_rating_needs_no_move() {
    let (record, departure) = over_by(-15.0);
    assert_eq!(of(&record, &departure), None);
}
