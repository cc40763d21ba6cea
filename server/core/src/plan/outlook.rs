//! What a departure's plan comes to: its schedule with slack, and its chance, as people read them.

use super::chance::{Chance, ChanceOptions, chance};
use super::latest::latest_schedule;
use super::model::Model;
use super::moment::civil;
use super::replan::{ReplanOptions, follow, repaired_order, replan};
use super::schedule::Schedule;
use super::search::{Found, SearchOptions, Watch, search};
use super::shop::{ShopPlan, Stated};
use super::three_point::Spread;
use crate::check::InvalidInput;
use crate::record::{Date, Name};

/// Gain of the last finish for which an adopted plan is changed: four hours.
pub const GAIN_MIN: i64 = 240;

/// A schedule with what it leaves free.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scheduled {
    /// The schedule, its cost and the lower bound.
    pub found: Found,
    /// Its order: the policy that chances are sampled under.
    pub order: Vec<usize>,
    /// Start of each job as late as the last finish of the schedule allows.
    pub latest_starts: Vec<i64>,
    /// Start of each job as late as the departure allows; as in the schedule when it is later than the departure.
    pub latest_starts_for_departure: Vec<i64>,
    /// Pairs of jobs in another order than in the adopted plan. `None`: none was adopted, or it was not kept to.
    pub exchanged_pairs: Option<u64>,
    /// The resources that each job holds, by index.
    pub held: Vec<Vec<usize>>,
}

impl Scheduled {
    /// Whether a delay of `job` delays the last finish.
    pub fn is_critical(&self, job: usize) -> bool {
        self.latest_starts[job] <= self.found.schedule.starts[job]
    }
}

/// Schedules `shop`: near its adopted plan unless `freely`.
///
/// # Errors
/// See [`super::project::Project::compile`] and [`search`].
pub fn schedule(
    shop: &ShopPlan,
    options: &SearchOptions,
    freely: bool,
    watch: &dyn Watch,
) -> Result<Scheduled, InvalidInput> {
    let model = shop.plan.project()?.compile()?;
    if freely || shop.adopted_order.is_empty() {
        let found = search(&model, &[], options, watch)?;
        let order = found.schedule.order(&model);
        return scheduled(shop, &model, found, order, None);
    }
    let previous = repaired_order(&model, &shop.adopted_order)?;
    let options = ReplanOptions {
        gain_min: GAIN_MIN,
        search: *options,
    };
    let again = replan(&model, &previous, &options, watch)?;
    scheduled(
        shop,
        &model,
        again.found,
        again.order,
        Some(again.exchanged_pairs),
    )
}

fn scheduled(
    shop: &ShopPlan,
    model: &Model,
    found: Found,
    order: Vec<usize>,
    exchanged_pairs: Option<u64>,
) -> Result<Scheduled, InvalidInput> {
    let schedule = &found.schedule;
    let held = (0..model.job_count()).map(|job| {
        let units = model.occupied(job, schedule.modes[job]);
        units.iter().map(|&(resource, _)| resource).collect()
    });
    let by = |by: i64| -> Result<Schedule, InvalidInput> {
        if by < schedule.finish() {
            return Ok(schedule.clone());
        }
        latest_schedule(model, schedule, by)
    };
    Ok(Scheduled {
        latest_starts: by(schedule.finish())?.starts,
        latest_starts_for_departure: by(shop.ready_by_minute)?.starts,
        held: held.collect(),
        order,
        exchanged_pairs,
        found,
    })
}

/// The order that chances are sampled under without a search: that of the adopted plan, or of the best of the
/// rules and a short search.
///
/// # Errors
/// As [`schedule`].
pub fn working_order(shop: &ShopPlan, watch: &dyn Watch) -> Result<Vec<usize>, InvalidInput> {
    let model = shop.plan.project()?.compile()?;
    if !shop.adopted_order.is_empty() {
        return repaired_order(&model, &shop.adopted_order);
    }
    let options = SearchOptions {
        seed: 1,
        islands: 1,
        schedules_max: 1_000,
    };
    Ok(search(&model, &[], &options, watch)?.schedule.order(&model))
}

/// What readiness asks of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Finish of each job in the schedule that the order gives, minutes since 1970-01-01.
    pub finish_minutes: Vec<i64>,
    /// The chance of being ready.
    pub chance: Chance,
}

/// Samples taken for readiness: a chance of 0.8 is then known to within 0.02 (95 %).
pub const OUTLOOK_SAMPLES: u64 = 2_048;

/// The outlook of `shop`: always the same for the same plan.
///
/// # Errors
/// As [`schedule`] and [`chance`].
pub fn outlook(shop: &ShopPlan, watch: &dyn Watch) -> Result<Outlook, InvalidInput> {
    let order = working_order(shop, watch)?;
    let model = shop.plan.project()?.compile()?;
    let schedule = follow(&model, &order)?;
    let options = chance_options(shop.ready_by_minute, OUTLOOK_SAMPLES, 1);
    Ok(Outlook {
        finish_minutes: schedule.finishes,
        chance: chance(&shop.plan, &order, &options, watch)?,
    })
}

/// Version of what readiness makes of plans, named by its findings.
pub const FORMULA_VERSION: &str = "plan/1";

/// What readiness is given of a departure's plan. Computed beforehand: it takes long enough to be kept.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanOutlook {
    /// Something is missing: what, each once.
    NotKnown(Vec<String>),
    /// There are jobs, and all are done.
    AllDone,
    /// There is work to do.
    Known {
        /// The plan.
        shop: Box<ShopPlan>,
        /// What it comes to.
        outlook: Box<Outlook>,
    },
}

impl PlanOutlook {
    /// Day on which a job is done by the plan. `None`: there is no plan, or it has no such job.
    pub fn finish_date(&self, job: &Name) -> Option<Date> {
        let Self::Known { shop, outlook } = self else {
            return None;
        };
        let index = shop.jobs.iter().position(|name| name.as_ref() == Some(job))?;
        Some(civil(*outlook.finish_minutes.get(index)?).0)
    }

    /// The outlook of what the record states. A plan that cannot be made is not known, and says why.
    pub fn of(stated: Stated, watch: &dyn Watch) -> Self {
        match stated {
            Stated::NotKnown(missing) => Self::NotKnown(missing),
            Stated::AllDone => Self::AllDone,
            Stated::ToDo(shop) => match outlook(&shop, watch) {
                Ok(outlook) => Self::Known {
                    shop,
                    outlook: Box::new(outlook),
                },
                Err(refused) => {
                    let problems = refused.violations.iter().map(ToString::to_string);
                    Self::NotKnown(
                        problems
                            .map(|problem| format!("a plan that can be made: {problem}"))
                            .collect(),
                    )
                }
            },
        }
    }

    /// What is missing.
    pub fn missing(&self) -> &[String] {
        match self {
            Self::NotKnown(missing) => missing,
            Self::AllDone | Self::Known { .. } => &[],
        }
    }
}

/// Quantiles of the finish that people are told.
pub const QUANTILES: [f64; 5] = [0.1, 0.5, 0.8, 0.9, 0.95];

/// Options for the chance of being ready by a moment, with the quantiles that people are told.
pub fn chance_options(ready_by_minute: i64, samples: u64, seed: u64) -> ChanceOptions {
    ChanceOptions {
        seed,
        samples,
        spread: Spread::BetaPert,
        ready_by_minute,
        quantiles: QUANTILES.to_vec(),
    }
}
