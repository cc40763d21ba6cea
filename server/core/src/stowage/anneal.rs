//! Simulated annealing over placements.
//!
//! A step moves one item within reach of its group, swaps two items, moves a whole group to another
//! vehicle, or takes an item back to where it was. It is kept when it costs less, or else by chance, the
//! more rarely the colder it is (Metropolis's rule; Kirkpatrick, Gelatt, Vecchi 1983, from memory).

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use super::frame::Frame;
use super::state::State;

/// Steps between two looks at the clock of whoever waits.
const STEPS_A_LOOK: u64 = 512;

/// What a round of annealing is to do.
#[derive(Debug, Clone, Copy)]
pub(super) struct Round {
    pub(super) steps: u64,
    /// Cost of one unit of squared excess.
    pub(super) excess_weight: f64,
    /// Cost of moving everything.
    pub(super) moved_weight: f64,
    /// Temperature at the start and at the end.
    pub(super) hot: f64,
    pub(super) cold: f64,
    /// Chance of a step that takes an item back.
    pub(super) back_chance: f64,
    /// End as soon as nothing is in excess.
    pub(super) until_kept: bool,
}

/// Anneals; `seen` is shown every accepted placement. Gives the steps made.
pub(super) fn anneal(
    state: &mut State<'_>,
    round: &Round,
    random: &mut ChaCha8Rng,
    is_over: &dyn Fn() -> bool,
    seen: &mut dyn FnMut(&State<'_>),
) -> u64 {
    let frame = state.frame;
    let whole_kg: f64 = frame.pieces.iter().map(|piece| piece.mass_kg).sum();
    let a_kg = round.moved_weight / whole_kg.max(1.0);
    // Of two placements that move the same mass, the one with fewer moves: worth a gram a move.
    let cost_of = |state: &State<'_>| {
        let (moved_kg, moves) = state.moved();
        round.excess_weight * state.excess() + a_kg * (moved_kg + 1e-3 * moves as f64)
    };
    let mut cost = cost_of(state);
    let mut temperature = round.hot;
    let cooling = (round.cold / round.hot).powf(STEPS_A_LOOK as f64 / round.steps.max(1) as f64);
    let mut changes = Vec::new();
    let mut undo = Vec::new();
    for step in 0..round.steps {
        if step % STEPS_A_LOOK == 0 {
            if is_over() {
                return step;
            }
            temperature *= cooling;
        }
        if round.until_kept && state.excess() <= 0.0 {
            return step;
        }
        propose(frame, &state.at, round.back_chance, random, &mut changes);
        if changes.is_empty() {
            continue;
        }
        undo.clear();
        undo.extend(changes.iter().map(|(piece, _)| (*piece, state.at[*piece])));
        state.put(&changes);
        let next = cost_of(state);
        if next <= cost || random.random::<f64>() < ((cost - next) / temperature).exp() {
            cost = next;
            seen(state);
        } else {
            state.put(&undo);
        }
    }
    round.steps
}

/// A random step as a list of items and their new spots; empty when there is none this time.
fn propose(
    frame: &Frame,
    at: &[usize],
    back_chance: f64,
    random: &mut ChaCha8Rng,
    changes: &mut Vec<(usize, usize)>,
) {
    changes.clear();
    let piece = random.random_range(0..frame.pieces.len());
    let kind = random.random::<f64>();
    let unit = &frame.units[frame.unit_of[piece]];
    if kind < back_chance {
        back(frame, at, unit, changes);
    } else if random.random::<f64>() < 0.5 {
        let other = random.random_range(0..frame.pieces.len());
        swap(frame, at, piece, other, changes);
    } else if unit.len() > 1 && random.random::<f64>() < 0.5 {
        move_group(frame, unit, random, changes);
    } else {
        let spots = &frame.pieces[piece].spots;
        let spot = spots[random.random_range(0..spots.len())];
        if spot != at[piece] && (unit.len() == 1 || vehicle(frame, spot) == vehicle(frame, at[piece])) {
            changes.push((piece, spot));
        }
    }
}

fn vehicle(frame: &Frame, spot: usize) -> usize {
    frame.spots[spot].vehicle
}

/// The unit to where it was, if all of it can be there.
fn back(frame: &Frame, at: &[usize], unit: &[usize], changes: &mut Vec<(usize, usize)>) {
    for piece in unit {
        let Some(now) = frame.pieces[*piece].now else {
            changes.clear();
            return;
        };
        if at[*piece] != now {
            changes.push((*piece, now));
        }
    }
    let mut vehicles = unit.iter().filter_map(|piece| frame.pieces[*piece].now);
    let first = vehicles.next().map(|spot| vehicle(frame, spot));
    let apart = vehicles.any(|spot| Some(vehicle(frame, spot)) != first);
    // More than two vehicles at once is more than a step.
    let from = at[unit[0]];
    if apart
        || unit
            .iter()
            .any(|piece| vehicle(frame, at[*piece]) != vehicle(frame, from))
    {
        changes.clear();
    }
}

/// Two items change zones; each sits where things in the zone sit, or where it was itself.
fn swap(frame: &Frame, at: &[usize], left: usize, right: usize, changes: &mut Vec<(usize, usize)>) {
    let (here, there) = (at[left], at[right]);
    let alone = |piece: usize| frame.units[frame.unit_of[piece]].len() == 1;
    let free = vehicle(frame, here) == vehicle(frame, there) || (alone(left) && alone(right));
    if let (true, Some(to), Some(from)) = (free, spot_in(frame, left, there), spot_in(frame, right, here))
        && to != here
    {
        changes.push((left, to));
        changes.push((right, from));
    }
}

/// The spot of an item in the zone of another spot, if it may be there.
fn spot_in(frame: &Frame, piece: usize, like: usize) -> Option<usize> {
    let zone = |spot: usize| (frame.spots[spot].vehicle, frame.spots[spot].zone);
    let piece = &frame.pieces[piece];
    if let Some(now) = piece.now
        && zone(now) == zone(like)
    {
        return Some(now);
    }
    if like < frame.zone_spots {
        return piece.spots.binary_search(&like).is_ok().then_some(like);
    }
    let mut spots = piece.spots.iter().copied();
    spots.find(|spot| *spot < frame.zone_spots && zone(*spot) == zone(like))
}

/// A whole group to spots of one vehicle.
fn move_group(frame: &Frame, unit: &[usize], random: &mut ChaCha8Rng, changes: &mut Vec<(usize, usize)>) {
    let to = random.random_range(0..frame.rows.len());
    for piece in unit {
        let spots = &frame.pieces[*piece].spots;
        // Spots are sorted by vehicle but for an own one at the end, which is of no use here.
        let zones = &spots[..spots.partition_point(|spot| *spot < frame.zone_spots)];
        let first = zones.partition_point(|spot| vehicle(frame, *spot) < to);
        let end = zones.partition_point(|spot| vehicle(frame, *spot) <= to);
        if first == end {
            changes.clear();
            return;
        }
        changes.push((*piece, zones[random.random_range(first..end)]));
    }
}
