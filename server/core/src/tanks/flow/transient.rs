//! Levels over time, by an implicit integrator.
//!
//! Each step solves the levels at its end from the flows at its end (backward Euler), so it is stable
//! however long it is; the flows are solved as a tridiagonal system that is repeated until its
//! conductances settle, and what leaves one cell enters the next, so volume is kept to rounding.
//! Every step is compared with two of half its length, and shortened until both agree within
//! [`STEP_TOLERANCE_MM`], though never below a ten-thousandth of the whole time (more for a chain of
//! very many holes, to bound the work): ask for no longer a time than is of interest.

use super::Draw;
use super::openings::{CellChain, Hydraulics, Openings};
use crate::check::{Check, InvalidInput};
use crate::tanks::SIDE_MAX_MM;

/// Greatest difference, in millimetres, between a step and two half steps.
pub const STEP_TOLERANCE_MM: f64 = 1e-3;

/// Longest time that is computed, in seconds: about twelve days.
pub const DURATION_MAX_S: f64 = 1e6;

/// Shortest step as part of the whole time, taken whatever the tolerance says, since it is stable. It is
/// also the first step.
const STEP_LEAST_FRACTION: f64 = 1e-4;
/// Repeats of the tridiagonal solve within a step.
const REPEATS_MAX: usize = 30;
/// Change of levels, in metres, at which the repeats stop.
const REPEATS_SETTLED_M: f64 = 1e-9;
/// Evaluations of strips after which a run must have ended, about: what no tank of a vehicle needs, but
/// a hostile input would. The shortest step is made longer to keep it.
const STRIPS_BUDGET: f64 = 1e8;
/// Head below which flow is taken as proportional to head, in metres.
const LINEAR_HEAD_M: f64 = 1e-9;

/// What to follow over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Level of each cell at the start, from 0 to the height of the chain.
    pub start_levels_mm: Vec<f64>,
    /// The pump, if it runs.
    pub draw: Option<Draw>,
    /// How long, over 0 up to [`DURATION_MAX_S`].
    pub duration_s: f64,
}

/// How a run ended.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOutcome {
    /// Level of each cell at the end.
    pub levels_mm: Vec<f64>,
    /// Time that passed: the duration, or less when the pump's cell starved.
    pub elapsed_s: f64,
    /// Litres that the pump drew.
    pub drawn_l: f64,
    /// Whether the pump's cell fell to its pickup, which ends the run.
    pub starved: bool,
}

/// How long cells take to level.
#[derive(Debug, Clone, PartialEq)]
pub struct Levelling {
    /// Time until the highest and the lowest level differ by the tolerance; `None` when that takes
    /// longer than the limit, or never happens because a hole lies too high or a cell has no air.
    pub within_s: Option<f64>,
    /// Levels then, or at the limit.
    pub levels_mm: Vec<f64>,
}

/// Follows the levels of a chain. Cells without air keep their liquid.
///
/// # Errors
/// A chain, draw, level or duration out of range; a number of levels that is not that of the cells.
pub fn run(chain: &CellChain, run: &Run) -> Result<RunOutcome, InvalidInput> {
    check(
        chain,
        &run.start_levels_mm,
        run.draw.as_ref(),
        ("duration_s", run.duration_s),
    )
    .finish()?;
    let hydraulics = chain.hydraulics();
    let pickup_m = run.draw.map(|draw| (draw.cell, draw.pickup_height_mm / 1e3));
    let below = |levels_m: &[f64]| pickup_m.is_some_and(|(cell, height_m)| levels_m[cell] <= height_m);
    let start_m: Vec<f64> = run.start_levels_mm.iter().map(|level| level / 1e3).collect();
    let mut stepper = Stepper::new(&hydraulics, run.draw.as_ref(), start_m, run.duration_s);
    let mut starved = below(&stepper.levels_m);
    while !starved && stepper.elapsed_s < run.duration_s {
        let (before_m, before_s) = (stepper.levels_m.clone(), stepper.elapsed_s);
        stepper.advance();
        if below(&stepper.levels_m) {
            starved = true;
            let part = pickup_m.map_or(1.0, |(cell, height_m)| {
                ((before_m[cell] - height_m) / (before_m[cell] - stepper.levels_m[cell])).clamp(0.0, 1.0)
            });
            stepper.go_back(&before_m, before_s, part);
        }
    }
    Ok(RunOutcome {
        levels_mm: stepper.levels_m.iter().map(|level| level * 1e3).collect(),
        elapsed_s: stepper.elapsed_s,
        drawn_l: run
            .draw
            .map_or(0.0, |draw| draw.rate_m3_per_s() * stepper.elapsed_s * 1e3),
        starved,
    })
}

