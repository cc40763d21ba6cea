//! Frontier, best kit, and the exact kit as their oracle.

use ostler_core::spares::best::{BestKit, KitMethod, best_kit};
use ostler_core::spares::exact::exact_kit;
use ostler_core::spares::kit::{FrontierEnd, Spare, frontier, marginal_kit};
use proptest::prelude::*;

use super::close;

fn spare(name: &str, mean: f64, mass_kg: f64) -> Spare {
    Spare {
        name: name.to_owned(),
        mean,
        mass_kg,
        importance: 1.0,
        held: 0,
        most: 100,
    }
}

fn worked() -> Vec<Spare> {
    vec![spare("A", 1.0, 2.0), spare("B", 0.5, 1.0), spare("C", 2.0, 5.0)]
}

#[test]
fn the_worked_frontier() {
    // Own calculation of the method; no published worked example was found.
    let wanted = [
        ("B", 0.393_47, 1.0, 3.1065),
        ("A", 0.316_06, 3.0, 2.4744),
        ("C", 0.172_93, 8.0, 1.6097),
        ("A", 0.132_12, 10.0, 1.3455),
        ("C", 0.118_80, 15.0, 0.7515),
        ("B", 0.090_20, 16.0, 0.6613),
        ("C", 0.064_66, 21.0, 0.3380),
        ("A", 0.040_15, 23.0, 0.2577),
    ];
    let spares = worked();
    let found = frontier(&spares, 23.0).unwrap();
    close(found.start_expected_backorders, 3.5, 1e-12);
    assert_eq!(found.end, FrontierEnd::Budget);
    assert_eq!(found.steps.len(), wanted.len());
    for (step, (name, gain_per_kg, mass_kg, expected_backorders)) in found.steps.iter().zip(wanted) {
        assert_eq!(spares[step.spare].name, name);
        close(step.gain_per_kg, gain_per_kg, 5e-6);
        close(step.mass_kg, mass_kg, 0.0);
        close(step.expected_backorders, expected_backorders, 5e-5);
    }
}

#[test]
fn between_two_points_a_heavier_choice_may_win() {
    // Frontier points lie at 3 and 8 kg. With 7 kg marginal analysis fills up with a second A and two more B:
    // 2.1056 open needs. One A and one C weigh 7 kg too and leave 2.0032 (both own calculation from the tables).
    let marginal = marginal_kit(&worked(), 7.0).unwrap();
    assert_eq!((marginal.stocks.as_slice(), marginal.filled), (&[2, 3, 0][..], 3));
    close(marginal.expected_backorders, 2.1056, 5e-5);
    let BestKit { kit: best, method } = best_kit(&worked(), 7.0, 1.0).unwrap();
    assert_eq!(
        (best.stocks.as_slice(), method),
        (&[1, 0, 1][..], KitMethod::Proven)
    );
    close(best.expected_backorders, 2.0032, 5e-5);
    assert!(marginal.expected_backorders_bound < best.expected_backorders);
    // A step that does not divide the masses proves nothing, and a huge case falls back.
    assert_ne!(best_kit(&worked(), 7.0, 0.3).unwrap().method, KitMethod::Proven);
    assert_eq!(
        best_kit(&worked(), 1e6, 0.001).unwrap().method,
        KitMethod::Marginal
    );
}

#[test]
fn copies_held_and_limits_are_kept() {
    let mut spares = worked();
    spares[2].held = 1;
    spares[1].most = 0;
    let kit = marginal_kit(&spares, 11.0).unwrap();
    assert_eq!(kit.stocks, [3, 0, 1]);
    let refused = marginal_kit(&spares, 4.0).unwrap_err();
    assert_eq!(refused.violations[0].field, "budget_kg");
    let endless = frontier(&worked(), 1e6).unwrap();
    assert_eq!(endless.end, FrontierEnd::NothingToGain);
    assert!(marginal_kit(&[], 10.0).unwrap().stocks.is_empty());
}

#[test]
fn importance_moves_a_spare_forward() {
    let mut spares = worked();
    spares[2].importance = 10.0;
    assert_eq!(frontier(&spares, 23.0).unwrap().steps[0].spare, 2);
}

