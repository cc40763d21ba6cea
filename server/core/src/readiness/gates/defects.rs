//! Defects: is every fault fixed, or accepted with conditions?
//!
//! Policy of the project where the trade has no one rule: an open grounding or restricting defect stops
//! the vehicle; a minor one lets it go with the condition that it be accepted or fixed; accepting needs
//! a written condition, its owner and how often it is checked; a grounding defect is never accepted, and one that was fixed
//! without evidence that shows it is a condition until there is some.

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::record::{Defect, Disposition, Name, Record, Severity, Vehicle};

/// Defects.
pub(super) fn gate(record: &Record, vehicle: &Vehicle) -> Gate {
    let own: Vec<&Defect> = record
        .defects
        .values()
        .filter(|defect| defect.vehicle == vehicle.name)
        .collect();
    let findings = own.iter().map(|defect| finding(defect)).collect();
    let met = if own.is_empty() {
        "no defect is on record"
    } else {
        "every defect is fixed"
    };
    build(
        "defects",
        "Is every fault fixed, or accepted with conditions?",
        findings,
        met.to_owned(),
    )
}

fn finding(defect: &Defect) -> Finding {
    let description = &defect.description;
    let (answer, text, remedy) = match (&defect.disposition, defect.severity) {
        (Disposition::Fixed { evidence, .. }, Severity::Grounding) if evidence.is_empty() => (
            Answer::MetWithConditions,
            format!("{description}: fixed, but nothing on record shows it, and it grounded the vehicle"),
            "try it and record that as evidence of the fix",
        ),
        (Disposition::Fixed { evidence, .. }, _) => (Answer::Met, fixed(description, evidence), ""),
        (_, Severity::Grounding) => (
            Answer::NotMet,
            format!("{description}: grounds the vehicle"),
            "fix it; it cannot be accepted",
        ),
        (Disposition::Open, Severity::Restricting) => (
            Answer::NotMet,
            format!("{description}: open"),
            "fix it, or have the lead accept it with conditions",
        ),
        (Disposition::Open, Severity::Minor) => (
            Answer::MetWithConditions,
            format!("{description}: open, minor"),
            "fix it, or have the lead accept it with conditions",
        ),
        (Disposition::Accepted(condition), _) => (
            Answer::MetWithConditions,
            format!(
                "{description}: accepted by {} on condition: {} (kept by {}, checked {})",
                condition.accepted_by, condition.condition, condition.owner, condition.check_interval
            ),
            "",
        ),
    };
    let remedy = match (answer, defect.proposal.as_str()) {
        (Answer::NotMet | Answer::MetWithConditions, proposal)
            if !proposal.is_empty() && !remedy.is_empty() =>
        {
            format!("{remedy}; the workshop proposes: {proposal}")
        }
        _ => remedy.to_owned(),
    };
    let records = std::iter::once(defect.name.clone())
        .chain(defect.related.iter().cloned())
        .chain(defect.caused_by.iter().cloned())
        .chain(closing(defect).iter().cloned())
        .collect();
    Finding::new(answer, text, records).remedy(remedy)
}

fn closing(defect: &Defect) -> &[Name] {
    match &defect.disposition {
        Disposition::Fixed { evidence, .. } => evidence,
        Disposition::Open | Disposition::Accepted(_) => &[],
    }
}

fn fixed(description: &str, evidence: &[Name]) -> String {
    if evidence.is_empty() {
        return format!("{description}: fixed");
    }
    let named: Vec<&str> = evidence.iter().map(Name::id).collect();
    format!("{description}: fixed, shown by {}", named.join(", "))
}
