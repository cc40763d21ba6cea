//! The assessment of a substitution.

use std::collections::{BTreeMap, BTreeSet};

use super::notes::NoteIndex;
use super::requirements::{Asked, asked};
use super::result::{FigureChange, Fit, MassChange, OpenQuestion, SubstitutionAssessment};
use super::verdict::judge;
use super::vocabulary::Vocabulary;
use crate::check::{Check, InvalidInput};
use crate::proof::evidence_touched;
use crate::record::{
    Id, InterfaceValue, Name, Part, Record, Replacement, Slot, Substitution, Vehicle, VehicleSystem,
};

/// Assesses a substitution with the standard vocabulary and the record's notes. See [`assess_with`].
///
/// # Errors
/// As [`assess_with`].
pub fn assess(
    record: &Record,
    vehicle: &Vehicle,
    substitution: &Substitution,
) -> Result<SubstitutionAssessment, InvalidInput> {
    let notes = NoteIndex::new(record.compatibility_notes.values());
    assess_with(Vocabulary::standard(), &notes, record, vehicle, substitution)
}

/// Assesses how the parts of a substitution fit, interface by interface, and what it entails.
///
/// An interface matches when the offered value is as required. Otherwise, and where a value is missing,
/// the notes decide that speak about the incoming part together with the outgoing one, with a part in
/// another slot of the vehicle, or with the kind of vehicle: fits; fits with something to watch; fits
/// with work; does not fit. Notes also overrule values that match. Of notes that contradict each other
/// the worst holds. Without a note a mismatch clashes. A settlement marks a remedy done, or what was not
/// known as measured and right; it does not overrule a note that the parts do not fit.
///
/// The result is an aid: a trial fit and, where the law asks for it, an engineer's approval decide.
///
/// # Errors
/// `vehicle` when the substitution is of another one; `replacements` when there are none;
/// `replacements[i]` with slots the vehicle does not have or that come twice, parts that are not on
/// record, and part or slot values that are not finite.
pub fn assess_with(
    vocabulary: &Vocabulary,
    notes: &NoteIndex<'_>,
    record: &Record,
    vehicle: &Vehicle,
    substitution: &Substitution,
) -> Result<SubstitutionAssessment, InvalidInput> {
    let swaps = resolve(record, vehicle, substitution)?;
    let mut interfaces = Vec::new();
    let mut cautions = Vec::new();
    let mut open_questions = Vec::new();
    let mut used = BTreeSet::new();
    for swap in &swaps {
        let neighbours = neighbours(vehicle, &swaps, swap);
        for asked in all_asked(vocabulary, swap) {
            let found = notes.about(
                &swap.incoming.name,
                &asked.kind,
                vehicle.kind.as_deref(),
                |part| neighbours.contains(part),
            );
            let settlement = substitution.settlements.iter().position(|settlement| {
                settlement.slot == swap.slot.id && settlement.interface_kind == asked.kind
            });
            used.extend(settlement);
            let settlement = settlement.and_then(|index| substitution.settlements.get(index));
            let judged = judge(vocabulary, &swap.slot.id, &asked, &found, settlement);
            cautions.extend(judged.cautions);
            if judged.assessment.fit == Fit::NotKnown {
                open_questions.push(question(vocabulary, swap, &asked));
            }
            interfaces.push(judged.assessment);
        }
    }
    for (index, settlement) in substitution.settlements.iter().enumerate() {
        if !used.contains(&index) {
            let (slot, kind) = (&settlement.slot, &settlement.interface_kind);
            cautions.push(format!(
                "the settlement of {slot}, {kind} settles nothing that is asked"
            ));
        }
    }
    interfaces.sort_by(|left, right| {
        (
            right.fit,
            right.blocks,
            right.essential,
            &left.slot,
            &left.interface_kind,
        )
            .cmp(&(
                left.fit,
                left.blocks,
                left.essential,
                &right.slot,
                &right.interface_kind,
            ))
    });
    cautions.extend(system_cautions(&swaps));
    cautions.dedup();
    Ok(SubstitutionAssessment {
        substitution: substitution.name.clone(),
        fit: interfaces.first().map_or(Fit::Matches, |worst| worst.fit),
        blocks: interfaces.iter().any(|interface| interface.blocks),
        open_questions,
        mass_change: mass_change(vehicle, &swaps),
        figure_changes: figure_changes(&swaps),
        regulated_items: regulated_items(record, vehicle, &swaps),
        stale_evidence: evidence_touched(record, vehicle, substitution),
        interfaces,
        cautions,
    })
}

/// A replacement with what it names.
struct Swap<'record> {
    slot: &'record Slot,
    outgoing: Option<&'record Part>,
    incoming: &'record Part,
}

fn resolve<'record>(
    record: &'record Record,
    vehicle: &'record Vehicle,
    substitution: &Substitution,
) -> Result<Vec<Swap<'record>>, InvalidInput> {
    let mut check = Check::new();
    if substitution.vehicle != vehicle.name {
        check.refuse(
            "vehicle",
            format!("must be {}, is {}", vehicle.name, substitution.vehicle),
        );
    }
    if substitution.replacements.is_empty() {
        check.refuse("replacements", "must have at least one");
    }
    let mut slots = BTreeSet::new();
    let mut swaps = Vec::with_capacity(substitution.replacements.len());
    for (index, replacement) in substitution.replacements.iter().enumerate() {
        let path = format!("replacements[{index}]");
        if !slots.insert(&replacement.slot) {
            check.refuse(
                format!("{path}.slot"),
                format!("`{}` comes twice", replacement.slot),
            );
        }
        swaps.extend(check.merge(&path, resolve_one(record, vehicle, replacement)));
    }
    check.finish()?;
    Ok(swaps)
}

