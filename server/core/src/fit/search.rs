//! Searching: parts that would serve a slot, and slots in the convoy that would take a part.

use super::assess::{adapters_of, assess_among};
use super::notes::NoteIndex;
use super::result::{BridgeChain, Fit, SubstitutionAssessment};
use super::vocabulary::Vocabulary;
use crate::check::{Check, InvalidInput};
use crate::record::{
    Id, Name, Part, Record, Replacement, Slot, Substitution, SubstitutionLife, SubstitutionState, Vehicle,
};

/// Most candidates that one search gives.
pub const CANDIDATES_MAX: usize = 1_000;

/// A part for a slot, and what it still needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The part.
    pub part: Name,
    /// The vehicle.
    pub vehicle: Name,
    /// Slot of the vehicle.
    pub slot: Id,
    /// It is fitted there now.
    pub fitted: bool,
    /// The worst of its interfaces.
    pub fit: Fit,
    /// Kinds of interfaces that clash and that nothing bridges.
    pub clashing: Vec<Id>,
    /// Kinds of interfaces that are not known.
    pub not_known: Vec<Id>,
    /// Kinds of interfaces to bridge.
    pub to_bridge: Vec<Id>,
    /// The cheapest chain that bridges them. `None`: there is none for all together.
    pub chain: Option<BridgeChain>,
}

/// Parts of the slot's kind, best first: what clashes least, then what is known best, then what takes
/// the least work, mass and waiting, then by name.
///
/// # Errors
/// `slot` when the vehicle has no such slot; `max_results` when it is 0 or above 1,000; parts whose values
/// are not finite.
pub fn parts_for_slot(
    record: &Record,
    vehicle: &Vehicle,
    slot: &str,
    max_results: usize,
) -> Result<Vec<Candidate>, InvalidInput> {
    check_max(max_results)?;
    let Some(slot) = vehicle.specification.slot(slot) else {
        return Err(InvalidInput::one(
            "slot",
            format!("`{slot}` is not a slot of the vehicle"),
        ));
    };
    let search = Search::new(record);
    let candidates: Result<Vec<Candidate>, InvalidInput> = record
        .parts
        .values()
        .filter(|part| part.kind == slot.kind && part.adapter.is_none())
        .map(|part| search.candidate(vehicle, slot, part))
        .collect();
    Ok(ranked(candidates?, max_results))
}

/// Slots of the part's kind in all vehicles, best first as in [`parts_for_slot`].
///
/// # Errors
/// `max_results` when it is 0 or above 1,000; values that are not finite.
pub fn slots_for_part(
    record: &Record,
    part: &Part,
    max_results: usize,
) -> Result<Vec<Candidate>, InvalidInput> {
    check_max(max_results)?;
    let search = Search::new(record);
    let mut candidates = Vec::new();
    for vehicle in record.vehicles.values() {
        for slot in vehicle
            .specification
            .slots
            .iter()
            .filter(|slot| slot.kind == part.kind)
        {
            candidates.push(search.candidate(vehicle, slot, part)?);
        }
    }
    Ok(ranked(candidates, max_results))
}

fn check_max(max_results: usize) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if !(1..=CANDIDATES_MAX).contains(&max_results) {
        check.refuse(
            "max_results",
            format!("must be 1 to {CANDIDATES_MAX}, is {max_results}"),
        );
    }
    check.finish()
}

/// Whether parts serve slots as they are, without adapters.
pub(crate) struct Serving<'record>(Search<'record>);

impl<'record> Serving<'record> {
    pub(crate) fn new(record: &'record Record) -> Self {
        Self(Search {
            adapters: Vec::new(),
            ..Search::new(record)
        })
    }

