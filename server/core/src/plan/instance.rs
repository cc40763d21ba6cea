//! Readers of public instance formats, to measure the scheduler against known results.

use super::project::{CAPACITY_MAX, Need, Project, ProjectJob, Resource};

/// Why an instance could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum InstanceError {
    /// The text ends before everything is there.
    #[error("the text ends where {0} should follow")]
    Missing(String),
    /// Something is not a number, or a number out of range.
    #[error("line {line}: {what} must be {allowed}, is {found:?}")]
    Wrong {
        /// Line, counted from 1.
        line: usize,
        /// What was being read.
        what: String,
        /// What would be accepted.
        allowed: String,
        /// What stands there.
        found: String,
    },
    /// Text goes on after the last job.
    #[error("line {line}: nothing should follow the last job, {found:?} does")]
    Trailing {
        /// Line, counted from 1.
        line: usize,
        /// What stands there.
        found: String,
    },
}

/// Reads a resource-constrained project in the Patterson form (`.rcp`): number of jobs and of resources;
/// capacities; per job its duration, its units of each resource, the number of its successors and the successors,
/// counted from 1. Line ends do not matter. The job names are their numbers.
///
/// # Errors
/// [`InstanceError`]: the text is not of that form.
pub fn read_patterson(text: &str) -> Result<Project, InstanceError> {
    let mut numbers = Numbers::new(text);
    let job_count = numbers.next("the number of jobs", 1, 10_000)? as usize;
    let resource_count = numbers.next("the number of resources", 0, 1_000)? as usize;
    let mut resources = Vec::with_capacity(resource_count);
    for index in 0..resource_count {
        let capacity = numbers.next(
            &format!("the capacity of resource {}", index + 1),
            0,
            CAPACITY_MAX,
        )?;
        resources.push(Resource {
            name: format!("R{}", index + 1),
            // A resource that has none and that nobody asks for is allowed by the form.
            capacity: capacity.max(1),
            calendar: None,
        });
    }
    let mut jobs: Vec<ProjectJob> = (1..=job_count)
        .map(|number| job(number.to_string(), 0, Vec::new()))
        .collect();
    for index in 0..job_count {
        let number = index + 1;
        jobs[index].duration =
            i64::from(numbers.next(&format!("the duration of job {number}"), 0, 1_000_000)?);
        for resource in 0..resource_count {
            let what = format!("the units of resource {} that job {number} needs", resource + 1);
            let units = numbers.next(&what, 0, 1_000_000)?;
            if units > 0 {
                jobs[index].needs.push(Need {
                    any_of: vec![resource],
                    units,
                });
            }
        }
        let successors = numbers.next(
            &format!("the number of successors of job {number}"),
            0,
            job_count as u32,
        )?;
        for _ in 0..successors {
            let successor = numbers.next(&format!("a successor of job {number}"), 1, job_count as u32)?;
            jobs[successor as usize - 1].after.push(index);
        }
    }
    numbers.finish()?;
    Ok(Project {
        start: 0,
        resources,
        jobs,
    })
}

/// Reads a job shop in the standard form: number of orders and of machines; per order, for each of its operations,
/// the machine (counted from 0) and the duration. An operation becomes a job `order.operation` that
/// needs its machine.
///
/// # Errors
/// [`InstanceError`]: the text is not of that form.
pub fn read_job_shop(text: &str) -> Result<Project, InstanceError> {
    let mut numbers = Numbers::new(text);
    let order_count = numbers.next("the number of orders", 1, 1_000)?;
    let machine_count = numbers.next("the number of machines", 1, 1_000)?;
    let machine = |index: u32| Resource {
        name: format!("M{index}"),
        capacity: 1,
        calendar: None,
    };
    let mut jobs: Vec<ProjectJob> = Vec::new();
    for order in 1..=order_count {
        for operation in 1..=machine_count {
            let name = format!("{order}.{operation}");
            let on = numbers.next(&format!("the machine of operation {name}"), 0, machine_count - 1)?;
            let duration = numbers.next(&format!("the duration of operation {name}"), 0, 1_000_000)?;
            let mut next = job(
                name,
                duration,
                vec![Need {
                    any_of: vec![on as usize],
                    units: 1,
                }],
            );
            if operation > 1 {
                next.after.push(jobs.len() - 1);
            }
            jobs.push(next);
        }
    }
    numbers.finish()?;
    Ok(Project {
        start: 0,
        resources: (0..machine_count).map(machine).collect(),
        jobs,
    })
}

fn job(name: String, duration: u32, needs: Vec<Need>) -> ProjectJob {
    ProjectJob {
        name,
        duration: i64::from(duration),
        needs,
        after: Vec::new(),
        earliest_start: None,
        latest_finish: None,
        in_progress: false,
    }
}

/// The whole numbers of a text, with their lines.
struct Numbers<'t> {
    words: Box<dyn Iterator<Item = (usize, &'t str)> + 't>,
}

impl<'t> Numbers<'t> {
    fn new(text: &'t str) -> Self {
        let lines = text.lines().enumerate();
        Self {
            words: Box::new(
                lines.flat_map(|(line, text)| text.split_whitespace().map(move |word| (line + 1, word))),
            ),
        }
    }

    fn next(&mut self, what: &str, least: u32, most: u32) -> Result<u32, InstanceError> {
        let (line, word) = self
            .words
            .next()
            .ok_or_else(|| InstanceError::Missing(what.to_owned()))?;
        let number = word.parse().ok().filter(|number| (least..=most).contains(number));
        number.ok_or_else(|| InstanceError::Wrong {
            line,
            what: what.to_owned(),
            allowed: format!("a whole number from {least} to {most}"),
            found: word.chars().take(40).collect(),
        })
    }

    fn finish(mut self) -> Result<(), InstanceError> {
        match self.words.next() {
            None => Ok(()),
            Some((line, word)) => Err(InstanceError::Trailing {
                line,
                found: word.chars().take(40).collect(),
            }),
        }
    }
}
