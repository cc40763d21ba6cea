//! Jobs, workshops and awaited parts.

use super::{Violation, World, finish, unique};
use crate::check::Check;
use crate::plan::calendar::WorkingCalendar;
use crate::plan::three_point::ThreePoint;
use crate::record::{AwaitedPart, Fleet, Job, Progress, Workshop};

const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// A fleet: each of its stages once.
pub fn fleet(fleet: &Fleet) -> Vec<Violation> {
    let mut check = Check::new();
    unique(&mut check, "stages", fleet.stages.iter().map(|stage| &**stage));
    finish(check)
}

/// A job: it does not come after itself, concerns vehicles or the whole fleet, and what it needs goes together.
pub fn job(job: &Job, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    if let Some(circle) = world.circles.around(&job.name) {
        check.refuse("after", format!("must not come after itself: {circle}"));
    }
    unique(&mut check, "after", job.after.iter().map(|name| &**name));
    unique(&mut check, "workshops", job.workshops.iter().map(|name| &**name));
    unique(
        &mut check,
        "awaited_parts",
        job.awaited_parts.iter().map(|name| &**name),
    );
    unique(&mut check, "serves", job.serves.iter().map(|name| &**name));
    unique(&mut check, "vehicles", job.vehicles.iter().map(|name| &**name));
    if job.whole_fleet && !job.vehicles.is_empty() {
        check.refuse("vehicles", "must be empty where the job concerns the whole fleet");
    }
    estimate(&mut check, "work_hours", "hours", job.work_hours.as_ref());
    if let Progress::UnderWay { remaining_hours, .. } = &job.progress {
        estimate(&mut check, "remaining_hours", "hours", remaining_hours.as_ref());
    }
    if !job.skills.is_empty() && job.workshops.len() != 1 {
        check.refuse(
            "skills",
            "need exactly one workshop, whose people are asked for them",
        );
    }
    if job.without_bay && job.skills.is_empty() && !job.workshops.is_empty() {
        check.refuse(
            "without_bay",
            "needs `skills`, or no workshop: otherwise it holds nothing there",
        );
    }
    if let (Some(earliest), Some(latest)) = (job.earliest_date, job.latest_date)
        && latest < earliest
    {
        check.refuse("latest_date", format!("must not be before {earliest}"));
    }
    finish(check)
}

/// A workshop: each person once.
pub fn workshop(workshop: &Workshop) -> Vec<Violation> {
    let mut check = Check::new();
    unique(
        &mut check,
        "workers",
        workshop.workers.iter().map(|worker| &*worker.id),
    );
    calendar(&mut check, "", workshop.working_calendar.as_ref());
    for (index, worker) in workshop.workers.iter().enumerate() {
        calendar(
            &mut check,
            &format!("workers[{index}]."),
            worker.working_calendar.as_ref(),
        );
        unique(
            &mut check,
            &format!("workers[{index}].skills"),
            worker.skills.iter().map(|skill| &**skill),
        );
    }
    finish(check)
}

/// An awaited part: it arrives after it was ordered.
pub fn awaited_part(part: &AwaitedPart) -> Vec<Violation> {
    let mut check = Check::new();
    estimate(&mut check, "lead_time", "days", part.lead_time_days.as_ref());
    if let (Some(ordered), Some(arrived)) = (part.ordered_date, part.arrived_date)
        && arrived < ordered
    {
        check.refuse("arrived_date", format!("must not be before {ordered}"));
    }
    finish(check)
}

/// The three values of an estimate in order; their fields end in `unit`.
fn estimate(check: &mut Check, path: &str, unit: &str, estimate: Option<&ThreePoint>) {
    if let Some(Err(refused)) = estimate.map(ThreePoint::check) {
        for violation in refused.violations {
            check.refuse(
                format_args!("{path}.{}_{unit}", violation.field),
                violation.problem,
            );
        }
    }
}

/// At least one shift a week, those of a day one after the other.
fn calendar(check: &mut Check, prefix: &str, calendar: Option<&WorkingCalendar>) {
    let Some(calendar) = calendar else { return };
    let path = format!("{prefix}working_calendar.weekly_shifts");
    for (weekday, shifts) in WEEKDAYS.iter().zip(&calendar.weekly) {
        for shift in shifts.iter().filter(|shift| shift.to_minute <= shift.from_minute) {
            let (hour, minute) = (shift.from_minute / 60, shift.from_minute % 60);
            let problem = format!(
                "must end after they start: the one on {weekday} from {hour:02}:{minute:02} does not"
            );
            check.refuse(&path, problem);
        }
        if shifts
            .windows(2)
            .any(|pair| pair[1].from_minute < pair[0].to_minute)
        {
            check.refuse(&path, format!("must not overlap: those on {weekday} do"));
        }
    }
    if let Err(refused) = calendar.check()
        && check.passes()
    {
        check.refuse(&path, refused.to_string());
    }
}
