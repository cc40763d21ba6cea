//! Three-point estimates against closed forms.

use ostler_core::plan::three_point::{Spread, ThreePoint};
use proptest::prelude::*;

fn close(left: f64, right: f64, tolerance: f64) {
    assert!((left - right).abs() <= tolerance, "{left} is not {right}");
}

#[test]
fn pert_mean_and_variance_are_the_textbook_ones() {
    // Taylor, Introduction to Management Science, activities 1 and 5 (estimates read in an online copy; mean and variance by
    // the formulas of the same text, own calculation).
    let activity = ThreePoint {
        optimistic: 5.0,
        likely: 8.0,
        pessimistic: 17.0,
    };
    close(activity.pert_mean(), 9.0, 1e-12);
    close(activity.pert_variance(), 4.0, 1e-12);
    let activity = ThreePoint {
        optimistic: 4.0,
        likely: 6.0,
        pessimistic: 8.0,
    };
    close(activity.pert_mean(), 6.0, 1e-12);
    close(activity.pert_variance(), 4.0 / 9.0, 1e-12);
}

#[test]
fn the_symmetrical_beta_distribution_has_its_polynomial() {
    // Beta(3, 3): F(x) = x^3 (10 - 15x + 6x^2), variance 1/28 (own calculation by integration of the density).
    let estimate = ThreePoint {
        optimistic: 10.0,
        likely: 20.0,
        pessimistic: 30.0,
    };
    for share in [0.1_f64, 0.25, 0.5, 0.8] {
        let chance = share.powi(3) * (10.0 - 15.0 * share + 6.0 * share * share);
        close(
            estimate.chance_at_most(Spread::BetaPert, 10.0 + 20.0 * share),
            chance,
            1e-12,
        );
        close(
            estimate.quantile(Spread::BetaPert, chance),
            10.0 + 20.0 * share,
            1e-9,
        );
    }
    close(estimate.variance(Spread::BetaPert), 400.0 / 28.0, 1e-12);
}

#[test]
fn a_mode_at_the_end_gives_a_power_law() {
    // Beta(5, 1): F(x) = x^5 (own calculation).
    let estimate = ThreePoint {
        optimistic: 0.0,
        likely: 1.0,
        pessimistic: 1.0,
    };
    close(
        estimate.chance_at_most(Spread::BetaPert, 0.9),
        0.9_f64.powi(5),
        1e-12,
    );
    close(estimate.quantile(Spread::BetaPert, 0.5), 0.5_f64.powf(0.2), 1e-12);
}

#[test]
fn the_triangle_has_its_closed_form() {
    // Areas of the triangle (own calculation): P(<= 4) = 1 - 3^2 / (5 x 4).
    let estimate = ThreePoint {
        optimistic: 2.0,
        likely: 3.0,
        pessimistic: 7.0,
    };
    close(estimate.chance_at_most(Spread::Triangular, 4.0), 0.55, 1e-12);
    close(estimate.quantile(Spread::Triangular, 0.55), 4.0, 1e-12);
    close(estimate.mean(Spread::Triangular), 4.0, 1e-12);
    close(estimate.variance(Spread::Triangular), 21.0 / 18.0, 1e-12);
}

#[test]
fn estimates_out_of_order_or_range_are_refused() {
    let refused = ThreePoint {
        optimistic: 5.0,
        likely: 4.0,
        pessimistic: 3.0,
    }
    .check()
    .unwrap_err();
    assert_eq!(refused.violations.len(), 2);
    for bad in [f64::NAN, f64::INFINITY, -1.0, 1e9] {
        let refused = ThreePoint {
            optimistic: bad,
            likely: 4.0,
            pessimistic: 5.0,
        }
        .check()
        .unwrap_err();
        assert_eq!(refused.violations[0].field, "optimistic");
    }
}

proptest! {
    #[test]
    fn quantiles_rise_stay_inside_and_invert(low in 0.0..100.0_f64, mode in 0.0..=1.0_f64, width in 0.1..100.0_f64) {
        let estimate = ThreePoint { optimistic: low, likely: low + mode * width, pessimistic: low + width };
        for spread in [Spread::BetaPert, Spread::Triangular] {
            let mut before = low;
            for step in 1..20 {
                let chance = f64::from(step) / 20.0;
                let value = estimate.quantile(spread, chance);
                prop_assert!(value >= before && value <= low + width);
                prop_assert!((estimate.chance_at_most(spread, value) - chance).abs() < 1e-9);
                before = value;
            }
        }
    }
}
