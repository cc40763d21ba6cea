//! What the gates about a vehicle on its springs have in common.

use super::against_limit::Subject;
use super::{Finding, crew_missing};
use crate::answer::Answer;
use crate::loads::DEPARTURE_STATE;
use crate::record::{Departure, Vehicle};
use crate::stance::StanceError;
use crate::stance::recorded::{FORMULA_VERSION, NotStanding};
use crate::stance::standing::Standing;

/// What is missing to tell how it stands, as one finding.
pub(super) fn not_known(subject: &Subject<'_>, standing: &Standing) -> Option<Finding> {
    let mut missing: Vec<String> = crew_missing(&subject.loads.departure).into_iter().collect();
    for state in &standing.states {
        let Err(NotStanding::Missing(sentences)) = state else {
            continue;
        };
        for sentence in sentences {
            if !missing.contains(sentence) {
                missing.push(sentence.clone());
            }
        }
    }
    let first = missing.first()?;
    let text = match missing.len() {
        1 => first.clone(),
        count => format!("{first}; and {} more inputs are missing", count - 1),
    };
    let mut finding = unknown(subject, text, first.clone(), "record what is missing");
    finding.missing = missing;
    Some(finding)
}

/// The load states in which it does not stand, and why.
pub(super) fn problems<'a>(
    subject: &'a Subject<'_>,
    standing: &'a Standing,
) -> impl Iterator<Item = (&'a str, &'a StanceError)> {
    let states = subject.states.iter().zip(&standing.states);
    states.filter_map(|(state, stands)| match stands {
        Err(NotStanding::Problem(error)) => Some((state.load_state.as_str(), error)),
        _ => None,
    })
}

/// Something that is not known of a vehicle on its springs.
pub(super) fn unknown(subject: &Subject<'_>, text: String, missing: String, remedy: &str) -> Finding {
    unknown_of(subject.vehicle, &subject.loads.departure, text, missing, remedy)
}

/// The same of a vehicle that goes on a departure.
pub(super) fn unknown_of(
    vehicle: &Vehicle,
    departure: &Departure,
    text: String,
    missing: String,
    remedy: &str,
) -> Finding {
    let records = vec![vehicle.name.clone(), departure.name.clone()];
    let mut finding = Finding::new(Answer::NotKnown, text, records)
        .remedy(remedy)
        .basis(FORMULA_VERSION);
    finding.missing.push(missing);
    finding
}

/// A load state for sentences.
pub(super) fn when(load_state: &str) -> String {
    match load_state {
        DEPARTURE_STATE => "at departure".to_owned(),
        moment => format!("at the {moment}"),
    }
}
