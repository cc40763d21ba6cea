//! The plan as the shop states it: jobs with three-point hours on vehicles, bays and people, awaited parts.

use super::calendar::{DAY_MINUTES, MOMENT_MAX};
use super::network::Network;
use super::project::{Need, Project, ProjectJob, Resource};
use super::sampler::Samplers;
use super::three_point::{Spread, ThreePoint};
use crate::check::{Check, InvalidInput};

/// Most hours of all jobs together, by their pessimistic estimates.
pub const TOTAL_HOURS_MAX: f64 = 1e7;
/// Points at which the mean of the rest of a lead time is taken.
const LEAD_POINTS: u32 = 400;

/// A part that jobs wait for.
#[derive(Debug, Clone, PartialEq)]
pub struct AwaitedPart {
    /// For messages and results.
    pub name: String,
    /// Days from order to arrival, through nights and closed days.
    pub lead_time_days: ThreePoint,
    /// Moment of the order; `None`: not ordered yet (see [`Plan::assumed_order_minute`]). It has not arrived at the
    /// start of the plan: a part that is there is not awaited.
    pub ordered_minute: Option<i64>,
}

/// A job as planned.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanJob {
    /// For messages and results.
    pub name: String,
    /// Vehicles that are not ready before it is finished, by index; several for shared work, none for work that
    /// only the fleet as a whole waits for.
    pub vehicles: Vec<usize>,
    /// Hours of work left.
    pub work_hours: ThreePoint,
    /// Bays and people that it occupies.
    pub needs: Vec<Need>,
    /// Jobs that must be finished before it starts, by index, on whatever vehicle.
    pub after: Vec<usize>,
    /// Parts that must have arrived, by index.
    pub awaits: Vec<usize>,
    /// Not before this moment.
    pub earliest_start_minute: Option<i64>,
    /// To be finished by this moment.
    pub latest_finish_minute: Option<i64>,
    /// It runs at the start of the plan (see [`ProjectJob::in_progress`]).
    pub in_progress: bool,
}

/// Everything that decides when the fleet is ready. Moments are minutes as in [`super::calendar`].
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Start of the plan, today: nothing starts before it.
    pub start_minute: i64,
    /// Moment at which parts that are not ordered yet are taken to be ordered. Not before the start. An assumption:
    /// show it, with the names of those parts.
    pub assumed_order_minute: i64,
    /// Names of the vehicles.
    pub vehicles: Vec<String>,
    /// Bays and people.
    pub resources: Vec<Resource>,
    /// Parts that jobs wait for.
    pub parts: Vec<AwaitedPart>,
    /// Jobs that are not finished.
    pub jobs: Vec<PlanJob>,
}

impl Plan {
    /// The precedence network of the jobs.
    ///
    /// # Errors
    /// See [`Network::new`].
    pub fn network(&self) -> Result<Network, InvalidInput> {
        Network::new(
            self.jobs
                .iter()
                .map(|job| (job.name.as_str(), job.after.as_slice())),
        )
    }

