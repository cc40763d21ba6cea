//! Cover against Poisson demand, and rates from counts.

use ostler_core::spares::cover::{StockedSpare, cover, kit_cover, stock_for_cover};
use ostler_core::spares::rate::rate_from_count;
use ostler_core::spares::{MEAN_MAX, STOCK_MAX};
use proptest::prelude::*;
use statrs::distribution::{DiscreteCDF, Poisson};

use super::close;

fn stocked(mean: f64, stock: u32) -> StockedSpare {
    StockedSpare { mean, stock }
}

#[test]
fn poisson_tables() {
    // Cumulative Poisson probabilities, own calculation; scipy agrees to 1e-12 (see the script check_spares.py).
    let tables: [(f64, &[f64]); 4] = [
        (0.5, &[0.6065, 0.9098, 0.9856, 0.9982]),
        (1.0, &[0.3679, 0.7358, 0.9197, 0.9810]),
        (2.0, &[0.1353, 0.4060, 0.6767, 0.8571, 0.9473, 0.9834]),
        (3.0, &[0.0498, 0.1991, 0.4232, 0.6472, 0.8153, 0.9161, 0.9665]),
    ];
    for (mean, chances) in tables {
        for (stock, chance) in (0..).zip(chances) {
            close(cover(mean, stock).unwrap().no_stock_out, *chance, 5e-5);
        }
    }
}

#[test]
fn stock_for_a_wanted_cover() {
    // 95 % points of the Poisson distribution from scipy.
    for (mean, stock) in [(0.5, 2), (1.0, 3), (2.0, 5), (3.0, 6), (50.0, 62)] {
        assert_eq!(stock_for_cover(mean, 0.95).unwrap(), stock);
    }
    assert_eq!(stock_for_cover(0.0, 0.99).unwrap(), 0);
}

#[test]
fn far_tails_keep_their_digits() {
    // Mean, stock, P(X > s) and expected backorders from 50-digit arithmetic (mpmath).
    for (mean, stock, stock_out, backorders) in [
        (0.5, 20, 5.792_325_873_696_857e-27, 5.926_754_022_328_586e-27),
        (3.0, 8, 3.802_992_061_675_957e-3, 5.289_575_075_664_51e-3),
        (500.0, 600, 6.428_601_118_223_367e-6, 3.547_561_000_577_874e-5),
    ] {
        let found = cover(mean, stock).unwrap();
        close(found.stock_out / stock_out, 1.0, 1e-13);
        close(found.expected_backorders / backorders, 1.0, 1e-13);
    }
    let extreme = cover(MEAN_MAX, STOCK_MAX).unwrap();
    assert_eq!((extreme.no_stock_out, extreme.expected_backorders), (1.0, 0.0));
    close(cover(MEAN_MAX, 0).unwrap().expected_backorders, MEAN_MAX, 1e-9);
    assert_eq!(cover(0.0, 0).unwrap().no_stock_out, 1.0);
}

#[test]
fn bad_inputs_are_named() {
    for mean in [-1.0, f64::NAN, f64::INFINITY, MEAN_MAX * 2.0] {
        assert_eq!(cover(mean, 0).unwrap_err().violations[0].field, "mean");
    }
    let refused = kit_cover(&[stocked(1.0, 1), stocked(f64::NAN, STOCK_MAX + 1)]).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(fields, ["spares[1].mean", "spares[1].stock"]);
}

#[test]
fn cover_of_a_kit() {
    // Own calculation from the tables: .9098 x .7358 x .6767.
    let kit = kit_cover(&[stocked(0.5, 1), stocked(1.0, 1), stocked(2.0, 2)]).unwrap();
    close(kit.no_stock_out, 0.9098 * 0.7358 * 0.6767, 1e-4);
    assert_eq!(kit.weakest, Some(2));
    assert_eq!(kit_cover(&[]).unwrap().no_stock_out, 1.0);
}

#[test]
fn rate_from_counted_failures() {
    // Exact Poisson intervals at 95 % from scipy's chi-squared quantiles.
    for (count, low, high) in [
        (0, 0.0, 3.688_879_454),
        (1, 0.025_317_808, 5.571_643_390),
        (3, 0.618_672_120, 8.767_273_068),
    ] {
        let estimate = rate_from_count(count, 1.0, 0.95).unwrap();
        close(estimate.low, low, 1e-6);
        close(estimate.high, high, 1e-6);
    }
    close(rate_from_count(2, 0.597_45, 0.95).unwrap().rate, 3.35, 0.005);
    // Far end of the range, from scipy.
    close(
        rate_from_count(10_000, 1.0, 0.999).unwrap().high,
        10_333.348_429,
        1e-3,
    );
    assert_eq!(rate_from_count(2, 0.0, 2.0).unwrap_err().violations.len(), 2);
}

proptest! {
    #[test]
    fn agrees_with_a_general_library(mean in 0.01..MEAN_MAX, stock in 0..1_000_u32) {
        let found = cover(mean, stock).unwrap();
        let library = Poisson::new(mean).unwrap();
        prop_assert!((found.no_stock_out - library.cdf(u64::from(stock))).abs() < 1e-10);
        prop_assert!((found.stock_out - library.sf(u64::from(stock))).abs() < 1e-10);
    }

    #[test]
    fn one_more_copy_takes_off_the_chance_of_running_out(mean in 0.0..100.0_f64, stock in 0..200_u32) {
        let (less, more) = (cover(mean, stock).unwrap(), cover(mean, stock + 1).unwrap());
        prop_assert!(more.no_stock_out >= less.no_stock_out);
        let gain = less.expected_backorders - more.expected_backorders;
        prop_assert!((gain - less.stock_out).abs() <= 1e-12 * (1.0 + mean));
        // Convex: the next copy gains no more than this one.
        prop_assert!(more.stock_out <= less.stock_out);
        prop_assert!((less.no_stock_out + less.stock_out - 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_demand_is_covered_less(mean in 0.0..200.0_f64, more in 1.0..2.0_f64, stock in 0..300_u32) {
        let (low, high) = (cover(mean, stock).unwrap(), cover(mean * more, stock).unwrap());
        prop_assert!(high.no_stock_out <= low.no_stock_out + 1e-12);
        prop_assert!(high.expected_backorders >= low.expected_backorders * (1.0 - 1e-12));
    }

    #[test]
    fn the_smallest_stock_is_the_smallest(mean in 0.0..MEAN_MAX, wanted in 0.0..0.9999_f64) {
        let stock = stock_for_cover(mean, wanted).unwrap();
        prop_assert!(cover(mean, stock).unwrap().no_stock_out >= wanted - 1e-12);
        if stock > 0 {
            prop_assert!(cover(mean, stock - 1).unwrap().no_stock_out < wanted + 1e-12);
        }
    }

    #[test]
    fn the_interval_holds_the_rate(count in 0..500_u32, exposure in 0.1..1e4_f64, confidence in 0.5..0.99_f64) {
        let estimate = rate_from_count(count, exposure, confidence).unwrap();
        prop_assert!(estimate.low <= estimate.rate && estimate.rate < estimate.high && estimate.high.is_finite());
    }
}
