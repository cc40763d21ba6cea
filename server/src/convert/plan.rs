//! Plans and their chances as messages.

use ostler_core::plan::chance::{Chance, Change, Gain, Outcome};
use ostler_core::plan::latest::OrderBy;
use ostler_core::plan::moment::{civil, civil_text};
use ostler_core::plan::outlook::{QUANTILES, Scheduled};
use ostler_core::plan::search::SearchProgress;
use ostler_core::plan::shop::{CAUTION, ShopPlan, Stated};
use ostler_core::record::{Departure, Name, Record};
use ostler_proto::v1;

/// What results say besides.
#[derive(Debug, Clone)]
pub(crate) struct Context {
    departure: String,
    vehicles: Vec<String>,
    record_version: String,
    /// The policy's least chance.
    pub(crate) ready_chance_min: Option<f64>,
}

impl Context {
    pub(crate) fn of(departure: &Departure, record_version: String) -> Self {
        Self {
            departure: departure.name.to_string(),
            vehicles: departure
                .vehicles
                .iter()
                .map(|going| going.vehicle.to_string())
                .collect(),
            record_version,
            ready_chance_min: departure.policy.ready_chance_min,
        }
    }
}

fn moment(minute: f64) -> String {
    civil_text(minute.round() as i64)
}

fn hours(minutes: i64) -> f64 {
    minutes as f64 / 60.0
}

/// A plan where nothing can be or need be planned.
pub(crate) fn plan_without_jobs(context: &Context, stated: Stated) -> v1::BuildPlan {
    let (all_done, missing) = nothing(stated);
    v1::BuildPlan {
        departure: context.departure.clone(),
        missing,
        all_done,
        record_version: context.record_version.clone(),
        caution: CAUTION.to_owned(),
        ..Default::default()
    }
}

/// A chance where nothing can be or need be planned.
pub(crate) fn chance_without_jobs(context: &Context, stated: Stated) -> v1::PlanChance {
    let (all_done, missing) = nothing(stated);
    v1::PlanChance {
        departure: context.departure.clone(),
        missing,
        all_done,
        record_version: context.record_version.clone(),
        caution: CAUTION.to_owned(),
        ..Default::default()
    }
}

fn nothing(stated: Stated) -> (bool, Vec<String>) {
    match stated {
        Stated::NotKnown(missing) => (false, missing),
        Stated::AllDone | Stated::ToDo(_) => (true, Vec::new()),
    }
}

/// How a search stands, in the moments of its plan.
pub(crate) struct Progress {
    start_minute: i64,
}

impl Progress {
    pub(crate) fn of(shop: &ShopPlan) -> Self {
        Self {
            start_minute: shop.plan.start_minute,
        }
    }

    pub(crate) fn message(&self, progress: SearchProgress) -> v1::PlanProgress {
        v1::PlanProgress {
            finish_civil_time: civil_text(self.start_minute + progress.cost.makespan),
            bound_civil_time: civil_text(self.start_minute + progress.lower_bound),
            late_hours: hours(progress.cost.lateness),
            schedules_count: i64::try_from(progress.schedules).unwrap_or(i64::MAX),
        }
    }
}

