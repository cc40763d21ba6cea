//! What wins most time: changes of the plan, sampled pair by pair with the plan as it is.

use rayon::prelude::*;

use super::sampled_plan::{BLOCK, Sample, SampledPlan, Uniforms};
use super::{Chance, ChanceOptions, Progress, check_options};
use crate::check::{Check, InvalidInput};
use crate::plan::build_plan::Plan;
use crate::plan::sampler::Samplers;
use crate::plan::search::Watch;
use crate::plan::three_point::ThreePoint;

/// Most changes compared at a time.
pub const CHANGES_MAX: usize = 1_000;
/// Jobs of the greatest criticality for which changes are suggested.
const JOBS_SUGGESTED: usize = 5;
/// Share of its hours by which a job is suggested to be shortened.
const SHORTER_SUGGESTED: f64 = 0.25;

/// One change of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// More bays or people of one kind.
    AddUnits {
        /// The resource, by index.
        resource: usize,
        /// How many more, 1 or more.
        units: u32,
    },
    /// A job needs fewer hours: help, a bought-in assembly, a simpler way.
    ShortenJob {
        /// The job, by index.
        job: usize,
        /// Share of all its hours that falls away, above 0 and at most 1.
        share: f64,
    },
    /// A job is dropped: no hours, no resources, no parts. What comes after it still waits for what came before.
    DropJob {
        /// The job, by index.
        job: usize,
    },
    /// A part that is not ordered yet is ordered at the start of the plan.
    OrderPartNow {
        /// The part, by index.
        part: usize,
    },
}

/// What a change brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// The change.
    pub change: Change,
    /// Mean time by which the fleet is ready earlier, minutes; negative when later, which can happen: a job that starts
    /// earlier may hold a bay that another needs more.
    pub mean_gain_min: f64,
    /// Standard error of that mean by the number of samples, minutes.
    pub standard_error_min: f64,
    /// Chance that the fleet is ready by the moment asked for, with the change.
    pub chance_ready: f64,
    /// That chance less the chance without the change, on the same samples.
    pub chance_gain: f64,
}

/// Compares `changes` with the plan as it is under the policy of `order`, greatest mean gain first. Every change is
/// sampled with the same numbers as the plan, so that small gains show with few samples.
///
/// # Errors
/// As [`super::chance`]; `changes`: more than [`CHANGES_MAX`]; `changes[k]…`: points nowhere or out of range.
pub fn gains(
    plan: &Plan,
    order: &[usize],
    changes: &[Change],
    options: &ChanceOptions,
    watch: &dyn Watch,
) -> Result<Vec<Gain>, InvalidInput> {
    check_options(options)?;
    let mut check = Check::new();
    if changes.len() > CHANGES_MAX {
        check.refuse(
            "changes",
            format!("must be at most {CHANGES_MAX}, are {}", changes.len()),
        );
    }
    let changed = changes.iter().enumerate().map(|(index, change)| {
        let mut plan = plan.clone();
        check
            .merge(format_args!("changes[{index}]"), change.apply(&mut plan))
            .map(|()| plan)
    });
    let changed: Vec<Plan> = changed.flatten().collect();
    check.finish()?;
    let mut samplers = Samplers::default();
    let base = SampledPlan::new(plan, order, options.spread, &mut samplers)?;
    let variants = changed
        .iter()
        .map(|plan| SampledPlan::new(plan, order, options.spread, &mut samplers));
    let variants: Vec<SampledPlan> = variants.collect::<Result<_, _>>()?;

    let blank = || Pairs {
        samples: 0,
        ready: 0,
        variants: vec![Differences::default(); variants.len()],
    };
    let progress = Progress::new(watch, options.samples);
    let pairs = (0..options.samples.div_ceil(BLOCK))
        .into_par_iter()
        .filter_map(|block| progress.next(block).map(|count| (block, count)))
        .map(|(block, count)| {
            let mut pairs = blank();
            let mut base_sample = base.sample();
            let mut samples: Vec<Sample<'_>> = variants.iter().map(SampledPlan::sample).collect();
            let mut uniforms = Uniforms::new(options.seed, block, base.uniform_count());
            for _ in 0..count {
                uniforms.next();
                pairs.add(
                    &uniforms.values,
                    &mut base_sample,
                    &mut samples,
                    options.ready_by_minute,
                );
            }
            progress.add(count);
            pairs
        })
        .reduce(blank, Pairs::merge);
    let mut gains: Vec<Gain> = changes
        .iter()
        .zip(&pairs.variants)
        .map(|(&change, differences)| pairs.gain(change, differences))
        .collect();
    gains.sort_by(|a, b| b.mean_gain_min.total_cmp(&a.mean_gain_min));
    Ok(gains)
}