/// Time in which a chain levels after its cells were filled or drawn unevenly.
///
/// # Errors
/// A chain, level or limit out of range; a number of levels that is not that of the cells; a
/// tolerance below 0.01 mm.
pub fn level_out(
    chain: &CellChain,
    start_levels_mm: &[f64],
    tolerance_mm: f64,
    limit_s: f64,
) -> Result<Levelling, InvalidInput> {
    let mut check = check(chain, start_levels_mm, None, ("limit_s", limit_s));
    check.between(
        "tolerance_mm",
        tolerance_mm,
        10.0 * STEP_TOLERANCE_MM,
        SIDE_MAX_MM,
    );
    check.finish()?;
    let hydraulics = chain.hydraulics();
    let spread_m = |levels_m: &[f64]| {
        let highest = levels_m.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let lowest = levels_m.iter().copied().fold(f64::INFINITY, f64::min);
        highest - lowest
    };
    let start_m: Vec<f64> = start_levels_mm.iter().map(|level| level / 1e3).collect();
    let mut stepper = Stepper::new(&hydraulics, None, start_m, limit_s);
    let tolerance_m = tolerance_mm / 1e3;
    while spread_m(&stepper.levels_m) > tolerance_m && stepper.elapsed_s < limit_s {
        let (before_m, before_s) = (stepper.levels_m.clone(), stepper.elapsed_s);
        stepper.advance();
        let (from, to) = (spread_m(&before_m), spread_m(&stepper.levels_m));
        if to < tolerance_m && from > to {
            stepper.go_back(&before_m, before_s, (from - tolerance_m) / (from - to));
            break;
        }
    }
    // The step that reached the tolerance may have been shortened onto it, hence the slack.
    let is_level = spread_m(&stepper.levels_m) <= tolerance_m * (1.0 + 1e-9);
    Ok(Levelling {
        within_s: is_level.then_some(stepper.elapsed_s),
        levels_mm: stepper.levels_m.iter().map(|level| level * 1e3).collect(),
    })
}

fn check(
    chain: &CellChain,
    start_levels_mm: &[f64],
    draw: Option<&Draw>,
    (time_field, time_s): (&str, f64),
) -> Check {
    let mut check = Check::new();
    let has_chain = check.merge("chain", chain.check()).is_some();
    check.up_to(time_field, time_s, DURATION_MAX_S);
    if start_levels_mm.len() != chain.cells.len() {
        let problem = format!(
            "must be as many as cells, {}, are {}",
            chain.cells.len(),
            start_levels_mm.len()
        );
        check.refuse("start_levels_mm", problem);
        return check;
    }
    if has_chain {
        for (index, level_mm) in start_levels_mm.iter().enumerate() {
            check.between(
                format_args!("start_levels_mm[{index}]"),
                *level_mm,
                0.0,
                chain.height_mm,
            );
        }
        if let Some(draw) = draw {
            let mut of_draw = Check::new();
            draw.check(&mut of_draw, chain);
            check.merge("draw", of_draw.finish());
        }
    }
    check
}

/// The integrator: levels in metres at a time, and the step it will try next.
struct Stepper<'a> {
    hydraulics: &'a Hydraulics,
    draw: Option<&'a Draw>,
    levels_m: Vec<f64>,
    elapsed_s: f64,
    step_s: f64,
    least_step_s: f64,
    end_s: f64,
}

impl<'a> Stepper<'a> {
    fn new(hydraulics: &'a Hydraulics, draw: Option<&'a Draw>, levels_m: Vec<f64>, end_s: f64) -> Self {
        let strips: usize = hydraulics
            .openings
            .iter()
            .map(|openings| openings.strips.len())
            .sum();
        // Three solves a step.
        let strips_a_step = (3 * REPEATS_MAX * strips) as f64;
        let least_step_s = end_s * STEP_LEAST_FRACTION.max(strips_a_step / STRIPS_BUDGET);
        Self {
            hydraulics,
            draw,
            levels_m,
            elapsed_s: 0.0,
            step_s: least_step_s,
            least_step_s,
            end_s,
        }
    }

    /// Takes one step that keeps the tolerance, or the shortest one.
    fn advance(&mut self) {
        let least_s = self.least_step_s;
        loop {
            let left_s = self.end_s - self.elapsed_s;
            // A sliver left over would be a step of its own below the shortest.
            let step_s = if left_s <= self.step_s + least_s {
                left_s
            } else {
                self.step_s
            };
            let whole_m = self.solve(&self.levels_m, step_s);
            let half_m = self.solve(&self.levels_m, step_s / 2.0);
            let halves_m = self.solve(&half_m, step_s / 2.0);
            let error_mm = whole_m
                .iter()
                .zip(&halves_m)
                .map(|(whole, halves)| (whole - halves).abs() * 1e3)
                .fold(0.0, f64::max);
            // The last step may be up to twice the shortest and cannot be made shorter.
            if error_mm > STEP_TOLERANCE_MM && step_s > 2.0 * least_s {
                self.step_s = (step_s / 2.0).max(least_s);
                continue;
            }
            if error_mm < STEP_TOLERANCE_MM / 4.0 {
                self.step_s = step_s * 1.5;
            }
            self.levels_m = halves_m;
            self.elapsed_s = if step_s < left_s {
                self.elapsed_s + step_s
            } else {
                self.end_s
            };
            return;
        }
    }

