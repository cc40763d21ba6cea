//! The proven best placement of a small convoy: every placement is tried that can still be better.

use super::bound::least_added;
use super::frame::Frame;
use super::state::{ROUNDING, Standing, loads, standing};

/// Most partial placements looked at.
const NODES_MAX: u64 = 200_000;
/// Most items; with more the search would not end anyway.
const ITEMS_MAX: usize = 24;

/// Looks for a placement better than `best` and puts it there. True: `best` is now proven to have the
/// largest smallest margin. False: too many placements to try them all.
pub(super) fn enumerate(frame: &Frame, best: &mut Vec<usize>, is_over: &dyn Fn() -> bool) -> bool {
    if frame.pieces.len() > ITEMS_MAX {
        return false;
    }
    let mut order: Vec<usize> = frame.units.iter().flatten().copied().collect();
    // Units stay whole; the one with the heaviest item comes first.
    let heaviest = |piece: &usize| {
        let unit = frame.units[frame.unit_of[*piece]].iter();
        unit.map(|piece| frame.pieces[*piece].mass_kg).fold(0.0, f64::max)
    };
    order.sort_by(|left, right| {
        heaviest(right)
            .total_cmp(&heaviest(left))
            .then(frame.unit_of[*left].cmp(&frame.unit_of[*right]))
    });
    // rest[k]: the least that the items from the k-th on add to each row.
    let blank: Vec<Vec<f64>> = frame.rows.iter().map(|rows| vec![0.0; rows.len()]).collect();
    let mut rest = vec![blank; order.len() + 1];
    for (index, piece) in order.iter().enumerate().rev() {
        rest[index] = rest[index + 1].clone();
        for (vehicle, sums) in rest[index].iter_mut().enumerate() {
            let least = least_added(frame, *piece, vehicle);
            sums.iter_mut().zip(least).for_each(|(sum, least)| *sum += least);
        }
    }
    let mut search = Search {
        frame,
        order,
        rest,
        loads: loads(frame, &[]),
        at: vec![usize::MAX; best.len()],
        standing: standing(frame, best),
        best,
        nodes: 0,
        is_over,
    };
    search.from(0)
}

struct Search<'a> {
    frame: &'a Frame,
    order: Vec<usize>,
    rest: Vec<Vec<Vec<f64>>>,
    loads: Vec<Vec<f64>>,
    at: Vec<usize>,
    standing: Standing,
    best: &'a mut Vec<usize>,
    nodes: u64,
    is_over: &'a dyn Fn() -> bool,
}

impl Search<'_> {
    /// Places the items from the `depth`-th on; false when it had to give up.
    fn from(&mut self, depth: usize) -> bool {
        self.nodes += 1;
        if self.nodes > NODES_MAX || (self.nodes.is_multiple_of(1024) && (self.is_over)()) {
            return false;
        }
        if !self.may_be_better(depth) {
            return true;
        }
        let Some(piece) = self.order.get(depth).copied() else {
            let standing = standing(self.frame, &self.at);
            if standing.is_better_than(&self.standing) {
                self.standing = standing;
                self.best.clone_from(&self.at);
            }
            return true;
        };
        let frame = self.frame;
        let unit = &frame.units[frame.unit_of[piece]];
        let placed = unit
            .iter()
            .map(|piece| self.at[*piece])
            .find(|spot| *spot != usize::MAX);
        let bound_to = placed.map(|spot| frame.spots[spot].vehicle);
        for spot in &frame.pieces[piece].spots {
            let vehicle = frame.spots[*spot].vehicle;
            if bound_to.is_some_and(|only| only != vehicle) {
                continue;
            }
            let before = self.loads[vehicle].clone();
            let added = frame.added(piece, *spot);
            self.loads[vehicle]
                .iter_mut()
                .zip(added)
                .for_each(|(load, added)| *load += added);
            self.at[piece] = *spot;
            let finished = self.from(depth + 1);
            self.at[piece] = usize::MAX;
            self.loads[vehicle] = before;
            if !finished {
                return false;
            }
        }
        true
    }

    fn may_be_better(&self, depth: usize) -> bool {
        let rows = self.frame.rows.iter().flatten();
        let loads = self.loads.iter().flatten().zip(self.rest[depth].iter().flatten());
        let mut broken = 0.0;
        let mut margin = f64::INFINITY;
        for (row, (load, rest)) in rows.zip(loads) {
            let at_best = row.margin(load + rest);
            if row.counts {
                margin = margin.min(at_best);
            } else if at_best < -ROUNDING {
                broken -= at_best;
            }
        }
        // What the sums are rounded by must not hide a better one.
        broken < self.standing.broken - ROUNDING
            || (broken <= self.standing.broken + ROUNDING && margin > self.standing.margin + ROUNDING)
    }
}