/// Changes worth comparing: shortening and dropping the jobs of greatest criticality, one more of every resource,
/// ordering now every part that is not ordered.
pub fn suggested_changes(plan: &Plan, chance: &Chance) -> Vec<Change> {
    let mut jobs: Vec<usize> = (0..plan.jobs.len().min(chance.jobs.len())).collect();
    jobs.retain(|&job| chance.jobs[job].criticality > 0.0);
    jobs.sort_by(|&a, &b| chance.jobs[b].criticality.total_cmp(&chance.jobs[a].criticality));
    jobs.truncate(JOBS_SUGGESTED);
    let shorten = jobs.iter().map(|&job| Change::ShortenJob {
        job,
        share: SHORTER_SUGGESTED,
    });
    let drop = jobs.iter().map(|&job| Change::DropJob { job });
    let add = (0..plan.resources.len()).map(|resource| Change::AddUnits { resource, units: 1 });
    let late = plan.assumed_order_minute > plan.start_minute;
    let open = (0..plan.parts.len()).filter(|&part| late && plan.parts[part].ordered_minute.is_none());
    shorten
        .chain(drop)
        .chain(add)
        .chain(open.map(|part| Change::OrderPartNow { part }))
        .collect()
}

impl Change {
    /// # Errors
    /// `resource`, `job`, `part`: points nowhere. `units`, `share`: out of range. `part`: ordered already.
    fn apply(self, plan: &mut Plan) -> Result<(), InvalidInput> {
        let missing = |field: &str, index: usize| {
            InvalidInput::one(field, format!("must be in the plan, {index} is not"))
        };
        match self {
            Self::AddUnits { resource, units } => {
                let found = plan
                    .resources
                    .get_mut(resource)
                    .ok_or_else(|| missing("resource", resource))?;
                if units == 0 {
                    return Err(InvalidInput::one("units", "must be 1 or more, is 0"));
                }
                found.capacity = found.capacity.saturating_add(units);
            }
            Self::ShortenJob { job, share } => {
                let found = plan.jobs.get_mut(job).ok_or_else(|| missing("job", job))?;
                if !(share > 0.0 && share <= 1.0) {
                    return Err(InvalidInput::one(
                        "share",
                        format!("must be above 0 and at most 1, is {share}"),
                    ));
                }
                found.work_hours = found.work_hours.scaled(1.0 - share);
            }
            Self::DropJob { job } => {
                let found = plan.jobs.get_mut(job).ok_or_else(|| missing("job", job))?;
                found.work_hours = ThreePoint::exactly(0.0);
                found.needs.clear();
                found.awaits.clear();
            }
            Self::OrderPartNow { part } => {
                let start = plan.start_minute;
                let found = plan.parts.get_mut(part).ok_or_else(|| missing("part", part))?;
                if found.ordered_minute.is_some() {
                    return Err(InvalidInput::one("part", "must not be ordered yet"));
                }
                found.ordered_minute = Some(start);
            }
        }
        Ok(())
    }
}

/// Differences between samples of a variant and of the plan as it is: whole numbers, added exactly.
#[derive(Debug, Clone, Default)]
struct Differences {
    gain: i128,
    gain_squares: i128,
    ready: u64,
}

struct Pairs {
    samples: u64,
    ready: u64,
    variants: Vec<Differences>,
}

impl Pairs {
    fn add(&mut self, uniforms: &[f64], base: &mut Sample<'_>, samples: &mut [Sample<'_>], ready_by: i64) {
        base.draw(uniforms);
        let finish = base.finish();
        self.samples += 1;
        self.ready += u64::from(finish <= ready_by);
        for (differences, sample) in self.variants.iter_mut().zip(samples) {
            sample.draw(uniforms);
            let gain = i128::from(finish - sample.finish());
            differences.gain += gain;
            differences.gain_squares += gain * gain;
            differences.ready += u64::from(sample.finish() <= ready_by);
        }
    }

    fn merge(mut self, other: Self) -> Self {
        self.samples += other.samples;
        self.ready += other.ready;
        for (mine, theirs) in self.variants.iter_mut().zip(other.variants) {
            mine.gain += theirs.gain;
            mine.gain_squares += theirs.gain_squares;
            mine.ready += theirs.ready;
        }
        self
    }

    fn gain(&self, change: Change, differences: &Differences) -> Gain {
        let samples = self.samples.max(1) as f64;
        let mean = differences.gain as f64 / samples;
        let variance = (differences.gain_squares as f64 / samples - mean * mean).max(0.0);
        Gain {
            change,
            mean_gain_min: mean,
            standard_error_min: (variance / samples).sqrt(),
            chance_ready: differences.ready as f64 / samples,
            chance_gain: (differences.ready as f64 - self.ready as f64) / samples,
        }
    }
}
