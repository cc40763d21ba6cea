//! Properties of the flow between cells.

use ostler_core::tanks::flow::{Run, Starvation, SteadyState, run, starvation, steady_state};
use ostler_core::tanks::{CellChain, Draw};
use proptest::prelude::*;

use super::{baffle, cell, volume_l};

fn chains() -> impl Strategy<Value = CellChain> {
    (1..6_usize)
        .prop_flat_map(|count| {
            let cells = prop::collection::vec((100.0..800.0_f64, 100.0..800.0_f64), count);
            let holes = prop::collection::vec(
                (prop_oneof![Just(0.0), 0.0..1.0_f64], 5.0..50.0_f64, 1..4_u32),
                count - 1,
            );
            (cells, holes, 150.0..600.0_f64)
        })
        .prop_map(|(cells, holes, height_mm)| CellChain {
            height_mm,
            cells: cells
                .into_iter()
                .map(|(length_mm, width_mm)| cell(length_mm, width_mm))
                .collect(),
            baffles: holes
                .into_iter()
                .map(|(place, diameter_mm, count)| {
                    let reach_mm = diameter_mm / 2.0 + 1.0;
                    baffle(
                        reach_mm + place * (height_mm - 2.0 * reach_mm),
                        diameter_mm,
                        count,
                        0.62,
                    )
                })
                .collect(),
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn flow_keeps_volume_and_levels_stay_in_the_tank(
        chain in chains(),
        starts in prop::collection::vec(0.0..=1.0_f64, 6),
        rate in prop::option::of(0.5..60.0_f64),
        duration_s in prop_oneof![1.0..1_000.0_f64, 1e3..=1e6_f64],
    ) {
        let start_levels_mm: Vec<f64> =
            chain.cells.iter().zip(&starts).map(|(_, part)| part * chain.height_mm).collect();
        let draw = rate.map(|rate_l_per_min| Draw { cell: 0, rate_l_per_min, pickup_height_mm: 5.0 });
        let outcome =
            run(&chain, &Run { start_levels_mm: start_levels_mm.clone(), draw, duration_s }).unwrap();
        let start_l = volume_l(&chain, &start_levels_mm);
        let end_l = volume_l(&chain, &outcome.levels_mm) + outcome.drawn_l;
        prop_assert!((start_l - end_l).abs() <= 1e-6 * (1.0 + start_l), "{} l became {} l", start_l, end_l);
        let highest_mm = start_levels_mm.iter().copied().fold(0.0, f64::max);
        for level_mm in &outcome.levels_mm {
            prop_assert!(*level_mm >= -1e-6 && *level_mm <= highest_mm + 1e-6, "{}", level_mm);
        }
    }

    #[test]
    fn no_tank_starves_at_a_higher_fill_than_promised(
        chain in chains(),
        at in 0..6_usize,
        rate_l_per_min in 0.5..60.0_f64,
        pickup_height_mm in 5.0..100.0_f64,
    ) {
        let draw = Draw { cell: at % chain.cells.len(), rate_l_per_min, pickup_height_mm };
        if let Starvation::AtFill { volume_l: said_l, holes_are_covered, most_volume_l, .. } =
            starvation(&chain, &draw).unwrap()
        {
            let duration_s = 60.0 * chain.capacity_l().unwrap() / rate_l_per_min;
            let start_levels_mm = vec![0.95 * chain.height_mm; chain.cells.len()];
            let outcome = run(&chain, &Run { start_levels_mm, draw: Some(draw), duration_s }).unwrap();
            prop_assert!(outcome.starved);
            let left_l = volume_l(&chain, &outcome.levels_mm);
            let start_l = 0.95 * chain.capacity_l().unwrap();
            let promised_l = if holes_are_covered { said_l } else { most_volume_l.unwrap_or(start_l) };
            prop_assert!(left_l <= promised_l * 1.001 + 0.01, "left {} l, said {} l", left_l, promised_l);
        }
    }

    #[test]
    fn more_draw_never_raises_the_level_of_the_pumps_cell(
        chain in chains(),
        at in 0..6_usize,
        part in 0.0..=1.0_f64,
        one in 0.1..40.0_f64,
        other in 0.1..40.0_f64,
    ) {
        let cell = at % chain.cells.len();
        let volume_l = part * chain.capacity_l().unwrap();
        let state = |rate_l_per_min| {
            let draw = Draw { cell, rate_l_per_min, pickup_height_mm: 5.0 };
            (steady_state(&chain, &draw, volume_l).unwrap(), starvation(&chain, &draw).unwrap())
        };
        let ((gentle, gently), (hard, sharply)) = (state(one.min(other)), state(one.max(other)));
        if let (SteadyState::Settled(gentle), SteadyState::Settled(hard)) = (&gentle, &hard) {
            prop_assert!(hard.levels_mm[cell] <= gentle.levels_mm[cell] + 1e-6);
        }
        if gentle == SteadyState::Starves {
            prop_assert_eq!(&hard, &SteadyState::Starves);
        }
        if let (
            Starvation::AtFill { volume_l: gently_l, .. },
            Starvation::AtFill { volume_l: sharply_l, .. },
        ) = (&gently, &sharply) {
            prop_assert!(*sharply_l >= gently_l - 1e-9);
        }
    }

    #[test]
    fn the_mirrored_chain_settles_to_mirrored_levels(chain in chains(), part in 0.2..0.9_f64) {
        let mut mirrored = chain.clone();
        mirrored.cells.reverse();
        mirrored.baffles.reverse();
        let volume_l = part * chain.capacity_l().unwrap();
        let last = chain.cells.len() - 1;
        let at = |cell| Draw { cell, rate_l_per_min: 4.0, pickup_height_mm: 5.0 };
        let (one, other) = (
            steady_state(&chain, &at(0), volume_l).unwrap(),
            steady_state(&mirrored, &at(last), volume_l).unwrap(),
        );
        match (one, other) {
            (SteadyState::Settled(one), SteadyState::Settled(other)) => {
                for (left, right) in one.levels_mm.iter().zip(other.levels_mm.iter().rev()) {
                    prop_assert!((left - right).abs() <= 1e-6);
                }
            }
            (one, other) => prop_assert_eq!(one, other),
        }
    }
}
