//! What a vehicle goes under: accepted conditions, papers, what its cargo asks to mind.

use super::{SheetCondition, SheetPaper};
use crate::answer::Answer;
use crate::record::{Departure, Disposition, Evidence, EvidenceResult, Record, Vehicle};

/// Conditions of the defects of `vehicle`, then those signed for its gates and for the convoy's.
pub(super) fn conditions(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<SheetCondition> {
    let defects = record
        .defects
        .values()
        .filter(|defect| defect.vehicle == vehicle.name)
        .filter_map(|defect| match &defect.disposition {
            Disposition::Accepted(condition) => Some(SheetCondition {
                record: defect.name.clone(),
                subject: defect.description.clone(),
                condition: condition.clone(),
                gate: None,
                of_convoy: false,
                signed_by: String::new(),
            }),
            Disposition::Open | Disposition::Fixed { .. } => None,
        });
    let concerns = |signed: Option<&crate::record::Name>| signed.is_none_or(|name| *name == vehicle.name);
    let signed = record
        .acceptances
        .values()
        .filter(|acceptance| acceptance.departure == departure.name && concerns(acceptance.vehicle.as_ref()))
        .map(|acceptance| SheetCondition {
            record: acceptance.name.clone(),
            subject: acceptance.finding_text.clone(),
            condition: acceptance.condition.clone(),
            gate: Some(acceptance.gate.clone()),
            of_convoy: acceptance.vehicle.is_none(),
            signed_by: acceptance.signed_by.clone(),
        });
    defects.chain(signed).collect()
}

/// The papers that are carried for `vehicle`.
pub(super) fn papers(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<SheetPaper> {
    let concerns = |evidence: &Evidence| match &evidence.vehicle {
        None => true,
        Some(name) => *name == vehicle.name,
    };
    record
        .evidence
        .values()
        .filter(|evidence| {
            evidence.carried && evidence.result == EvidenceResult::Passed && concerns(evidence)
        })
        .map(|evidence| SheetPaper {
            evidence: evidence.name.clone(),
            display_name: evidence.display_name.clone(),
            reference: evidence.reference.clone(),
            valid_until_date: evidence.valid_until_date,
            valid: match evidence.valid_until_date {
                Some(last) if last < departure.return_date => Answer::NotMet,
                Some(_) | None => Answer::Met,
            },
        })
        .collect()
}

/// What makes the cargo of `vehicle` dangerous.
pub(super) fn hazard_cautions(record: &Record, vehicle: &Vehicle) -> Vec<String> {
    record
        .cargo_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name) && !item.hazard.is_empty())
        .map(|item| format!("{}: {}.", item.display_name, item.hazard))
        .collect()
}