    /// Whether `part` serves `slot`: it is the part in it, or every interface that is asked about matches.
    /// `None`: not known, also where nothing is asked about, for then nothing was compared.
    pub(crate) fn serves(&self, vehicle: &Vehicle, slot: &Slot, part: &Part) -> Option<bool> {
        let fitted = vehicle
            .fitments
            .get(&slot.id)
            .and_then(|fitment| fitment.part.as_ref());
        if fitted == Some(&part.name) {
            return Some(true);
        }
        let fitted = fitted.and_then(|name| self.0.record.parts.get(name));
        let other_hand = fitted
            .and_then(|fitted| fitted.hand)
            .zip(part.hand)
            .is_some_and(|(fitted, hand)| fitted != hand);
        if part.kind != slot.kind || other_hand {
            return Some(false);
        }
        let assessment = self.0.assess(vehicle, slot, part).ok()?;
        match assessment.fit {
            Fit::Matches => (!assessment.interfaces.is_empty()).then_some(true),
            Fit::NotKnown => None,
            Fit::Bridged | Fit::Clashes => Some(false),
        }
    }
}

struct Search<'record> {
    record: &'record Record,
    notes: NoteIndex<'record>,
    adapters: Vec<&'record Part>,
}

impl<'record> Search<'record> {
    fn new(record: &'record Record) -> Self {
        Self {
            record,
            notes: NoteIndex::new(record.compatibility_notes.values()),
            adapters: adapters_of(record),
        }
    }

    fn assess(
        &self,
        vehicle: &Vehicle,
        slot: &Slot,
        part: &Part,
    ) -> Result<SubstitutionAssessment, InvalidInput> {
        let now = vehicle
            .fitments
            .get(&slot.id)
            .and_then(|fitment| fitment.part.as_ref());
        let substitution = Substitution {
            name: part.name.clone(),
            vehicle: vehicle.name.clone(),
            replacements: vec![Replacement {
                slot: slot.id.clone(),
                outgoing_part: now.cloned(),
                incoming_part: part.name.clone(),
            }],
            reason: String::new(),
            state: SubstitutionState::Proposed,
            fitted_date: None,
            settlements: Vec::new(),
            supersedes: None,
            note: String::new(),
            life: SubstitutionLife::default(),
        };
        assess_among(
            &self.adapters,
            Vocabulary::standard(),
            &self.notes,
            self.record,
            vehicle,
            &substitution,
        )
    }

    fn candidate(&self, vehicle: &Vehicle, slot: &Slot, part: &Part) -> Result<Candidate, InvalidInput> {
        let assessment = self.assess(vehicle, slot, part)?;
        let now = vehicle
            .fitments
            .get(&slot.id)
            .and_then(|fitment| fitment.part.as_ref());
        Ok(Candidate {
            part: part.name.clone(),
            vehicle: vehicle.name.clone(),
            slot: slot.id.clone(),
            fitted: now == Some(&part.name),
            fit: assessment.fit,
            clashing: kinds(&assessment, Fit::Clashes),
            not_known: kinds(&assessment, Fit::NotKnown),
            to_bridge: kinds(&assessment, Fit::Bridged),
            chain: assessment
                .bridges
                .into_iter()
                .next()
                .and_then(|bridge| bridge.chain),
        })
    }
}

fn kinds(assessment: &SubstitutionAssessment, fit: Fit) -> Vec<Id> {
    assessment
        .interfaces
        .iter()
        .filter(|interface| interface.fit == fit)
        .map(|interface| interface.interface_kind.clone())
        .collect()
}

fn ranked(mut candidates: Vec<Candidate>, max_results: usize) -> Vec<Candidate> {
    // What is not known of a chain counts as the most.
    let cost = |candidate: &Candidate| {
        candidate
            .chain
            .as_ref()
            .and_then(BridgeChain::cost_hours)
            .unwrap_or(f64::INFINITY)
    };
    candidates.sort_by(|left, right| {
        let counts = |candidate: &Candidate| {
            (
                candidate.clashing.len(),
                candidate.not_known.len(),
                candidate.to_bridge.len().min(1),
            )
        };
        counts(left)
            .cmp(&counts(right))
            .then_with(|| cost(left).total_cmp(&cost(right)))
            .then_with(|| {
                (&left.part, &left.vehicle, &left.slot).cmp(&(&right.part, &right.vehicle, &right.slot))
            })
    });
    candidates.truncate(max_results);
    candidates
}
