//! How late everything may run: the schedule shifted towards a date, slack, and when parts must be ordered.

use super::build_plan::Plan;
use super::calendar::{DAY_MINUTES, MOMENT_MAX};
use super::generate::generator;
use super::model::Model;
use super::schedule::Schedule;
use super::three_point::Spread;
use crate::check::{Check, InvalidInput};

/// The schedule with every job as late as `by`, its latest finish, its successors and its resources allow. The difference of
/// the starts to those of `schedule` is the slack that each job has with bays, people and calendars counted.
///
/// # Errors
/// `schedule`: not one of the model. `by`: before the last finish of `schedule`, or absurdly late.
pub fn latest_schedule(model: &Model, schedule: &Schedule, by: i64) -> Result<Schedule, InvalidInput> {
    let count = model.job_count();
    let lengths = [
        schedule.starts.len(),
        schedule.finishes.len(),
        schedule.modes.len(),
    ];
    let known_modes = |(mode, modes): (&usize, &Vec<_>)| *mode < modes.len();
    if lengths != [count; 3] || !schedule.modes.iter().zip(&model.modes).all(known_modes) {
        return Err(InvalidInput::one(
            "schedule",
            format!("must be a schedule of the model's {count} jobs"),
        ));
    }
    if schedule
        .starts
        .iter()
        .chain(&schedule.finishes)
        .any(|&moment| moment < model.start)
    {
        return Err(InvalidInput::one(
            "schedule",
            "must not start before the plan does",
        ));
    }
    if by > MOMENT_MAX.saturating_mul(1_000) {
        return Err(InvalidInput::one(
            "by",
            format!("must not be absurdly late, is {by}"),
        ));
    }
    if by < schedule.finish() {
        return Err(InvalidInput::one(
            "by",
            format!(
                "must not be before the last finish {}, is {by}",
                schedule.finish()
            ),
        ));
    }
    let mut latest = schedule.clone();
    generator(model).justify_right(by, &mut latest);
    Ok(latest)
}

/// Until when a part can be ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderBy {
    /// The part, by index.
    pub part: usize,
    /// The job that needs it first in the latest schedule.
    pub job: usize,
    /// Latest moment at which it can be ordered to arrive by the job's latest start, with the chance asked for. May lie
    /// in the past.
    pub order_by_minute: i64,
}

/// Order-by dates of all parts not ordered yet, most urgent first.
///
/// `latest` is the plan's latest schedule towards the date (see [`latest_schedule`]). With probability `chance`, above 0 and
/// below 1, the part arrives in time; lead times run through nights and closed days.
///
/// # Errors
/// See [`Plan::check`]; `latest`: not one entry per job; `chance`: out of range.
pub fn order_by_dates(
    plan: &Plan,
    latest: &Schedule,
    spread: Spread,
    chance: f64,
) -> Result<Vec<OrderBy>, InvalidInput> {
    plan.check()?;
    let mut check = Check::new();
    check.between("chance", chance, 1e-6, 1.0 - 1e-6);
    if latest.starts.len() != plan.jobs.len() {
        check.refuse(
            "latest",
            format!("must have one entry per job, {}", plan.jobs.len()),
        );
    }
    check.finish()?;
    let open = plan
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| part.ordered_minute.is_none());
    let mut dates: Vec<OrderBy> = open
        .filter_map(|(index, part)| {
            let waiting = (0..plan.jobs.len()).filter(|&job| plan.jobs[job].awaits.contains(&index));
            let job = waiting.min_by_key(|&job| latest.starts[job])?;
            // At most a million days: far within the range of whole minutes.
            let lead = (part.lead_time_days.quantile(spread, chance) * DAY_MINUTES as f64).ceil() as i64;
            Some(OrderBy {
                part: index,
                job,
                order_by_minute: latest.starts[job].saturating_sub(lead),
            })
        })
        .collect();
    dates.sort_by_key(|date| (date.order_by_minute, date.part));
    Ok(dates)
}
