//! A checked project in the form that the generators work on.
//!
//! The free units of all resources at one moment are packed into a few words, each resource with just the bits
//! that its capacity needs and one guard bit above them. One subtraction and one mask then tell whether a job
//! fits on all its resources at once; that test is nearly all the work of scheduling.

use std::collections::HashMap;

use super::calendar::WorkingCalendar;
use super::network::Network;
use super::project::{Project, ProjectJob};
use super::working_time::WorkingTime;
use crate::check::{Check, InvalidInput};

/// Most words for the packed units of all resources: 16 x 64 bits hold 512 single persons or bays.
pub(crate) const WORDS_MAX: usize = 16;

/// A project that was checked, ready for scheduling. Made by [`Project::compile`].
#[derive(Debug, Clone)]
pub struct Model {
    pub(crate) start: i64,
    pub(crate) network: Network,
    pub(crate) duration: Vec<i64>,
    /// Never before `start`.
    pub(crate) earliest: Vec<i64>,
    /// `i64::MAX` where there is none.
    pub(crate) latest: Vec<i64>,
    pub(crate) pinned: Vec<usize>,
    pub(crate) is_pinned: Vec<bool>,
    /// Modes of each job.
    pub(crate) modes: Vec<Vec<Mode>>,
    pub(crate) calendars: Vec<WorkingTime>,
    pub(crate) capacity: Vec<u32>,
    /// Index into `calendars` per resource.
    pub(crate) resource_calendar: Vec<Option<usize>>,
    pub(crate) words: usize,
    /// All units free, guard bits set.
    pub(crate) full: [u64; WORDS_MAX],
    pub(crate) guard: [u64; WORDS_MAX],
}

/// One way of choosing a job's resources.
#[derive(Debug, Clone)]
pub(crate) struct Mode {
    /// Resource and units, ascending, each resource once.
    pub(crate) units: Vec<(usize, u32)>,
    pub(crate) packed: [u64; WORDS_MAX],
    /// Index into the model's calendars; `None`: every minute.
    pub(crate) calendar: Option<usize>,
}

/// Where a resource's units sit in the packed words.
#[derive(Debug, Clone, Copy)]
struct Field {
    word: usize,
    shift: u32,
}

impl Model {
    pub(crate) fn new(project: &Project, network: Network) -> Result<Self, InvalidInput> {
        let (fields, words, full, guard) = pack(project)?;
        let mut check = Check::new();
        let mut calendars = Calendars {
            project,
            compiled: Vec::new(),
            known: HashMap::new(),
        };
        let mut resource_calendar = Vec::with_capacity(project.resources.len());
        for index in 0..project.resources.len() {
            let found = check.merge(
                format_args!("resources[{index}].calendar"),
                calendars.of(&[(index, 1)]),
            );
            resource_calendar.push(found.flatten());
        }
        let mut modes = Vec::with_capacity(project.jobs.len());
        for (index, job) in project.jobs.iter().enumerate() {
            let found = check.merge(
                format_args!("jobs[{index}].needs"),
                job_modes(project, job, &fields, &mut calendars),
            );
            modes.push(found.unwrap_or_default());
        }
        check.finish()?;
        let pinned: Vec<usize> = (0..project.jobs.len())
            .filter(|&job| project.jobs[job].in_progress)
            .collect();
        let model = Self {
            start: project.start,
            network,
            duration: project.jobs.iter().map(|job| job.duration).collect(),
            earliest: project
                .jobs
                .iter()
                .map(|job| {
                    job.earliest_start
                        .map_or(project.start, |at| at.max(project.start))
                })
                .collect(),
            latest: project
                .jobs
                .iter()
                .map(|job| job.latest_finish.unwrap_or(i64::MAX))
                .collect(),
            is_pinned: project.jobs.iter().map(|job| job.in_progress).collect(),
            pinned,
            modes,
            calendars: calendars.compiled,
            capacity: project
                .resources
                .iter()
                .map(|resource| resource.capacity)
                .collect(),
            resource_calendar,
            words,
            full,
            guard,
        };
        model.check_pinned()?;
        Ok(model)
    }

    /// Number of jobs.
    pub fn job_count(&self) -> usize {
        self.duration.len()
    }

    /// The precedence network of the jobs.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Moment at which the plan starts.
    pub fn start(&self) -> i64 {
        self.start
    }

    /// Resources and units that `job` occupies in the given mode of a schedule, ascending by resource.
    pub fn occupied(&self, job: usize, mode: usize) -> &[(usize, u32)] {
        &self.modes[job][mode].units
    }

    pub(crate) fn calendar(&self, mode: &Mode) -> Option<&WorkingTime> {
        mode.calendar.map(|index| &self.calendars[index])
    }

    /// Units of each resource that a job occupies whatever its mode.
    pub(crate) fn sure_units(&self, job: usize) -> Vec<(usize, u32)> {
        let Some((first, others)) = self.modes[job].split_first() else {
            return Vec::new();
        };
        let least = |&(resource, units): &(usize, u32)| {
            let in_others = others.iter().map(|mode| {
                mode.units
                    .iter()
                    .find(|(other, _)| *other == resource)
                    .map_or(0, |&(_, units)| units)
            });
            (resource, in_others.fold(units, u32::min))
        };
        first
            .units
            .iter()
            .map(least)
            .filter(|&(_, units)| units > 0)
            .collect()
    }

