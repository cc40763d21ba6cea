//! Checks of the counts and aggregates of 49 CFR 393.

use ostler_core::restraint::us_rules::{least_tiedowns, unmarked_webbing_wll_n};
use ostler_core::restraint::{Geometry, Item, LashingGroup, Ratings, Remedy, Standard, Verdict, assess};

use super::item;
use ostler_core::units::STANDARD_GRAVITY_M_PER_S2;

/// 49 CFR 393.106(d) (guidance, read), 393.110 and 393.108 (secondary copy, read).
#[test]
fn us_aggregate_and_counts() {
    let group = |count, geometry| LashingGroup {
        name: "straps".to_owned(),
        count,
        ratings: Ratings {
            working_load_limit_n: Some(1_000.0),
            breaking_strength_n: Some(3_000.0),
            tension_n: Some(1_000.0),
            ..Ratings::default()
        },
        geometry,
    };
    let over = Geometry::TieDown {
        angle_to_deck_deg: 90.0,
    };
    let heavy = Item {
        length_mm: Some(3_200.0),
        ..item(600.0, 0.5)
    };
    let us = Standard::us_49_cfr_393();
    let assessment = assess(&heavy, &[group(2, over)], &[], &us, None).unwrap();
    let aggregate = assessment.aggregate.unwrap();
    assert!((aggregate.required_n - 300.0 * STANDARD_GRAVITY_M_PER_S2).abs() < 1e-9);
    assert_eq!(
        (aggregate.verdict, aggregate.closing[0].remedy),
        (Verdict::Short, Remedy::Further(1))
    );
    let count = assessment.count.unwrap();
    assert_eq!(
        (count.required, count.provided, count.verdict),
        (Some(3), 2, Verdict::Short)
    );
    assert_eq!(assessment.rows.len(), 10);
    let unknown_length = assess(&item(600.0, 0.5), &[group(2, over)], &[], &us, None).unwrap();
    assert_eq!(unknown_length.count.unwrap().verdict, Verdict::NotKnown);
    let lb = 0.453_592_37;
    let cases = [
        (1_524.0, 1_100.0 * lb, 1),
        (1_524.0, 1_101.0 * lb, 2),
        (3_048.0, 100.0, 2),
        (3_049.0, 100.0, 3),
        (6_097.0, 1.0, 4),
    ];
    for (length_mm, mass_kg, least) in cases {
        assert_eq!(
            least_tiedowns(length_mm, mass_kg),
            least,
            "{length_mm} mm, {mass_kg} kg"
        );
    }
    for (width_mm, lbf) in [
        (25.0, 1_000.0),
        (50.0, 2_000.0),
        (60.0, 2_000.0),
        (100.0, 4_000.0),
    ] {
        assert!((unmarked_webbing_wll_n(width_mm).unwrap() - lbf * 4.448_222).abs() < 0.01);
    }
    assert_eq!(unmarked_webbing_wll_n(20.0), None);
}
