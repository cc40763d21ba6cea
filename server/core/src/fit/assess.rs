//! The assessment of a substitution.

use std::collections::{BTreeMap, BTreeSet};

use super::bridging::{Found, bridge_slot};
use super::compare::{Match, compare, shown};
use super::entailed::{figure_changes, job_templates, mass_change, regulated_items, system_cautions};
use super::notes::NoteIndex;
use super::requirements::{Asked, asked};
use super::result::{Fit, InterfaceAssessment, Means, OpenQuestion, Remedy, SubstitutionAssessment};
use super::verdict::judge;
use super::vocabulary::Vocabulary;
use crate::check::{Check, InvalidInput};
use crate::proof::{ProofPolicy, evidence_touched};
use crate::record::{
    Id, InterfaceValue, Name, Part, Record, Replacement, Settlement, Slot, Substitution, Vehicle,
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
    assess_among(
        &adapters_of(record),
        vocabulary,
        notes,
        record,
        vehicle,
        substitution,
    )
}

/// The adapters on record.
pub(super) fn adapters_of(record: &Record) -> Vec<&Part> {
    record
        .parts
        .values()
        .filter(|part| part.adapter.is_some())
        .collect()
}

/// The same with the adapters at hand.
pub(super) fn assess_among(
    adapters: &[&Part],
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
    let mut bridges = Vec::new();
    let mut used = BTreeSet::new();
    for swap in &swaps {
        let neighbours = neighbours(vehicle, &swaps, swap);
        let mut found: Vec<Found<'_>> = Vec::new();
        for mut asked in all_asked(vocabulary, swap) {
            let settlement = settle(substitution, swap, &mut asked, &mut used);
            let notes = notes.about(
                &swap.incoming.name,
                &asked.kind,
                vehicle.kind.as_deref(),
                |part| neighbours.contains(part),
            );
            let judged = judge(vocabulary, &swap.slot.id, &asked, &notes, settlement);
            found.push((asked, judged));
        }
        bridges.push(bridge_slot(&swap.slot.id, &mut found, adapters)?);
        keep_the_old(swap, &mut found);
        for (asked, judged) in found {
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
        let rank = |each: &InterfaceAssessment| (each.fit, each.blocks, each.essential);
        rank(right)
            .cmp(&rank(left))
            .then_with(|| (&right.slot, &right.interface_kind).cmp(&(&left.slot, &left.interface_kind)))
    });
    cautions.extend(system_cautions(&swaps));
    cautions.dedup();
    let mass_change = mass_change(vehicle, &swaps);
    let weigh_again = mass_change
        .is_none_or(|change| change.mass_kg.abs() > ProofPolicy::default().weighing_mass_change_kg);
    Ok(SubstitutionAssessment {
        substitution: substitution.name.clone(),
        fit: interfaces.first().map_or(Fit::Matches, |worst| worst.fit),
        blocks: interfaces.iter().any(|interface| interface.blocks),
        jobs: job_templates(&swaps, &open_questions, &bridges, weigh_again),
        open_questions,
        bridges,
        mass_change,
        figure_changes: figure_changes(&swaps),
        regulated_items: regulated_items(record, vehicle, &swaps),
        stale_evidence: evidence_touched(record, vehicle, substitution),
        interfaces,
        cautions,
    })
}

/// Where nothing else helps: the outgoing part, if it is as asked.
fn keep_the_old(swap: &Swap<'_>, found: &mut [Found<'_>]) {
    let Some(outgoing) = swap.outgoing else { return };
    for (asked, judged) in found {
        let assessment = &mut judged.assessment;
        let old = outgoing
            .interface(&asked.kind)
            .and_then(|interface| interface.value.as_ref());
        if let (Fit::Clashes, true, Some(required), Some(old)) = (
            assessment.fit,
            assessment.remedies.is_empty(),
            &asked.required,
            old,
        ) && compare(required, old, asked.comparison, asked.tolerance) == Match::Matches
        {
            assessment.remedies.push(Remedy {
                means: Means::Kept(outgoing.name.clone()),
                text: format!("keep {}, which offers {}", outgoing.display_name, shown(old)),
                mass_kg: Some(0.0),
                hours: Some(0.0),
                lead_days: Some(0.0),
            });
        }
    }
}

/// What settles an interface. Measured values take the place of recorded ones; only a settlement that
/// says that the interface is right or its remedy done is returned.
fn settle<'record>(
    substitution: &'record Substitution,
    swap: &Swap<'_>,
    asked: &mut Asked,
    used: &mut BTreeSet<usize>,
) -> Option<&'record Settlement> {
    let mut done = None;
    for (index, settlement) in substitution.settlements.iter().enumerate() {
        if settlement.slot != swap.slot.id || settlement.interface_kind != asked.kind {
            continue;
        }
        used.insert(index);
        if !settlement.is_measurement() {
            done = done.or(Some(settlement));
            continue;
        }
        let values = [
            (&settlement.measured_on_vehicle, &mut asked.required),
            (&settlement.measured_on_part, &mut asked.offered),
        ];
        for (measured, recorded) in values {
            if let Some(measured) = measured {
                recorded.clone_from(&measured.value);
            }
        }
        let by = if settlement.settled_by.is_empty() {
            String::new()
        } else {
            format!(" by {}", settlement.settled_by)
        };
        asked.derivation = format!("measured{by}: {}", settlement.how);
    }
    done
}

/// A replacement with what it names.
pub(super) struct Swap<'record> {
    pub(super) slot: &'record Slot,
    pub(super) outgoing: Option<&'record Part>,
    pub(super) incoming: &'record Part,
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
                format_args!("{path}.slot"),
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
            format_args!("slot.requirements[{index}].tolerance"),
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
            check.positive(format_args!("{field}.circle_mm"), circle.circle_mm)
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
