//! Consumption against arithmetic by hand, rolling resistance against published coefficients.

use ostler_core::fuel::FuelError;
use ostler_core::fuel::consumption::*;
use ostler_core::fuel::rolling::*;
use proptest::prelude::*;

pub(super) fn rate(surface: &str, rate_l_per_100km: f64) -> SurfaceRate {
    SurfaceRate {
        surface: surface.to_owned(),
        rate_l_per_100km,
        provenance: RateProvenance::MeasuredLoaded,
        odometer_factor: 1.0,
        spread_fraction: Some(0.1),
        mass_correction: None,
    }
}

fn leg(km: &[(&str, f64)]) -> RouteLeg {
    RouteLeg {
        leg: "A".to_owned(),
        surfaces: km
            .iter()
            .map(|(surface, map_km)| SurfaceDistance {
                surface: (*surface).to_owned(),
                map_km: *map_km,
            })
            .collect(),
        idling_h: 0.0,
        mass_kg: None,
    }
}

fn known(rates: Vec<SurfaceRate>) -> VehicleConsumption {
    VehicleConsumption {
        rates,
        idling_l_per_h: Some(1.5),
        odometer_factor_now: 1.0,
    }
}

#[test]
fn every_term_as_worked_by_hand() {
    // Own calculation. 200 map km x 1.1 = 220 driven km. 20 l per indicated 100 km with an odometer that
    // shows 100 for 110 true: 18.1818 l per true 100 km. Half of it follows mass, which is 20 % more:
    // x 1.1 = 20.0. 220 km -> 44.0 l, and 4 h idle at 1.5 l/h -> 50.0 l. The odometer will show 200.
    let mut measured = rate("sand", 20.0);
    measured.odometer_factor = 1.1;
    measured.mass_correction = Some(MassCorrection {
        measured_at_kg: 2_500.0,
        mass_share: 0.5,
    });
    let vehicle = VehicleConsumption {
        odometer_factor_now: 1.1,
        ..known(vec![measured])
    };
    let leg = RouteLeg {
        idling_h: 4.0,
        mass_kg: Some(3_000.0),
        ..leg(&[("sand", 200.0)])
    };
    let answer = route_consumption(&vehicle, &[leg], 1.1).unwrap();
    assert!((answer.litres - 50.0).abs() < 1e-9, "{}", answer.litres);
    assert!((answer.legs[0].indicated_km - 200.0).abs() < 1e-9);
    assert!((answer.legs[0].surfaces[0].rate_l_per_100km - 20.0).abs() < 1e-9);
    assert!((answer.legs[0].spread_l.unwrap() - 4.4).abs() < 1e-9);
    assert!((answer.mean_l_per_100km.unwrap() - 5_000.0 / 220.0).abs() < 1e-9);
}

#[test]
fn what_is_missing_is_named() {
    let mut corrected = rate("gravel", 12.0);
    corrected.mass_correction = Some(MassCorrection {
        measured_at_kg: 2_500.0,
        mass_share: 0.5,
    });
    let vehicle = VehicleConsumption {
        idling_l_per_h: None,
        ..known(vec![corrected])
    };
    let leg = RouteLeg {
        idling_h: 1.0,
        ..leg(&[("gravel", 10.0), ("dunes", 5.0), ("claypan", 0.0)])
    };
    let FuelError::NotKnown { missing } = route_consumption(&vehicle, &[leg], 1.0).unwrap_err() else {
        panic!("not known")
    };
    assert_eq!(
        missing,
        ["mass over leg A", "consumption on dunes", "consumption at idle"]
    );
}

#[test]
fn a_rate_that_was_not_measured_loaded_is_flagged() {
    let of = |provenance| SurfaceRate {
        provenance,
        ..rate("sand", 20.0)
    };
    let cautions = |one| {
        let answer = route_consumption(&known(vec![one]), &[leg(&[("sand", 10.0)])], 1.0).unwrap();
        answer.cautions.len()
    };
    assert_eq!(cautions(of(RateProvenance::MeasuredLoaded)), 0);
    assert_eq!(cautions(of(RateProvenance::MeasuredUnloaded)), 1);
    assert_eq!(cautions(of(RateProvenance::Derived)), 1);
    assert_eq!(cautions(of(RateProvenance::Assumed)), 1);
}

