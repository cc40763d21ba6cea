//! Kits: the efficient frontier by marginal analysis, and the kit it gives under a mass budget.
//!
//! Adding always the copy that takes most expected backorders off per kilogram gives, at each step, the least
//! expected backorders of any kit of that mass or less: the gain `P(X > s)` of one more copy falls with each
//! copy, so the curve is convex (marginal analysis, Sherbrooke, "Optimal Inventory Modeling of Systems", 2nd
//! edition 2004; catalogue read, content from memory). Between two steps a heavier choice may do better: see
//! [`super::best`].

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::cover::{Cover, poisson_cover};
use super::{ITEMS_MAX, MASS_LEAST_KG, MASS_MAX_KG, MEAN_MAX, STOCK_MAX};
use crate::check::{Check, InvalidInput, element};

/// Gain in expected backorders, weighted by importance, below which another copy is not worth listing.
pub const GAIN_LEAST: f64 = 1e-9;

/// Longest frontier.
pub const STEPS_MAX: usize = 20_000;

/// A spare that may be carried.
#[derive(Debug, Clone, PartialEq)]
pub struct Spare {
    /// Name for the report.
    pub name: String,
    /// Mean demand over the departure, 0 to [`MEAN_MAX`], as pooled.
    pub mean: f64,
    /// Mass of one, kg, [`MASS_LEAST_KG`] to [`MASS_MAX_KG`].
    pub mass_kg: f64,
    /// How much an open need of this spare counts against the others, above 0 to 1,000; 1 when all count alike.
    pub importance: f64,
    /// Copies carried in any case, 0 to [`STOCK_MAX`]: outside the choice, inside the mass.
    pub held: u32,
    /// Most copies that may be carried (can be had), from `held` to [`STOCK_MAX`].
    pub most: u32,
}

/// One copy added along the frontier, and the kit after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrontierStep {
    /// Index of the spare added.
    pub spare: usize,
    /// Its copies now.
    pub stock: u32,
    /// Weighted expected backorders taken off, per kilogram: falls from step to step.
    pub gain_per_kg: f64,
    /// Mass of the kit after the step, kg.
    pub mass_kg: f64,
    /// Weighted expected backorders after the step.
    pub expected_backorders: f64,
    /// Chance that nothing runs out, after the step.
    pub no_stock_out: f64,
}

/// Why the frontier ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FrontierEnd {
    /// The next step exceeds the mass budget.
    Budget,
    /// No copy left to add, or none gains [`GAIN_LEAST`].
    NothingToGain,
    /// [`STEPS_MAX`] reached.
    StepLimit,
}

/// The efficient frontier from the copies held to the budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Frontier {
    /// Mass of the copies held, kg.
    pub start_mass_kg: f64,
    /// Weighted expected backorders with the copies held.
    pub start_expected_backorders: f64,
    /// Copy by copy.
    pub steps: Vec<FrontierStep>,
    /// Why it ends.
    pub end: FrontierEnd,
    /// What the next step would gain per kilogram; `None` when there is none.
    pub next_gain_per_kg: Option<f64>,
}

/// A kit under the budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// Copies of each spare, in the order given, those held included.
    pub stocks: Vec<u32>,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Weighted expected backorders.
    pub expected_backorders: f64,
    /// No kit within the budget has fewer (linear bound along the frontier); the gap to it is what an exact
    /// search could still win at most, but for copies gaining less than [`GAIN_LEAST`].
    pub expected_backorders_bound: f64,
    /// Chance that nothing runs out.
    pub no_stock_out: f64,
    /// How many copies were added after the frontier ended, to use up the budget.
    pub filled: u32,
}

/// The efficient frontier up to `budget_kg`, copies held included. Equal gains go to the spare named first.
///
/// # Errors
/// Values outside the ranges of their fields; more than [`ITEMS_MAX`] spares; a budget below the mass held.
pub fn frontier(spares: &[Spare], budget_kg: f64) -> Result<Frontier, InvalidInput> {
    check_kit(spares, budget_kg)?;
    Ok(walk(spares, budget_kg).frontier)
}

/// The kit that marginal analysis finds within `budget_kg`: the frontier as far as it goes, then the best copies
/// per kilogram that still fit. Fast for any case; how far it may be from the best is in its bound.
///
/// # Errors
/// As for [`frontier`].
pub fn marginal_kit(spares: &[Spare], budget_kg: f64) -> Result<Kit, InvalidInput> {
    check_kit(spares, budget_kg)?;
    let mut walk = walk(spares, budget_kg);
    let before = walk.frontier.steps.last();
    let reached = before.map_or(walk.frontier.start_expected_backorders, |step| {
        step.expected_backorders
    });
    let left_kg = (budget_kg - before.map_or(walk.frontier.start_mass_kg, |step| step.mass_kg)).max(0.0);
    // Past the last frontier point no kilogram gains more than the next step would.
    let bound = (reached - left_kg * walk.frontier.next_gain_per_kg.unwrap_or(0.0)).max(0.0);
    let filled = walk.fill(spares, budget_kg);
    let covers: Vec<_> = spares
        .iter()
        .zip(&walk.stocks)
        .map(|(spare, stock)| poisson_cover(spare.mean, *stock))
        .collect();
    let (expected_backorders, no_stock_out) = together(spares, &covers);
    Ok(Kit {
        mass_kg: mass_of(spares, &walk.stocks),
        expected_backorders,
        expected_backorders_bound: bound.min(expected_backorders),
        no_stock_out,
        filled,
        stocks: walk.stocks,
    })
}

