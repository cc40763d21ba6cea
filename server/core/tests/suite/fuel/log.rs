//! Consumption from a fuel log.

use ostler_core::fuel::FuelError;
use ostler_core::fuel::log::*;
use proptest::prelude::*;

fn believed(surface: &str, rate_l_per_100km: f64, spread_fraction: f64) -> BelievedRate {
    BelievedRate {
        surface: surface.to_owned(),
        rate_l_per_100km,
        spread_fraction,
    }
}

fn entry(km: &[(&str, f64)], litres: f64, filled_up: bool) -> FuelLogEntry {
    let indicated_km = km
        .iter()
        .map(|(surface, km)| ((*surface).to_owned(), *km))
        .collect();
    FuelLogEntry {
        indicated_km,
        odometer_factor: 1.0,
        litres,
        filled_up,
    }
}

#[test]
fn one_fill_is_weighed_against_belief_by_their_variances() {
    // Own calculation: belief 20 +- 4 l/100 km (20 %), one fill of 30 l over 100 km +- 3 l. The textbook
    // mean of two measurements: (20/16 + 30/9) / (1/16 + 1/9) = 26.4, variance 1 / (1/16 + 1/9) = 5.76.
    let errors = LogErrors {
        fill_l: 3.0,
        spread_fraction: 0.0,
    };
    let answer = refine_rates(
        &[believed("sand", 20.0, 0.2)],
        &[entry(&[("sand", 100.0)], 30.0, true)],
        errors,
    );
    let rate = &answer.unwrap().rates[0];
    assert!(
        (rate.rate_l_per_100km - 26.4).abs() < 1e-9,
        "{}",
        rate.rate_l_per_100km
    );
    assert!(
        (rate.deviation_l_per_100km - 2.4).abs() < 1e-9,
        "{}",
        rate.deviation_l_per_100km
    );
}

#[test]
fn part_fills_count_with_the_next_full_one() {
    let errors = LogErrors {
        fill_l: 0.5,
        spread_fraction: 0.02,
    };
    let belief = [believed("gravel", 13.0, 0.3)];
    let parts = [
        entry(&[("gravel", 100.0)], 5.0, false),
        entry(&[("gravel", 200.0)], 37.0, true),
    ];
    let whole = [entry(&[("gravel", 300.0)], 42.0, true)];
    let (parts, whole) = (
        refine_rates(&belief, &parts, errors),
        refine_rates(&belief, &whole, errors),
    );
    assert_eq!(parts.unwrap(), whole.unwrap());
    let open = refine_rates(&belief, &[entry(&[("gravel", 100.0)], 5.0, false)], errors).unwrap();
    assert!(open.entries_open == 1 && (open.rates[0].rate_l_per_100km - 13.0).abs() < 1e-9);
}

#[test]
fn an_odometer_that_reads_short_is_corrected() {
    let errors = LogErrors {
        fill_l: 0.01,
        spread_fraction: 0.0,
    };
    let mut one = entry(&[("gravel", 1_000.0)], 150.0, true);
    one.odometer_factor = 1.083;
    let answer = refine_rates(&[believed("gravel", 13.0, 1.0)], &[one], errors).unwrap();
    assert!((answer.rates[0].rate_l_per_100km - 15.0 / 1.083).abs() < 1e-3);
}

#[test]
fn a_leak_shows_as_a_residual_and_an_unknown_surface_is_named() {
    let errors = LogErrors {
        fill_l: 2.0,
        spread_fraction: 0.03,
    };
    let mut entries: Vec<_> = (0..8).map(|_| entry(&[("gravel", 300.0)], 39.0, true)).collect();
    entries.push(entry(&[("gravel", 300.0)], 55.0, true));
    let answer = refine_rates(&[believed("gravel", 13.0, 0.1)], &entries, errors).unwrap();
    assert!(answer.residuals[8] > 3.0 && answer.residuals[..8].iter().all(|z| z.abs() < 3.0));
    let unknown = refine_rates(&[], &[entry(&[("mud", 10.0)], 5.0, true)], errors).unwrap_err();
    assert_eq!(
        unknown,
        FuelError::NotKnown {
            missing: vec!["believed consumption on mud".to_owned()]
        }
    );
}

proptest! {
    #[test]
    fn a_long_log_finds_the_true_rates(
        gravel in 10.0..20.0f64,
        sand in 15.0..30.0f64,
        km in prop::collection::vec((50.0..300.0f64, 50.0..300.0f64), 12),
    ) {
        let spread = km.iter().map(|(a, b)| a / b).fold((f64::MAX, f64::MIN), |(l, h), r| (l.min(r), h.max(r)));
        prop_assume!(spread.1 / spread.0 > 2.0);
        let entries: Vec<_> = km
            .iter()
            .map(|(a, b)| entry(&[("gravel", *a), ("sand", *b)], (a * gravel + b * sand) / 100.0, true))
            .collect();
        let belief = [believed("gravel", 15.0, 0.5), believed("sand", 22.0, 0.5)];
        let answer = refine_rates(&belief, &entries, LogErrors { fill_l: 0.05, spread_fraction: 0.0 }).unwrap();
        prop_assert!((answer.rates[0].rate_l_per_100km - gravel).abs() < 0.05);
        prop_assert!((answer.rates[1].rate_l_per_100km - sand).abs() < 0.05);
        // A log never makes anybody less certain.
        for (rate, belief) in answer.rates.iter().zip(&belief) {
            prop_assert!(rate.deviation_l_per_100km <= belief.spread_fraction * belief.rate_l_per_100km + 1e-9);
        }
    }
}
