//! Absurd inputs are refused with their field, whatever they are; nothing that is accepted gives NaN.

use ostler_core::fuel::chance::*;
use ostler_core::fuel::consumption::*;
use ostler_core::fuel::requirement::*;
use ostler_core::fuel::reserve::ReservePolicy;
use ostler_core::fuel::tank::{Feed, Tank, check_tanks};
use ostler_core::fuel::{FuelError, FuelKind};
use proptest::prelude::*;

fn fields(error: FuelError) -> Vec<String> {
    let FuelError::Invalid(refused) = error else {
        panic!("invalid: {error}")
    };
    refused
        .violations
        .into_iter()
        .map(|violation| violation.field)
        .collect()
}

#[test]
fn every_violation_of_a_consumption_is_named() {
    let mut rate = super::consumption::rate("sand", f64::NAN);
    rate.odometer_factor = 0.0;
    let vehicle = VehicleConsumption {
        rates: vec![rate.clone(), rate],
        idling_l_per_h: Some(-1.0),
        odometer_factor_now: f64::INFINITY,
    };
    let surfaces = vec![SurfaceDistance {
        surface: "sand".to_owned(),
        map_km: -1.0,
    }];
    let leg = RouteLeg {
        leg: "A".to_owned(),
        surfaces,
        idling_h: f64::NAN,
        mass_kg: Some(0.0),
    };
    let fields = fields(route_consumption(&vehicle, &[leg], 0.9).unwrap_err());
    for field in [
        "route_allowance_factor",
        "odometer_factor_now",
        "idling_l_per_h",
        "rates[0].rate_l_per_100km",
        "rates[1].surface",
        "rates[1].odometer_factor",
        "legs[0].idling_h",
        "legs[0].mass_kg",
        "legs[0].surfaces[0].map_km",
    ] {
        assert!(fields.iter().any(|named| named == field), "{field} in {fields:?}");
    }
}

#[test]
fn tanks_that_contradict_themselves_are_refused() {
    let tank = |feed, capacity_l, unusable_l, fill_l| Tank {
        id: "t".to_owned(),
        feed,
        capacity_l,
        unusable_l,
        fill_limit_l: capacity_l,
        fill_l,
    };
    assert!(check_tanks(&[]).is_err());
    assert!(
        check_tanks(&[tank(Feed::Decanted, 20.0, 0.0, 20.0)]).is_err(),
        "nothing feeds the engine"
    );
    assert!(check_tanks(&[tank(Feed::Engine, 20.0, 0.0, 21.0)]).is_err());
    assert!(check_tanks(&[tank(Feed::Engine, 20.0, 21.0, 0.0)]).is_err());
    assert!(check_tanks(&[tank(Feed::Engine, f64::NAN, 0.0, 0.0)]).is_err());
    assert!(
        check_tanks(&[
            tank(Feed::Engine, 20.0, 1.0, 20.0),
            tank(Feed::Engine, 20.0, 1.0, 20.0)
        ])
        .is_err()
    );
}

#[test]
fn a_normal_shape_too_wide_to_be_one_is_refused() {
    let leg = ChanceLeg {
        leg: "A".to_owned(),
        mean_l: 10.0,
        spread_fraction: 0.3,
        refill: None,
    };
    let input = ChanceInput {
        usable_at_start_l: 10.0,
        usable_capacity_l: 10.0,
        vehicle_spread_fraction: 0.3,
        shape: Shape::Normal,
        legs: vec![leg],
    };
    assert!(chance_of_running_short(&input).is_err());
    assert!(
        chance_of_running_short(&ChanceInput {
            shape: Shape::Lognormal,
            ..input
        })
        .is_ok()
    );
}

/// Numbers of every kind: ordinary, tiny, huge, negative, not finite.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => 0.0..500.0f64,
        1 => any::<f64>(),
        1 => prop::sample::select(vec![0.0, -0.0, f64::MIN_POSITIVE, 5e-324, 1e-200, 1e5, 1e12, f64::NAN]),
    ]
}

proptest! {
    #[test]
    fn what_is_accepted_has_finite_answers(
        numbers in prop::collection::vec(any_number(), 8),
        policy in 0..3,
    ) {
        let policy = match policy {
            0 => ReservePolicy::Fraction { fraction: numbers[0] / 100.0 },
            1 => ReservePolicy::DistancePlusFraction { distance_km: numbers[0], fraction: numbers[1] / 100.0 },
            _ => ReservePolicy::Days { days: numbers[0] },
        };
        let leg = |at: usize| LegNeed {
            leg: "A".to_owned(),
            litres: numbers[at],
            driven_km: numbers[at + 1],
            days: numbers[at + 2],
            point_at_end: None,
        };
        let answer = fuel_requirement(&RequirementInput {
            start: String::new(),
            end: String::new(),
            kind: FuelKind::Diesel,
            usable_at_start_l: numbers[7],
            usable_capacity_l: numbers[7],
            policy,
            legs: vec![leg(2), leg(4)],
        });
        if let Ok(answer) = answer {
            let interval = &answer.intervals[0];
            prop_assert!([interval.required_l, interval.balance_l].iter().all(|value| value.is_finite()));
            let optional = [interval.balance_fraction, interval.mean_l_per_100km, interval.range_without_reserve_km];
            prop_assert!(optional.iter().flatten().all(|value| value.is_finite()));
        }
    }

    #[test]
    fn accepted_chances_are_chances(numbers in prop::collection::vec(any_number(), 5), normal in any::<bool>()) {
        let leg = |mean_l, spread| ChanceLeg { leg: "A".to_owned(), mean_l, spread_fraction: spread, refill: None };
        let answer = chance_of_running_short(&ChanceInput {
            usable_at_start_l: numbers[0],
            usable_capacity_l: 1e6,
            vehicle_spread_fraction: numbers[1] / 1_000.0,
            shape: if normal { Shape::Normal } else { Shape::Lognormal },
            legs: vec![leg(numbers[2], numbers[3] / 1_000.0), leg(numbers[4], 0.0)],
        });
        if let Ok(answer) = answer {
            let chances = answer.legs.iter().filter_map(|leg| leg.chance);
            prop_assert!(chances.into_iter().all(|chance| (0.0..=1.0).contains(&chance)));
        }
    }
}
