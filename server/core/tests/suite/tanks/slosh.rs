//! Slosh frequencies.

use ostler_core::tanks::SloshCell;
use ostler_core::tanks::slosh::{MODES_MAX, slosh_frequencies, slosh_frequency_hz};
use proptest::prelude::*;

use super::assert_close;

/// Linear wave theory (its two-dimensional form read in a solver's validation manual), first mode; own
/// calculation apart from this code.
#[test]
fn first_modes_as_computed_apart() {
    for (side_mm, depth_mm, frequency_hz) in [
        (800.0, 200.0, 0.7998),
        (800.0, 400.0, 0.9459),
        (1_000.0, 500.0, 0.8460),
        (1_200.0, 150.0, 0.4930),
    ] {
        let found = slosh_frequency_hz(side_mm, depth_mm, 1).unwrap();
        assert!(
            (found - frequency_hz).abs() <= 5.1e-5,
            "{side_mm} x {depth_mm}: {found}"
        );
    }
}

/// Limits of the theory: deep liquid gives `sqrt(g k) / 2 pi`, shallow liquid the wave speed `sqrt(g h)`
/// over twice the side. Textbook limits.
#[test]
fn deep_and_shallow_limits() {
    let deep = (9.80665_f64 * std::f64::consts::PI).sqrt() / (2.0 * std::f64::consts::PI);
    assert_close(slosh_frequency_hz(1_000.0, 10_000.0, 1).unwrap(), deep, 1e-9);
    let shallow = (9.80665_f64 * 0.001).sqrt() / 2.0;
    assert_close(slosh_frequency_hz(1_000.0, 1.0, 1).unwrap(), shallow, 1e-5);
}

proptest! {
    #[test]
    fn modes_rise_deeper_is_faster_and_longer_is_slower(
        length_mm in 50.0..3_000.0_f64,
        width_mm in 50.0..3_000.0_f64,
        depth_mm in 5.0..1_000.0_f64,
        more_mm in 1.0..500.0_f64,
    ) {
        let cell = SloshCell { length_mm, width_mm, height_mm: 2_000.0, depth_mm };
        let found = slosh_frequencies(&cell, MODES_MAX).unwrap();
        prop_assert!(found.lengthwise_hz.windows(2).all(|pair| pair[0] < pair[1]));
        prop_assert!(found.crosswise_hz.windows(2).all(|pair| pair[0] < pair[1]));
        let deeper = slosh_frequencies(&SloshCell { depth_mm: depth_mm + more_mm, ..cell }, 1).unwrap();
        prop_assert!(deeper.lengthwise_hz[0] >= found.lengthwise_hz[0]);
        let longer = slosh_frequencies(&SloshCell { length_mm: length_mm + more_mm, ..cell }, 1).unwrap();
        prop_assert!(longer.lengthwise_hz[0] < found.lengthwise_hz[0]);
        prop_assert_eq!(longer.crosswise_hz[0], found.crosswise_hz[0]);
    }
}