#[test]
fn sand_costs_more_than_the_road_by_published_coefficients() {
    // Coefficients: new asphalt 0.01, sand 0.1 to 0.2 (Carvill, Mechanical Engineer's Data Handbook, read
    // in a secondary copy); the forces are own calculation.
    let road = Rolling {
        coefficient: 0.01,
        mass_kg: 3_000.0,
        drag_area_m2: 1.5,
        speed_kmh: 90.0,
    };
    let share = mass_share(&road).unwrap();
    // 294.2 N rolling, 0.5 x 1.225 x 1.5 x 625 = 574.2 N drag.
    assert!(
        (share - 294.1995 / (294.1995 + 574.21875)).abs() < 1e-6,
        "{share}"
    );
    assert!(
        (mass_share(&Rolling {
            speed_kmh: 0.0,
            ..road
        })
        .unwrap()
            - 1.0)
            .abs()
            < 1e-12
    );
    let sand = Coefficient {
        low: 0.1,
        typical: 0.15,
        high: 0.2,
    };
    let derived = derive_rate(&rate("asphalt", 11.0), 0.01, share, "sand", sand).unwrap();
    assert!((derived.rate.rate_l_per_100km - 11.0 * (1.0 + share * 14.0)).abs() < 1e-9);
    assert!(derived.low_l_per_100km > 11.0 && derived.high_l_per_100km > derived.rate.rate_l_per_100km);
    assert_eq!(derived.rate.provenance, RateProvenance::Derived);
}

#[test]
fn rolling_force_share_agrees_with_the_grade_force_on_level_ground() {
    // 3000 kg at coefficient 0.015 rolls with 441.3 N (own calculation: 0.015 x 3000 x 9.80665). With drag
    // of the same size the share is one half: drag area = 441.3 / (0.5 x 1.225 x 10^2) at 36 km/h.
    let drag_area_m2 = 441.299_25 / (0.5 * 1.225 * 100.0);
    let half = Rolling {
        coefficient: 0.015,
        mass_kg: 3_000.0,
        drag_area_m2,
        speed_kmh: 36.0,
    };
    assert!((mass_share(&half).unwrap() - 0.5).abs() < 1e-12);
}

proptest! {
    #[test]
    fn more_distance_never_needs_less(
        km in prop::collection::vec(0.0..500.0f64, 3),
        more in 0.0..200.0f64,
        which in 0..3usize,
        allowance in 1.0..1.5f64,
    ) {
        let vehicle = known(vec![rate("gravel", 12.0), rate("sand", 18.0), rate("dunes", 24.0)]);
        let names = ["gravel", "sand", "dunes"];
        let litres = |km: &[f64]| {
            let parts: Vec<_> = names.into_iter().zip(km.iter().copied()).collect();
            route_consumption(&vehicle, &[leg(&parts)], allowance).unwrap().litres
        };
        let before = litres(&km);
        let mut longer = km.clone();
        longer[which] += more;
        prop_assert!(litres(&longer) >= before - 1e-9);
    }

    #[test]
    fn a_route_cut_in_two_burns_the_same(km in 1.0..500.0f64, cut in 0.0..1.0f64) {
        let vehicle = known(vec![rate("sand", 18.0)]);
        let litres = |legs: &[RouteLeg]| route_consumption(&vehicle, legs, 1.06).unwrap().litres;
        let whole = litres(&[leg(&[("sand", km)])]);
        let parts = litres(&[leg(&[("sand", km * cut)]), leg(&[("sand", km * (1.0 - cut))])]);
        prop_assert!((whole - parts).abs() < 1e-9 * whole.max(1.0));
    }

    #[test]
    fn mass_raises_consumption_within_its_share(mass_kg in 2_000.0..6_000.0f64, share in 0.0..1.0f64) {
        let mut one = rate("sand", 18.0);
        one.mass_correction = Some(MassCorrection { measured_at_kg: 2_000.0, mass_share: share });
        let leg = RouteLeg { mass_kg: Some(mass_kg), ..leg(&[("sand", 100.0)]) };
        let litres = route_consumption(&known(vec![one]), &[leg], 1.0).unwrap().litres;
        prop_assert!(litres >= 18.0 - 1e-9 && litres <= 18.0 * mass_kg / 2_000.0 + 1e-9);
    }
}
