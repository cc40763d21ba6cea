//! Properties of the restraint assessment.

use ostler_core::restraint::{
    Assessment, Direction, Geometry, Item, LashingGroup, Lead, Ratings, Remedy, Standard, Verdict, assess,
};
use proptest::prelude::*;

use super::{item, row};

fn groups() -> impl Strategy<Value = LashingGroup> {
    let ratings = (1_000.0..50_000.0_f64, 100.0..10_000.0_f64).prop_map(|(strength_n, tension_n)| Ratings {
        lashing_capacity_n: Some(strength_n),
        tension_n: Some(tension_n),
        working_load_limit_n: Some(strength_n),
        breaking_strength_n: Some(2.0 * strength_n),
    });
    let geometry = prop_oneof![
        (0.0..=90.0_f64).prop_map(|angle_to_deck_deg| Geometry::TieDown { angle_to_deck_deg }),
        (0.0..=90.0_f64, 0.0..360.0_f64).prop_map(|(angle, bearing)| Geometry::Direct {
            lead: Lead::from_angles(angle, bearing)
        }),
    ];
    (0_u32..6, ratings, geometry).prop_map(|(count, ratings, geometry)| LashingGroup {
        name: "group".to_owned(),
        count,
        ratings,
        geometry,
    })
}

fn mirrored(group: &LashingGroup) -> LashingGroup {
    let geometry = match group.geometry {
        Geometry::Direct { lead } => Geometry::Direct {
            lead: Lead {
                right_mm: -lead.right_mm,
                ..lead
            },
        },
        over => over,
    };
    LashingGroup {
        geometry,
        ..group.clone()
    }
}

proptest! {
    #[test]
    fn more_lashings_are_never_worse(
        mass_kg in 1.0..5_000.0_f64,
        friction in 0.0..0.8_f64,
        groups in proptest::collection::vec(groups(), 1..4),
        which in 0_usize..3,
        standard in proptest::sample::select(Standard::all()),
    ) {
        let item = Item { length_mm: Some(2_000.0), ..item(mass_kg, friction) };
        let before = assess(&item, &groups, &[], &standard, None).unwrap();
        let mut more = groups.clone();
        let which = which % more.len();
        more[which].count += 1;
        let after = assess(&item, &more, &[], &standard, None).unwrap();
        prop_assert!(after.verdict <= before.verdict);
        for (after, before) in after.rows.iter().zip(&before.rows) {
            prop_assert!(after.provided_n >= before.provided_n - 1e-9);
            prop_assert!(after.shortfall_n <= before.shortfall_n + 1e-9);
        }
    }

    #[test]
    fn the_further_lashings_stated_close_the_shortfall_and_one_fewer_does_not(
        mass_kg in 1.0..5_000.0_f64,
        friction in 0.01..0.8_f64,
        groups in proptest::collection::vec(groups(), 1..4),
        standard in proptest::sample::select(Standard::all()),
    ) {
        let item = Item { length_mm: Some(2_000.0), ..item(mass_kg, friction) };
        let before = assess(&item, &groups, &[], &standard, None).unwrap();
        for (at, row) in before.rows.iter().enumerate() {
            prop_assert_eq!(row.shortfall_n > 0.0, row.verdict == Verdict::Short);
            for (index, closing) in row.closing.iter().enumerate() {
                let Remedy::Further(further) = closing.remedy else { continue };
                if groups[index].count + further > 1_000 || row.direction == Direction::Upward {
                    // Upward, more lashings may also take away the reliance on friction.
                    continue;
                }
                let with = |further: u32| {
                    let mut more = groups.clone();
                    more[index].count += further;
                    assess(&item, &more, &[], &standard, None).unwrap().rows[at].verdict
                };
                prop_assert_eq!(with(further), Verdict::Held);
                prop_assert_eq!(with(further - 1), Verdict::Short);
            }
        }
    }

    #[test]
    fn a_mirrored_item_has_mirrored_rows(
        mass_kg in 1.0..5_000.0_f64,
        groups in proptest::collection::vec(groups(), 1..4),
        standard in proptest::sample::select(Standard::all()),
    ) {
        let item = item(mass_kg, 0.3);
        let one = assess(&item, &groups, &[], &standard, None).unwrap();
        let other = assess(&item, &groups.iter().map(mirrored).collect::<Vec<_>>(), &[], &standard, None).unwrap();
        let provided = |assessment: &Assessment, direction| row(assessment, direction).provided_n;
        for (here, there) in [(Direction::Left, Direction::Right), (Direction::Right, Direction::Left), (Direction::Forward, Direction::Forward)] {
            prop_assert!((provided(&one, here) - provided(&other, there)).abs() < 1e-6);
        }
        prop_assert_eq!(one.verdict, other.verdict);
    }

    #[test]
    fn a_heavier_item_is_never_held_better(mass_kg in 1.0..2_000.0_f64, more_kg in 0.0..2_000.0_f64, friction in 0.0..0.45_f64, group in groups()) {
        let guide = Standard::australian_guide_2018();
        let missing = |mass_kg: f64| {
            let assessment = assess(&item(mass_kg, friction), std::slice::from_ref(&group), &[], &guide, None).unwrap();
            row(&assessment, Direction::Forward).shortfall_n
        };
        prop_assert!(missing(mass_kg + more_kg) >= missing(mass_kg) - 1e-9);
    }
}
