//! A resource-constrained project: jobs with fixed durations on resources of limited capacity.

use super::calendar::{MOMENT_MAX, WorkingCalendar};
use super::model::Model;
use super::network::Network;
use crate::check::{Check, InvalidInput};

/// Longest duration of one job, in time units (nineteen years of minutes).
pub const DURATION_MAX: i64 = 10_000_000;
/// Longest duration of all jobs together, in time units.
pub const TOTAL_DURATION_MAX: i64 = 1_000_000_000;
/// Greatest capacity of one resource.
pub const CAPACITY_MAX: u32 = 100_000;
/// Most ways in which one job may choose its resources.
pub const MODES_MAX: usize = 64;

/// Something that jobs occupy: bays, people of one trade, one person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resource {
    /// For messages and results.
    pub name: String,
    /// Units that can be occupied at one moment, 1 to [`CAPACITY_MAX`].
    pub capacity: u32,
    /// When it works; `None`: always. Where any resource has a calendar the time unit is the minute.
    pub calendar: Option<WorkingCalendar>,
}

/// What a job occupies of one resource from its start to its finish.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need {
    /// Indices of the resources that will do, one of them is taken: the bay, or all people with the skill.
    pub any_of: Vec<usize>,
    /// Units of it, 1 or more.
    pub units: u32,
}

/// A job with a fixed duration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProjectJob {
    /// For messages and results.
    pub name: String,
    /// Working time in time units, 0 to [`DURATION_MAX`]. Work rests where a resource of the job does not work,
    /// the resources stay occupied (the vehicle stands in the bay overnight); otherwise it is not interrupted.
    pub duration: i64,
    /// What it occupies; nothing for a mere wait.
    pub needs: Vec<Need>,
    /// Indices of the jobs that must be finished before it starts.
    pub after: Vec<usize>,
    /// It cannot start before this moment (awaited parts, agreed dates).
    pub earliest_start: Option<i64>,
    /// It should be finished by this moment; being late is weighed before the length of the whole.
    pub latest_finish: Option<i64>,
    /// It runs when the plan starts and holds its resources from then on. `duration` is what remains; it must
    /// have nothing in `after` and name each resource.
    pub in_progress: bool,
}

/// A resource-constrained project.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Project {
    /// Moment at which the plan starts: nothing starts before it.
    pub start: i64,
    /// Resources, referred to by index.
    pub resources: Vec<Resource>,
    /// Jobs, referred to by index.
    pub jobs: Vec<ProjectJob>,
}

impl Project {
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

    /// Checks everything and prepares the project for scheduling.
    ///
    /// # Errors
    /// All violations, with field paths: values out of range, indices that point nowhere, cycles, needs above
    /// capacity, resources of a job that never work at the same time, jobs in progress that cannot be.
    pub fn compile(&self) -> Result<Model, InvalidInput> {
        let mut check = Check::new();
        if self.start.abs() > MOMENT_MAX {
            check.refuse(
                "start",
                format!("must be within {MOMENT_MAX} time units of 0, is {}", self.start),
            );
        }
        for (index, resource) in self.resources.iter().enumerate() {
            let field = format!("resources[{index}]");
            if resource.capacity == 0 || resource.capacity > CAPACITY_MAX {
                let problem = format!("must be 1 to {CAPACITY_MAX}, is {}", resource.capacity);
                check.refuse(format_args!("{field}.capacity"), problem);
            }
            if let Some(calendar) = &resource.calendar {
                check.merge(format_args!("{field}.calendar"), calendar.check());
            }
        }
        for (index, job) in self.jobs.iter().enumerate() {
            check.merge(format_args!("jobs[{index}]"), self.check_job(job));
        }
        let total = self
            .jobs
            .iter()
            .fold(0, |total: i64, job| total.saturating_add(job.duration));
        if total > TOTAL_DURATION_MAX {
            check.refuse(
                "jobs",
                format!("must take at most {TOTAL_DURATION_MAX} together, take {total}"),
            );
        }
        let network = check.merge("", self.network());
        check.finish()?;
        // The check passed: there is a network.
        let Some(network) = network else {
            return Err(InvalidInput::one("jobs", "must form a network"));
        };
        Model::new(self, network)
    }

    fn check_job(&self, job: &ProjectJob) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if !(0..=DURATION_MAX).contains(&job.duration) {
            check.refuse(
                "duration",
                format!("must be 0 to {DURATION_MAX}, is {}", job.duration),
            );
        }
        for (field, moment) in [
            ("earliest_start", job.earliest_start),
            ("latest_finish", job.latest_finish),
        ] {
            if moment.is_some_and(|moment| moment.abs() > MOMENT_MAX) {
                check.refuse(field, format!("must be within {MOMENT_MAX} time units of 0"));
            }
        }
        if job.in_progress && !job.after.is_empty() {
            check.refuse("in_progress", "must be false while other jobs come before");
        }
        let mut modes = 1_usize;
        for (index, need) in job.needs.iter().enumerate() {
            modes = modes.saturating_mul(need.any_of.len());
            check.merge(format_args!("needs[{index}]"), self.check_need(need));
            if job.in_progress && need.any_of.len() > 1 {
                check.refuse(
                    format_args!("needs[{index}].any_of"),
                    "must be the one resource that a job in progress occupies",
                );
            }
        }
        if modes > MODES_MAX {
            check.refuse(
                "needs",
                format!("must leave at most {MODES_MAX} ways to choose resources, leave {modes}"),
            );
        }
        check.finish()
    }

    fn check_need(&self, need: &Need) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if need.units == 0 {
            check.refuse("units", "must be 1 or more, is 0");
        }
        if need.any_of.is_empty() {
            check.refuse("any_of", "must name a resource");
        }
        for (position, &resource) in need.any_of.iter().enumerate() {
            let field = format!("any_of[{position}]");
            match self.resources.get(resource) {
                None => check.refuse(
                    field,
                    format!("must be below {}, is {resource}", self.resources.len()),
                ),
                Some(found) if found.capacity < need.units => {
                    let problem = format!(
                        "must have {} units, {} has {}",
                        need.units, found.name, found.capacity
                    );
                    check.refuse(field, problem);
                }
                Some(_) => {}
            }
        }
        check.finish()
    }
}
