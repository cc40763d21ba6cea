//! Jobs: is every stage done, or planned to be done by the departure?
//!
//! A job that is not done is at best a condition: that it be done as planned.

use std::collections::BTreeMap;

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::plan::moment::civil;
use crate::plan::outlook::{FORMULA_VERSION, PlanOutlook};
use crate::readiness::Figure;
use crate::record::{Departure, Job, Record, Vehicle};

/// Jobs.
pub(super) fn gate(record: &Record, departure: &Departure, vehicle: &Vehicle, outlook: &PlanOutlook) -> Gate {
    let own: Vec<&Job> = record
        .jobs
        .values()
        .filter(|job| job.concerns(&vehicle.name))
        .collect();
    let mut findings = Vec::new();
    if own.is_empty() {
        let records = vec![vehicle.name.clone(), departure.name.clone()];
        let text = "no job is on record: nothing says what its preparation takes";
        let mut finding = Finding::new(Answer::NotKnown, text, records)
            .remedy("record its jobs; where it needs none, one that says so and is done");
        finding.missing.push(format!("jobs of {}", vehicle.name.id()));
        findings.push(finding);
    }
    let stages = record.fleet.stages();
    let mut by_stage: BTreeMap<Option<usize>, Vec<&Job>> = BTreeMap::new();
    for job in own {
        let Some(stage) = &job.stage else {
            by_stage.entry(None).or_default().push(job);
            continue;
        };
        match stages.iter().position(|known| *known == &**stage) {
            Some(place) => by_stage.entry(Some(place)).or_default().push(job),
            None => findings.push(unknown_stage(record, job, stage)),
        }
    }
    for (place, jobs) in by_stage {
        let stage = place.map_or("no stage", |place| stages[place]);
        findings.push(stage_finding(stage, &jobs, outlook));
    }
    build(
        "jobs",
        "Is every stage done, or planned to be done by the departure?",
        findings,
        "every job is done".to_owned(),
    )
}

fn unknown_stage(record: &Record, job: &Job, stage: &str) -> Finding {
    let text = format!(
        "job {} is of the stage {stage}, which the fleet does not have",
        job.name.id()
    );
    let records = vec![job.name.clone(), record.fleet.name.clone()];
    let mut finding =
        Finding::new(Answer::NotKnown, text, records).remedy("give the job one of the fleet's stages");
    finding
        .missing
        .push(format!("a stage of the fleet for job {}", job.name.id()));
    finding
}

fn stage_finding(stage: &str, jobs: &[&Job], outlook: &PlanOutlook) -> Finding {
    let open: Vec<&Job> = jobs.iter().copied().filter(|job| !job.is_done()).collect();
    let done = jobs.len() - open.len();
    let counted = format!("{stage}: {done} of {} jobs done", jobs.len());
    let records = open.iter().map(|job| job.name.clone()).collect();
    let mut finding = match outlook {
        _ if open.is_empty() => {
            let records = jobs.iter().map(|job| job.name.clone()).collect();
            Finding::new(Answer::Met, counted, records)
        }
        PlanOutlook::Known { shop, outlook } => {
            let finishes = open.iter().filter_map(|job| {
                let index = shop
                    .jobs
                    .iter()
                    .position(|name| name.as_ref() == Some(&job.name))?;
                Some(outlook.finish_minutes[index])
            });
            let last = finishes.max().unwrap_or(shop.plan.start_minute);
            let date = civil(last).0;
            if last <= shop.ready_by_minute {
                let text = format!("{counted}, the last is planned to be done on {date}");
                Finding::new(Answer::MetWithConditions, text, records).remedy("do them as planned")
            } else {
                let text =
                    format!("{counted}, the last is planned to be done on {date}, after the departure");
                Finding::new(Answer::NotMet, text, records).remedy("win time, drop work or leave later")
            }
        }
        PlanOutlook::AllDone | PlanOutlook::NotKnown(_) => {
            let mut finding = Finding::new(
                Answer::NotKnown,
                format!("{counted}, the others have no plan"),
                records,
            )
            .remedy("record what the plan is missing");
            finding.missing = outlook.missing().to_vec();
            finding
        }
    };
    finding.figures = [("jobs_count", jobs.len()), ("jobs_done_count", done)]
        .map(|(id, value)| Figure {
            id: id.to_owned(),
            value: value as f64,
            limit: None,
            uncertainty: None,
        })
        .to_vec();
    finding.basis(FORMULA_VERSION)
}
