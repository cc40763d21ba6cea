//! What clears a finding, and what to do first.
//!
//! A job clears what it serves. Of two things that block a departure the one that takes longer to clear comes first, and
//! before both what no job clears: nothing on record will ever make that right.

use std::cmp::Reverse;

use super::{Finding, Gate, Readiness};
use crate::answer::Answer;
use crate::plan::outlook::PlanOutlook;
use crate::plan::three_point::Spread;
use crate::record::{Date, Job, Name, Record};

/// A job that is still to do and clears a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct ClearingJob {
    /// The job.
    pub job: Name,
    /// Name for people.
    pub display_name: String,
    /// Mean of the hours of work left. `None`: not known.
    pub hours_left: Option<f64>,
    /// Day on which the plan has it done. `None`: there is no plan.
    pub finish_date: Option<Date>,
}

/// A finding that blocks the departure, and what clears it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstStep<'a> {
    /// The vehicle. `None`: the convoy.
    pub vehicle: Option<&'a Name>,
    /// The gate.
    pub gate: &'static str,
    /// The finding: not met or not known.
    pub finding: &'a Finding,
}

/// Names the jobs that clear each finding that is not met without conditions, and orders the gates.
pub(super) fn name_jobs(record: &Record, outlook: &PlanOutlook, mut gates: Vec<Gate>) -> Vec<Gate> {
    let open: Vec<&Job> = record
        .jobs
        .values()
        .filter(|job| !job.is_done() && !job.serves.is_empty())
        .collect();
    for finding in gates.iter_mut().flat_map(|gate| &mut gate.findings) {
        if finding.answer == Answer::Met {
            continue;
        }
        let clearing = open
            .iter()
            .filter(|job| job.serves.iter().any(|name| finding.records.contains(name)));
        finding.clearing_jobs = clearing.map(|job| clearing_job(job, outlook)).collect();
    }
    gates.sort_by_key(|gate| {
        let blocking = gate.findings.iter().filter(|finding| blocks(finding.answer));
        (Reverse(gate.answer), blocking.map(urgency).min())
    });
    gates
}

impl Readiness {
    /// Everything that blocks, in the order in which to see to it.
    pub fn first_steps(&self) -> Vec<FirstStep<'_>> {
        let of_vehicles = self
            .vehicles
            .iter()
            .flat_map(|own| own.gates.iter().map(move |gate| (Some(&own.vehicle), gate)));
        let gates = of_vehicles.chain(self.gates.iter().map(|gate| (None, gate)));
        let mut steps: Vec<FirstStep<'_>> = gates
            .filter(|(_, gate)| !gate.not_binding)
            .flat_map(|(vehicle, gate)| {
                let blocking = gate.findings.iter().filter(|finding| blocks(finding.answer));
                blocking.map(move |finding| FirstStep {
                    vehicle,
                    gate: gate.id,
                    finding,
                })
            })
            .collect();
        steps.sort_by_key(|step| urgency(step.finding));
        steps
    }
}

fn blocks(answer: Answer) -> bool {
    matches!(answer, Answer::NotMet | Answer::NotKnown)
}

/// What no job clears, then what no plan says a day of, then the latest day first.
fn urgency(finding: &Finding) -> (bool, bool, Reverse<Option<Date>>) {
    let jobs = &finding.clearing_jobs;
    let unplanned = jobs.iter().any(|job| job.finish_date.is_none());
    let last = jobs.iter().filter_map(|job| job.finish_date).max();
    (!jobs.is_empty(), !unplanned, Reverse(last))
}

fn clearing_job(job: &Job, outlook: &PlanOutlook) -> ClearingJob {
    ClearingJob {
        job: job.name.clone(),
        display_name: job.display_name.clone(),
        hours_left: job.hours_left().map(|hours| hours.mean(Spread::BetaPert)),
        finish_date: outlook.finish_date(&job.name),
    }
}
