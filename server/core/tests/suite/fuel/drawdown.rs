//! Drawdown: conservation, order, never negative.

use ostler_core::fuel::drawdown::{LegDraw, drawdown};
use ostler_core::fuel::tank::{Feed, Tank, usable_aboard_l};
use proptest::prelude::*;

fn tank(id: &str, feed: Feed, capacity_l: f64, unusable_l: f64, fill_l: f64) -> Tank {
    Tank {
        id: id.to_owned(),
        feed,
        capacity_l,
        unusable_l,
        fill_limit_l: capacity_l,
        fill_l,
    }
}

fn leg(litres: f64, taken_on_l: f64) -> LegDraw {
    LegDraw {
        leg: "A".to_owned(),
        litres,
        taken_on_l,
    }
}

#[test]
fn tanks_empty_in_the_order_given() {
    let tanks = [
        tank("main", Feed::Engine, 90.0, 5.0, 90.0),
        tank("cans", Feed::Decanted, 60.0, 1.0, 60.0),
    ];
    let states = drawdown(&tanks, &[leg(50.0, 0.0), leg(50.0, 0.0)]).unwrap();
    assert_eq!(
        states[0].fills.iter().map(|fill| fill.fill_l).collect::<Vec<_>>(),
        [40.0, 60.0]
    );
    assert!(states[0].transfers.is_empty());
    // 35 l from the main tank down to its heel, 15 l poured from the cans.
    assert_eq!(
        states[1].fills.iter().map(|fill| fill.fill_l).collect::<Vec<_>>(),
        [5.0, 45.0]
    );
    assert_eq!(
        (states[1].transfers[0].to.as_str(), states[1].transfers[0].litres),
        ("main", 15.0)
    );
    // The other order keeps the main tank full as long as the cans last.
    let [main, cans] = tanks;
    let states = drawdown(&[cans, main], &[leg(50.0, 0.0)]).unwrap();
    assert_eq!(
        states[0].fills.iter().map(|fill| fill.fill_l).collect::<Vec<_>>(),
        [10.0, 90.0]
    );
}

#[test]
fn decanted_fuel_first_replaces_the_heel() {
    let tanks = [
        tank("main", Feed::Engine, 90.0, 5.0, 2.0),
        tank("cans", Feed::Decanted, 60.0, 1.0, 60.0),
    ];
    assert_eq!(usable_aboard_l(&tanks).unwrap(), 56.0);
    let states = drawdown(&tanks, &[leg(60.0, 0.0)]).unwrap();
    assert_eq!(
        (states[0].burnt_l, states[0].short_l, states[0].usable_l),
        (56.0, 4.0, 0.0)
    );
}

#[test]
fn fuel_taken_on_fills_plumbed_tanks_first() {
    let tanks = [
        tank("cans", Feed::Decanted, 60.0, 1.0, 10.0),
        tank("main", Feed::Engine, 90.0, 5.0, 50.0),
    ];
    let states = drawdown(&tanks, &[leg(0.0, 60.0), leg(0.0, 60.0)]).unwrap();
    assert_eq!(
        states[0].fills.iter().map(|fill| fill.fill_l).collect::<Vec<_>>(),
        [30.0, 90.0]
    );
    assert_eq!((states[1].taken_on_l, states[1].refused_l), (30.0, 30.0));
}

#[test]
fn the_demo_truck_stands_with_nothing_lost() {
    let truck = &super::demo::vehicles()[3];
    let legs: Vec<LegDraw> = super::demo::consumption(truck)
        .legs
        .into_iter()
        .map(|leg| LegDraw {
            leg: leg.leg,
            litres: leg.litres,
            taken_on_l: 0.0,
        })
        .collect();
    let states = drawdown(&truck.tanks, &legs).unwrap();
    let last = states.last().unwrap();
    assert!(states.iter().all(|state| state.short_l == 0.0));
    // The reference arrives with 65 l of usable fuel (invented demo, own reference calculation).
    assert!((last.usable_l - 65.0).abs() <= 0.1, "{}", last.usable_l);
    let poured: f64 = states
        .iter()
        .flat_map(|state| &state.transfers)
        .map(|transfer| transfer.litres)
        .sum();
    assert!(
        (poured - (508.1 - 260.0)).abs() <= 0.1,
        "all beyond the 260 l of the plumbed tanks: {poured}"
    );
}

prop_compose! {
    fn any_tank()(
        engine in any::<bool>(),
        capacity_l in 1.0..200.0f64,
        unusable in 0.0..0.2f64,
        fill in 0.0..=1.0f64,
    ) -> Tank {
        let feed = if engine { Feed::Engine } else { Feed::Decanted };
        tank("", feed, capacity_l, unusable * capacity_l, fill * capacity_l)
    }
}

prop_compose! {
    fn any_tanks()(first in any_tank(), mut others in prop::collection::vec(any_tank(), 0..5), at in 0..6usize)
        -> Vec<Tank> {
        let first = Tank { feed: Feed::Engine, ..first };
        others.insert(at.min(others.len()), first);
        others.iter_mut().enumerate().for_each(|(index, tank)| tank.id = index.to_string());
        others
    }
}

proptest! {
    #[test]
    fn litres_are_conserved_and_stay_within_the_tanks(
        tanks in any_tanks(),
        legs in prop::collection::vec((0.0..150.0f64, 0.0..100.0f64), 1..12),
    ) {
        let legs: Vec<LegDraw> = legs.into_iter().map(|(litres, taken_on_l)| leg(litres, taken_on_l)).collect();
        let mut aboard: f64 = tanks.iter().map(|tank| tank.fill_l).sum();
        let mut usable = usable_aboard_l(&tanks).unwrap();
        for (state, leg) in drawdown(&tanks, &legs).unwrap().iter().zip(&legs) {
            let after: f64 = state.fills.iter().map(|fill| fill.fill_l).sum();
            prop_assert!((aboard - state.burnt_l + state.taken_on_l - after).abs() < 1e-9);
            prop_assert!((state.burnt_l + state.short_l - leg.litres).abs() < 1e-9);
            prop_assert!((state.taken_on_l + state.refused_l - leg.taken_on_l).abs() < 1e-9);
            for (fill, tank) in state.fills.iter().zip(&tanks) {
                prop_assert!(fill.fill_l >= 0.0 && fill.fill_l <= tank.capacity_l);
            }
            // What was said to be usable is what burns before the vehicle stands.
            prop_assert!((state.burnt_l - usable.min(leg.litres)).abs() < 1e-9);
            prop_assert!(state.transfers.iter().all(|transfer| transfer.litres > 0.0));
            aboard = after;
            usable = state.usable_l;
        }
    }
}
