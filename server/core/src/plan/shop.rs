//! The plan of a departure as the record states it: jobs, workshops and awaited parts made ready for planning.
//!
//! In the plan are the jobs that the departure's vehicles or the whole fleet wait for, and all that must be done before
//! them. A part arrives at the start of its day. What stands in the way of a substitution and is served by no job enters by
//! itself when it is work whose hours are known, and is said when it is not.

use std::collections::{BTreeMap, BTreeSet};

use super::build_plan::{AwaitedPart, Plan, PlanJob};
use super::calendar::{DAY_MINUTES, WorkingCalendar};
use super::moment::{date_of_day, day_number};
use super::project::{Need, Resource};
use super::three_point::ThreePoint;
use crate::fit;
use crate::record::{Date, Departure, Id, Job, Name, Progress, Record, SubstitutionState, Workshop};

/// What a plan and its chances are and are not.
pub const CAUTION: &str = "A plan and its chances are an aid: they are as good as the hours and lead times that people estimate, \
     and take these as independent of one another.";

/// A plan with what it was made from.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopPlan {
    /// The plan. Its vehicles are those of the departure, in order.
    pub plan: Plan,
    /// The job of each job of the plan. `None`: it entered by itself.
    pub jobs: Vec<Option<Name>>,
    /// The awaited part of each part of the plan.
    pub awaited_parts: Vec<Name>,
    /// The workshop of each resource of the plan.
    pub workshops: Vec<Name>,
    /// The departure, minutes since 1970-01-01: its time of day, or where there is none the start of its day.
    pub ready_by_minute: i64,
    /// The order of the adopted plan, as far as its jobs are still in the plan; empty: none was adopted.
    pub adopted_order: Vec<usize>,
    /// What to know about it.
    pub notes: Vec<String>,
}

/// What the record makes of a departure's plan.
#[derive(Debug, Clone, PartialEq)]
pub enum Stated {
    /// Something is missing: what, each once.
    NotKnown(Vec<String>),
    /// There are jobs, and all are done.
    AllDone,
    /// There is work to do.
    ToDo(Box<ShopPlan>),
}

/// The plan of `departure`, begun on the later of its status date and `today`.
pub fn stated(record: &Record, departure: &Departure, today: Date) -> Stated {
    let start = departure.status_date.map_or(today, |status| status.max(today));
    stated_from(record, departure, start)
}

/// As [`stated`], begun at the start of the day `start`.
pub fn stated_from(record: &Record, departure: &Departure, start: Date) -> Stated {
    let relevant = relevant_jobs(record, departure);
    if relevant.is_empty() {
        let vehicles = departure.vehicles.iter().map(|going| going.vehicle.id());
        return Stated::NotKnown(
            vehicles
                .map(|vehicle| format!("jobs of {vehicle}: none is on record"))
                .collect(),
        );
    }
    let open: Vec<&Job> = relevant.iter().copied().filter(|job| !job.is_done()).collect();
    let mut builder = Builder {
        record,
        departure,
        start_minute: day_number(start) * DAY_MINUTES,
        missing: Vec::new(),
        notes: Vec::new(),
        resources: Vec::new(),
        workshops: Vec::new(),
        groups: BTreeMap::new(),
        parts: Vec::new(),
        awaited_parts: Vec::new(),
    };
    let (jobs, names) = builder.jobs(&open);
    let mut missing = std::mem::take(&mut builder.missing);
    if !missing.is_empty() {
        let mut seen = BTreeSet::new();
        missing.retain(|text| seen.insert(text.clone()));
        return Stated::NotKnown(missing);
    }
    if jobs.is_empty() {
        return Stated::AllDone;
    }
    let adopted = departure.job_order.iter().filter_map(|id| {
        names
            .iter()
            .position(|name| name.as_ref().is_some_and(|name| name.id() == &**id))
    });
    Stated::ToDo(Box::new(ShopPlan {
        adopted_order: adopted.collect(),
        ready_by_minute: ready_by_minute(departure),
        jobs: names,
        plan: Plan {
            start_minute: builder.start_minute,
            assumed_order_minute: builder.assumed_order_minute(),
            vehicles: departure
                .vehicles
                .iter()
                .map(|going| going.vehicle.id().to_owned())
                .collect(),
            resources: builder.resources,
            parts: builder.parts,
            jobs,
        },
        awaited_parts: builder.awaited_parts,
        workshops: builder.workshops,
        notes: builder.notes,
    }))
}

