//! What holds of every convoy.

#![cfg(test)]

use ostler_core::answer::Answer;
use ostler_core::stowage::{Ban, Convoy, Place, Progress, Stowage, Unwatched, Watch, margins, solve};
use proptest::prelude::*;

use super::convoy::random_convoy;
use super::options;

/// Pins, bans and groups of a convoy that was stowed.
fn assert_kept(convoy: &Convoy, found: &Stowage) {
    for (item, place) in convoy.items.iter().zip(&found.places) {
        let vehicle = &convoy.vehicles[place.vehicle];
        let zone = &vehicle.zones[place.zone];
        assert!(
            !item.pinned || item.now == Some(*place),
            "{} is pinned",
            item.name
        );
        for ban in item.bans.iter().filter(|_| !item.pinned) {
            let broken = match *ban {
                Ban::Roof => zone.on_roof,
                Ban::OccupantSpace => zone.occupant_space,
                Ban::Vehicle(banned) => place.vehicle == banned,
                Ban::Zone(of, banned) => (place.vehicle, place.zone) == (of, banned),
            };
            assert!(!broken, "{} is at {place:?} against {ban:?}", item.name);
        }
        assert!(
            place.own.is_none() || item.now == Some(*place),
            "only what stays keeps its own place"
        );
    }
    for group in &convoy.groups {
        let vehicles: Vec<usize> = group.iter().map(|item| found.places[*item].vehicle).collect();
        assert!(
            vehicles.iter().all(|vehicle| *vehicle == vehicles[0]),
            "{vehicles:?}"
        );
    }
    let held = margins(convoy, &found.places).unwrap();
    assert_eq!(held, found.margins);
    let smallest = held
        .iter()
        .filter_map(|margin| margin.margin)
        .fold(f64::INFINITY, f64::min);
    assert_eq!(Some(smallest), found.smallest_margin);
    assert_eq!(held.iter().all(|margin| margin.kept), found.answer == Answer::Met);
    if let Some(bound) = found.margin_bound {
        assert!(smallest <= bound, "{smallest} is above the bound {bound}");
    }
}

#[test]
fn limits_pins_bans_and_groups_are_kept_and_little_is_left_to_gain() {
    for (seed, vehicles, items) in [(11, 4, 60), (12, 6, 120), (13, 5, 90)] {
        let convoy = random_convoy(seed, vehicles, items);
        let found = solve(&convoy, &options(60_000), &Unwatched).unwrap();
        assert_kept(&convoy, &found);
        assert_eq!(found.answer, Answer::Met);
        let (margin, bound) = (found.smallest_margin.unwrap(), found.margin_bound.unwrap());
        assert!(margin >= 0.98 * bound, "seed {seed}: {margin} of at most {bound}");
    }
}

#[test]
fn the_same_seed_and_budget_give_the_same_answer() {
    let convoy = random_convoy(21, 4, 60);
    let first = solve(&convoy, &options(20_000), &Unwatched).unwrap();
    assert_eq!(first, solve(&convoy, &options(20_000), &Unwatched).unwrap());
}

/// Giving up a little margin never moves more, and gives up no more than allowed.
#[test]
fn margin_given_up_moves_less() {
    let convoy = random_convoy(31, 4, 60);
    let all = solve(&convoy, &options(40_000), &Unwatched).unwrap();
    let mut generous = options(40_000);
    generous.give_up_share = 0.2;
    let less = solve(&convoy, &generous, &Unwatched).unwrap();
    assert!(less.moved_mass_kg < all.moved_mass_kg);
    assert!(less.smallest_margin.unwrap() >= 0.79 * all.smallest_margin.unwrap());
}

struct Impatient(std::cell::Cell<u64>);

impl Watch for Impatient {
    fn is_over(&self) -> bool {
        self.0.get() > 0
    }
    fn stands(&self, progress: Progress) {
        assert!(progress.smallest_margin.unwrap() <= progress.margin_bound);
        self.0.set(progress.steps);
    }
}

/// Who waits hears how it stands, and may end it.
#[test]
fn a_search_can_be_watched_and_ended() {
    let convoy = random_convoy(41, 4, 60);
    let watch = Impatient(std::cell::Cell::new(0));
    let found = solve(&convoy, &options(1_000_000), &watch).unwrap();
    assert!(found.steps <= 100_000 && found.steps == watch.0.get());
    assert_kept(&convoy, &found);
}

/// The best smallest margin of a small convoy, by trying every placement.
fn by_trying_all(convoy: &Convoy) -> f64 {
    let zones: Vec<Place> = (0..convoy.vehicles.len())
        .flat_map(|vehicle| {
            (0..convoy.vehicles[vehicle].zones.len()).map(move |zone| super::place(vehicle, zone))
        })
        .collect();
    let mut best = f64::NEG_INFINITY;
    let count = zones.len().pow(u32::try_from(convoy.items.len()).unwrap());
    for mut code in 0..count {
        let mut places = Vec::new();
        for _ in &convoy.items {
            places.push(zones[code % zones.len()]);
            code /= zones.len();
        }
        let held = margins(convoy, &places).unwrap();
        let hard = held.iter().all(|margin| margin.kept || margin.margin.is_some());
        if hard {
            let smallest = held
                .iter()
                .filter_map(|margin| margin.margin)
                .fold(f64::INFINITY, f64::min);
            best = best.max(smallest);
        }
    }
    best
}

fn small(masses_kg: &[f64], payloads_kg: &[f64]) -> Convoy {
    let vehicles = payloads_kg.iter().enumerate().map(|(index, payload_kg)| {
        let mut vehicle = super::vehicle(&format!("v{index}"), 1_000.0, 1_000.0 + payload_kg);
        super::add_zone(&mut vehicle, super::zone("rear", 3_200.0));
        vehicle.zones[1].limit_kg = Some(60.0);
        vehicle.front_axle_rating_kg = 560.0;
        vehicle.rear_axle_rating_kg = 590.0;
        vehicle
    });
    super::convoy(vehicles.collect(), super::items(masses_kg))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Small convoys reach what trying everything finds, with a gap no larger than that at which the search stops (2e-4
    /// of the bound), and more capacity never leaves a smaller margin.
    #[test]
    fn small_convoys_are_solved_exactly_and_capacity_helps(
        masses_kg in prop::collection::vec(1.0..80.0_f64, 1..5),
        payloads_kg in prop::array::uniform2(60.0..200.0_f64),
        more_kg in 0.0..100.0_f64,
    ) {
        let convoy = small(&masses_kg, &payloads_kg);
        let found = solve(&convoy, &options(2_000), &Unwatched).unwrap();
        assert_kept(&convoy, &found);
        let best = by_trying_all(&convoy);
        prop_assert!((found.smallest_margin.unwrap() - best).abs() < 1e-9, "{:?} of {best}", found.smallest_margin);
        let stops_at = (2e-4 * found.margin_bound.unwrap().abs()).max(1e-6);
        prop_assert!(found.gap.unwrap() <= stops_at, "{:?} of {:?}", found.gap, found.margin_bound);
        prop_assert!((found.answer == Answer::Met) == (best >= 0.0));

        let mut roomier = convoy;
        roomier.vehicles[0].gross_mass_kg += more_kg;
        roomier.vehicles[1].rear_axle_rating_kg += more_kg;
        let now = solve(&roomier, &options(2_000), &Unwatched).unwrap().smallest_margin.unwrap();
        prop_assert!(now >= best - 1e-9, "{now} with more capacity, {best} before");
    }
}
