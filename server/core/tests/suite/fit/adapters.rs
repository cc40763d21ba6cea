//! The cheapest chain of adapters, against trying every chain.

use std::cell::Cell;

use ostler_core::fit::{Bridge, BridgeCost, BridgeOption, Crossing, Gap, Match, bridge, compare};
use ostler_core::record::{Comparison, InterfaceValue};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::fixture::{circle, id, mm, text};

fn option(display_name: &str, hours: f64, lead_days: f64, crossings: Vec<Crossing>) -> BridgeOption {
    BridgeOption {
        display_name: display_name.to_owned(),
        crossings,
        mass_kg: 1.0,
        hours,
        lead_days,
    }
}

fn replaces(kind: &str, from: InterfaceValue, to: InterfaceValue) -> Crossing {
    Crossing::Replaces {
        kind: id(kind),
        from,
        to,
    }
}

fn gap(kind: &str, offered: InterfaceValue, required: InterfaceValue, tolerance: f64) -> Gap {
    Gap {
        kind: id(kind),
        offered,
        required,
        comparison: Comparison::Equal,
        tolerance,
    }
}

#[test]
fn an_adapter_that_lengthens_must_still_fit_the_length() {
    let gaps = |travel_mm| {
        vec![
            gap(
                "output_flange.rear",
                circle(4, 95.0, "M11"),
                circle(4, 90.0, "M10"),
                0.0,
            ),
            gap("overall_length", mm(806.0), mm(802.0), travel_mm),
        ]
    };
    let flange = || {
        replaces(
            "output_flange.rear",
            circle(4, 95.0, "M11"),
            circle(4, 90.0, "M10"),
        )
    };
    let adapter = Crossing::Lengthens {
        kind: id("overall_length"),
        by_mm: 12.0,
    };
    let options = [
        option("adapter 12 mm", 2.0, 0.0, vec![flange(), adapter]),
        option("swap flange", 4.0, 0.0, vec![flange()]),
    ];
    let cost = BridgeCost::default();
    let slip = bridge(&gaps(25.0), &options, cost, 3).unwrap();
    assert_eq!(
        slip.iter().map(|chain| chain.options.clone()).collect::<Vec<_>>(),
        [vec![0], vec![1]]
    );
    let rigid = bridge(&gaps(5.0), &options, cost, 3).unwrap();
    assert_eq!(
        rigid
            .iter()
            .map(|chain| chain.options.clone())
            .collect::<Vec<_>>(),
        [vec![1]]
    );
    assert_eq!((rigid[0].mass_kg, rigid[0].hours), (1.0, 4.0));
    assert!(bridge(&gaps(5.0), &options[..1], cost, 3).unwrap().is_empty());
    assert_eq!(
        bridge(&[], &options, cost, 3).unwrap()[0].options,
        Vec::<usize>::new()
    );
}

#[test]
fn bad_numbers_are_refused_with_their_path() {
    let mut bad = option("bad", -1.0, f64::NAN, vec![]);
    bad.mass_kg = f64::INFINITY;
    let refused = bridge(&[], &[bad], BridgeCost::default(), 0).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        ["options[0].mass_kg", "options[0].hours", "options[0].lead_days"]
    );
}

const VALUES: [&str; 3] = ["a", "b", "c"];

fn crossings() -> impl Strategy<Value = Vec<Crossing>> {
    let one = |kind: &'static str| {
        (0..3_usize, 1..3_usize)
            .prop_map(move |(from, step)| replaces(kind, text(VALUES[from]), text(VALUES[(from + step) % 3])))
    };
    prop_oneof![
        3 => one("x").prop_map(|crossing| vec![crossing]),
        3 => one("y").prop_map(|crossing| vec![crossing]),
        2 => (one("x"), one("y")).prop_map(|(x, y)| vec![x, y]),
        1 => (one("y"), -4..5_i32).prop_map(|(y, by_mm)| {
            vec![y, Crossing::Lengthens { kind: id("length"), by_mm: f64::from(by_mm) }]
        }),
    ]
}

fn catalogue() -> impl Strategy<Value = Vec<BridgeOption>> {
    let one = (crossings(), 0..8_u8, 0..4_u8, -2..4_i8).prop_map(|(crossings, hours, lead_days, mass_kg)| {
        let mut made = option("", f64::from(hours), f64::from(lead_days) * 3.0, crossings);
        made.mass_kg = f64::from(mass_kg);
        made
    });
    prop::collection::vec(one, 4..12)
}

