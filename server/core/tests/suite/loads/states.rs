//! Loads at every moment of a departure.

use ostler_core::answer::Answer;
use ostler_core::loads::{LimitedLoad, LoadResult, compute, states, worst, worst_of};
use ostler_core::record::{Departure, Fluid, Record, SupplyKind, SupplyPoint, TankMounting};
use proptest::prelude::*;

use crate::builder::{
    add_cargo, add_way, at, cargo, departure, fill, id, kg, name, record, tank, v1, v1_mut,
};

fn under_way() -> (Record, Departure) {
    let mut departure = departure();
    add_way(&mut departure);
    (record(), departure)
}

fn of(record: &Record, departure: &Departure) -> Vec<LoadResult> {
    states(record, departure, v1(record))
}

fn names(states: &[LoadResult]) -> Vec<&str> {
    states.iter().map(|state| state.load_state.as_str()).collect()
}

fn near(left: f64, right: f64) -> bool {
    (left - right).abs() < 1e-9
}

#[test]
fn the_first_state_is_the_departure_and_each_leg_has_one() {
    let (record, departure) = under_way();
    let states = of(&record, &departure);
    assert_eq!(names(&states), ["departure", "end of l1", "end of l2"]);
    assert_eq!(states[0], compute(&record, &departure, v1(&record)));
}

/// By hand: 100 km x 1.1 x 12 l/100 km = 13.2 l on the first leg, 100 x 1.1 x 20 / 100 = 22 l on the
/// second; one person drinks 2 days x 7 l on each. Diesel 0.84 kg/l, water 1 kg/l. Own calculation.
#[test]
fn fuel_and_water_go_as_planned() {
    let (record, departure) = under_way();
    let states = of(&record, &departure);
    for state in &states {
        assert_eq!(state.missing, Vec::<String>::new());
    }
    let fuel_kg: Vec<f64> = states.iter().map(|state| state.fuel_mass_kg).collect();
    assert!(near(fuel_kg[0] - fuel_kg[1], 13.2 * 0.84), "{fuel_kg:?}");
    assert!(near(fuel_kg[1] - fuel_kg[2], 22.0 * 0.84), "{fuel_kg:?}");
    let water_kg: Vec<f64> = states.iter().map(|state| state.water_mass_kg).collect();
    assert!(near(water_kg[0] - water_kg[1], 14.0), "{water_kg:?}");
    assert!(near(water_kg[1] - water_kg[2], 14.0), "{water_kg:?}");
    assert!(states[1].notes.iter().any(|note| note.contains("test drive")));
}

#[test]
fn tanks_are_emptied_in_the_stated_order_and_else_in_that_of_the_specification() {
    let (mut record, mut departure) = under_way();
    let sub_tank = tank("sub", Fluid::Diesel, 50.0, at(3_300.0, 0.0));
    v1_mut(&mut record).specification.tanks.push(sub_tank);
    departure.vehicles[0].fills.push(fill("sub", 50.0));
    let litres = |states: &[LoadResult], tank: &str| {
        let line = format!("tank {tank}: ");
        let found = states[1]
            .lines
            .iter()
            .find(|found| found.display_name.starts_with(&line));
        found.unwrap().mass_kg / 0.84
    };
    let specified = of(&record, &departure);
    assert!(near(litres(&specified, "main"), 86.8) && near(litres(&specified, "sub"), 50.0));
    departure.vehicles[0].drawdown_order = vec![id("sub")];
    let stated = of(&record, &departure);
    assert!(near(litres(&stated, "main"), 100.0) && near(litres(&stated, "sub"), 36.8));
}

#[test]
fn consumed_cargo_goes_evenly_over_the_days() {
    let (mut record, mut departure) = under_way();
    departure.legs[1].planned_days = 6.0;
    let mut food = cargo("food", "v1", "rear", kg(40.0, 1.0));
    food.consumed = true;
    add_cargo(&mut record, food);
    let cargo_kg: Vec<f64> = of(&record, &departure)
        .iter()
        .map(|state| state.cargo_mass_kg)
        .collect();
    // A quarter of the eight days is over after the first leg.
    assert!(near(cargo_kg[0] - cargo_kg[1], 10.0), "{cargo_kg:?}");
    assert!(near(cargo_kg[0] - cargo_kg[2], 40.0), "{cargo_kg:?}");
}

#[test]
fn a_confirmed_supply_fills_up_and_an_unconfirmed_one_counts_as_nothing() {
    let (record, mut departure) = under_way();
    departure.supply_points.push(SupplyPoint {
        id: id("f1"),
        place: "end of l1".to_owned(),
        supplies: vec![SupplyKind::Diesel],
        confirmed: false,
        order_by_date: None,
        note: String::new(),
    });
    assert_eq!(of(&record, &departure).len(), 3);
    departure.supply_points[0].confirmed = true;
    let states = of(&record, &departure);
    assert_eq!(
        names(&states),
        ["departure", "end of l1", "supply after l1", "end of l2"]
    );
    assert!(near(states[2].fuel_mass_kg, states[0].fuel_mass_kg));
    assert!(near(states[2].water_mass_kg, states[1].water_mass_kg));
    // After the last leg there is nothing more to compute.
    departure.supply_points[0].place = "end of l2".to_owned();
    assert_eq!(of(&record, &departure).len(), 3);
}

