//! Checks of `ostler_core::water`.

use ostler_core::water::food::*;
use ostler_core::water::intervals::*;
use ostler_core::water::loss::*;
use ostler_core::water::need::*;
use proptest::prelude::*;

/// The policy of the demo convoy (invented).
fn demo_policy() -> WaterPolicy {
    WaterPolicy {
        plan_l_per_person_day: 7.0,
        minimum_l_per_person_day: 6.0,
        reserve_days: 3.0,
        reserve_l_per_person_day: 4.0,
        buffer_days: 1.0,
    }
}

fn point(place: &str, quality: WaterQuality, confirmed: bool) -> Option<WaterPoint> {
    Some(WaterPoint {
        place: place.to_owned(),
        quality: Some(quality),
        confirmed,
        available_l: None,
    })
}

fn leg(leg: &str, days: f64, point_at_end: Option<WaterPoint>) -> WaterLeg {
    WaterLeg {
        leg: leg.to_owned(),
        days,
        point_at_end,
    }
}

/// The demo convoy: nine people, 560 l, ten legs, four points on the way of which two count.
fn demo() -> WaterInput {
    use WaterQuality::{Drinkable, WashingOnly};
    WaterInput {
        start: "Kestrel Junction".to_owned(),
        end: "Varn Crossing".to_owned(),
        people: 9,
        policy: demo_policy(),
        carried_l: 560.0,
        capacity_l: 560.0,
        unplaced_rest_days: 3.0,
        legs: vec![
            leg("L01", 1.0, None),
            leg("L02", 1.0, point("Hollow Well", Drinkable, true)),
            leg("L03", 1.0, None),
            leg("L04", 2.0, None),
            leg("L05", 2.0, point("Teal Soak", WashingOnly, true)),
            leg("L06", 1.0, point("Corrow Airstrip", Drinkable, true)),
            leg("L07", 2.0, None),
            leg("L08", 1.0, point("Lastwater", Drinkable, false)),
            leg("L09", 2.0, None),
            leg("L10", 1.0, point("Varn Crossing", Drinkable, true)),
        ],
    }
}

#[test]
fn the_demo_matches_its_reference() {
    // Invented demo, own reference calculation: 9 people x (7 l x (planned days + 1) + 4 l x 3 days).
    let answer = water_intervals(&demo()).unwrap();
    let got: Vec<_> = answer
        .intervals
        .iter()
        .map(|one| {
            (
                one.end.as_str(),
                one.need.days_counted,
                one.need.required_l,
                one.balance_l,
            )
        })
        .collect();
    assert_eq!(
        got,
        [
            ("Hollow Well", 3.0, 297.0, 263.0),
            ("Corrow Airstrip", 7.0, 549.0, 11.0),
            ("Varn Crossing", 7.0, 549.0, 11.0),
        ]
    );
    assert!(answer.covered());
    assert_eq!(
        answer.points_not_counted,
        [
            "Teal Soak has water for washing only",
            "Lastwater is not confirmed"
        ]
    );
}

#[test]
fn rest_days_that_nobody_placed_break_the_demo() {
    // Own calculation: three rest days x 9 x 7 l = 189 l in one interval, 11 l over.
    let answer = water_intervals(&demo()).unwrap();
    assert_eq!(answer.intervals[1].balance_with_rest_days_l, Some(11.0 - 189.0));
    assert_eq!(
        answer
            .cautions
            .iter()
            .filter(|caution| caution.contains("unplaced"))
            .count(),
        2
    );
}

