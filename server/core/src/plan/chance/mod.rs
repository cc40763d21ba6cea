//! The chance of being ready by a date, from samples of durations and lead times.
//!
//! What is sampled is the plan's **policy** (whenever a bay or a person comes free, the first job in the order that can
//! start does) and not a fixed calendar of starts: the shop goes on when a job ends early, and the order decides who
//! waits when it ends late. Merge bias (two chains that must both be in time) and the waits for bays are in the samples.
//!
//! Durations are taken as independent. In a shop they are not quite (a sick mechanic delays every job): true
//! spreads are wider, and chances near 0 and 1 less certain than the sampling error says.

mod gains;
mod histogram;
mod sampled_plan;
mod tally;

use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal};

use self::sampled_plan::{BLOCK, SampledPlan, Uniforms};
use self::tally::{Finishes, Questions, Tally};
use super::build_plan::Plan;
use super::calendar::MOMENT_MAX;
use super::sampler::Samplers;
use super::search::Watch;
use super::three_point::Spread;
use crate::check::{Check, InvalidInput};

pub use self::gains::{CHANGES_MAX, Change, Gain, gains, suggested_changes};

/// Most samples.
pub const SAMPLES_MAX: u64 = 100_000_000;
/// Most quantiles asked for.
pub const QUANTILES_MAX: usize = 100;

/// What to sample.
#[derive(Debug, Clone, PartialEq)]
pub struct ChanceOptions {
    /// Seed of the samples. The same seed and number of samples give the same result on any number of threads.
    pub seed: u64,
    /// Number of samples, 1 to [`SAMPLES_MAX`].
    pub samples: u64,
    /// How values spread within their three-point estimates.
    pub spread: Spread,
    /// The moment to be ready by.
    pub ready_by_minute: i64,
    /// Shares of the samples, above 0 and below 1, to give the finish for.
    pub quantiles: Vec<f64>,
}

/// When something is finished.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Share of the samples that are finished by the moment asked for.
    pub chance_ready: f64,
    /// Lower and upper end of the 95 % interval of that chance by the number of samples (Wilson score interval, from
    /// memory). It says nothing about how good the estimates are.
    pub chance_interval: (f64, f64),
    /// Mean finish, minutes since 1970-01-01.
    pub mean_finish_minute: f64,
    /// Standard deviation of the finish, minutes.
    pub standard_deviation_min: f64,
    /// Finish for each share asked for, in the order asked, minutes since 1970-01-01.
    pub quantile_minutes: Vec<f64>,
    /// Width of the bins that the quantiles come from, minutes: they are that exact.
    pub resolution_min: i64,
}

/// A job over all samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobChance {
    /// Share of the samples in which the job lies on the chain that sets the fleet's finish, by precedence or by the bay
    /// or person it held.
    pub criticality: f64,
    /// Mean start, minutes since 1970-01-01.
    pub mean_start_minute: f64,
    /// Share of the samples in which it finishes after its latest finish; 0 where there is none.
    pub chance_late: f64,
}

/// What the samples say.
#[derive(Debug, Clone, PartialEq)]
pub struct Chance {
    /// Samples taken; fewer than asked for when the work was ended from outside (then which ones depends on the
    /// threads).
    pub samples: u64,
    /// The fleet: all jobs.
    pub fleet: Outcome,
    /// Each vehicle: the jobs that name it. `None`: no job does, nothing is known about its readiness.
    pub vehicles: Vec<Option<Outcome>>,
    /// Each job.
    pub jobs: Vec<JobChance>,
    /// Share of the samples in which waiting for the part sets the fleet's finish, per part.
    pub part_criticality: Vec<f64>,
    /// Parts not ordered yet, by index: taken to be ordered at [`Plan::assumed_order_minute`].
    pub parts_assumed_ordered: Vec<usize>,
    /// Parts overdue beyond their pessimistic lead time, by index: taken to arrive now, which nobody knows.
    pub parts_overdue: Vec<usize>,
}

/// Samples `plan` under the policy of `order` (of a schedule: [`super::schedule::Schedule::order`]).
///
/// Runs on the threads of the current rayon pool. `watch` hears how many samples are done and may end the work early;
/// at least one block of samples is taken.
///
/// # Errors
/// See [`Plan::check`] and [`super::project::Project::compile`]; `order`: not an order of all jobs; `options.…`: out of range.
pub fn chance(
    plan: &Plan,
    order: &[usize],
    options: &ChanceOptions,
    watch: &dyn Watch,
) -> Result<Chance, InvalidInput> {
    check_options(options)?;
    let sampled = SampledPlan::new(plan, order, options.spread, &mut Samplers::default())?;
    let vehicle_jobs = |vehicle| {
        let jobs = plan.jobs.iter().enumerate();
        jobs.filter(|(_, job)| job.vehicles.contains(&vehicle))
            .map(|(index, _)| index)
            .collect()
    };
    let questions = Questions {
        start: plan.start_minute,
        ready_by: options.ready_by_minute,
        vehicle_jobs: (0..plan.vehicles.len()).map(vehicle_jobs).collect(),
        latest: sampled.model.latest.clone(),
        parts: plan.parts.len(),
    };
    let progress = Progress {
        watch,
        done: AtomicU64::new(0),
        of: options.samples,
    };
    let blocks = 0..options.samples.div_ceil(BLOCK);
    let tally = blocks
        .into_par_iter()
        .fold(
            || (Tally::new(&questions), sampled.sample()),
            |(mut tally, mut sample), block| {
                if let Some(count) = progress.next(block) {
                    let mut uniforms = Uniforms::new(options.seed, block, sampled.uniform_count());
                    for _ in 0..count {
                        uniforms.next();
                        sample.draw(&uniforms.values);
                        tally.add(&sample, &questions);
                    }
                    progress.add(count);
                }
                (tally, sample)
            },
        )
        .map(|(tally, _)| tally)
        .reduce_with(Tally::merge)
        .unwrap_or_else(|| Tally::new(&questions));
    Ok(results(plan, &sampled, options, &tally))
}