/// The values after an option, where it takes up what is there.
fn crossed(gaps: &[Gap], state: &[InterfaceValue], option: &BridgeOption) -> Option<Vec<InterfaceValue>> {
    let mut next = state.to_vec();
    for crossing in &option.crossings {
        let (kind, from) = match crossing {
            Crossing::Replaces { kind, from, .. } => (kind, Some(from)),
            Crossing::Lengthens { kind, .. } => (kind, None),
        };
        let at = gaps.iter().position(|gap| gap.kind == *kind)?;
        if from.is_some_and(|from| *from != next[at]) {
            return None;
        }
        next[at] = match (crossing, &next[at]) {
            (Crossing::Replaces { to, .. }, _) => to.clone(),
            (Crossing::Lengthens { by_mm, .. }, InterfaceValue::LengthMm(length_mm)) => mm(length_mm + by_mm),
            _ => return None,
        };
    }
    Some(next)
}

/// The least cost over every chain of at most `left` more options.
fn least(
    gaps: &[Gap],
    options: &[BridgeOption],
    state: &[InterfaceValue],
    spent: (f64, f64),
    left: usize,
) -> f64 {
    let done = gaps
        .iter()
        .zip(state)
        .all(|(gap, value)| compare(&gap.required, value, gap.comparison, gap.tolerance) == Match::Matches);
    let (hours, wait_days) = spent;
    let mut best = if done { hours + wait_days } else { f64::INFINITY };
    if left > 0 {
        for option in options {
            if let Some(next) = crossed(gaps, state, option) {
                let hours = hours + option.hours + 0.5 * option.mass_kg.max(0.0);
                let spent = (hours, wait_days.max(option.lead_days));
                best = best.min(least(gaps, options, &next, spent, left - 1));
            }
        }
    }
    best
}

fn check_chain(gaps: &[Gap], options: &[BridgeOption], chain: &Bridge) {
    let mut state: Vec<InterfaceValue> = gaps.iter().map(|gap| gap.offered.clone()).collect();
    for index in &chain.options {
        state = crossed(gaps, &state, &options[*index]).unwrap();
    }
    for (gap, value) in gaps.iter().zip(&state) {
        assert_eq!(
            compare(&gap.required, value, gap.comparison, gap.tolerance),
            Match::Matches
        );
    }
}

#[test]
fn the_cheapest_chain_is_found_in_500_random_catalogues() {
    let config = Config {
        cases: 500,
        ..Config::default()
    };
    let wanted = (catalogue(), 1..3_usize, 0..3_usize);
    let (bridged, waited_for) = (Cell::new(0), Cell::new(0));
    // The same catalogues every time, so that the counts below say something.
    let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    TestRunner::new_with_rng(config, rng)
        .run(&wanted, |(options, x, y)| {
            let gaps = [
                gap("x", text("a"), text(VALUES[x]), 0.0),
                gap("y", text("b"), text(VALUES[y]), 0.0),
                gap("length", mm(800.0), mm(802.0), 3.0),
            ];
            let start: Vec<InterfaceValue> = gaps.iter().map(|gap| gap.offered.clone()).collect();
            let least = least(&gaps, &options, &start, (0.0, 0.0), 6);
            let found = bridge(&gaps, &options, BridgeCost::default(), 2).unwrap();
            let cost = found.first().map_or(f64::INFINITY, |best| best.cost_hours);
            prop_assert!(cost == least, "found {cost}, least {least}: {found:?}");
            if let Some(best) = found.first().filter(|best| !best.options.is_empty()) {
                bridged.set(bridged.get() + 1);
                // Whether waiting decided: without its cost another chain would be cheaper.
                let free = BridgeCost {
                    hours_per_lead_day: 0.0,
                    ..BridgeCost::default()
                };
                let hurried = bridge(&gaps, &options, free, 0).unwrap();
                waited_for.set(waited_for.get() + i32::from(hurried[0].options != best.options));
            }
            for chain in &found {
                check_chain(&gaps, &options, chain);
                prop_assert!(chain.cost_hours >= cost);
            }
            Ok(())
        })
        .unwrap();
    assert!(
        bridged.get() > 150,
        "{} catalogues bridge anything",
        bridged.get()
    );
    assert!(waited_for.get() >= 10, "waiting decides in {}", waited_for.get());
}
