//! The search: a bound, a first placement, then rounds that raise the smallest margin in turn with rounds
//! that move less.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::anneal::{Round, anneal};
use super::bound::{Bound, bound};
use super::enumerate::enumerate;
use super::frame::Frame;
use super::model::Convoy;
use super::prepare::{first_placement, without_place};
use super::result::{Stowage, report, report_without_place};
use super::state::{Standing, State, standing};
use crate::check::{Check, InvalidInput};

/// Most steps to ask for.
pub const STEPS_MAX: u64 = 100_000_000_000;
/// Steps of a round, unless the budget is small.
const ROUND_STEPS: u64 = 200_000;
/// Rounds that a small budget is split into.
const ROUNDS_MIN: u64 = 20;
/// Rounds without a placement that moves less, after which none is expected.
const IDLE_ROUNDS: u32 = 10;
/// The search for a larger margin ends when this share of the bound is left.
const CLOSE_SHARE: f64 = 2e-4;
/// Smallest difference of margins that matters.
const MARGIN_LEAST: f64 = 1e-6;

/// How long and how to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolveOptions {
    /// Seed of the random choices. The same seed and budget give the same answer on any machine, unless the
    /// search is ended from outside.
    pub seed: u64,
    /// Steps to make before stopping, at most [`STEPS_MAX`].
    pub steps_max: u64,
    /// Share of the smallest margin that may be given up to move less, 0 to 1.
    pub give_up_share: f64,
}

impl Default for SolveOptions {
    fn default() -> Self {
        Self {
            seed: 1,
            steps_max: 4_000_000,
            give_up_share: 0.005,
        }
    }
}

/// Where a search stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Steps made.
    pub steps: u64,
    /// Smallest relative margin so far; below 0 while a limit is broken. `None`: nothing has a margin.
    pub smallest_margin: Option<f64>,
    /// No placement has a larger one.
    pub margin_bound: f64,
    /// Mass moved by the placement that would be answered now, kilograms.
    pub moved_mass_kg: f64,
}

/// Watches over a search. The core has no clock: whoever calls decides when it has taken long enough.
pub trait Watch {
    /// Asked often; the search ends soon after the answer is true.
    fn is_over(&self) -> bool {
        false
    }

    /// Told after every round.
    fn stands(&self, progress: Progress) {
        let _ = progress;
    }
}

/// Lets the search run to its own end.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwatched;

impl Watch for Unwatched {}

/// Places the items.
///
/// Pins, bans and groups are always kept; the answer says whether every limit is.
///
/// # Errors
/// As for [`Convoy::check`]; `options.steps_max` above [`STEPS_MAX`]; `options.give_up_share` not 0 to 1.
pub fn solve(convoy: &Convoy, options: &SolveOptions, watch: &dyn Watch) -> Result<Stowage, InvalidInput> {
    let mut check = Check::new();
    check.merge("", convoy.check());
    check.between("options.give_up_share", options.give_up_share, 0.0, 1.0);
    if options.steps_max > STEPS_MAX {
        let problem = format!("must be at most {STEPS_MAX}, is {}", options.steps_max);
        check.refuse("options.steps_max", problem);
    }
    check.finish()?;
    let frame = Frame::new(convoy);
    let without = without_place(&frame);
    if !without.is_empty() {
        return Ok(report_without_place(convoy, &frame, &without));
    }
    let mut search = Search::new(&frame, options, watch);
    if !frame.pieces.is_empty() {
        search.run();
    }
    Ok(report(
        convoy,
        &frame,
        &search.answer().at,
        &search.bound,
        search.steps,
    ))
}

/// A placement and where it stands.
#[derive(Debug, Clone)]
struct Found {
    at: Vec<usize>,
    standing: Standing,
    moved: (f64, usize),
}

impl Found {
    fn of(frame: &Frame, at: Vec<usize>) -> Self {
        Self {
            standing: standing(frame, &at),
            moved: State::new(frame, at.clone(), 0.0).moved(),
            at,
        }
    }
}