#[test]
fn bad_spares_are_named() {
    let mut spares = worked();
    spares[0].mean = f64::NAN;
    spares[1].mass_kg = 0.0;
    spares[2].held = 5;
    spares[2].most = 4;
    let refused = frontier(&spares, f64::INFINITY).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "budget_kg",
            "spares[0].mean",
            "spares[1].mass_kg",
            "spares[2].most"
        ]
    );
    // A case too large for the exact search is refused, not started.
    assert_eq!(
        exact_kit(&worked(), 1e6, 0.001).unwrap_err().violations[0].field,
        "mass_step_kg"
    );
}

fn any_spares() -> impl Strategy<Value = Vec<Spare>> {
    prop::collection::vec((0.0..4.0_f64, 1..12_u32, 0.2..5.0_f64, 0..2_u32, 0..8_u32), 1..6).prop_map(
        |rows| {
            rows.into_iter()
                .map(|(mean, mass_kg, importance, held, further)| Spare {
                    importance,
                    held,
                    most: held + further,
                    ..spare("", mean, f64::from(mass_kg))
                })
                .collect()
        },
    )
}

fn held_kg(spares: &[Spare]) -> f64 {
    spares
        .iter()
        .map(|spare| spare.mass_kg * f64::from(spare.held))
        .sum()
}

/// Every kit within the budget, tried one by one: an oracle that shares nothing with the other two.
fn least_by_trying(spares: &[Spare], budget_kg: f64) -> f64 {
    let Some((first, rest)) = spares.split_first() else {
        return 0.0;
    };
    let mut least = f64::INFINITY;
    for stock in first.held..=first.most {
        let left_kg = budget_kg - first.mass_kg * f64::from(stock);
        if left_kg < held_kg(rest) - 1e-9 {
            break;
        }
        let open = ostler_core::spares::cover::cover(first.mean, stock)
            .map_or(f64::INFINITY, |cover| cover.expected_backorders);
        least = least.min(first.importance * open + least_by_trying(rest, left_kg));
    }
    least
}

proptest! {
    #[test]
    fn the_frontier_is_convex_and_exact_at_its_points(spares in any_spares(), extra in 0..40_u32) {
        let found = frontier(&spares, held_kg(&spares) + f64::from(extra)).unwrap();
        for pair in found.steps.windows(2) {
            prop_assert!(pair[1].gain_per_kg <= pair[0].gain_per_kg);
            prop_assert!(pair[1].expected_backorders <= pair[0].expected_backorders);
            prop_assert!(pair[1].no_stock_out >= pair[0].no_stock_out);
        }
        for step in &found.steps {
            let exact = exact_kit(&spares, step.mass_kg, 1.0).unwrap();
            prop_assert!((exact.expected_backorders - step.expected_backorders).abs() < 1e-8);
        }
    }

    #[test]
    fn the_marginal_kit_is_no_better_than_the_exact_one_and_its_bound_no_worse(spares in any_spares(), extra in 0..40_u32) {
        let budget_kg = held_kg(&spares) + f64::from(extra);
        let kit = marginal_kit(&spares, budget_kg).unwrap();
        let exact = exact_kit(&spares, budget_kg, 1.0).unwrap();
        prop_assert!(kit.mass_kg <= budget_kg + 1e-6 && exact.mass_kg <= budget_kg + 1e-6);
        prop_assert!(kit.expected_backorders >= exact.expected_backorders - 1e-8);
        prop_assert!(kit.expected_backorders_bound <= exact.expected_backorders + 1e-8);
        let BestKit { kit: best, method } = best_kit(&spares, budget_kg, 1.0).unwrap();
        prop_assert_eq!(method, KitMethod::Proven);
        prop_assert!((best.expected_backorders - exact.expected_backorders).abs() < 1e-12);
        for (stock, spare) in kit.stocks.iter().zip(&spares) {
            prop_assert!((spare.held..=spare.most).contains(stock));
        }
        let more = marginal_kit(&spares, budget_kg + 10.0).unwrap();
        prop_assert!(more.expected_backorders_bound <= kit.expected_backorders + 1e-9);
    }

    #[test]
    fn the_exact_kit_is_exact(spares in any_spares(), extra in 0..25_u32) {
        let spares = &spares[..spares.len().min(3)];
        let budget_kg = held_kg(spares) + f64::from(extra);
        let exact = exact_kit(spares, budget_kg, 1.0).unwrap();
        prop_assert!((exact.expected_backorders - least_by_trying(spares, budget_kg)).abs() < 1e-8);
    }
}