    /// Jobs in progress hold their resources at the same time: they must fit together.
    fn check_pinned(&self) -> Result<(), InvalidInput> {
        let mut used = vec![0_u64; self.capacity.len()];
        for &job in &self.pinned {
            for &(resource, units) in &self.modes[job][0].units {
                used[resource] += u64::from(units);
                if used[resource] > u64::from(self.capacity[resource]) {
                    let problem = format!(
                        "must leave resource {resource} room, jobs in progress hold more than its units"
                    );
                    return Err(InvalidInput::one(format!("jobs[{job}].in_progress"), problem));
                }
            }
        }
        Ok(())
    }
}

type Packed = (Vec<Field>, usize, [u64; WORDS_MAX], [u64; WORDS_MAX]);

fn pack(project: &Project) -> Result<Packed, InvalidInput> {
    let (mut word, mut shift) = (0, 0);
    let (mut full, mut guard) = ([0; WORDS_MAX], [0; WORDS_MAX]);
    let mut fields = Vec::with_capacity(project.resources.len());
    for resource in &project.resources {
        let bits = u32::BITS - resource.capacity.leading_zeros();
        if shift + bits + 1 > u64::BITS {
            (word, shift) = (word + 1, 0);
        }
        if word == WORDS_MAX {
            return Err(InvalidInput::one(
                "resources",
                "must be fewer: their capacities need more than 1,024 bits",
            ));
        }
        full[word] |= (u64::from(resource.capacity) | 1 << bits) << shift;
        guard[word] |= 1 << (bits + shift);
        fields.push(Field { word, shift });
        shift += bits + 1;
    }
    Ok((fields, word + 1, full, guard))
}

fn job_modes(
    project: &Project,
    job: &ProjectJob,
    fields: &[Field],
    calendars: &mut Calendars<'_>,
) -> Result<Vec<Mode>, InvalidInput> {
    let mut choices: Vec<Vec<(usize, u32)>> = vec![Vec::new()];
    for need in &job.needs {
        let extended = choices.iter().flat_map(|choice| {
            need.any_of.iter().map(|&resource| {
                let mut longer = choice.clone();
                match longer.iter_mut().find(|(taken, _)| *taken == resource) {
                    Some((_, units)) => *units = units.saturating_add(need.units),
                    None => longer.push((resource, need.units)),
                }
                longer
            })
        });
        choices = extended.collect();
    }
    // One person cannot fill two needs: ways that ask more units than there are fall away.
    choices.retain(|choice| {
        choice
            .iter()
            .all(|&(resource, units)| units <= project.resources[resource].capacity)
    });
    choices.iter_mut().for_each(|choice| choice.sort_unstable());
    if choices.is_empty() {
        return Err(InvalidInput::one(
            "",
            "must not ask more units of a resource than it has, all together",
        ));
    }
    let mut modes = Vec::with_capacity(choices.len());
    let mut refused = None;
    for units in choices {
        let calendar = match calendars.of(&units) {
            Ok(calendar) => calendar,
            Err(never) => {
                refused = Some(never);
                continue;
            }
        };
        let mut packed = [0; WORDS_MAX];
        for &(resource, count) in &units {
            packed[fields[resource].word] |= u64::from(count) << fields[resource].shift;
        }
        modes.push(Mode {
            units,
            packed,
            calendar,
        });
    }
    match refused {
        Some(never) if modes.is_empty() => Err(never),
        _ => Ok(modes),
    }
}

/// Working times of sets of resources, each compiled once.
struct Calendars<'a> {
    project: &'a Project,
    compiled: Vec<WorkingTime>,
    known: HashMap<Vec<usize>, usize>,
}

impl Calendars<'_> {
    fn of(&mut self, units: &[(usize, u32)]) -> Result<Option<usize>, InvalidInput> {
        let resources = &self.project.resources;
        let limited =
            |&(resource, _): &(usize, u32)| resources[resource].calendar.is_some().then_some(resource);
        let key: Vec<usize> = units.iter().filter_map(limited).collect();
        if key.is_empty() {
            return Ok(None);
        }
        if let Some(&index) = self.known.get(&key) {
            return Ok(Some(index));
        }
        let common = WorkingCalendar::common(
            key.iter()
                .filter_map(|&resource| resources[resource].calendar.as_ref()),
        );
        if common.weekly.iter().all(Vec::is_empty) {
            let names: Vec<&str> = key
                .iter()
                .map(|&resource| resources[resource].name.as_str())
                .collect();
            let problem = format!(
                "must share working hours in the week, {} have none in common",
                names.join(" and ")
            );
            return Err(InvalidInput::one("", problem));
        }
        self.compiled.push(WorkingTime::new(&common, self.project.start)?);
        self.known.insert(key, self.compiled.len() - 1);
        Ok(Some(self.compiled.len() - 1))
    }
}
