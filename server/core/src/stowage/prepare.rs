//! A first placement: everything stays that may, and the rest goes, heaviest first, where it leaves the
//! least excess.

use super::frame::Frame;
use super::state::State;

/// What has nowhere to go: an item with no allowed zone, or a group with no vehicle that has one for each.
pub(super) fn without_place(frame: &Frame) -> Vec<usize> {
    let mut without: Vec<usize> = (0..frame.units.len())
        .filter(|unit| frame.vehicles_of(*unit).is_empty())
        .flat_map(|unit| frame.units[unit].iter().copied())
        .collect();
    without.sort_unstable();
    without
}

/// A placement that keeps pins, bans and groups; every unit has a vehicle.
pub(super) fn first_placement(frame: &Frame, aim: f64) -> Vec<usize> {
    let stays = |unit: &Vec<usize>| {
        let mut vehicles = unit.iter().map(|piece| {
            let now = frame.pieces[*piece].now?;
            Some(frame.spots[now].vehicle)
        });
        let first = vehicles.next().flatten();
        first.is_some() && vehicles.all(|vehicle| vehicle == first)
    };
    let any = |piece: usize| frame.pieces[piece].spots.first().copied().unwrap_or_default();
    let at = (0..frame.pieces.len()).map(|piece| frame.pieces[piece].now.unwrap_or_else(|| any(piece)));
    let mut state = State::new(frame, at.collect(), aim);
    let mut units: Vec<usize> = (0..frame.units.len())
        .filter(|unit| !stays(&frame.units[*unit]))
        .collect();
    let mass_kg = |unit: usize| -> f64 {
        frame.units[unit]
            .iter()
            .map(|piece| frame.pieces[*piece].mass_kg)
            .sum()
    };
    units.sort_by(|left, right| mass_kg(*right).total_cmp(&mass_kg(*left)));
    for unit in units {
        place_unit(&mut state, unit);
    }
    state.at
}

/// Puts a unit into the vehicle where it leaves the least excess, each item in turn into the best zone.
fn place_unit(state: &mut State<'_>, unit: usize) {
    let frame = state.frame;
    let mut best: Option<(f64, Vec<(usize, usize)>)> = None;
    for vehicle in frame.vehicles_of(unit) {
        let mut chosen = Vec::new();
        for piece in &frame.units[unit] {
            let spots = frame.pieces[*piece].spots.iter().copied();
            let mut least = (f64::INFINITY, state.at[*piece]);
            for spot in spots.filter(|spot| frame.spots[*spot].vehicle == vehicle) {
                state.put(&[(*piece, spot)]);
                let excess = state.excess();
                if excess < least.0 {
                    least = (excess, spot);
                }
            }
            state.put(&[(*piece, least.1)]);
            chosen.push((*piece, least.1));
        }
        let excess = state.excess();
        if best.as_ref().is_none_or(|(least, _)| excess < *least) {
            best = Some((excess, chosen));
        }
    }
    for change in best.into_iter().flat_map(|(_, chosen)| chosen) {
        state.put(&[change]);
    }
}