pub(crate) fn plan_message(
    context: &Context,
    record: &Record,
    shop: &ShopPlan,
    scheduled: &Scheduled,
) -> v1::BuildPlan {
    let found = &scheduled.found;
    let start = shop.plan.start_minute;
    let mut by_start: Vec<usize> = (0..shop.jobs.len()).collect();
    by_start.sort_by_key(|&job| (found.schedule.starts[job], found.schedule.finishes[job], job));
    let adoptable = scheduled.order.iter().filter_map(|&job| shop.jobs[job].as_ref());
    v1::BuildPlan {
        departure: context.departure.clone(),
        start_civil_time: civil_text(start),
        ready_by_civil_time: civil_text(shop.ready_by_minute),
        finish_civil_time: civil_text(found.schedule.finish()),
        bound_civil_time: civil_text(start + found.lower_bound),
        gap_fraction: found.gap(),
        proven_optimal: found.is_proven_optimal(),
        late_hours: hours(found.cost.lateness),
        jobs: by_start
            .into_iter()
            .map(|job| planned_job(context, record, shop, scheduled, job))
            .collect(),
        job_order: adoptable.map(|name| name.id().to_owned()).collect(),
        exchanged_pairs_count: scheduled
            .exchanged_pairs
            .map(|pairs| i64::try_from(pairs).unwrap_or(i64::MAX)),
        missing: Vec::new(),
        all_done: false,
        notes: shop.notes.clone(),
        record_version: context.record_version.clone(),
        caution: CAUTION.to_owned(),
        files: Vec::new(),
    }
}

fn planned_job(
    context: &Context,
    record: &Record,
    shop: &ShopPlan,
    scheduled: &Scheduled,
    job: usize,
) -> v1::PlannedJob {
    let schedule = &scheduled.found.schedule;
    let slack = scheduled.latest_starts_for_departure[job] - schedule.starts[job];
    let vehicles = shop.plan.jobs[job].vehicles.iter();
    let held = scheduled.held[job]
        .first()
        .map(|&resource| &shop.workshops[resource]);
    v1::PlannedJob {
        job: name_text(shop.jobs[job].as_ref()),
        display_name: job_title(record, shop, job),
        vehicles: vehicles
            .map(|&vehicle| context.vehicles[vehicle].clone())
            .collect(),
        workshop: name_text(held),
        start_civil_time: civil_text(schedule.starts[job]),
        finish_civil_time: civil_text(schedule.finishes[job]),
        slack_hours: hours(slack.max(0)),
        critical: scheduled.is_critical(job),
        under_way: shop.plan.jobs[job].in_progress,
        workshop_display_name: held
            .and_then(|workshop| record.workshops.get(workshop))
            .map(|workshop| workshop.display_name.clone())
            .unwrap_or_default(),
    }
}

fn name_text(name: Option<&Name>) -> String {
    name.map(ToString::to_string).unwrap_or_default()
}

/// Name of a job for people: its card's, or what it is when it entered by itself.
fn job_title(record: &Record, shop: &ShopPlan, job: usize) -> String {
    let known = shop.jobs[job].as_ref().and_then(|name| record.jobs.get(name));
    known.map_or_else(
        || shop.plan.jobs[job].name.clone(),
        |job| job.display_name.clone(),
    )
}

pub(crate) fn chance_message(
    context: &Context,
    record: &Record,
    shop: &ShopPlan,
    chance: &Chance,
    order_by: &[OrderBy],
    gains: &[Gain],
) -> v1::PlanChance {
    let mut jobs: Vec<usize> = (0..chance.jobs.len()).collect();
    jobs.sort_by(|&a, &b| chance.jobs[b].criticality.total_cmp(&chance.jobs[a].criticality));
    let vehicles = context.vehicles.iter().zip(&chance.vehicles);
    v1::PlanChance {
        departure: context.departure.clone(),
        start_civil_time: civil_text(shop.plan.start_minute),
        ready_by_civil_time: civil_text(shop.ready_by_minute),
        sample_count: i64::try_from(chance.samples).unwrap_or(i64::MAX),
        convoy: Some(outcome(&chance.fleet)),
        vehicles: vehicles
            .map(|(vehicle, own)| v1::VehicleChance {
                vehicle: vehicle.clone(),
                outcome: own.as_ref().map(outcome),
            })
            .collect(),
        jobs: jobs
            .into_iter()
            .map(|job| v1::JobChance {
                job: name_text(shop.jobs[job].as_ref()),
                display_name: job_title(record, shop, job),
                criticality: chance.jobs[job].criticality,
                mean_start_civil_time: moment(chance.jobs[job].mean_start_minute),
            })
            .collect(),
        awaited_parts: awaited_parts(record, shop, chance, order_by),
        gains: gains
            .iter()
            .map(|gain| gain_message(record, shop, gain))
            .collect(),
        missing: Vec::new(),
        all_done: false,
        notes: shop.notes.clone(),
        record_version: context.record_version.clone(),
        caution: CAUTION.to_owned(),
    }
}