#[test]
fn the_demo_does_not_survive_the_loss_of_its_largest_tank_on_the_minimum() {
    // Invented demo: 280 of 560 l in one tank on the truck. Own calculation for the six days to the
    // airstrip: 280 l are left, 9 x 6 x 6 = 324 l are the minimum, 9 x 4 x 6 = 216 l the reserve rate.
    let party = demo_party();
    let answer = water_loss(&party).unwrap();
    let largest = &answer.largest;
    assert_eq!(
        (largest.container.as_str(), largest.left_l, largest.survived),
        ("W4a", 280.0, false)
    );
    assert_eq!(largest.cover, Cover::ReserveRate);
    assert!((largest.days_at_minimum - 280.0 / 54.0).abs() < 1e-12);
    // Drawn from last, lost when the others are empty after 280 / 63 days: nothing for 1.556 days.
    assert!((largest.worst_moment_balance_l + 54.0 * (6.0 - 280.0 / 63.0)).abs() < 1e-9);
    let alone: Vec<_> = answer
        .alone
        .iter()
        .map(|one| (one.litres, one.covers_reserve))
        .collect();
    assert_eq!(alone, [(90.0, true), (80.0, true), (110.0, true), (280.0, true)]);
    assert!((answer.alone[2].days_at_minimum.unwrap() - 110.0 / 18.0).abs() < 1e-12);
}

fn demo_party() -> LossInput {
    let people = [("V1", 2), ("V2", 2), ("V3", 3), ("V4", 2)];
    let containers = [
        ("W1a", "V1", 90.0),
        ("W2a-1", "V2", 20.0),
        ("W2a-2", "V2", 20.0),
        ("W2b", "V2", 40.0),
        ("W3a", "V3", 70.0),
        ("W3b-1", "V3", 20.0),
        ("W3b-2", "V3", 20.0),
        ("W4a", "V4", 280.0),
    ];
    LossInput {
        policy: demo_policy(),
        planned_days: 6.0,
        vehicles: people
            .into_iter()
            .map(|(vehicle, people)| VehiclePeople {
                vehicle: vehicle.to_owned(),
                people,
            })
            .collect(),
        containers: containers
            .into_iter()
            .map(|(id, vehicle, litres)| WaterContainer {
                id: id.to_owned(),
                vehicle: vehicle.to_owned(),
                fill_l: litres,
                capacity_l: litres,
            })
            .collect(),
    }
}

#[test]
fn a_desert_parks_policy_asks_what_the_authority_asks() {
    // Desert parks of South Australia, remote area travel information (read): at least 6 l per person
    // and day plus a reserve of 3 to 4 days. Four people, five days: 4 x 6 x (5 + 3) = 192 l to
    // 4 x 6 x (5 + 4) = 216 l (arithmetic on the rule, own calculation).
    for (reserve_days, litres) in [(3.0, 192.0), (4.0, 216.0)] {
        let policy = WaterPolicy {
            plan_l_per_person_day: 6.0,
            minimum_l_per_person_day: 6.0,
            reserve_days,
            reserve_l_per_person_day: 6.0,
            buffer_days: 0.0,
        };
        assert!(policy.cautions().is_empty());
        assert_eq!(water_need(&policy, 4, 5.0).unwrap().required_l, litres);
    }
    let short = WaterPolicy {
        minimum_l_per_person_day: 5.0,
        reserve_days: 2.0,
        ..demo_policy()
    };
    assert_eq!(short.cautions().len(), 3, "{:?}", short.cautions());
}

#[test]
fn the_sphere_minimum_is_the_sum_of_its_parts() {
    // Sphere handbook 2011 (read in course material that quotes it): drinking 2.5 to 3, hygiene 2 to 6,
    // cooking 3 to 6, together 7.5 to 15 l per person and day.
    assert_eq!(SPHERE_LEAST_L_PER_PERSON_DAY, 2.5 + 2.0 + 3.0);
    // The desert parks' litres lie below it: they are for travelling, not for settling.
    assert_eq!(DESERT_PARKS_LEAST_L_PER_PERSON_DAY, 6.0);
    let policy = WaterPolicy {
        minimum_l_per_person_day: SPHERE_LEAST_L_PER_PERSON_DAY,
        ..demo_policy()
    };
    let need = water_need(&policy, 1, 0.0).unwrap();
    assert!(need.raised_to_minimum);
    assert_eq!(need.rate_l_per_person_day, 7.5);
}

