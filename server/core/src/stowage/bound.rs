//! What no placement can exceed: the linear programme in which items may be split over zones.
//!
//! Items that may go to the same zones, are consumed alike and belong to the same group are poured
//! together: as all loads are linear in mass, the programme over the pools has the same optimum as the one
//! over the items. That keeps it small.

use std::collections::BTreeMap;

use good_lp::{
    Expression, ProblemVariables, ResolutionError, Solution, SolverModel, Variable, constraint, microlp,
    variable,
};

use super::frame::Frame;

/// Most variables of the programme. Above, pools are merged, which leaves a weaker bound.
const VARIABLES_MAX: usize = 20_000;
/// What a bound of the programme is raised by, for the solver's own tolerance.
const SOLVER_TOLERANCE: f64 = 1e-7;
/// A row further than this from its limit does not hold the optimum.
const SLACK: f64 = 1e-6;
/// Most programmes solved to find which limits hold the bound.
const TRIALS_MAX: usize = 60;
/// Smallest margin looked for. Everything is then ten thousand times too heavy.
const MARGIN_MIN: f64 = -1e4;

/// Rows by vehicle and index.
pub(super) type Rows = Vec<(usize, usize)>;

/// What the programme says.
#[derive(Debug, Clone)]
pub(super) struct Bound {
    /// No placement has a larger smallest margin. `None`: no placement keeps the limits that have no margin.
    pub(super) margin: Option<f64>,
    /// Rows that together hold it there.
    pub(super) held_by: Rows,
}

/// Items poured together.
struct Pool {
    mass_kg: f64,
    consumed: bool,
    /// Zones that some item of it may go to.
    spots: Vec<usize>,
    /// Own places and the mass that may stay there.
    own: Vec<(usize, f64)>,
    unit: Option<usize>,
}

/// The bound, and the fewest limits that give it; `is_over` ends the search for the fewest early.
pub(super) fn bound(frame: &Frame, is_over: &dyn Fn() -> bool) -> Bound {
    let all: Rows = (0..frame.rows.len())
        .flat_map(|vehicle| (0..frame.rows[vehicle].len()).map(move |row| (vehicle, row)))
        .collect();
    let simple = simple_bound(frame);
    let pools = pools(frame);
    let (margin, tight) = match programme(frame, &pools, &all) {
        Ok((margin, tight)) => (Some(margin), tight),
        Err(ResolutionError::Infeasible) => (None, all),
        // The solver gave up: what each row says for itself still holds.
        Err(_) => {
            return Bound {
                margin: Some(simple),
                held_by: Vec::new(),
            };
        }
    };
    Bound {
        margin: margin.map(|margin| (margin + SOLVER_TOLERANCE).min(simple)),
        held_by: fewest(frame, &pools, tight, margin, is_over),
    }
}

/// Drops every row without which the bound stays, one after the other.
fn fewest(
    frame: &Frame,
    pools: &[Pool],
    mut rows: Rows,
    margin: Option<f64>,
    is_over: &dyn Fn() -> bool,
) -> Rows {
    let mut index = 0;
    let mut trials = 0;
    while index < rows.len() && trials < TRIALS_MAX && rows.len() > 1 && !is_over() {
        let mut fewer = rows.clone();
        fewer.remove(index);
        trials += 1;
        let still = match (programme(frame, pools, &fewer), margin) {
            (Ok((without, _)), Some(margin)) => without <= margin + SLACK,
            (Err(ResolutionError::Infeasible), _) => true,
            _ => false,
        };
        if still {
            rows = fewer;
        } else {
            index += 1;
        }
    }
    rows
}

/// The smallest over the rows of the best that each row could reach alone.
pub(super) fn simple_bound(frame: &Frame) -> f64 {
    let mut least: Vec<Vec<f64>> = frame
        .rows
        .iter()
        .map(|rows| rows.iter().map(|row| row.base).collect())
        .collect();
    for piece in 0..frame.pieces.len() {
        for (vehicle, loads) in least.iter_mut().enumerate() {
            least_added(frame, piece, vehicle)
                .iter()
                .zip(loads)
                .for_each(|(added, load)| *load += added);
        }
    }
    let rows = frame.rows.iter().flatten().zip(least.iter().flatten());
    rows.filter(|(row, _)| row.counts)
        .map(|(row, load)| row.margin(*load))
        .fold(1.0, f64::min)
}

/// The least that an item can add to each row of a vehicle.
pub(super) fn least_added(frame: &Frame, piece: usize, vehicle: usize) -> Vec<f64> {
    let spots = &frame.pieces[piece].spots;
    let elsewhere = spots.iter().any(|spot| frame.spots[*spot].vehicle != vehicle);
    let start = if elsewhere { 0.0 } else { f64::INFINITY };
    let mut least = vec![start; frame.rows[vehicle].len()];
    for spot in spots.iter().filter(|spot| frame.spots[**spot].vehicle == vehicle) {
        for (least, added) in least.iter_mut().zip(frame.added(piece, *spot)) {
            *least = least.min(added);
        }
    }
    least
}

