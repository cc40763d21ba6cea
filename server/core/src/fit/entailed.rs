//! What a substitution entails beside its interfaces: mass, figures, regulated items, work, cautions.

use std::collections::{BTreeMap, BTreeSet};

use super::assess::Swap;
use super::result::{FigureChange, JobStage, JobTemplate, MassChange, Means, OpenQuestion, SlotBridge};
use crate::proof::{WEIGHING, topics_touched};
use crate::record::{Id, Name, Part, Record, Vehicle, VehicleSystem};

pub(super) fn mass_change(vehicle: &Vehicle, swaps: &[Swap<'_>]) -> Option<MassChange> {
    let mut mass_kg = 0.0;
    let mut variance_kg2 = Some(0.0);
    for swap in swaps {
        let was_empty = vehicle
            .fitments
            .get(&swap.slot.id)
            .is_some_and(|fitment| fitment.part.is_none());
        let incoming = swap.incoming.mass?;
        let outgoing = match swap.outgoing {
            Some(part) => Some(part.mass?),
            None if was_empty => None,
            None => return None,
        };
        mass_kg += incoming.mass_kg - outgoing.map_or(0.0, |mass| mass.mass_kg);
        for mass in std::iter::once(incoming).chain(outgoing) {
            variance_kg2 = variance_kg2
                .zip(mass.tolerance_kg)
                .map(|(sum, tolerance)| sum + tolerance * tolerance);
        }
    }
    Some(MassChange {
        mass_kg,
        uncertainty_kg: variance_kg2.map(f64::sqrt),
    })
}

pub(super) fn figure_changes(swaps: &[Swap<'_>]) -> Vec<FigureChange> {
    let mut changes = Vec::new();
    for swap in swaps {
        let Some(outgoing) = swap.outgoing else { continue };
        let before = figures_of(outgoing);
        for (figure, incoming) in figures_of(swap.incoming) {
            if let Some(outgoing) = before.get(&figure).filter(|before| **before != incoming) {
                changes.push(FigureChange {
                    slot: swap.slot.id.clone(),
                    figure,
                    outgoing: *outgoing,
                    incoming,
                });
            }
        }
    }
    changes
}

/// Figures of a part, its ratios among them as `gear_1_ratio`, `range_low_ratio`, `axle_ratio` and `hub_ratio`.
fn figures_of(part: &Part) -> BTreeMap<Id, f64> {
    let mut figures = part.figures.clone();
    let Some(gearing) = &part.gearing else {
        return figures;
    };
    let gears = gearing
        .gears
        .iter()
        .map(|gear| (format!("gear_{}_ratio", gear.name), gear.ratio));
    let ranges = gearing
        .ranges
        .iter()
        .map(|range| (format!("range_{}_ratio", range.name), range.ratio));
    let axles = [
        ("axle_ratio", gearing.axle_ratio),
        ("hub_ratio", gearing.hub_ratio),
    ];
    let axles = axles
        .into_iter()
        .filter_map(|(name, ratio)| Some((name.to_owned(), ratio?)));
    for (name, ratio) in gears.chain(ranges).chain(axles) {
        if let Ok(id) = Id::new(name) {
            figures.entry(id).or_insert(ratio);
        }
    }
    figures
}

pub(super) fn regulated_items(record: &Record, vehicle: &Vehicle, swaps: &[Swap<'_>]) -> Vec<Name> {
    let touched = |slot: &Id| swaps.iter().any(|swap| swap.slot.id == *slot);
    record
        .regulated_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name) && item.slots.iter().any(touched))
        .map(|item| item.name.clone())
        .collect()
}

/// The work that follows, in the order of doing it: settle, make or fetch what bridges, fit, prove again.
pub(super) fn job_templates(
    swaps: &[Swap<'_>],
    questions: &[OpenQuestion],
    bridges: &[SlotBridge],
    weigh_again: bool,
) -> Vec<JobTemplate> {
    let template = |title: String, slot: &Id, stage| JobTemplate {
        title,
        slot: Some(slot.clone()),
        stage,
        hours: None,
        lead_days: None,
        source: None,
        evidence_topic: None,
    };
    let mut jobs: Vec<JobTemplate> = questions
        .iter()
        .map(|open| template(open.question.clone(), &open.slot, JobStage::StripAndInspect))
        .collect();
    for bridge in bridges {
        let system = swaps
            .iter()
            .find(|swap| swap.slot.id == bridge.slot)
            .map(|swap| swap.slot.system);
        for step in bridge.chain.iter().flat_map(|chain| &chain.steps) {
            let (Means::Adapter(source) | Means::Work(source) | Means::Kept(source)) = &step.means;
            jobs.push(JobTemplate {
                hours: step.hours,
                lead_days: step.lead_days,
                source: Some(source.clone()),
                ..template(step.text.clone(), &bridge.slot, stage_of(system))
            });
        }
    }
    for swap in swaps {
        let out = swap.outgoing.map_or_else(
            || "what is in the slot".to_owned(),
            |part| part.display_name.clone(),
        );
        let title = format!("take out {out}, fit {}", swap.incoming.display_name);
        jobs.push(template(title, &swap.slot.id, stage_of(Some(swap.slot.system))));
    }
    let mut topics: BTreeSet<&str> = swaps
        .iter()
        .flat_map(|swap| topics_touched(swap.slot.system))
        .copied()
        .collect();
    topics.extend(weigh_again.then_some(WEIGHING));
    jobs.extend(topics.into_iter().map(|topic| JobTemplate {
        title: format!("prove again: {}", topic.replace('_', " ")),
        slot: None,
        stage: JobStage::Proving,
        hours: None,
        lead_days: None,
        source: None,
        evidence_topic: Id::new(topic).ok(),
    }));
    jobs
}

fn stage_of(system: Option<VehicleSystem>) -> JobStage {
    match system {
        Some(VehicleSystem::Electrical) => JobStage::Electrical,
        Some(VehicleSystem::Body) => JobStage::FitOut,
        _ => JobStage::Mechanical,
    }
}

/// Dangers of the work itself: common practice, no source.
pub(super) fn system_cautions(swaps: &[Swap<'_>]) -> BTreeSet<String> {
    swaps
        .iter()
        .filter_map(|swap| match swap.slot.system {
            VehicleSystem::Suspension => {
                Some("Springs and dampers are under load: support the body and axle, use a spring compressor.")
            }
            VehicleSystem::Driveline => {
                Some("Support the vehicle on stands and the part on a jack; chock the wheels: the parking brake may be off.")
            }
            VehicleSystem::Brakes => Some("Test the brakes at a standstill and at walking pace before driving."),
            VehicleSystem::Fuel => Some(
                "Fuel vapour explodes: ventilate, earth, no flame or welding; leave work on tanks to those who are trained.",
            ),
            VehicleSystem::Electrical => Some("Disconnect the battery first, the earth side before the other."),
            VehicleSystem::Wheels => Some("Tighten wheel nuts to the stated torque again after 50 to 100 km."),
            VehicleSystem::Engine | VehicleSystem::Body => None,
        })
        .map(str::to_owned)
        .collect()
}
