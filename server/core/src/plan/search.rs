//! The search for a short schedule: rules first, then populations on islands, until a bound or a budget is met.

use rayon::prelude::*;

use super::bounds::{lower_bound, precedence_bound};
use super::generate::{generator, justify};
use super::model::Model;
use super::population::{Island, as_order};
use super::rules::Rule;
use super::schedule::{Cost, Schedule};
use crate::check::{Check, InvalidInput};

/// Most schedules to ask for.
pub const SCHEDULES_MAX: u64 = 1_000_000_000;
/// Most islands.
pub const ISLANDS_MAX: usize = 64;
/// Generations that every island lives between two exchanges.
const GENERATIONS_AN_EPOCH: usize = 20;

/// How long and how to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SearchOptions {
    /// Seed of the random choices. The same seed, islands and budget give the same schedule on any machine and
    /// any number of threads, unless the search is ended from outside.
    pub seed: u64,
    /// Populations that evolve side by side, each on a thread of its own where there is one; 1 to
    /// [`ISLANDS_MAX`].
    pub islands: usize,
    /// Schedules to make before stopping, over all islands, at most [`SCHEDULES_MAX`] (overrun by less than a
    /// generation of each).
    pub schedules_max: u64,
}

impl Default for SearchOptions {
    fn default() -> Self {
        Self {
            seed: 1,
            islands: 2,
            schedules_max: 50_000,
        }
    }
}

/// Where a search stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SearchProgress {
    /// Cost of the best schedule so far.
    pub cost: Cost,
    /// No schedule has a shorter makespan.
    pub lower_bound: i64,
    /// Schedules made so far.
    pub schedules: u64,
}

/// Watches over long work. The core has no clock: whoever calls decides when it has taken long enough.
pub trait Watch: Sync {
    /// Asked often, from several threads; the work ends soon after the answer is true.
    fn is_over(&self) -> bool {
        false
    }

    /// Told from time to time how a search stands.
    fn search_stands(&self, progress: SearchProgress) {
        let _ = progress;
    }

    /// Told from time to time how many samples of how many are done.
    fn samples_done(&self, done: u64, of: u64) {
        let _ = (done, of);
    }
}

/// Lets the work run to its own end.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwatched;

impl Watch for Unwatched {}

/// What a search found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The best schedule.
    pub schedule: Schedule,
    /// Its cost.
    pub cost: Cost,
    /// No schedule has a shorter makespan than this.
    pub lower_bound: i64,
    /// Schedules made.
    pub schedules: u64,
}

impl Found {
    /// Whether no schedule is better: nothing is late and the makespan meets the lower bound.
    pub fn is_proven_optimal(&self) -> bool {
        self.cost
            == Cost {
                lateness: 0,
                makespan: self.lower_bound,
            }
    }

    /// Makespan above the lower bound, as a fraction of the bound; 0 when both are 0. What the best possible
    /// schedule could gain at most.
    pub fn gap(&self) -> f64 {
        let above = (self.cost.makespan - self.lower_bound) as f64;
        if self.lower_bound > 0 {
            above / self.lower_bound as f64
        } else {
            0.0
        }
    }
}

