//! Stance: is every part that is made for one side on that side?
//!
//! Found from the record alone, before anyone measures a height. What springs do to the heights is the question of
//! the gate `wheels`.

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::record::{self, Fitment, Interface, InterfaceValue, Part, Record, Slot, Vehicle, VehicleSystem};
use crate::stance::CAUTION_SPRING_UNDER_LOAD;
use crate::stance::handed::{FORMULA_VERSION, Hand, SidedFitment, WrongSide, parts_on_wrong_side};
use crate::stance::vehicle::Side;

/// Interface that states the side a part is made for.
const HAND: &str = "hand";

/// A fitment of a slot that has a side.
struct Sided<'a> {
    slot: &'a Slot,
    fitment: &'a Fitment,
    part: &'a Part,
    sided: SidedFitment,
}

/// Stance.
pub(super) fn gate(record: &Record, vehicle: &Vehicle) -> Gate {
    let mut findings = Vec::new();
    let mut fitted = Vec::new();
    for slot in &vehicle.specification.slots {
        let Some((place, side)) = side_of(slot) else {
            continue;
        };
        let fitment = vehicle.fitments.get(&slot.id);
        let part = fitment
            .and_then(|fitment| fitment.part.as_ref())
            .and_then(|name| record.parts.get(name));
        match (fitment, part) {
            (Some(fitment), Some(part)) => fitted.push(Sided {
                slot,
                fitment,
                part,
                sided: SidedFitment {
                    place,
                    side,
                    part: title(part),
                    hand: hand_of(part),
                },
            }),
            // An empty slot holds nothing on a wrong side.
            (Some(Fitment { part: None, .. }), None) => {}
            (Some(fitment), None) => findings.push(unknown(
                format!(
                    "the part in {} of {} is not on record",
                    slot.id, vehicle.display_name
                ),
                fitment,
            )),
            (None, _) if asks_for_hand(slot) => {
                let text = format!(
                    "what is in {} of {} is not on record",
                    slot.id, vehicle.display_name
                );
                let mut finding = Finding::new(Answer::NotKnown, text, vec![vehicle.name.clone()])
                    .remedy("record what is fitted")
                    .basis(FORMULA_VERSION);
                finding.missing.push(format!("the fitment of {}", slot.id));
                findings.push(finding);
            }
            (None, _) => {}
        }
    }
    let sided: Vec<SidedFitment> = fitted.iter().map(|one| one.sided.clone()).collect();
    let sides = parts_on_wrong_side(&sided);
    findings.extend(
        sides
            .wrong_side
            .iter()
            // Of two that are exchanged the first one speaks for both.
            .filter(|wrong| wrong.exchange_with.is_none_or(|other| other > wrong.fitment))
            .filter_map(|wrong| wrong_side(&fitted, wrong)),
    );
    findings.extend(sides.hand_not_known.iter().filter_map(|index| {
        let one = fitted.get(*index)?;
        let text = format!("which side {} is made for is not known", title(one.part));
        Some(unknown(text, one.fitment))
    }));
    build(
        "stance",
        "Is every part that is made for one side on that side?",
        findings,
        "no part is on the wrong side".to_owned(),
    )
}

/// The place of a slot without its side, and its side: that of its id, else the hand it asks for.
fn side_of(slot: &Slot) -> Option<(String, Side)> {
    if let Some(place) = slot.id.strip_suffix(".left") {
        return Some((place.to_owned(), Side::Left));
    }
    if let Some(place) = slot.id.strip_suffix(".right") {
        return Some((place.to_owned(), Side::Right));
    }
    let asked = slot
        .requirements
        .iter()
        .find_map(|requirement| interface_hand(&requirement.interface))?;
    Some((slot.id.to_string(), side(asked)))
}

fn asks_for_hand(slot: &Slot) -> bool {
    slot.requirements
        .iter()
        .any(|requirement| &*requirement.interface.kind == HAND)
}

fn interface_hand(interface: &Interface) -> Option<record::Hand> {
    match interface.value {
        Some(InterfaceValue::Hand(hand)) if &*interface.kind == HAND => Some(hand),
        _ => None,
    }
}

/// The hand of a part. A part without one fits either side, unless it has the interface and does not
/// say what is there.
fn hand_of(part: &Part) -> Hand {
    let stated = part.interface(HAND);
    match part.hand.or_else(|| stated.and_then(interface_hand)) {
        Some(hand) => Hand::Handed(side(hand)),
        None if stated.is_some() => Hand::NotKnown,
        None => Hand::Either,
    }
}

fn side(hand: record::Hand) -> Side {
    match hand {
        record::Hand::Left => Side::Left,
        record::Hand::Right => Side::Right,
    }
}

fn title(part: &Part) -> String {
    if part.display_name.is_empty() {
        part.name.id().to_owned()
    } else {
        part.display_name.clone()
    }
}

fn wrong_side(fitted: &[Sided<'_>], wrong: &WrongSide) -> Option<Finding> {
    let own = fitted.get(wrong.fitment)?;
    let other = wrong.exchange_with.and_then(|index| fitted.get(index));
    let mut records = Vec::new();
    for one in [Some(own), other].into_iter().flatten() {
        records.push(one.fitment.name.clone());
        records.push(one.part.name.clone());
        records.extend(one.fitment.substitution.clone());
    }
    records.sort_unstable();
    records.dedup();
    let remedy = match other {
        Some(_) => "exchange the two; after springs, measure the heights on level ground",
        None => "fit the part made for this side",
    };
    let remedy = if own.slot.system == VehicleSystem::Suspension {
        format!("{remedy}. {CAUTION_SPRING_UNDER_LOAD}")
    } else {
        remedy.to_owned()
    };
    Some(
        Finding::new(Answer::NotMet, wrong.explanation.clone(), records)
            .remedy(remedy)
            .basis(FORMULA_VERSION),
    )
}

fn unknown(text: String, fitment: &Fitment) -> Finding {
    let mut finding = Finding::new(Answer::NotKnown, text.clone(), vec![fitment.name.clone()])
        .remedy("record it")
        .basis(FORMULA_VERSION);
    finding.missing.push(text);
    finding
}