#[test]
fn what_is_missing_for_the_way_leaves_the_departure_known() {
    type Forget = fn(&mut Record, &mut Departure);
    let forgets: [(&str, Forget); 5] = [
        ("consumption on sand", |_, departure| {
            departure.vehicles[0].consumption_l_per_100km.remove(&id("sand"));
        }),
        ("route_allowance_factor", |_, departure| {
            departure.policy.route_allowance_factor = None;
        }),
        ("water_plan_l_per_person_day", |_, departure| {
            departure.policy.water_plan_l_per_person_day = None;
        }),
        ("cannot be drawn", |record, _| {
            v1_mut(record).specification.tanks[0].unusable_l = None;
        }),
        ("fixed fuel tank", |record, _| {
            v1_mut(record).specification.tanks[0].mounting = TankMounting::Container;
        }),
    ];
    for (said, forget) in forgets {
        let (mut record, mut departure) = under_way();
        let before = of(&record, &departure);
        forget(&mut record, &mut departure);
        let states = of(&record, &departure);
        assert_eq!(states[0].missing, Vec::<String>::new(), "{said}");
        assert_eq!(states[0].total, before[0].total, "{said}");
        let last = states.last().unwrap();
        assert!(
            last.missing.iter().any(|missing| missing.contains(said)),
            "{said}: {last:?}"
        );
        assert_eq!(last.total.answer, Answer::NotKnown, "{said}");
    }
}

/// A leg that is known stays known when only a later one is not.
#[test]
fn only_the_legs_after_what_is_missing_are_not_known() {
    let (record, mut departure) = under_way();
    departure.vehicles[0].consumption_l_per_100km.remove(&id("sand"));
    let states = of(&record, &departure);
    assert!(states[1].missing.is_empty(), "{:?}", states[1].missing);
    assert!(!states[2].missing.is_empty());
}

#[test]
fn what_runs_out_is_said_and_no_tank_goes_below_its_heel() {
    let (record, mut departure) = under_way();
    departure.vehicles[0].fills[0].volume_l = 20.0;
    let states = of(&record, &departure);
    assert!(near(states[2].fuel_mass_kg, 2.0 * 0.84));
    // 20 l less the heel of 2 l and the first leg's 13.2 l leaves 4.8 l of the second leg's 22 l.
    let said = states[2].notes.iter().any(|note| note.contains("17.2 l short"));
    assert!(said, "{:?}", states[2].notes);
}

/// A tank behind the rear axle holds the front axle down less as it empties: the front axle is
/// heaviest at the end.
#[test]
fn the_worst_state_of_each_limit_is_named() {
    let (mut record, mut departure) = under_way();
    v1_mut(&mut record).specification.tanks[0].position = at(4_500.0, 0.0);
    departure.policy.water_plan_l_per_person_day = Some(0.0);
    let states = of(&record, &departure);
    let worst = worst(&states);
    let state_of = |limited: &LimitedLoad| {
        let found = worst.iter().find(|worst| worst.limited == *limited);
        found.unwrap().load_state.as_str()
    };
    assert_eq!(state_of(&LimitedLoad::Total), "departure");
    assert_eq!(state_of(&LimitedLoad::RearAxle), "departure");
    assert_eq!(state_of(&LimitedLoad::FrontAxle), "end of l2");
    assert_eq!(state_of(&LimitedLoad::Zone(id("rear"))), "departure");
    // Over the rating only under way.
    let front_kg = states[0].front_axle.as_ref().unwrap().load_kg;
    v1_mut(&mut record).specification.front_axle_rating_kg = Some(front_kg + 5.0);
    let states = of(&record, &departure);
    let (state, load) = worst_of(&states, &LimitedLoad::FrontAxle).unwrap();
    assert_eq!(
        (state.load_state.as_str(), load.answer),
        ("end of l2", Answer::NotMet)
    );
}

#[test]
fn a_vehicle_that_does_not_go_has_its_departure_state_only() {
    let (record, mut departure) = under_way();
    departure.vehicles[0].vehicle = name("vehicles/v9");
    assert_eq!(of(&record, &departure).len(), 1);
}

proptest! {
    /// Without supply no state is heavier than the one before, and axles sum to the total.
    #[test]
    fn a_vehicle_only_gets_lighter(
        rate in 1.0..60.0_f64,
        plan_l in 0.0..20.0_f64,
        factor in 1.0..3.0_f64,
        main_l in 2.0..100.0_f64,
    ) {
        let (mut record, mut departure) = under_way();
        for item in record.cargo_items.values_mut() {
            item.consumed = true;
        }
        departure.vehicles[0].consumption_l_per_100km.insert(id("gravel"), rate);
        departure.vehicles[0].fills[0].volume_l = main_l;
        departure.policy.water_plan_l_per_person_day = Some(plan_l);
        departure.policy.route_allowance_factor = Some(factor);
        let states = of(&record, &departure);
        for pair in states.windows(2) {
            prop_assert!(pair[1].total.load_kg <= pair[0].total.load_kg + 1e-9);
        }
        for state in &states {
            prop_assert!(state.missing.is_empty());
            let front_kg = state.front_axle.as_ref().unwrap().load_kg;
            let rear_kg = state.rear_axle.as_ref().unwrap().load_kg;
            prop_assert!((front_kg + rear_kg - state.total.load_kg).abs() < 1e-6);
        }
    }
}
