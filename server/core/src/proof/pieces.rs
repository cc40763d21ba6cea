//! What can prove: evidence about a vehicle, and its weighings.

use std::collections::BTreeMap;

use super::topics::WEIGHING;
use crate::record::{Date, Evidence, EvidenceResult, Fact, Id, Name, Record, Vehicle, Weighing};

/// Evidence, or a weighing seen as evidence.
#[derive(Debug, Clone)]
pub(super) struct Piece<'record> {
    pub(super) name: &'record Name,
    /// What it is called.
    pub(super) title: String,
    pub(super) topic: &'record str,
    pub(super) result: EvidenceResult,
    pub(super) issued_date: Option<Date>,
    pub(super) valid_until_date: Option<Date>,
    pub(super) facts: Option<&'record BTreeMap<Id, Fact>>,
}

/// Everything about a vehicle, in order of the names: evidence, then weighings. A weighing without
/// readings counts as pending.
pub(super) fn pieces<'record>(record: &'record Record, vehicle: &Vehicle) -> Vec<Piece<'record>> {
    let evidence = record
        .evidence
        .values()
        .filter(|evidence| is_about(evidence, vehicle))
        .map(Piece::of_evidence);
    let weighings = record
        .weighings
        .values()
        .filter(|weighing| weighing.vehicle == vehicle.name)
        .map(Piece::of_weighing);
    evidence.chain(weighings).collect()
}

/// Whether evidence speaks about the vehicle.
pub(super) fn is_about(evidence: &Evidence, vehicle: &Vehicle) -> bool {
    evidence
        .vehicle
        .as_ref()
        .is_none_or(|about| *about == vehicle.name)
}

impl<'record> Piece<'record> {
    pub(super) fn of_evidence(evidence: &'record Evidence) -> Self {
        Self {
            name: &evidence.name,
            title: evidence.display_name.clone(),
            topic: &evidence.topic,
            result: evidence.result,
            issued_date: evidence.issued_date,
            valid_until_date: evidence.valid_until_date,
            facts: Some(&evidence.facts),
        }
    }

    fn of_weighing(weighing: &'record Weighing) -> Self {
        let ticket = match weighing.ticket.as_str() {
            "" => weighing.name.id(),
            ticket => ticket,
        };
        Self {
            name: &weighing.name,
            title: format!("weighing {ticket}"),
            topic: WEIGHING,
            result: if weighing.readings.is_some() {
                EvidenceResult::Passed
            } else {
                EvidenceResult::Pending
            },
            issued_date: Some(weighing.weighed_date),
            valid_until_date: None,
            facts: None,
        }
    }

    pub(super) fn fact(&self, fact: &str) -> Option<&'record Fact> {
        self.facts.and_then(|facts| facts.get(fact))
    }
}