struct Search<'a> {
    frame: &'a Frame,
    options: &'a SolveOptions,
    watch: &'a dyn Watch,
    random: ChaCha8Rng,
    bound: Bound,
    first: Found,
    /// The largest smallest margin.
    best: Found,
    /// The least moved of those close enough to the best.
    calm: Option<Found>,
    /// The margin that was aimed at last without being reached.
    missed: f64,
    steps: u64,
}

impl<'a> Search<'a> {
    fn new(frame: &'a Frame, options: &'a SolveOptions, watch: &'a dyn Watch) -> Self {
        let bound = bound(frame, &|| watch.is_over());
        let top = bound.margin.unwrap_or(0.0);
        let first = Found::of(frame, first_placement(frame, top));
        let mut search = Self {
            frame,
            options,
            watch,
            random: ChaCha8Rng::seed_from_u64(options.seed),
            best: first.clone(),
            calm: None,
            missed: f64::INFINITY,
            first,
            bound,
            steps: 0,
        };
        search.close_bound(false);
        search
    }

    fn answer(&self) -> &Found {
        self.calm.as_ref().unwrap_or(&self.best)
    }

    fn run(&mut self) {
        let round = ROUND_STEPS.min(self.options.steps_max / ROUNDS_MIN).max(1);
        let (mut idle, mut rounds) = (0, 0_u32);
        self.take_calm(&self.first.clone());
        while self.steps < self.options.steps_max && !self.watch.is_over() {
            let left = self.options.steps_max - self.steps;
            let raised = !self.is_close() && self.raise(round.min(left));
            if rounds == 0 && !self.is_close() {
                let watch = self.watch;
                let proven = enumerate(self.frame, &mut self.best.at, &|| watch.is_over());
                self.best = Found::of(self.frame, self.best.at.clone());
                self.close_bound(proven);
            }
            self.drop_calm();
            let left = self.options.steps_max - self.steps;
            let calmed = left > 0 && self.calm_down(round.min(left), rounds);
            self.report();
            idle = if raised || calmed { 0 } else { idle + 1 };
            rounds += 1;
            let nothing_to_gain = self.is_close() && self.answer().moved.1 == 0;
            if nothing_to_gain || (idle >= IDLE_ROUNDS && self.is_close()) {
                break;
            }
        }
    }

    /// What is reached is possible; what is proven cannot be exceeded.
    fn close_bound(&mut self, proven: bool) {
        if self.best.standing.broken > 0.0 || !self.best.standing.margin.is_finite() {
            if proven && self.best.standing.broken > 0.0 {
                self.bound.margin = None;
            }
            return;
        }
        let reached = self.best.standing.margin;
        let before = self.bound.margin.unwrap_or(reached);
        self.bound.margin = Some(if proven { reached } else { before.max(reached) });
    }

    /// Whether the best margin is as good as the bound.
    fn is_close(&self) -> bool {
        let Some(bound) = self.bound.margin else {
            return true;
        };
        let margin = self.best.standing.margin;
        self.best.standing.broken == 0.0 && bound - margin <= (CLOSE_SHARE * bound.abs()).max(MARGIN_LEAST)
    }