/// The departure, minutes since 1970-01-01.
fn ready_by_minute(departure: &Departure) -> i64 {
    let day = day_number(departure.departure_date) * DAY_MINUTES;
    let time = departure.departure_time_of_day.split_once(':');
    let minute =
        time.and_then(|(hour, minute)| Some(hour.parse::<i64>().ok()? * 60 + minute.parse::<i64>().ok()?));
    day + minute.unwrap_or(0)
}

/// The jobs that the departure waits for, and all that come before them, by name.
fn relevant_jobs<'r>(record: &'r Record, departure: &Departure) -> Vec<&'r Job> {
    let mut wanted: Vec<&Job> = record
        .jobs
        .values()
        .filter(|job| {
            departure
                .vehicles
                .iter()
                .any(|going| job.concerns(&going.vehicle))
        })
        .collect();
    let mut found: BTreeMap<&Name, &Job> = BTreeMap::new();
    while let Some(job) = wanted.pop() {
        if found.insert(&job.name, job).is_none() {
            wanted.extend(job.after.iter().filter_map(|name| record.jobs.get(name)));
        }
    }
    found.into_values().collect()
}

struct Builder<'r> {
    record: &'r Record,
    departure: &'r Departure,
    start_minute: i64,
    missing: Vec<String>,
    notes: Vec<String>,
    resources: Vec<Resource>,
    /// The workshop of each resource.
    workshops: Vec<Name>,
    /// Resources by workshop: its bays, and its people who can do the same at the same hours.
    groups: BTreeMap<&'r Name, Groups<'r>>,
    parts: Vec<AwaitedPart>,
    awaited_parts: Vec<Name>,
}

#[derive(Default, Clone)]
struct Groups<'r> {
    bays: Option<usize>,
    people: Vec<(BTreeSet<&'r Id>, usize)>,
}

impl<'r> Builder<'r> {
    fn assumed_order_minute(&self) -> i64 {
        let days = self.departure.policy.order_within_days.unwrap_or(0);
        self.start_minute + i64::from(days) * DAY_MINUTES
    }