fn pools(frame: &Frame) -> Vec<Pool> {
    let fine = pools_by(frame, |piece, unit| {
        let own = |spot: &&usize| **spot < frame.zone_spots;
        let spots: Vec<usize> = frame.pieces[piece].spots.iter().filter(own).copied().collect();
        (unit, frame.pieces[piece].consumed, spots)
    });
    let size: usize = fine.iter().map(|pool| pool.spots.len() + pool.own.len()).sum();
    if size <= VARIABLES_MAX {
        return fine;
    }
    let mut coarse = pools_by(frame, |piece, _| (None, frame.pieces[piece].consumed, Vec::new()));
    coarse.iter_mut().for_each(|pool| pool.unit = None);
    coarse
}

type Key = (Option<usize>, bool, Vec<usize>);

fn pools_by(frame: &Frame, key: impl Fn(usize, Option<usize>) -> Key) -> Vec<Pool> {
    let mut pools: BTreeMap<Key, Pool> = BTreeMap::new();
    for (index, piece) in frame.pieces.iter().enumerate() {
        let unit = Some(frame.unit_of[index]).filter(|unit| frame.units[*unit].len() > 1);
        let pool = pools.entry(key(index, unit)).or_insert_with(|| Pool {
            mass_kg: 0.0,
            consumed: piece.consumed,
            spots: Vec::new(),
            own: Vec::new(),
            unit,
        });
        pool.mass_kg += piece.mass_kg;
        for spot in &piece.spots {
            if *spot >= frame.zone_spots {
                pool.own.push((*spot, piece.mass_kg));
            } else if let Err(place) = pool.spots.binary_search(spot) {
                pool.spots.insert(place, *spot);
            }
        }
    }
    pools.into_values().filter(|pool| pool.mass_kg > 0.0).collect()
}

/// The largest smallest margin over `rows` with split items, and the rows that are at it.
fn programme(frame: &Frame, pools: &[Pool], rows: &[(usize, usize)]) -> Result<(f64, Rows), ResolutionError> {
    let mut problem = ProblemVariables::new();
    let margin = problem.add(variable().min(MARGIN_MIN).max(1.0));
    let mut loads: BTreeMap<(usize, usize), Expression> =
        rows.iter().map(|row| (*row, Expression::default())).collect();
    let mut constraints = Vec::new();
    let mut shares: BTreeMap<(usize, usize), Variable> = BTreeMap::new();
    for pool in pools {
        let mut whole = Expression::default();
        let mut by_vehicle: BTreeMap<usize, Expression> = BTreeMap::new();
        let zones = pool.spots.iter().map(|spot| (*spot, pool.mass_kg));
        for (spot, most_kg) in zones.chain(pool.own.iter().copied()) {
            let share = problem.add(variable().min(0.0).max((most_kg / pool.mass_kg).min(1.0)));
            whole += share;
            let spot = &frame.spots[spot];
            *by_vehicle.entry(spot.vehicle).or_default() += share;
            for (index, (row, adds)) in frame.rows[spot.vehicle].iter().zip(&spot.adds).enumerate() {
                if let Some(load) = loads.get_mut(&(spot.vehicle, index)).filter(|_| *adds != 0.0) {
                    let left = if pool.consumed { row.share } else { 1.0 };
                    load.add_mul(pool.mass_kg * left * adds * row.scale, share);
                }
            }
        }
        constraints.push(constraint!(whole == 1.0));
        for vehicle in (0..frame.rows.len()).filter(|_| pool.unit.is_some()) {
            let unit = (pool.unit.unwrap_or_default(), vehicle);
            let of_unit = *shares
                .entry(unit)
                .or_insert_with(|| problem.add(variable().min(0.0).max(1.0)));
            constraints.push(constraint!(
                by_vehicle.remove(&vehicle).unwrap_or_default() == of_unit
            ));
        }
    }
    for ((vehicle, index), load) in &loads {
        let row = &frame.rows[*vehicle][*index];
        let left = (row.most - row.base) * row.scale;
        let load = load.clone();
        constraints.push(if row.counts {
            constraint!(load + margin <= left)
        } else {
            constraint!(load <= left + 1e-9)
        });
    }
    let solution = problem
        .maximise(margin)
        .using(microlp)
        .with_all(constraints)
        .solve()?;
    let best = solution.value(margin);
    let tight = loads.iter().filter(|((vehicle, index), load)| {
        let row = &frame.rows[*vehicle][*index];
        let left = (row.most - row.base) * row.scale - solution.eval((*load).clone());
        left <= if row.counts { best } else { 0.0 } + SLACK
    });
    Ok((best, tight.map(|(row, _)| *row).collect()))
}
