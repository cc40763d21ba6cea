//! Schedule: will it be ready by the departure, with the chance that the policy asks for?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::plan::chance::Outcome;
use crate::plan::outlook::{FORMULA_VERSION, Outlook, PlanOutlook};
use crate::plan::shop::ShopPlan;
use crate::readiness::Figure;
use crate::record::{Departure, Name, Record, Vehicle};

/// Two-sided 95 % point of the normal distribution.
const DEVIATIONS_95: f64 = 1.96;

/// Schedule.
pub(super) fn gate(record: &Record, departure: &Departure, vehicle: &Vehicle, outlook: &PlanOutlook) -> Gate {
    let place = departure
        .vehicles
        .iter()
        .position(|going| going.vehicle == vehicle.name);
    let has_jobs = record.jobs.values().any(|job| job.concerns(&vehicle.name));
    let findings = match outlook {
        PlanOutlook::AllDone | PlanOutlook::Known { .. } if !has_jobs => {
            let missing = vec![format!("jobs of {}: none is on record", vehicle.name.id())];
            vec![not_known(departure, vehicle, missing)]
        }
        PlanOutlook::NotKnown(missing) => vec![not_known(departure, vehicle, missing.clone())],
        PlanOutlook::AllDone => Vec::new(),
        PlanOutlook::Known { shop, outlook } => {
            let own = place.and_then(|place| outlook.chance.vehicles.get(place)?.as_ref());
            match (own, departure.policy.ready_chance_min) {
                (None, _) => Vec::new(),
                (Some(_), None) => {
                    let missing =
                        vec!["the policy's least chance of being ready (ready_chance_min)".to_owned()];
                    vec![not_known(departure, vehicle, missing)]
                }
                (Some(own), Some(least)) => known(departure, vehicle, shop, outlook, own, least),
            }
        }
    };
    build(
        "schedule",
        "Will it be ready by the departure, with the chance asked for?",
        findings,
        "every job is done".to_owned(),
    )
}

fn not_known(departure: &Departure, vehicle: &Vehicle, missing: Vec<String>) -> Finding {
    let first = missing.first().map_or("", String::as_str);
    let text = match missing.len() {
        0 | 1 => format!("the chance of being ready is not known without {first}"),
        count => format!(
            "the chance of being ready is not known without {first}; and {} more inputs",
            count - 1
        ),
    };
    let records = vec![vehicle.name.clone(), departure.name.clone()];
    let mut finding = Finding::new(Answer::NotKnown, text, records)
        .remedy("record what is missing")
        .basis(FORMULA_VERSION);
    finding.missing = missing;
    finding
}

fn known(
    departure: &Departure,
    vehicle: &Vehicle,
    shop: &ShopPlan,
    outlook: &Outlook,
    own: &Outcome,
    least: f64,
) -> Vec<Finding> {
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let (low, high) = own.chance_interval;
    let doubtful = own.chance_ready >= least && low < least;
    let (answer, remedy) = match own.chance_ready >= least {
        true if doubtful => (Answer::MetWithConditions, "take more samples, or win time"),
        true => (Answer::Met, ""),
        false => (
            Answer::NotMet,
            "win time: the plan's chance names what it hangs on",
        ),
    };
    let text = format!(
        "ready by the departure in {} of the samples, asked for is {}",
        percent(own.chance_ready),
        percent(least)
    );
    let records = vec![vehicle.name.clone(), departure.name.clone()];
    let mut finding = Finding::new(answer, text, records)
        .remedy(remedy)
        .basis(FORMULA_VERSION);
    finding.figures.push(Figure {
        id: "ready_chance".to_owned(),
        value: own.chance_ready,
        limit: Some(least),
        uncertainty: Some((high - low) / (2.0 * DEVIATIONS_95)),
    });
    let mut findings = vec![finding];
    findings.extend(assumptions(shop, outlook, departure, vehicle));
    findings
}

/// What the chance takes for granted about parts that the vehicle waits for.
fn assumptions(shop: &ShopPlan, outlook: &Outlook, departure: &Departure, vehicle: &Vehicle) -> Vec<Finding> {
    let place = departure
        .vehicles
        .iter()
        .position(|going| going.vehicle == vehicle.name);
    let awaited = awaited_by(shop, place);
    let finding = |part: usize, text: &str, remedy: &str| {
        let name: &Name = &shop.awaited_parts[part];
        let records = vec![name.clone(), vehicle.name.clone()];
        Finding::new(
            Answer::MetWithConditions,
            format!("{}: {text}", name.id()),
            records,
        )
        .remedy(remedy)
        .basis(FORMULA_VERSION)
    };
    let open = outlook.chance.parts_assumed_ordered.iter();
    let overdue = outlook.chance.parts_overdue.iter();
    open.filter(|part| awaited.contains(part))
        .map(|&part| {
            finding(
                part,
                "not ordered, the chance takes it to be ordered in time",
                "order it",
            )
        })
        .chain(overdue.filter(|part| awaited.contains(part)).map(|&part| {
            finding(
                part,
                "overdue beyond its longest lead time, the chance takes it to arrive today",
                "ask its supplier, and record a new lead time",
            )
        }))
        .collect()
}

/// The parts that a vehicle's jobs, and all that come before them, wait for.
fn awaited_by(shop: &ShopPlan, vehicle: Option<usize>) -> Vec<usize> {
    let jobs = &shop.plan.jobs;
    let mut wanted: Vec<usize> = (0..jobs.len())
        .filter(|&job| vehicle.is_some_and(|vehicle| jobs[job].vehicles.contains(&vehicle)))
        .collect();
    let mut seen = vec![false; jobs.len()];
    let mut parts = Vec::new();
    while let Some(job) = wanted.pop() {
        if !std::mem::replace(&mut seen[job], true) {
            parts.extend(&jobs[job].awaits);
            wanted.extend(&jobs[job].after);
        }
    }
    parts
}
