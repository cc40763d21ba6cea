//! The vehicle of the record on its springs in every load state, put there once for all gates that ask about it.

use super::against_limit::Subject;
use super::{Finding, crew_missing};
use crate::answer::Answer;
use crate::loads::{Carried, DEPARTURE_STATE, LoadResult};
use crate::record::{Departure, Record, Vehicle};
use crate::stance::recorded::{FORMULA_VERSION, Springs, sprung_vehicle};
use crate::stance::{SprungVehicle, Stance, StanceError, solve};

/// A vehicle at rest in one load state.
#[derive(Debug, PartialEq)]
pub(super) struct AtRest {
    pub(super) load_state: String,
    pub(super) sprung: SprungVehicle,
    pub(super) stance: Stance,
}

/// A vehicle in all its load states.
#[derive(Debug, Default, PartialEq)]
pub(in crate::readiness) struct Standing {
    /// The states in which it stands, in order.
    pub(super) at_rest: Vec<AtRest>,
    /// The states in which it does not, and why.
    pub(super) problems: Vec<(String, StanceError)>,
    /// What is missing to tell: sentences, each once.
    pub(super) missing: Vec<String>,
}

impl Standing {
    /// `vehicle` in its load `states` on `departure`.
    pub(in crate::readiness) fn of(
        record: &Record,
        departure: &Departure,
        vehicle: &Vehicle,
        states: &[LoadResult],
    ) -> Self {
        let mut standing = Self {
            missing: crew_missing(departure).into_iter().collect(),
            ..Self::default()
        };
        for state in states {
            let carried = Carried::of(state);
            let sprung = sprung_vehicle(record, vehicle, &carried, Springs::AsFitted);
            match sprung.map(|sprung| (solve(&sprung), sprung)) {
                Ok((Ok(stance), sprung)) => standing.at_rest.push(AtRest {
                    load_state: state.load_state.clone(),
                    sprung,
                    stance,
                }),
                Ok((Err(error), _)) => standing.problems.push((state.load_state.clone(), error)),
                Err(sentences) => {
                    for sentence in sentences {
                        if !standing.missing.contains(&sentence) {
                            standing.missing.push(sentence);
                        }
                    }
                }
            }
        }
        standing
    }

    /// What is missing, as one finding.
    pub(super) fn not_known(&self, subject: &Subject<'_>) -> Option<Finding> {
        let first = self.missing.first()?;
        let text = match self.missing.len() {
            1 => first.clone(),
            count => format!("{first}; and {} more inputs are missing", count - 1),
        };
        let mut finding = unknown(subject, text, first.clone(), "record what is missing");
        finding.missing.clone_from(&self.missing);
        Some(finding)
    }
}

/// Something that is not known of a vehicle on its springs.
pub(super) fn unknown(subject: &Subject<'_>, text: String, missing: String, remedy: &str) -> Finding {
    let records = vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()];
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
