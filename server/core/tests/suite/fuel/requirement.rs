//! Reserve policies and intervals between fuel points.

use ostler_core::fuel::requirement::*;
use ostler_core::fuel::reserve::ReservePolicy;
use ostler_core::fuel::{FuelError, FuelKind};
use proptest::prelude::*;

fn point(confirmed: bool, available_l: Option<f64>) -> FuelPoint {
    FuelPoint {
        place: "pump".to_owned(),
        confirmed,
        kinds: vec![FuelKind::Diesel],
        available_l,
    }
}

fn leg(litres: f64, driven_km: f64, point_at_end: Option<FuelPoint>) -> LegNeed {
    LegNeed {
        leg: "A".to_owned(),
        litres,
        driven_km,
        days: 1.0,
        point_at_end,
    }
}

fn input(policy: ReservePolicy, legs: Vec<LegNeed>) -> RequirementInput {
    RequirementInput {
        start: "start".to_owned(),
        end: "end".to_owned(),
        kind: FuelKind::Diesel,
        usable_at_start_l: 150.0,
        usable_capacity_l: 200.0,
        policy,
        legs,
    }
}

fn reserve_l(policy: ReservePolicy) -> f64 {
    // 20 l over 200 km (10 l/100 km), then 60 l over 300 km (20 l/100 km), in two days.
    let legs = vec![leg(20.0, 200.0, None), leg(60.0, 300.0, None)];
    fuel_requirement(&input(policy, legs)).unwrap().intervals[0].reserve_l
}

#[test]
fn each_policy_as_worked_by_hand() {
    // Own calculation from the definitions; the policies are common practice without a source.
    assert!((reserve_l(ReservePolicy::Fraction { fraction: 0.2 }) - 16.0).abs() < 1e-12);
    // 100 km at the worse leg's 20 l/100 km, and 10 % of 80 l.
    let both = ReservePolicy::DistancePlusFraction {
        distance_km: 100.0,
        fraction: 0.1,
    };
    assert!((reserve_l(both) - 28.0).abs() < 1e-12);
    // 1.5 days at 80 l / 2 days.
    assert!((reserve_l(ReservePolicy::Days { days: 1.5 }) - 60.0).abs() < 1e-12);
}

#[test]
fn a_reserve_that_cannot_be_priced_is_not_known() {
    let not_known = |policy, leg| match fuel_requirement(&input(policy, vec![leg])) {
        Err(FuelError::NotKnown { missing }) => missing,
        other => panic!("{other:?}"),
    };
    let no_days = LegNeed {
        days: 0.0,
        ..leg(10.0, 50.0, None)
    };
    assert_eq!(
        not_known(ReservePolicy::Days { days: 2.0 }, no_days),
        ["days planned for the interval"]
    );
    let distance = ReservePolicy::DistancePlusFraction {
        distance_km: 100.0,
        fraction: 0.0,
    };
    assert_eq!(
        not_known(distance, leg(10.0, 0.0, None)),
        ["rate of a leg with distance"]
    );
}

#[test]
fn a_point_gives_what_it_has_and_what_fits() {
    let policy = ReservePolicy::Fraction { fraction: 0.0 };
    let after = |available_l| {
        let legs = vec![
            leg(100.0, 500.0, Some(point(true, available_l))),
            leg(100.0, 500.0, None),
        ];
        fuel_requirement(&input(policy, legs)).unwrap().intervals[1].usable_at_start_l
    };
    assert_eq!(after(None), 200.0);
    assert_eq!(after(Some(30.0)), 80.0);
    assert_eq!(after(Some(500.0)), 200.0);
}

#[test]
fn a_point_without_the_fuel_is_listed_and_not_counted() {
    let mut wrong = point(true, None);
    wrong.kinds = vec![FuelKind::Petrol];
    let legs = vec![leg(10.0, 50.0, Some(wrong)), leg(10.0, 50.0, None)];
    let answer = fuel_requirement(&input(ReservePolicy::Fraction { fraction: 0.2 }, legs)).unwrap();
    assert_eq!(answer.intervals.len(), 1);
    assert_eq!(
        answer.points_not_counted,
        ["pump does not have the vehicle's fuel"]
    );
}

#[test]
fn running_dry_is_seen_on_the_leg() {
    let legs = vec![
        leg(100.0, 500.0, None),
        leg(70.0, 300.0, None),
        leg(30.0, 100.0, None),
    ];
    let answer = fuel_requirement(&input(ReservePolicy::Fraction { fraction: 0.0 }, legs)).unwrap();
    let short: Vec<f64> = answer.legs.iter().map(|leg| leg.short_l).collect();
    assert_eq!(short, [0.0, 20.0, 30.0]);
    assert_eq!(answer.legs[0].in_hand_l, -50.0);
    assert!(answer.legs.iter().all(|leg| leg.usable_after_l >= 0.0));
}

fn policies() -> impl Strategy<Value = ReservePolicy> {
    prop_oneof![
        (0.0..1.0f64).prop_map(|fraction| ReservePolicy::Fraction { fraction }),
        (0.0..500.0f64, 0.0..0.5f64).prop_map(|(distance_km, fraction)| {
            ReservePolicy::DistancePlusFraction {
                distance_km,
                fraction,
            }
        }),
        (0.0..5.0f64).prop_map(|days| ReservePolicy::Days { days }),
    ]
}

proptest! {
    #[test]
    fn an_unconfirmed_point_is_no_point(
        policy in policies(),
        litres in prop::collection::vec(0.1..60.0f64, 2..8),
        at in 0..8usize,
    ) {
        let legs = |point_at: Option<usize>| -> Vec<LegNeed> {
            let one = |(index, litres): (usize, &f64)| {
                leg(*litres, litres * 6.0, (point_at == Some(index)).then(|| point(false, None)))
            };
            litres.iter().enumerate().map(one).collect()
        };
        let with = fuel_requirement(&input(policy, legs(Some(at.min(litres.len() - 1))))).unwrap();
        let without = fuel_requirement(&input(policy, legs(None))).unwrap();
        prop_assert_eq!(with.intervals, without.intervals);
        prop_assert_eq!(with.legs, without.legs);
    }

    #[test]
    fn a_confirmed_point_never_hurts(
        policy in policies(),
        litres in prop::collection::vec(0.1..40.0f64, 2..8),
        at in 0..8usize,
        available_l in prop::option::of(0.0..300.0f64),
    ) {
        // Of the last interval: what is aboard at the end can only grow.
        let end = |point_at: Option<usize>| {
            let one = |(index, litres): (usize, &f64)| {
                leg(*litres, litres * 6.0, (point_at == Some(index)).then(|| point(true, available_l)))
            };
            let legs = litres.iter().enumerate().map(one).collect();
            fuel_requirement(&input(policy, legs)).unwrap().legs.last().unwrap().usable_after_l
        };
        prop_assert!(end(Some(at.min(litres.len() - 2))) >= end(None) - 1e-9);
    }

    #[test]
    fn a_longer_leg_never_needs_less(
        policy in policies(),
        litres in prop::collection::vec(0.1..60.0f64, 1..8),
        which in 0..8usize,
        more in 0.0..50.0f64,
    ) {
        // Driving further on the same leg costs fuel at that leg's own rate.
        let required = |litres: &[f64]| {
            let legs = litres.iter().map(|litres| leg(*litres, litres * 6.0, None)).collect();
            fuel_requirement(&input(policy, legs)).unwrap().intervals[0].required_l
        };
        let mut longer = litres.clone();
        longer[which % litres.len()] += more;
        prop_assert!(required(&longer) >= required(&litres) - 1e-9);
    }
}