fn resolve_one<'record>(
    record: &'record Record,
    vehicle: &'record Vehicle,
    replacement: &Replacement,
) -> Result<Swap<'record>, InvalidInput> {
    let mut check = Check::new();
    let slot = vehicle.specification.slot(&replacement.slot);
    if slot.is_none() {
        check.refuse(
            "slot",
            format!("`{}` is not a slot of the vehicle", replacement.slot),
        );
    }
    for (index, requirement) in slot.into_iter().flat_map(|slot| &slot.requirements).enumerate() {
        check.non_negative(
            &format!("slot.requirements[{index}].tolerance"),
            requirement.tolerance,
        );
        check_value(
            &mut check,
            &format!("slot.requirements[{index}]"),
            requirement.interface.value.as_ref(),
        );
    }
    let mut part = |field: &str, name: &Name| {
        let part = record.parts.get(name);
        if part.is_none() {
            check.refuse(field, format!("{name} is not on record"));
        }
        for (index, interface) in part.into_iter().flat_map(|part| &part.interfaces).enumerate() {
            check_value(
                &mut check,
                &format!("{field}.interfaces[{index}]"),
                interface.value.as_ref(),
            );
        }
        part
    };
    let incoming = part("incoming_part", &replacement.incoming_part);
    let outgoing = replacement
        .outgoing_part
        .as_ref()
        .and_then(|name| part("outgoing_part", name));
    check.finish()?;
    match (slot, incoming) {
        (Some(slot), Some(incoming)) => Ok(Swap {
            slot,
            outgoing,
            incoming,
        }),
        _ => Err(InvalidInput::one("", "names what is not on record")),
    }
}

fn check_value(check: &mut Check, field: &str, value: Option<&InterfaceValue>) {
    match value {
        Some(
            InterfaceValue::LengthMm(number) | InterfaceValue::Ratio(number) | InterfaceValue::Number(number),
        ) => {
            check.finite(field, *number);
        }
        Some(InterfaceValue::BoltCircle(circle)) => {
            check.positive(&format!("{field}.circle_mm"), circle.circle_mm)
        }
        _ => {}
    }
}

/// What is asked of the part, its kind included where it is not the slot's.
fn all_asked(vocabulary: &Vocabulary, swap: &Swap<'_>) -> Vec<Asked> {
    let mut all = asked(vocabulary, swap.slot, swap.outgoing, swap.incoming);
    if let (false, Ok(kind)) = (swap.incoming.kind == swap.slot.kind, Id::new("part_kind")) {
        let words = |kind: &Id| Some(InterfaceValue::Text(kind.replace('_', " ")));
        all.push(Asked {
            kind,
            required: words(&swap.slot.kind),
            comparison: crate::record::Comparison::Equal,
            tolerance: 0.0,
            essential: true,
            offered: words(&swap.incoming.kind),
            derivation: String::new(),
        });
    }
    all
}

/// The parts that the incoming one replaces or meets.
fn neighbours<'record>(
    vehicle: &'record Vehicle,
    swaps: &[Swap<'record>],
    swap: &Swap<'record>,
) -> BTreeSet<&'record Name> {
    let mut parts: BTreeMap<&Id, &Name> = vehicle
        .fitments
        .iter()
        .filter_map(|(slot, fitment)| Some((slot, fitment.part.as_ref()?)))
        .collect();
    for other in swaps {
        parts.insert(&other.slot.id, &other.incoming.name);
    }
    parts.remove(&swap.slot.id);
    parts
        .into_values()
        .chain(swap.outgoing.map(|part| &part.name))
        .collect()
}

fn question(vocabulary: &Vocabulary, swap: &Swap<'_>, asked: &Asked) -> OpenQuestion {
    let kind = vocabulary.kind(&asked.kind);
    let question = kind.map_or_else(
        || format!("What is the {}?", vocabulary.display_name(&asked.kind)),
        |kind| kind.question.clone(),
    );
    let whose = match (&asked.required, &asked.offered) {
        (None, None) => format!("on the vehicle and on {}", swap.incoming.display_name),
        (None, _) => "on the vehicle".to_owned(),
        _ => format!("on {}", swap.incoming.display_name),
    };
    OpenQuestion {
        slot: swap.slot.id.clone(),
        interface_kind: asked.kind.clone(),
        question: format!("{question} ({whose})"),
        measuring: kind.map_or_else(String::new, |kind| kind.measuring.clone()),
    }
}

fn mass_change(vehicle: &Vehicle, swaps: &[Swap<'_>]) -> Option<MassChange> {
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

fn figure_changes(swaps: &[Swap<'_>]) -> Vec<FigureChange> {
    let mut changes = Vec::new();
    for swap in swaps {
        let Some(outgoing) = swap.outgoing else { continue };
        for (figure, incoming) in &swap.incoming.figures {
            if let Some(before) = outgoing.figures.get(figure).filter(|before| *before != incoming) {
                changes.push(FigureChange {
                    slot: swap.slot.id.clone(),
                    figure: figure.clone(),
                    outgoing: *before,
                    incoming: *incoming,
                });
            }
        }
    }
    changes
}

fn regulated_items(record: &Record, vehicle: &Vehicle, swaps: &[Swap<'_>]) -> Vec<Name> {
    let touched = |slot: &Id| swaps.iter().any(|swap| swap.slot.id == *slot);
    record
        .regulated_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name) && item.slots.iter().any(touched))
        .map(|item| item.name.clone())
        .collect()
}

/// Dangers of the work itself: common practice, no source.
fn system_cautions(swaps: &[Swap<'_>]) -> BTreeSet<String> {
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