/// Searches for a schedule of least cost.
///
/// # Errors
/// `options.islands`: not 1 to [`ISLANDS_MAX`]. `options.schedules_max`: above [`SCHEDULES_MAX`].
/// `seeds[k]`: not an order of all jobs, each after its predecessors.
pub fn search(
    model: &Model,
    seeds: &[Vec<usize>],
    options: &SearchOptions,
    watch: &dyn Watch,
) -> Result<Found, InvalidInput> {
    let mut check = Check::new();
    if options.islands == 0 || options.islands > ISLANDS_MAX {
        check.refuse(
            "options.islands",
            format!("must be 1 to {ISLANDS_MAX}, is {}", options.islands),
        );
    }
    if options.schedules_max > SCHEDULES_MAX {
        let problem = format!("must be at most {SCHEDULES_MAX}, is {}", options.schedules_max);
        check.refuse("options.schedules_max", problem);
    }
    for (index, seed) in seeds.iter().enumerate() {
        check.merge(format_args!("seeds[{index}]"), check_order(model, seed));
    }
    check.finish()?;

    let mut found = first_schedules(model, seeds);
    report(&found, watch);
    if found.is_proven_optimal() {
        return Ok(found);
    }
    found.lower_bound = lower_bound(model, found.cost.makespan, &|| watch.is_over());
    let is_over = || watch.is_over();
    let island = |index: usize| Island::new(model, (options.seed, index as u64), &found.schedule, &is_over);
    let mut islands: Vec<Island<'_>> = (0..options.islands).into_par_iter().map(island).collect();
    let made_before = found.schedules;
    let made_max = options
        .schedules_max
        .saturating_sub(made_before)
        .div_ceil(options.islands as u64);
    // The random members of the first populations may already be better.
    take_stock(&mut found, &islands, made_before);
    while !found.is_proven_optimal() && found.schedules < options.schedules_max && !is_over() {
        let target = Cost {
            lateness: 0,
            makespan: found.lower_bound,
        };
        islands
            .par_iter_mut()
            .for_each(|island| island.evolve(GENERATIONS_AN_EPOCH, made_max, target, &is_over));
        exchange(&mut islands);
        take_stock(&mut found, &islands, made_before);
        report(&found, watch);
    }
    Ok(found)
}

/// Checks that `order` holds every job once, each after its predecessors.
///
/// # Errors
/// The field is empty (the order as a whole) or `[k]`.
pub fn check_order(model: &Model, order: &[usize]) -> Result<(), InvalidInput> {
    let mut done = vec![false; model.job_count()];
    if order.len() != done.len() {
        return Err(InvalidInput::one(
            "",
            format!(
                "must hold every job once, {} jobs, holds {}",
                done.len(),
                order.len()
            ),
        ));
    }
    for (position, &job) in order.iter().enumerate() {
        let field = format!("[{position}]");
        if job >= done.len() || done[job] {
            return Err(InvalidInput::one(
                field,
                format!("must be a job not seen before, is {job}"),
            ));
        }
        if let Some(before) = model
            .network
            .predecessors(job)
            .iter()
            .find(|&&before| !done[before])
        {
            return Err(InvalidInput::one(
                field,
                format!("must come after job {before}, is {job}"),
            ));
        }
        done[job] = true;
    }
    Ok(())
}

/// The best of the seeds and rules, each justified.
fn first_schedules(model: &Model, seeds: &[Vec<usize>]) -> Found {
    let mut maker = generator(model);
    let mut schedule = Schedule::blank(model.job_count());
    let mut best: Option<(Cost, Schedule)> = None;
    let orders = seeds
        .iter()
        .cloned()
        .chain(Rule::ALL.into_iter().map(|rule| rule.order(model)));
    let mut schedules = 0;
    for order in orders {
        maker.forward(&as_order(&order), false, &mut schedule);
        for justified in [false, true] {
            if justified {
                justify(maker.as_mut(), &mut schedule);
            }
            let cost = schedule.cost(model);
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, schedule.clone()));
            }
        }
        schedules += 3;
    }
    let (cost, schedule) = best.unwrap_or_else(|| (schedule.cost(model), schedule));
    Found {
        schedule,
        cost,
        lower_bound: precedence_bound(model).min(cost.makespan),
        schedules,
    }
}

fn take_stock(found: &mut Found, islands: &[Island<'_>], made_before: u64) {
    found.schedules = made_before + islands.iter().map(Island::made).sum::<u64>();
    for island in islands {
        if island.best_cost() < found.cost {
            (found.cost, found.schedule) = (island.best_cost(), island.best().clone());
        }
    }
}

/// Every island passes its best to the next.
fn exchange(islands: &mut [Island<'_>]) {
    if islands.len() < 2 {
        return;
    }
    let bests: Vec<_> = islands.iter().map(Island::best_member).collect();
    for (index, best) in bests.into_iter().enumerate() {
        let next = (index + 1) % islands.len();
        best.into_iter().for_each(|best| islands[next].welcome(best));
    }
}

fn report(found: &Found, watch: &dyn Watch) {
    let Found {
        cost,
        lower_bound,
        schedules,
        ..
    } = *found;
    watch.search_stands(SearchProgress {
        cost,
        lower_bound,
        schedules,
    });
}