fn check_options(options: &ChanceOptions) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if options.samples == 0 || options.samples > SAMPLES_MAX {
        check.refuse(
            "options.samples",
            format!("must be 1 to {SAMPLES_MAX}, is {}", options.samples),
        );
    }
    if options.ready_by_minute.abs() > MOMENT_MAX {
        check.refuse(
            "options.ready_by_minute",
            format!("must be within {MOMENT_MAX} minutes of 1970-01-01"),
        );
    }
    if options.quantiles.len() > QUANTILES_MAX {
        check.refuse(
            "options.quantiles",
            format!("must be at most {QUANTILES_MAX}, are {}", options.quantiles.len()),
        );
    }
    for (index, &share) in options.quantiles.iter().enumerate() {
        if !(share > 0.0 && share < 1.0) {
            check.refuse(
                format_args!("options.quantiles[{index}]"),
                format!("must be above 0 and below 1, is {share}"),
            );
        }
    }
    check.finish()
}

/// Counts samples towards the watcher.
struct Progress<'w> {
    watch: &'w dyn Watch,
    done: AtomicU64,
    of: u64,
}

impl<'w> Progress<'w> {
    fn new(watch: &'w dyn Watch, of: u64) -> Self {
        Self {
            watch,
            done: AtomicU64::new(0),
            of,
        }
    }

    /// Samples of this block, `None` when the work is over. The first block is always taken.
    fn next(&self, block: u64) -> Option<u64> {
        (block == 0 || !self.watch.is_over()).then(|| BLOCK.min(self.of - block * BLOCK))
    }

    fn add(&self, count: u64) {
        let done = self.done.fetch_add(count, Ordering::Relaxed) + count;
        self.watch.samples_done(done, self.of);
    }
}

fn results(plan: &Plan, sampled: &SampledPlan, options: &ChanceOptions, tally: &Tally) -> Chance {
    let samples = tally.samples.max(1) as f64;
    let share = |count: u64| count as f64 / samples;
    let has_jobs = |vehicle: usize| plan.jobs.iter().any(|job| job.vehicles.contains(&vehicle));
    let vehicles = tally.vehicles.iter().enumerate();
    let jobs = (0..plan.jobs.len()).map(|job| JobChance {
        criticality: share(tally.job_critical[job]),
        mean_start_minute: plan.start_minute as f64 + tally.job_starts[job] as f64 / samples,
        chance_late: share(tally.job_late[job]),
    });
    Chance {
        samples: tally.samples,
        fleet: outcome(plan, options, tally.samples, &tally.fleet),
        vehicles: vehicles
            .map(|(index, vehicle)| has_jobs(index).then(|| outcome(plan, options, tally.samples, vehicle)))
            .collect(),
        jobs: jobs.collect(),
        part_criticality: tally.part_critical.iter().map(|&count| share(count)).collect(),
        parts_assumed_ordered: (0..plan.parts.len())
            .filter(|&part| plan.parts[part].ordered_minute.is_none())
            .collect(),
        parts_overdue: sampled.overdue(),
    }
}

fn outcome(plan: &Plan, options: &ChanceOptions, samples: u64, finishes: &Finishes) -> Outcome {
    let (start, histogram) = (plan.start_minute as f64, &finishes.histogram);
    let chance_ready = finishes.ready as f64 / samples.max(1) as f64;
    Outcome {
        chance_ready,
        chance_interval: wilson_interval(chance_ready, samples.max(1) as f64),
        mean_finish_minute: start + histogram.mean(),
        standard_deviation_min: histogram.standard_deviation(),
        quantile_minutes: options
            .quantiles
            .iter()
            .map(|&share| start + histogram.quantile(share))
            .collect(),
        resolution_min: histogram.resolution_min(),
    }
}

fn wilson_interval(share: f64, samples: f64) -> (f64, f64) {
    let z = Normal::standard().inverse_cdf(0.975);
    let middle = (share + z * z / (2.0 * samples)) / (1.0 + z * z / samples);
    let reach = z / (1.0 + z * z / samples)
        * (share * (1.0 - share) / samples + z * z / (4.0 * samples * samples)).sqrt();
    ((middle - reach).max(0.0), (middle + reach).min(1.0))
}
