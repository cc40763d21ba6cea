//! Measured heights: the latest ones of a vehicle, and the ranked causes of a lean.

use super::Finding;
use super::at_rest::unknown_of;
use crate::answer::Answer;
use crate::loads::carried_when_weighed;
use crate::readiness::Figure;
use crate::record::{Departure, Heights, Record, Vehicle, Weighing};
use crate::stance::Wheel;
use crate::stance::recorded::spring_slot;
use crate::stance::recorded_heights::{
    Diagnoses, FORMULA_VERSION, RecordedDiagnosis, diagnose_weighing, measured_lean_mm,
};

/// The vehicle whose heights were measured.
struct Measured<'a> {
    record: &'a Record,
    departure: &'a Departure,
    vehicle: &'a Vehicle,
}

/// What the latest measured heights say. Empty: none were measured, or the departure's tolerance is missing and said
/// elsewhere.
pub(in crate::readiness) fn measured_heights(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    diagnoses: &Diagnoses,
) -> Vec<Finding> {
    let subject = &Measured {
        record,
        departure,
        vehicle,
    };
    let Some((weighing, heights)) = latest(subject) else {
        return Vec::new();
    };
    if let Some(stale) = changed_since(subject, weighing) {
        return vec![stale];
    }
    let Some(lean_max_mm) = departure.policy.lean_max_mm else {
        return Vec::new();
    };
    let Some(lean) = measured_lean_mm(heights) else {
        let text = format!(
            "the heights of {} name no axle left and right, so no lean follows from them",
            weighing.weighed_date
        );
        return vec![unknown_of(
            vehicle,
            departure,
            text,
            "heights left and right of an axle".to_owned(),
            "measure both sides of an axle",
        )];
    };
    let figure = Figure {
        id: "measured_lean_mm".to_owned(),
        value: lean.lean_mm.abs(),
        limit: Some(lean_max_mm),
        uncertainty: Some(lean.standard_deviation_mm),
    };
    let side = if lean.lean_mm < 0.0 { "left" } else { "right" };
    let said = format!(
        "measured on {}: the {} {side} arch is {:.0} mm lower",
        weighing.weighed_date,
        lean.axle.words(),
        lean.lean_mm.abs()
    );
    if lean.lean_mm.abs() <= lean_max_mm {
        let mut finding = Finding::new(Answer::Met, said, vec![weighing.name.clone()]).basis(FORMULA_VERSION);
        finding.figures.push(figure);
        return vec![finding];
    }
    let carried = carried_when_weighed(record, vehicle, weighing);
    let diagnosed = diagnose_weighing(record, vehicle, weighing, heights, &carried, diagnoses);
    let mut finding = match diagnosed {
        Ok(diagnosed) => explained(subject, weighing, &said, &diagnosed),
        Err(missing) => {
            let mut finding = Finding::new(
                Answer::NotMet,
                format!("{said}; its cause is not known: {}", missing.join("; ")),
                vec![weighing.name.clone(), vehicle.name.clone()],
            )
            .remedy("record what is missing, or find the cause by measuring")
            .basis(FORMULA_VERSION);
            finding.missing = missing;
            finding
        }
    };
    finding.figures.insert(0, figure);
    vec![finding]
}

fn latest<'a>(subject: &Measured<'a>) -> Option<(&'a Weighing, &'a Heights)> {
    subject
        .record
        .weighings
        .values()
        .filter(|weighing| weighing.vehicle == subject.vehicle.name)
        .filter_map(|weighing| weighing.heights.as_ref().map(|heights| (weighing, heights)))
        .max_by_key(|(weighing, _)| weighing.weighed_date)
}

/// Springs changed after the heights were measured make them say nothing of today.
fn changed_since(subject: &Measured<'_>, weighing: &Weighing) -> Option<Finding> {
    let changed = Wheel::ALL.into_iter().find_map(|wheel| {
        let slot = spring_slot(wheel);
        let fitment = subject
            .vehicle
            .fitments
            .iter()
            .find(|(id, _)| &***id == slot)
            .map(|(_, fitment)| fitment)?;
        fitment
            .fitted_date
            .filter(|fitted| *fitted > weighing.weighed_date)
            .map(|fitted| (slot, fitted))
    });
    let (slot, fitted) = changed?;
    let text = format!(
        "{slot} was changed on {fitted}, after the heights of {}",
        weighing.weighed_date
    );
    let missing = "heights measured since the springs were changed".to_owned();
    let remedy = "measure the heights on level ground";
    let mut finding = unknown_of(subject.vehicle, subject.departure, text, missing, remedy);
    finding.records.push(weighing.name.clone());
    Some(finding)
}

fn explained(
    subject: &Measured<'_>,
    weighing: &Weighing,
    said: &str,
    diagnosed: &RecordedDiagnosis,
) -> Finding {
    let diagnosis = &diagnosed.diagnosis;
    let ranked: Vec<String> = diagnosis
        .hypotheses
        .iter()
        .take(2)
        .map(|ranked| format!("{} ({:.0} %)", ranked.explanation, ranked.probability * 100.0))
        .collect();
    let text = format!("{said}; most probable cause: {}", ranked.join("; then: "));
    let next = diagnosis
        .next_measurements
        .first()
        .map_or_else(String::new, |next| {
            let quantities: Vec<&str> = next
                .predictions
                .iter()
                .map(|prediction| prediction.quantity.as_str())
                .collect();
            format!(
                "what tells the two apart best is to measure next: {}. ",
                quantities.join(", ")
            )
        });
    let mut records = vec![weighing.name.clone(), subject.vehicle.name.clone()];
    records.extend(diagnosed.springs.iter().cloned());
    let mut finding = Finding::new(Answer::NotMet, text, records)
        .remedy(format!("{next}{}", diagnosis.cautions.join(" ")))
        .basis(FORMULA_VERSION);
    if let Some(first) = diagnosis.hypotheses.first() {
        for (id, value) in [
            ("leading_probability", first.probability),
            ("leading_front_difference_mm", first.side_difference_mm[0]),
            ("leading_rear_difference_mm", first.side_difference_mm[1]),
        ] {
            finding.figures.push(Figure {
                id: id.to_owned(),
                value,
                limit: None,
                uncertainty: None,
            });
        }
    }
    finding
}