    /// Puts levels and time back to a part, from 0 to 1, of the step since `before`.
    fn go_back(&mut self, before_m: &[f64], before_s: f64, part: f64) {
        for (level, before) in self.levels_m.iter_mut().zip(before_m) {
            *level = before + part * (*level - before);
        }
        self.elapsed_s = before_s + part * (self.elapsed_s - before_s);
    }

    /// Levels one step after `from_m`.
    fn solve(&self, from_m: &[f64], step_s: f64) -> Vec<f64> {
        let mut levels_m = from_m.to_vec();
        for _ in 0..REPEATS_MAX {
            let next_m = self.system(from_m, &levels_m, step_s).solve();
            let change_m = next_m
                .iter()
                .zip(&levels_m)
                .map(|(next, level)| (next - level).abs())
                .fold(0.0, f64::max);
            levels_m = next_m;
            if change_m < REPEATS_SETTLED_M {
                break;
            }
        }
        levels_m
    }

    /// The linear system of one step, with the conductances that `guess_m` gives.
    fn system(&self, from_m: &[f64], guess_m: &[f64], step_s: f64) -> Tridiagonal {
        let areas_m2 = &self.hydraulics.areas_m2;
        let mut system = Tridiagonal::new(areas_m2.len());
        for (index, area_m2) in areas_m2.iter().enumerate() {
            system.diagonal[index] = area_m2 / step_s;
            system.right[index] = area_m2 / step_s * from_m[index];
        }
        if let Some(draw) = self.draw {
            system.right[draw.cell] -= draw.rate_m3_per_s();
        }
        for (index, openings) in self.hydraulics.openings.iter().enumerate() {
            let rises = guess_m[index] < guess_m[index + 1];
            let (higher, lower) = if rises {
                (index + 1, index)
            } else {
                (index, index + 1)
            };
            let flow = LinearFlow::of(openings, guess_m[higher], guess_m[lower]);
            system.add(higher, lower, &flow);
        }
        system
    }
}

/// Flow from the higher cell to the lower as
/// `submerged (higher - lower) + falling higher - crest`.
struct LinearFlow {
    submerged: f64,
    falling: f64,
    crest: f64,
}

impl LinearFlow {
    fn of(openings: &Openings, higher_m: f64, lower_m: f64) -> Self {
        let mut flow = Self {
            submerged: 0.0,
            falling: 0.0,
            crest: 0.0,
        };
        for strip in &openings.strips {
            let head_m = higher_m - lower_m.max(strip.height_m);
            if higher_m <= strip.height_m {
                continue;
            }
            let per_metre = strip.conductance / head_m.max(LINEAR_HEAD_M).sqrt();
            if lower_m > strip.height_m {
                flow.submerged += per_metre;
            } else {
                flow.falling += per_metre;
                flow.crest += per_metre * strip.height_m;
            }
        }
        flow
    }
}

/// A tridiagonal system whose columns are dominated by their diagonal, so that it can be solved without
/// exchanging rows.
struct Tridiagonal {
    below: Vec<f64>,
    diagonal: Vec<f64>,
    above: Vec<f64>,
    right: Vec<f64>,
}

impl Tridiagonal {
    fn new(size: usize) -> Self {
        let zeros = || vec![0.0; size];
        Self {
            below: zeros(),
            diagonal: zeros(),
            above: zeros(),
            right: zeros(),
        }
    }

    /// Takes a flow out of one cell and gives it to its neighbour.
    fn add(&mut self, higher: usize, lower: usize, flow: &LinearFlow) {
        let leaves = flow.submerged + flow.falling;
        self.diagonal[higher] += leaves;
        self.diagonal[lower] += flow.submerged;
        self.right[higher] += flow.crest;
        self.right[lower] -= flow.crest;
        // Row `lower`, column `higher`, and the other way round.
        if lower > higher {
            self.below[lower] -= leaves;
            self.above[higher] -= flow.submerged;
        } else {
            self.above[lower] -= leaves;
            self.below[higher] -= flow.submerged;
        }
    }

    fn solve(mut self) -> Vec<f64> {
        for row in 1..self.diagonal.len() {
            let factor = self.below[row] / self.diagonal[row - 1];
            self.diagonal[row] -= factor * self.above[row - 1];
            self.right[row] -= factor * self.right[row - 1];
        }
        for row in (0..self.diagonal.len()).rev() {
            let after = self.right.get(row + 1).copied().unwrap_or(0.0);
            self.right[row] = (self.right[row] - self.above[row] * after) / self.diagonal[row];
        }
        self.right
    }
}
