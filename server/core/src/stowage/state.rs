//! A placement and its loads, kept up to date move by move.

use super::frame::Frame;

/// Excess over a limit, as a share, that is rounding: not more than a gram on a lorry.
pub(super) const ROUNDING: f64 = 1e-10;

/// How good a placement is as far as limits go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Standing {
    /// By how much limits without a margin are broken, as shares, added up. 0: kept.
    pub(super) broken: f64,
    /// The smallest relative margin; infinite when nothing has one.
    pub(super) margin: f64,
}

impl Standing {
    pub(super) fn keeps_limits(&self) -> bool {
        self.broken == 0.0 && self.margin >= -ROUNDING
    }

    pub(super) fn is_better_than(&self, other: &Self) -> bool {
        self.broken < other.broken || (self.broken == other.broken && self.margin > other.margin)
    }
}

/// Loads of a whole placement, by vehicle and row, added up afresh.
pub(super) fn loads(frame: &Frame, at: &[usize]) -> Vec<Vec<f64>> {
    let mut loads: Vec<Vec<f64>> = frame
        .rows
        .iter()
        .map(|rows| rows.iter().map(|row| row.base).collect())
        .collect();
    for (piece, spot) in at.iter().enumerate() {
        let of = &mut loads[frame.spots[*spot].vehicle];
        of.iter_mut()
            .zip(frame.added(piece, *spot))
            .for_each(|(load, added)| *load += added);
    }
    loads
}

/// Holds a whole placement against the limits.
pub(super) fn standing(frame: &Frame, at: &[usize]) -> Standing {
    standing_of(frame, &loads(frame, at))
}

fn standing_of(frame: &Frame, loads: &[Vec<f64>]) -> Standing {
    let mut standing = Standing {
        broken: 0.0,
        margin: f64::INFINITY,
    };
    for (row, load) in frame.rows.iter().flatten().zip(loads.iter().flatten()) {
        let margin = row.margin(*load);
        if row.counts {
            standing.margin = standing.margin.min(margin);
        } else if margin < -ROUNDING {
            standing.broken -= margin;
        }
    }
    standing
}

/// A placement under search. Its cost is the sum of the squared shares by which loads are above the
/// limits less the aimed-at margin, and the mass that is not where it was.
#[derive(Debug, Clone)]
pub(super) struct State<'f> {
    pub(super) frame: &'f Frame,
    /// Spot of each item.
    pub(super) at: Vec<usize>,
    loads: Vec<Vec<f64>>,
    /// Load of each row from which on it costs.
    caps: Vec<Vec<f64>>,
    excess: Vec<f64>,
    /// Mass moved, kilograms, and how many items.
    moved: (f64, usize),
}

impl<'f> State<'f> {
    /// A placement in which margins below `aim` cost.
    pub(super) fn new(frame: &'f Frame, at: Vec<usize>, aim: f64) -> Self {
        let mut state = Self {
            loads: loads(frame, &at),
            frame,
            at,
            caps: Vec::new(),
            excess: Vec::new(),
            moved: (0.0, 0),
        };
        state.aim_at(aim);
        state
    }

    /// Sets the margin below which a load costs, and adds everything up afresh.
    pub(super) fn aim_at(&mut self, aim: f64) {
        let cap = |row: &super::rows::Row| {
            if row.counts {
                row.most * (1.0 - aim)
            } else {
                row.most
            }
        };
        self.caps = self
            .frame
            .rows
            .iter()
            .map(|rows| rows.iter().map(cap).collect())
            .collect();
        self.loads = loads(self.frame, &self.at);
        self.excess = (0..self.caps.len())
            .map(|vehicle| self.excess_of(vehicle))
            .collect();
        self.moved = (0.0, 0);
        for (piece, spot) in self.at.iter().enumerate() {
            let (mass_kg, count) = self.weight_of(piece, *spot);
            self.moved = (self.moved.0 + mass_kg, self.moved.1 + count);
        }
    }

    fn weight_of(&self, piece: usize, spot: usize) -> (f64, usize) {
        let piece = &self.frame.pieces[piece];
        if piece.now == Some(spot) {
            (0.0, 0)
        } else {
            (piece.mass_kg, 1)
        }
    }

    fn excess_of(&self, vehicle: usize) -> f64 {
        let rows = &self.frame.rows[vehicle];
        let mut sum = 0.0;
        for ((row, load), cap) in rows.iter().zip(&self.loads[vehicle]).zip(&self.caps[vehicle]) {
            let over = (load - cap) * row.scale;
            if over > 0.0 {
                sum += over * over;
            }
        }
        sum
    }

    /// Sum of the squared excesses.
    pub(super) fn excess(&self) -> f64 {
        self.excess.iter().sum()
    }

    /// Mass that is not where it was, kilograms, and the number of items.
    pub(super) fn moved(&self) -> (f64, usize) {
        self.moved
    }

    /// Where the placement stands; the sums kept move by move are good to rounding.
    pub(super) fn standing(&self) -> Standing {
        standing_of(self.frame, &self.loads)
    }

    /// Puts items into other spots.
    pub(super) fn put(&mut self, changes: &[(usize, usize)]) {
        let mut touched = [usize::MAX; 2];
        for (piece, spot) in changes {
            let before = std::mem::replace(&mut self.at[*piece], *spot);
            let (was, is) = (self.weight_of(*piece, before), self.weight_of(*piece, *spot));
            self.moved = (self.moved.0 + is.0 - was.0, self.moved.1 + is.1 - was.1);
            self.add(*piece, before, -1.0);
            self.add(*piece, *spot, 1.0);
            for vehicle in [before, *spot].map(|spot| self.frame.spots[spot].vehicle) {
                if !touched.contains(&vehicle) {
                    let slot = usize::from(touched[0] != usize::MAX);
                    touched[slot] = vehicle;
                }
            }
        }
        for vehicle in touched.into_iter().filter(|vehicle| *vehicle != usize::MAX) {
            self.excess[vehicle] = self.excess_of(vehicle);
        }
    }

    fn add(&mut self, piece: usize, spot: usize, sign: f64) {
        let frame = self.frame;
        let loads = &mut self.loads[frame.spots[spot].vehicle];
        for (load, added) in loads.iter_mut().zip(frame.added(piece, spot)) {
            *load += sign * added;
        }
    }
}
