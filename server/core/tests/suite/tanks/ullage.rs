//! Fill limits.

use ostler_core::tanks::ullage::{
    FillInput, FillVerdict, adr_fill, adr_fill_of_fuel, adr_fill_percent_by_boiling_point, fill_limit,
    judge_fill,
};
use proptest::prelude::*;

use super::assert_close;

fn petrol() -> FillInput {
    FillInput {
        capacity_l: 110.0,
        density_15_kg_per_m3: 745.0,
        fill_temperature_c: 15.0,
        hottest_temperature_c: 50.0,
        greatest_fill_fraction: 0.98,
    }
}

/// ADR 4.1.1.4 with Table 54B, computed apart from this code from formulas that were read (the table's
/// constants in secondary copies); own calculation.
#[test]
fn adr_formula_gives_the_values_computed_apart() {
    assert_close(
        adr_fill_of_fuel(745.0, 15.0).unwrap().expansion_per_c,
        0.001_282_3,
        4e-5,
    );
    for (density, fill_temperature_c, percent) in [
        (745.0, 15.0, 93.79),
        (745.0, 20.0, 94.37),
        (745.0, 30.0, 95.55),
        (745.0, 40.0, 96.76),
        (835.0, 15.0, 95.05),
        (835.0, 30.0, 96.29),
    ] {
        let found = adr_fill_of_fuel(density, fill_temperature_c)
            .unwrap()
            .fill_percent;
        assert!(
            (found - percent).abs() <= 0.005_1,
            "{density} kg/m3 at {fill_temperature_c} C: {found}"
        );
    }
}

/// By definition of the rule, 98 percent at 50 C.
#[test]
fn adr_formula_allows_98_percent_at_50_c() {
    assert_eq!(adr_fill(745.0, 713.0, 50.0).unwrap().fill_percent, 98.0);
}

/// ADR 4.1.1.4, fill at 15 C by boiling point; 2013 text, read in the official French copy.
#[test]
fn adr_table_by_boiling_point() {
    let row = |boiling_point_c| adr_fill_percent_by_boiling_point(boiling_point_c).unwrap();
    assert_eq!(
        [59.9, 60.0, 99.9, 100.0, 199.9, 200.0, 299.9, 300.0].map(row),
        [90.0, 92.0, 92.0, 94.0, 94.0, 96.0, 96.0, 98.0]
    );
}

/// Petrol of 745 kg/m3 swells 4.49 percent from 15 to 50 C, diesel of 840 kg/m3 3.07 percent; own
/// calculation with Table 54B.
#[test]
fn a_fill_limit_leaves_room_for_the_swelling() {
    let limit = fill_limit(&petrol()).unwrap();
    assert!((limit.swelling - 1.044_9).abs() <= 5.1e-5);
    assert_close(limit.volume_l, 110.0 * 0.98 / limit.swelling, 1e-12);
    let diesel = FillInput {
        density_15_kg_per_m3: 840.0,
        ..petrol()
    };
    assert!((fill_limit(&diesel).unwrap().swelling - 1.030_7).abs() <= 5.1e-5);
}

/// The same rule two ways: our limit at 98 percent when hottest at 50 C, and the transport formula, which
/// takes the expansion as linear between its two temperatures and meets ours at 15 C.
#[test]
fn fill_limit_and_adr_formula_agree_at_15_c() {
    let limit = fill_limit(&petrol()).unwrap();
    assert_close(
        100.0 * limit.fill_fraction,
        adr_fill_of_fuel(745.0, 15.0).unwrap().fill_percent,
        1e-12,
    );
}

#[test]
fn fills_are_judged_by_what_becomes_of_them() {
    assert!(
        matches!(judge_fill(&petrol(), 100.0).unwrap(), FillVerdict::WithinLimit { ullage_l } if ullage_l > 5.0)
    );
    assert!(matches!(
        judge_fill(&petrol(), 104.5).unwrap(),
        FillVerdict::OverLimit { .. }
    ));
    let FillVerdict::Spills { excess_l, spill_l } = judge_fill(&petrol(), 110.0).unwrap() else {
        panic!("a brimful tank of petrol spills when it warms");
    };
    assert_close(spill_l, 110.0 * 0.044_9, 2e-3);
    assert!(excess_l > spill_l);
}

proptest! {
    #[test]
    fn hotter_days_never_allow_a_higher_fill(
        density in 700.0..=900.0_f64,
        fill_c in -20.0..=40.0_f64,
        one in 0.0..=60.0_f64,
        other in 0.0..=60.0_f64,
    ) {
        let limit = |above_c: f64| fill_limit(&FillInput {
            density_15_kg_per_m3: density,
            fill_temperature_c: fill_c,
            hottest_temperature_c: fill_c + above_c,
            ..petrol()
        }).unwrap();
        let (mild, hot) = (limit(one.min(other)), limit(one.max(other)));
        prop_assert!(hot.volume_l <= mild.volume_l);
        prop_assert!(mild.volume_l <= 0.98 * 110.0 * (1.0 + 1e-12));
        prop_assert!((mild.volume_l + mild.ullage_l - 110.0).abs() < 1e-9);
    }

    #[test]
    fn a_fill_at_its_limit_is_within_it(density in 700.0..=900.0_f64, fill_c in -20.0..=50.0_f64) {
        let input = FillInput { density_15_kg_per_m3: density, fill_temperature_c: fill_c, ..petrol() };
        let volume_l = fill_limit(&input).unwrap().volume_l;
        let is_within = matches!(judge_fill(&input, volume_l).unwrap(), FillVerdict::WithinLimit { .. });
        prop_assert!(is_within);
    }
}