/// Mass of so many copies of each, kg.
pub(super) fn mass_of(spares: &[Spare], stocks: &[u32]) -> f64 {
    spares
        .iter()
        .zip(stocks)
        .map(|(spare, stock)| spare.mass_kg * f64::from(*stock))
        .sum()
}

/// Room for rounding when masses are added up, kg: a milligram.
const ROUNDING_KG: f64 = 1e-6;

/// The next copy of one spare, ordered by gain per kilogram, equals by position.
struct Candidate {
    gain_per_kg: f64,
    spare: usize,
}

impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        self.gain_per_kg
            .total_cmp(&other.gain_per_kg)
            .then(other.spare.cmp(&self.spare))
    }
}

impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Candidate {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Candidate {}

struct Walk {
    frontier: Frontier,
    stocks: Vec<u32>,
    candidates: BinaryHeap<Candidate>,
}

impl Walk {
    /// Adds the best copies per kilogram that still fit; says how many.
    fn fill(&mut self, spares: &[Spare], budget_kg: f64) -> u32 {
        let mut left_kg = budget_kg - mass_of(spares, &self.stocks) + ROUNDING_KG;
        let mut filled = 0;
        while let Some(best) = self.candidates.pop() {
            // What does not fit now never will: the spare leaves the choice.
            if spares[best.spare].mass_kg <= left_kg && (filled as usize) < STEPS_MAX {
                self.stocks[best.spare] += 1;
                left_kg -= spares[best.spare].mass_kg;
                filled += 1;
                self.candidates
                    .extend(candidate(spares, best.spare, self.stocks[best.spare]));
            }
        }
        filled
    }
}

/// The copy after `stock` copies, if there is one that gains enough.
fn candidate(spares: &[Spare], index: usize, stock: u32) -> Option<Candidate> {
    let spare = &spares[index];
    let gain = spare.importance * poisson_cover(spare.mean, stock).stock_out;
    (stock < spare.most && gain >= GAIN_LEAST).then(|| Candidate {
        gain_per_kg: gain / spare.mass_kg,
        spare: index,
    })
}

fn walk(spares: &[Spare], budget_kg: f64) -> Walk {
    let mut stocks: Vec<u32> = spares.iter().map(|spare| spare.held).collect();
    let mut covers: Vec<_> = spares
        .iter()
        .map(|spare| poisson_cover(spare.mean, spare.held))
        .collect();
    let start_mass_kg = mass_of(spares, &stocks);
    let start_expected_backorders = together(spares, &covers).0;
    let mut candidates: BinaryHeap<_> = (0..spares.len())
        .filter_map(|index| candidate(spares, index, stocks[index]))
        .collect();
    let mut steps: Vec<FrontierStep> = Vec::new();
    let mut mass_kg = start_mass_kg;
    let end = loop {
        if steps.len() == STEPS_MAX {
            break FrontierEnd::StepLimit;
        }
        let Some(best) = candidates.pop() else {
            break FrontierEnd::NothingToGain;
        };
        let index = best.spare;
        if mass_kg + spares[index].mass_kg > budget_kg + ROUNDING_KG {
            candidates.push(best);
            break FrontierEnd::Budget;
        }
        mass_kg += spares[index].mass_kg;
        stocks[index] += 1;
        covers[index] = poisson_cover(spares[index].mean, stocks[index]);
        let (expected_backorders, no_stock_out) = together(spares, &covers);
        steps.push(FrontierStep {
            spare: index,
            stock: stocks[index],
            gain_per_kg: best.gain_per_kg,
            mass_kg,
            expected_backorders,
            no_stock_out,
        });
        candidates.extend(candidate(spares, index, stocks[index]));
    };
    let next_gain_per_kg = candidates.peek().map(|next| next.gain_per_kg);
    let frontier = Frontier {
        start_mass_kg,
        start_expected_backorders,
        steps,
        end,
        next_gain_per_kg,
    };
    Walk {
        frontier,
        stocks,
        candidates,
    }
}

/// Weighted expected backorders and chance that nothing runs out.
pub(super) fn together(spares: &[Spare], covers: &[Cover]) -> (f64, f64) {
    spares
        .iter()
        .zip(covers)
        .fold((0.0, 1.0), |(backorders, no_stock_out), (spare, cover)| {
            (
                backorders + spare.importance * cover.expected_backorders,
                no_stock_out * cover.no_stock_out,
            )
        })
}

/// Checks the spares and that the budget holds what is carried in any case.
pub(super) fn check_kit(spares: &[Spare], budget_kg: f64) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("budget_kg", budget_kg, 0.0, 1e6);
    if spares.len() > ITEMS_MAX {
        check.refuse(
            "spares",
            format!("must be at most {ITEMS_MAX}, are {}", spares.len()),
        );
    }
    for (index, spare) in spares.iter().enumerate().take(ITEMS_MAX) {
        let field = |name| element("spares", index, name);
        check.between(field("mean"), spare.mean, 0.0, MEAN_MAX);
        check.between(field("mass_kg"), spare.mass_kg, MASS_LEAST_KG, MASS_MAX_KG);
        check.between(field("importance"), spare.importance, 1e-6, 1_000.0);
        check.between(field("held"), f64::from(spare.held), 0.0, f64::from(STOCK_MAX));
        check.between(
            field("most"),
            f64::from(spare.most),
            f64::from(spare.held),
            f64::from(STOCK_MAX),
        );
    }
    if check.passes() {
        let held_kg: f64 = spares
            .iter()
            .map(|spare| spare.mass_kg * f64::from(spare.held))
            .sum();
        if held_kg > budget_kg + ROUNDING_KG {
            check.refuse(
                "budget_kg",
                format!("must be at least the mass held, {held_kg:.3}, is {budget_kg}"),
            );
        }
    }
    check.finish()
}