    fn jobs(&mut self, open: &[&'r Job]) -> (Vec<PlanJob>, Vec<Option<Name>>) {
        let index: BTreeMap<&Name, usize> = open
            .iter()
            .enumerate()
            .map(|(index, job)| (&job.name, index))
            .collect();
        let mut used: BTreeMap<usize, u32> = BTreeMap::new();
        let mut jobs: Vec<PlanJob> = open
            .iter()
            .map(|job| {
                let planned = self.job(job, &index);
                self.begun(job, planned, &mut used)
            })
            .collect();
        let mut names: Vec<Option<Name>> = open.iter().map(|job| Some(job.name.clone())).collect();
        for knock_on in self.knock_on_jobs() {
            jobs.push(knock_on);
            names.push(None);
        }
        (jobs, names)
    }

    fn job(&mut self, job: &'r Job, index: &BTreeMap<&Name, usize>) -> PlanJob {
        let id = job.name.id();
        let work_hours = job.hours_left().unwrap_or_else(|| {
            let what = match job.work_hours {
                Some(_) => "hours left of",
                None => "hours of",
            };
            self.missing
                .push(format!("{what} job {id} ({})", job.display_name));
            ThreePoint::exactly(0.0)
        });
        let mut needs = Vec::new();
        let workshops: Vec<Groups<'r>> = job
            .workshops
            .iter()
            .filter(|name| started_workshop(job).is_none_or(|started| started == *name))
            .filter_map(|name| self.workshop(name, &job.skills))
            .collect();
        if !workshops.is_empty() && !job.without_bay {
            let any_of = workshops.iter().filter_map(|groups| groups.bays).collect();
            needs.push(Need { any_of, units: 1 });
        }
        for skill in &job.skills {
            let people = workshops.iter().flat_map(|groups| &groups.people);
            let any_of: Vec<usize> = people
                .filter(|(skills, _)| skills.contains(skill))
                .map(|(_, resource)| *resource)
                .collect();
            if any_of.is_empty() {
                self.missing
                    .push(format!("a person with the skill {skill} for job {id}"));
            } else {
                needs.push(Need { any_of, units: 1 });
            }
        }
        let awaits = job
            .awaited_parts
            .iter()
            .filter_map(|name| self.part(name))
            .collect();
        let vehicles = self.departure.vehicles.iter().enumerate();
        PlanJob {
            name: id.to_owned(),
            vehicles: vehicles
                .filter(|(_, going)| job.concerns(&going.vehicle))
                .map(|(index, _)| index)
                .collect(),
            work_hours,
            needs,
            after: job
                .after
                .iter()
                .filter_map(|name| index.get(name).copied())
                .collect(),
            awaits,
            earliest_start_minute: job.earliest_date.map(|date| day_number(date) * DAY_MINUTES),
            latest_finish_minute: job.latest_date.map(|date| (day_number(date) + 1) * DAY_MINUTES),
            in_progress: false,
        }
    }

    /// A job under way holds what it needs from the start on; one for which nothing is free waits.
    fn begun(&mut self, job: &Job, mut planned: PlanJob, used: &mut BTreeMap<usize, u32>) -> PlanJob {
        if !matches!(job.progress, Progress::UnderWay { .. }) {
            return planned;
        }
        if !planned.after.is_empty() {
            let text = format!(
                "job {} is under way although it comes after jobs that are not done",
                planned.name
            );
            self.notes.push(text);
        }
        planned.after.clear();
        planned.awaits.clear();
        let mut taken: Vec<usize> = Vec::new();
        for need in &planned.needs {
            let free = need.any_of.iter().copied().find(|&resource| {
                let others = taken.iter().filter(|&&other| other == resource).count();
                let held = used.get(&resource).copied().unwrap_or(0) as usize + others;
                held < self.resources[resource].capacity as usize
            });
            taken.extend(free);
        }
        if taken.len() < planned.needs.len() {
            let text = format!(
                "job {} is under way, but others hold what it needs: it waits",
                planned.name
            );
            self.notes.push(text);
            return planned;
        }
        for (need, resource) in planned.needs.iter_mut().zip(&taken) {
            need.any_of = vec![*resource];
            *used.entry(*resource).or_default() += 1;
        }
        planned.earliest_start_minute = None;
        planned.in_progress = true;
        planned
    }

    /// The resources of a workshop; its people only where `skills` are asked for.
    fn workshop(&mut self, name: &Name, skills: &[Id]) -> Option<Groups<'r>> {
        let record: &'r Record = self.record;
        let Some(workshop) = record.workshops.get(name) else {
            self.missing.push(format!("the workshop {}", name.id()));
            return None;
        };
        let Some(calendar) = &workshop.working_calendar else {
            self.missing
                .push(format!("the working calendar of workshop {}", name.id()));
            return None;
        };
        if !self.groups.contains_key(&workshop.name) {
            let Some(bay_count) = workshop.bay_count else {
                self.missing.push(format!("the bays of workshop {}", name.id()));
                return None;
            };
            let bays = self.resource(workshop, "bays", bay_count, calendar.clone());
            let groups = Groups {
                bays: Some(bays),
                people: Vec::new(),
            };
            self.groups.insert(&workshop.name, groups);
        }
        let known = self
            .groups
            .get(&workshop.name)
            .is_some_and(|groups| !groups.people.is_empty());
        if !skills.is_empty() && !known {
            let people = self.people(workshop, calendar);
            if let Some(groups) = self.groups.get_mut(&workshop.name) {
                groups.people = people;
            }
        }
        self.groups.get(&workshop.name).cloned()
    }