    /// Checks all that the plan states itself; resources, needs and precedence are checked by
    /// [`Project::compile`].
    ///
    /// # Errors
    /// Every violation with its field path: moments and estimates out of range, indices of vehicles, parts and
    /// jobs that point nowhere, parts ordered in the future, cycles.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if far(Some(self.start_minute)) {
            check.refuse("start_minute", too_far());
        }
        if far(Some(self.assumed_order_minute)) || self.assumed_order_minute < self.start_minute {
            check.refuse(
                "assumed_order_minute",
                "must not be before the start of the plan, or absurdly late",
            );
        }
        for (index, part) in self.parts.iter().enumerate() {
            let field = format!("parts[{index}]");
            check.merge(
                format_args!("{field}.lead_time_days"),
                part.lead_time_days.check(),
            );
            if far(part.ordered_minute)
                || part
                    .ordered_minute
                    .is_some_and(|ordered| ordered > self.start_minute)
            {
                check.refuse(
                    format_args!("{field}.ordered_minute"),
                    "must not be after the start of the plan, or absurdly early",
                );
            }
        }
        for (index, job) in self.jobs.iter().enumerate() {
            self.check_job(&mut check, &format!("jobs[{index}]"), job);
        }
        let total: f64 = self.jobs.iter().map(|job| job.work_hours.pessimistic).sum();
        if check.passes() && total > TOTAL_HOURS_MAX {
            check.refuse(
                "jobs",
                format!("must take at most {TOTAL_HOURS_MAX} hours together, take {total}"),
            );
        }
        check.merge("", self.network());
        check.finish()
    }

    fn check_job(&self, check: &mut Check, field: &str, job: &PlanJob) {
        check.merge(format_args!("{field}.work_hours"), job.work_hours.check());
        let lists = [
            ("vehicles", &job.vehicles, self.vehicles.len()),
            ("awaits", &job.awaits, self.parts.len()),
        ];
        for (list, indices, count) in lists {
            for (position, &pointed) in indices
                .iter()
                .enumerate()
                .filter(|&(_, &pointed)| pointed >= count)
            {
                check.refuse(
                    format_args!("{field}.{list}[{position}]"),
                    format!("must be below {count}, is {pointed}"),
                );
            }
        }
        if job.in_progress && !job.awaits.is_empty() {
            check.refuse(
                format_args!("{field}.in_progress"),
                "must be false while parts are awaited",
            );
        }
        for (name, moment) in [
            ("earliest_start_minute", job.earliest_start_minute),
            ("latest_finish_minute", job.latest_finish_minute),
        ] {
            if far(moment) {
                check.refuse(format_args!("{field}.{name}"), too_far());
            }
        }
    }

    /// The plan with every job at its PERT mean and every part at the mean of its arrival, both rounded to whole
    /// minutes: what a schedule is made from. A schedule of means is not the mean of schedules: the chance of being ready
    /// comes from sampling.
    ///
    /// # Errors
    /// See [`Plan::check`].
    pub fn project(&self) -> Result<Project, InvalidInput> {
        self.check()?;
        let arrivals: Vec<i64> = self
            .parts
            .iter()
            .map(|part| self.mean_arrival_minute(part))
            .collect();
        Ok(self.project_with(|job| job.awaits.iter().map(|&part| arrivals[part]).max()))
    }

    /// As [`Plan::project`], with the arrival of the last part of each job given; the plan was checked.
    pub(crate) fn project_with(&self, arrival: impl Fn(&PlanJob) -> Option<i64>) -> Project {
        let jobs = self.jobs.iter().map(|job| ProjectJob {
            name: job.name.clone(),
            duration: minutes(job.work_hours.pert_mean()),
            needs: job.needs.clone(),
            after: job.after.clone(),
            earliest_start: job.earliest_start_minute.max(arrival(job)),
            latest_finish: job.latest_finish_minute,
            in_progress: job.in_progress,
        });
        Project {
            start: self.start_minute,
            resources: self.resources.clone(),
            jobs: jobs.collect(),
        }
    }

    /// Mean of the arrival, given that the part is not there at the start of the plan.
    fn mean_arrival_minute(&self, part: &AwaitedPart) -> i64 {
        let lead = LeadTime::new(self, part, Spread::BetaPert, &mut Samplers::default());
        let points = (0..LEAD_POINTS).map(|point| (f64::from(point) + 0.5) / f64::from(LEAD_POINTS));
        let sum: i64 = points
            .map(|point| lead.arrival_minute(point) - self.start_minute)
            .sum();
        self.start_minute + sum / i64::from(LEAD_POINTS)
    }
}

/// Whole minutes of a number of hours that was checked.
pub(crate) fn minutes(hours: f64) -> i64 {
    (hours * 60.0).round() as i64
}

/// Arrival of a part, given that it is not there at the start of the plan.
#[derive(Debug, Clone)]
pub(crate) struct LeadTime {
    days: super::sampler::Sampler,
    ordered_minute: i64,
    start_minute: i64,
    /// Share of the distribution that has passed without an arrival.
    passed: f64,
}

impl LeadTime {
    pub(crate) fn new(plan: &Plan, part: &AwaitedPart, spread: Spread, samplers: &mut Samplers) -> Self {
        let ordered_minute = part.ordered_minute.unwrap_or(plan.assumed_order_minute);
        let waited_days = (plan.start_minute - ordered_minute) as f64 / DAY_MINUTES as f64;
        Self {
            days: samplers.sampler(&part.lead_time_days, spread),
            ordered_minute,
            start_minute: plan.start_minute,
            passed: part.lead_time_days.chance_at_most(spread, waited_days.max(0.0)),
        }
    }

    /// Overdue beyond the pessimistic lead time: nothing is known any more, arrival is taken to be now.
    pub(crate) fn is_overdue(&self) -> bool {
        self.passed >= 1.0
    }

    #[inline]
    pub(crate) fn arrival_minute(&self, uniform: f64) -> i64 {
        if self.is_overdue() {
            return self.start_minute;
        }
        let days = self.days.at(self.passed + uniform * (1.0 - self.passed));
        (self.ordered_minute + (days * DAY_MINUTES as f64).ceil() as i64).max(self.start_minute)
    }
}

fn far(moment: Option<i64>) -> bool {
    moment.is_some_and(|moment| moment.abs() > MOMENT_MAX)
}

fn too_far() -> String {
    format!("must be within {MOMENT_MAX} minutes of 1970-01-01")
}