fn outcome(outcome: &Outcome) -> v1::ChanceOutcome {
    let quantiles = QUANTILES.iter().zip(&outcome.quantile_minutes);
    v1::ChanceOutcome {
        ready_chance: outcome.chance_ready,
        ready_chance_low: outcome.chance_interval.0,
        ready_chance_high: outcome.chance_interval.1,
        mean_civil_time: moment(outcome.mean_finish_minute),
        standard_deviation_hours: outcome.standard_deviation_min / 60.0,
        quantiles: quantiles
            .map(|(&share, &minute)| v1::ReadyQuantile {
                share,
                civil_time: moment(minute),
            })
            .collect(),
    }
}

fn awaited_parts(
    record: &Record,
    shop: &ShopPlan,
    chance: &Chance,
    order_by: &[OrderBy],
) -> Vec<v1::AwaitedPartChance> {
    let mut parts: Vec<usize> = (0..shop.awaited_parts.len()).collect();
    parts.sort_by(|&a, &b| chance.part_criticality[b].total_cmp(&chance.part_criticality[a]));
    parts
        .into_iter()
        .map(|part| {
            let name = &shop.awaited_parts[part];
            let date = order_by.iter().find(|date| date.part == part);
            v1::AwaitedPartChance {
                awaited_part: name.to_string(),
                display_name: awaited_title(record, name),
                criticality: chance.part_criticality[part],
                assumed_ordered: chance.parts_assumed_ordered.contains(&part),
                overdue: chance.parts_overdue.contains(&part),
                order_by_date: order_by_text(record, shop, part, date),
            }
        })
        .collect()
}

/// The earlier of what the plan needs and what the supplier takes; nothing for what is ordered.
fn order_by_text(record: &Record, shop: &ShopPlan, part: usize, date: Option<&OrderBy>) -> String {
    let needed = date.map(|date| civil(date.order_by_minute).0);
    let known = record.awaited_parts.get(&shop.awaited_parts[part]);
    let taken = known
        .filter(|part| part.ordered_date.is_none())
        .and_then(|part| part.order_by_date);
    let dates = [needed, taken].into_iter().flatten();
    dates.min().map(|date| date.to_string()).unwrap_or_default()
}

fn awaited_title(record: &Record, name: &Name) -> String {
    let known = record.awaited_parts.get(name);
    known.map(|part| part.display_name.clone()).unwrap_or_default()
}

fn gain_message(record: &Record, shop: &ShopPlan, gain: &Gain) -> v1::PlanGain {
    let id = |job: usize| &shop.plan.jobs[job].name;
    let change = match gain.change {
        Change::AddUnits { resource, units } => {
            format!("{units} more: {}", shop.plan.resources[resource].name)
        }
        Change::ShortenJob { job, share } => {
            let percent = share * 100.0;
            format!(
                "shorten {} ({}) by {percent:.0} %",
                id(job),
                job_title(record, shop, job)
            )
        }
        Change::DropJob { job } => format!("drop {} ({})", id(job), job_title(record, shop, job)),
        Change::OrderPartNow { part } => {
            let name = &shop.awaited_parts[part];
            format!("order {} ({}) today", name.id(), awaited_title(record, name))
        }
    };
    v1::PlanGain {
        change,
        mean_gain_hours: gain.mean_gain_min / 60.0,
        standard_error_hours: gain.standard_error_min / 60.0,
        ready_chance: gain.chance_ready,
        ready_chance_gain: gain.chance_gain,
    }
}
