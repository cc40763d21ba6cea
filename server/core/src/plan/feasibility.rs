//! An independent check that a schedule can be carried out.
//!
//! Written against the project as stated and not against the generators' packed form: it counts units in use at
//! every start, and working minutes shift by shift.

use super::calendar::{DAY_MINUTES, WorkingCalendar};
use super::model::Model;
use super::project::Project;
use super::schedule::Schedule;
use crate::check::{Check, InvalidInput};

/// Checks that `schedule` keeps every rule of `project`: one entry per job, nothing before the plan's start or
/// a job's earliest start, predecessors finished, exactly the working time needed and within working hours, resources
/// never beyond capacity. Late jobs (`latest_finish`) are a cost and no violation.
///
/// `model` says what each job occupies in its mode; it must come from the same project. Takes time
/// proportional to the number of jobs squared.
///
/// # Errors
/// Every rule that is broken, at `starts[i]`, `finishes[i]` or `modes[i]`.
pub fn check_schedule(project: &Project, model: &Model, schedule: &Schedule) -> Result<(), InvalidInput> {
    let count = project.jobs.len();
    let mut check = Check::new();
    let lengths = [
        schedule.starts.len(),
        schedule.finishes.len(),
        schedule.modes.len(),
        model.job_count(),
    ];
    if lengths.iter().any(|&length| length != count) {
        return Err(InvalidInput::one(
            "starts",
            format!("must be one per job, {count}, like finishes and modes"),
        ));
    }
    for job in 0..count {
        if schedule.modes[job] >= model.modes[job].len() {
            check.refuse(
                format_args!("modes[{job}]"),
                "must be a way to choose the job's resources",
            );
        }
    }
    check.finish()?;
    let mut check = Check::new();
    for job in 0..count {
        check_job(&mut check, project, model, schedule, job);
    }
    for moment_job in 0..count {
        check_units(&mut check, project, model, schedule, moment_job);
    }
    check.finish()
}

fn check_job(check: &mut Check, project: &Project, model: &Model, schedule: &Schedule, job: usize) {
    let stated = &project.jobs[job];
    let (start, finish) = (schedule.starts[job], schedule.finishes[job]);
    if start
        < project.start.max(
            stated
                .earliest_start
                .filter(|_| !stated.in_progress)
                .unwrap_or(i64::MIN),
        )
    {
        check.refuse(
            format_args!("starts[{job}]"),
            format!("must not be before the job can start, is {start}"),
        );
    }
    if stated.in_progress && start != project.start {
        check.refuse(
            format_args!("starts[{job}]"),
            "must be the start of the plan: the job is in progress",
        );
    }
    for &before in &stated.after {
        if schedule.finishes[before] > start {
            check.refuse(
                format_args!("starts[{job}]"),
                format!("must not be before the finish of {}", project.jobs[before].name),
            );
        }
    }
    let calendars: Vec<&WorkingCalendar> = model
        .occupied(job, schedule.modes[job])
        .iter()
        .filter_map(|&(resource, _)| project.resources[resource].calendar.as_ref())
        .collect();
    let worked = worked_minutes(&calendars, start, finish);
    let ends_at_work = stated.duration == 0 || worked_minutes(&calendars, finish - 1, finish) == 1;
    let starts_at_work =
        stated.duration == 0 || stated.in_progress || worked_minutes(&calendars, start, start + 1) == 1;
    if worked != stated.duration || !ends_at_work || (stated.duration == 0 && start != finish) {
        let problem = format!(
            "must be after {} of working time, is after {worked}",
            stated.duration
        );
        check.refuse(format_args!("finishes[{job}]"), problem);
    }
    if !starts_at_work {
        check.refuse(format_args!("starts[{job}]"), "must be in working hours");
    }
}

/// Units in use at the start of one job: the use of a resource grows at starts only.
fn check_units(check: &mut Check, project: &Project, model: &Model, schedule: &Schedule, moment_job: usize) {
    let moment = schedule.starts[moment_job];
    let mut used = vec![0_u64; project.resources.len()];
    for job in 0..project.jobs.len() {
        if schedule.starts[job] <= moment && moment < schedule.finishes[job] {
            for &(resource, units) in model.occupied(job, schedule.modes[job]) {
                used[resource] += u64::from(units);
            }
        }
    }
    for (resource, &used) in project.resources.iter().zip(&used) {
        if used > u64::from(resource.capacity) {
            let problem = format!(
                "must leave {} within its {} units, uses {used}",
                resource.name, resource.capacity
            );
            check.refuse(format_args!("starts[{moment_job}]"), problem);
        }
    }
}

/// Minutes from `from` to `to` in which all `calendars` work.
fn worked_minutes(calendars: &[&WorkingCalendar], from: i64, to: i64) -> i64 {
    if calendars.is_empty() || from >= to {
        return (to - from).max(0);
    }
    let common = WorkingCalendar::common(calendars.iter().copied());
    let opens = common.first_available_minute.unwrap_or(i64::MIN).max(from);
    let days = from.div_euclid(DAY_MINUTES)..=to.div_euclid(DAY_MINUTES);
    days.flat_map(|day| {
        common
            .shifts(day)
            .iter()
            .map(move |shift| (day * DAY_MINUTES, shift))
    })
    .map(|(day, shift)| {
        let start = (day + i64::from(shift.from_minute)).max(opens);
        (day + i64::from(shift.to_minute)).min(to) - start
    })
    .filter(|&minutes| minutes > 0)
    .sum()
}