    /// People who can do the same at the same hours are one resource: it keeps the choices few.
    fn people(
        &mut self,
        workshop: &'r Workshop,
        calendar: &WorkingCalendar,
    ) -> Vec<(BTreeSet<&'r Id>, usize)> {
        let mut groups: Vec<(BTreeSet<&'r Id>, WorkingCalendar, u32)> = Vec::new();
        for worker in &workshop.workers {
            let skills: BTreeSet<&Id> = worker.skills.iter().collect();
            let hours = match &worker.working_calendar {
                Some(own) => WorkingCalendar::common([own, calendar]),
                None => calendar.clone(),
            };
            match groups
                .iter_mut()
                .find(|(has, when, _)| *has == skills && *when == hours)
            {
                Some((_, _, count)) => *count += 1,
                None => groups.push((skills, hours, 1)),
            }
        }
        groups
            .into_iter()
            .map(|(skills, hours, count)| {
                let words: Vec<&str> = skills.iter().map(|skill| &***skill).collect();
                let resource = self.resource(workshop, &words.join(" and "), count, hours);
                (skills, resource)
            })
            .collect()
    }

    fn resource(
        &mut self,
        workshop: &Workshop,
        what: &str,
        capacity: u32,
        calendar: WorkingCalendar,
    ) -> usize {
        self.resources.push(Resource {
            name: format!("{} {what}", workshop.name.id()),
            capacity,
            calendar: Some(calendar),
        });
        self.workshops.push(workshop.name.clone());
        self.resources.len() - 1
    }

    /// The part of the plan for an awaited part; `None` once it is there.
    fn part(&mut self, name: &Name) -> Option<usize> {
        if let Some(index) = self.awaited_parts.iter().position(|known| known == name) {
            return Some(index);
        }
        let Some(awaited) = self.record.awaited_parts.get(name) else {
            self.missing.push(format!("the awaited part {}", name.id()));
            return None;
        };
        if awaited.arrived_date.is_some() {
            return None;
        }
        let id = name.id();
        let Some(mut lead_time_days) = awaited.lead_time_days else {
            self.missing
                .push(format!("the lead time of {id} ({})", awaited.display_name));
            return None;
        };
        let ordered_minute = awaited.ordered_date.map(|date| day_number(date) * DAY_MINUTES);
        // An order that is to go out later than the plan starts: the wait until then is part of the lead time.
        let wait_days =
            ordered_minute.map_or(0, |ordered| (ordered - self.start_minute).max(0) / DAY_MINUTES) as f64;
        lead_time_days = ThreePoint {
            optimistic: lead_time_days.optimistic + wait_days,
            likely: lead_time_days.likely + wait_days,
            pessimistic: lead_time_days.pessimistic + wait_days,
        };
        if ordered_minute.is_none() {
            if self.departure.policy.order_within_days.is_none() {
                let text = format!(
                    "when {id} ({}) will be ordered: the policy's order_within_days",
                    awaited.display_name
                );
                self.missing.push(text);
            }
            let assumed = date_of_day(self.assumed_order_minute() / DAY_MINUTES);
            let mut text = format!(
                "{id} ({}) is not ordered: taken to be ordered on {assumed}",
                awaited.display_name
            );
            if let Some(last) = awaited.order_by_date {
                let verb = if last < assumed { "too late, for" } else { "and" };
                text = format!("{text}, {verb} orders are taken until {last}");
            }
            self.notes.push(text);
        }
        self.parts.push(AwaitedPart {
            name: id.to_owned(),
            lead_time_days,
            ordered_minute: ordered_minute.map(|ordered| ordered.min(self.start_minute)),
        });
        self.awaited_parts.push(name.clone());
        Some(self.parts.len() - 1)
    }

    /// What stands in the way of substitutions that no job serves.
    fn knock_on_jobs(&mut self) -> Vec<PlanJob> {
        let mut jobs = Vec::new();
        for substitution in self.record.substitutions.values() {
            let going = self
                .departure
                .vehicles
                .iter()
                .position(|going| going.vehicle == substitution.vehicle);
            let served = self
                .record
                .jobs
                .values()
                .any(|job| job.serves.contains(&substitution.name));
            let (Some(vehicle), Some(known)) = (going, self.record.vehicles.get(&substitution.vehicle))
            else {
                continue;
            };
            if served || substitution.state == SubstitutionState::Withdrawn {
                continue;
            }
            let Ok(assessment) = fit::assess(self.record, known, substitution) else {
                continue;
            };
            let id = substitution.name.id();
            for interface in assessment.interfaces.iter().filter(|interface| interface.blocks) {
                let what = format!("{} of {}", interface.interface_kind, interface.slot);
                match interface
                    .remedies
                    .iter()
                    .find_map(|remedy| Some((remedy, remedy.hours.filter(|&hours| hours > 0.0)?)))
                {
                    Some((remedy, hours)) => jobs.push(PlanJob {
                        name: format!("{id}: {}", remedy.text),
                        vehicles: vec![vehicle],
                        work_hours: ThreePoint::exactly(hours),
                        needs: Vec::new(),
                        after: Vec::new(),
                        awaits: Vec::new(),
                        earliest_start_minute: None,
                        latest_finish_minute: None,
                        in_progress: false,
                    }),
                    None => self.notes.push(format!(
                        "{what} stands in the way of {id} and no job serves it: its work is not in the plan"
                    )),
                }
            }
        }
        jobs
    }
}

fn started_workshop(job: &Job) -> Option<&Name> {
    match &job.progress {
        Progress::UnderWay { workshop, .. } => workshop.as_ref(),
        _ => None,
    }
}