    /// A round for a larger smallest margin; true when there is one.
    fn raise(&mut self, steps: u64) -> bool {
        let reached = self.best.standing.margin;
        let top = self.bound.margin.unwrap_or(reached);
        // From the bound downwards by halves until a margin is reached, then from the bound again.
        let halfway = reached + (self.missed - reached) / 2.0;
        let wide = halfway - reached > (CLOSE_SHARE * top.abs()).max(MARGIN_LEAST);
        let aim = if self.missed.is_finite() && wide {
            halfway
        } else {
            top
        };
        let mut state = State::new(self.frame, self.best.at.clone(), aim);
        let round = Round {
            steps,
            excess_weight: 1.0,
            moved_weight: 0.0,
            hot: 1e-5,
            cold: 1e-10,
            back_chance: 0.0,
            until_kept: true,
        };
        let mut least = f64::INFINITY;
        let mut best = (self.best.standing, None);
        let watch = self.watch;
        self.steps += anneal(
            &mut state,
            &round,
            &mut self.random,
            &|| watch.is_over(),
            &mut |state| {
                let excess = state.excess();
                if excess < least {
                    least = excess;
                    let standing = state.standing();
                    if standing.is_better_than(&best.0) {
                        best = (standing, Some(state.at.clone()));
                    }
                }
            },
        );
        self.missed = if state.excess() > 0.0 { aim } else { f64::INFINITY };
        let found = best.1.map(|at| Found::of(self.frame, at));
        let better = found.filter(|found| found.standing.is_better_than(&self.best.standing));
        let raised = better.is_some();
        if let Some(better) = better {
            self.best = better;
            self.close_bound(false);
        }
        raised
    }

    /// Least margin of a placement that moves less.
    fn good_enough(&self) -> f64 {
        let margin = self.best.standing.margin;
        if margin.is_finite() {
            margin - self.options.give_up_share * margin.max(0.0)
        } else {
            margin
        }
    }

    fn drop_calm(&mut self) {
        let least = self.good_enough();
        let keeps = |found: &Found| found.standing.broken == 0.0 && found.standing.margin >= least;
        self.calm = self.calm.take().filter(keeps);
    }

    fn take_calm(&mut self, found: &Found) -> bool {
        let good = found.standing.keeps_limits() && found.standing.margin >= self.good_enough();
        let calmer = good && found.moved < self.answer().moved;
        if calmer {
            self.calm = Some(found.clone());
        }
        calmer
    }

    /// A round for a placement that moves less; true when there is one.
    fn calm_down(&mut self, steps: u64, rounds: u32) -> bool {
        let first = self.first.clone();
        if !self.best.standing.keeps_limits() || self.answer().moved.1 == 0 {
            return false;
        }
        let mut calmed = self.take_calm(&first);
        let least = self.good_enough();
        let margin = self.best.standing.margin;
        let give = if margin.is_finite() {
            (margin - least).max(1e-6)
        } else {
            1e-6
        };
        let start = if rounds % 3 == 1 { &first } else { self.answer() };
        let aim = if least.is_finite() {
            least + give / 4.0
        } else {
            0.0
        };
        let mut state = State::new(self.frame, start.at.clone(), aim);
        let round = Round {
            steps,
            // An excess of a quarter of what may be given up costs as much as moving a tenth of it all.
            excess_weight: 1.6 / (give * give),
            moved_weight: 1.0,
            hot: if rounds % 3 == 2 { 1e-3 } else { 1e-2 },
            cold: 1e-5,
            back_chance: 0.3,
            until_kept: false,
        };
        let mut fewest = self.answer().moved;
        let mut found = None;
        let watch = self.watch;
        self.steps += anneal(
            &mut state,
            &round,
            &mut self.random,
            &|| watch.is_over(),
            &mut |state| {
                if state.moved() < fewest {
                    let standing = state.standing();
                    if standing.keeps_limits() && standing.margin >= least {
                        fewest = state.moved();
                        found = Some(state.at.clone());
                    }
                }
            },
        );
        if let Some(at) = found {
            calmed |= self.take_calm(&Found::of(self.frame, at));
        }
        calmed
    }

    fn report(&self) {
        let answer = self.answer();
        let margin = answer.standing.margin;
        self.watch.stands(Progress {
            steps: self.steps,
            smallest_margin: Some(margin).filter(|margin| margin.is_finite()),
            margin_bound: self.bound.margin.unwrap_or(margin.min(0.0)),
            moved_mass_kg: answer.moved.0,
        });
    }
}