#[test]
fn food_for_the_trip_and_four_days() {
    // Desert parks of South Australia (read): food for the trip plus 3 to 4 days.
    let item = |name: &str, amount| FoodItem {
        name: name.to_owned(),
        amount,
    };
    let mut input = FoodInput {
        people: 4,
        planned_days: 10.0,
        reserve_days: 4.0,
        mass_kg_per_person_day: Some(0.8),
        items: vec![
            item("packed days", FoodAmount::PersonDays(40.0)),
            item("store", FoodAmount::MassKg(12.0)),
        ],
    };
    let cover = food_cover(&input).unwrap();
    assert_eq!(
        (cover.required_person_days, cover.aboard_person_days),
        (56.0, 55.0)
    );
    assert_eq!(cover.balance_person_days, -1.0);
    input.mass_kg_per_person_day = None;
    assert_eq!(
        food_cover(&input).unwrap_err(),
        FoodError::NotKnown {
            items: vec!["store".to_owned()]
        }
    );
}

#[test]
fn every_violation_is_named() {
    let mut input = demo();
    input.people = 0;
    input.carried_l = 600.0;
    input.policy.minimum_l_per_person_day = f64::NAN;
    input.legs[3].days = -1.0;
    let refused = water_intervals(&input).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "policy.minimum_l_per_person_day",
            "people",
            "carried_l",
            "legs[3].days"
        ]
    );
    let mut party = demo_party();
    party.containers[0].vehicle = "V9".to_owned();
    party.vehicles.iter_mut().for_each(|vehicle| vehicle.people = 0);
    let refused = water_loss(&party).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(fields, ["vehicles", "containers[0].vehicle"]);
}

prop_compose! {
    fn any_policy()(
        plan in 0.0..15.0f64,
        minimum in 0.1..10.0f64,
        reserve_days in 0.0..6.0f64,
        reserve in 0.0..8.0f64,
        buffer_days in 0.0..3.0f64,
    ) -> WaterPolicy {
        WaterPolicy {
            plan_l_per_person_day: plan,
            minimum_l_per_person_day: minimum,
            reserve_days,
            reserve_l_per_person_day: reserve,
            buffer_days,
        }
    }
}

proptest! {
    #[test]
    fn need_grows_with_people_and_days_and_never_falls_below_the_minimum(
        policy in any_policy(),
        people in 1..20u32,
        days in 0.0..30.0f64,
        more_days in 0.0..10.0f64,
    ) {
        let required = |people, days| water_need(&policy, people, days).unwrap().required_l;
        let here = required(people, days);
        prop_assert!(required(people + 1, days) >= here);
        prop_assert!(required(people, days + more_days) >= here - 1e-9);
        prop_assert!(here >= f64::from(people) * policy.minimum_l_per_person_day * days - 1e-9);
        // Twice the people need exactly twice the water.
        prop_assert!((required(2 * people, days) - 2.0 * here).abs() <= 1e-9 * here.max(1.0));
    }

    #[test]
    fn a_point_that_does_not_count_is_no_point(which in 0..9usize, washing in any::<bool>()) {
        let mut with = demo();
        with.legs.iter_mut().for_each(|leg| leg.point_at_end = None);
        let without = water_intervals(&with).unwrap();
        let quality = if washing { WaterQuality::WashingOnly } else { WaterQuality::Drinkable };
        with.legs[which].point_at_end = point("soak", quality, washing);
        let with = water_intervals(&with).unwrap();
        prop_assert_eq!(with.points_not_counted.len(), 1);
        prop_assert_eq!(with.intervals, without.intervals);
    }

    #[test]
    fn splitting_the_largest_container_never_makes_its_loss_worse(split in 0.01..0.99f64, days in 0.0..12.0f64) {
        let mut party = LossInput { planned_days: days, ..demo_party() };
        let before = water_loss(&party).unwrap().largest;
        let largest = party.containers.iter_mut().find(|one| one.id == before.container).unwrap();
        let mut half = largest.clone();
        half.id.push('b');
        half.fill_l *= split;
        largest.fill_l -= half.fill_l;
        party.containers.push(half);
        let after = water_loss(&party).unwrap().largest;
        prop_assert!(after.left_l >= before.left_l - 1e-9);
        prop_assert!(after.cover <= before.cover);
        prop_assert!(after.worst_moment_balance_l >= before.worst_moment_balance_l - 1e-9);
    }
}
