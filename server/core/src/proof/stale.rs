//! Evidence that later work made stale.

use super::pieces::{Piece, pieces};
use super::topics::{WEIGHING, topics_touched};
use crate::record::{
    Date, EvidenceResult, Id, Mass, Name, Policy, Record, Replacement, Substitution, Vehicle,
};

/// What the shop counts as a change worth proving again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProofPolicy {
    /// Kilograms of parts changed, heavier and lighter added up without sign, above which a weighing is
    /// stale. Zero or more.
    pub weighing_mass_change_kg: f64,
}

impl Default for ProofPolicy {
    /// 25 kg: common practice, no source.
    fn default() -> Self {
        Self {
            weighing_mass_change_kg: 25.0,
        }
    }
}

impl ProofPolicy {
    /// What the policy of a departure says.
    pub fn of(policy: &Policy) -> Self {
        Self {
            weighing_mass_change_kg: policy
                .weighing_mass_change_kg
                .unwrap_or(Self::default().weighing_mass_change_kg),
        }
    }
}

/// Work on a slot of the vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// The substitution, or the fitment that no substitution made.
    pub work: Name,
    /// The slot worked on.
    pub slot: Id,
    /// When. `None`: not known.
    pub work_date: Option<Date>,
    /// Mass of the parts that went in less those that came out, kilograms. `None`: not known.
    pub mass_change_kg: Option<f64>,
    /// Whether the fitting is of the same day as the evidence, so that it is not known which came first.
    pub same_day: bool,
}

/// Evidence that work made stale.
#[derive(Debug, Clone, PartialEq)]
pub struct Stale {
    /// The evidence.
    pub evidence: Name,
    /// What it was to prove.
    pub topic: Id,
    /// Its date. `None`: not known.
    pub issued_date: Option<Date>,
    /// The work that made it stale, earliest first.
    pub by: Vec<Work>,
    /// Why, in one sentence.
    pub reason: String,
}

/// Evidence about a vehicle, and weighings of it, that work made stale; in order of their names.
///
/// Evidence is stale when parts went in after its date, on a system that its topic proves; a weighing
/// when the masses of such parts, added up without sign, exceed the policy's limit or are not known.
/// Evidence after the work counts. Of the same day it does not, because it is not recorded which came
/// first. Evidence without a date is stale as soon as there is such work. Evidence of the whole fleet
/// counts for every vehicle. Evidence that failed or is pending proves nothing and is left out.
///
/// Fitments without a date count as before all evidence. The mass change of a fitment that no
/// substitution made is the mass of its part, as if the slot had been empty.
pub fn stale_evidence(record: &Record, vehicle: &Vehicle, policy: ProofPolicy) -> Vec<Stale> {
    let work = work_on(record, vehicle);
    pieces(record, vehicle)
        .iter()
        .filter(|piece| piece.result == EvidenceResult::Passed)
        .filter_map(|piece| {
            let mut by: Vec<Work> = work
                .iter()
                .filter_map(|work| made_stale(piece, vehicle, work))
                .collect();
            if piece.topic == WEIGHING && !weighs(&by, policy) {
                by.clear();
            }
            let topic = Id::new(piece.topic).ok()?;
            (!by.is_empty()).then(|| Stale {
                reason: reason(piece, &by),
                evidence: piece.name.clone(),
                topic,
                issued_date: piece.issued_date,
                by,
            })
        })
        .collect()
}

/// Evidence about the vehicle that a substitution makes stale, or would if it were fitted after all of
/// it; in order of its names. Weighings are judged by the substitution alone.
pub fn evidence_touched(record: &Record, vehicle: &Vehicle, substitution: &Substitution) -> Vec<Name> {
    let work: Vec<Work> = substitution
        .replacements
        .iter()
        .map(|replacement| Work {
            work: substitution.name.clone(),
            slot: replacement.slot.clone(),
            work_date: substitution.fitted_date,
            mass_change_kg: mass_change_kg(record, vehicle, replacement),
            same_day: false,
        })
        .collect();
    pieces(record, vehicle)
        .iter()
        .filter(|piece| piece.result == EvidenceResult::Passed)
        .filter(|piece| {
            let by: Vec<Work> = work
                .iter()
                .filter_map(|work| made_stale(piece, vehicle, work))
                .collect();
            !by.is_empty() && (piece.topic != WEIGHING || weighs(&by, ProofPolicy::default()))
        })
        .map(|piece| piece.name.clone())
        .collect()
}

/// The work, if it makes the evidence stale; a weighing, if it touches it at all.
fn made_stale(evidence: &Piece<'_>, vehicle: &Vehicle, work: &Work) -> Option<Work> {
    let system = vehicle.specification.slot(&work.slot)?.system;
    let touched = evidence.topic == WEIGHING || topics_touched(system).contains(&evidence.topic);
    let before = match (evidence.issued_date, work.work_date) {
        (Some(issued), Some(worked)) => issued <= worked,
        _ => true,
    };
    (touched && before).then(|| Work {
        same_day: evidence.issued_date.is_some() && evidence.issued_date == work.work_date,
        ..work.clone()
    })
}

fn weighs(by: &[Work], policy: ProofPolicy) -> bool {
    let sum = by
        .iter()
        .try_fold(0.0, |sum, work| Some(sum + work.mass_change_kg?.abs()));
    sum.is_none_or(|sum_kg| sum_kg > policy.weighing_mass_change_kg)
}

/// All work on the vehicle that is on record, earliest first; work without a date last.
fn work_on(record: &Record, vehicle: &Vehicle) -> Vec<Work> {
    let mut work = Vec::new();
    for substitution in record.substitutions.values() {
        if substitution.vehicle == vehicle.name && substitution.state.is_in() {
            for replacement in &substitution.replacements {
                work.push(Work {
                    work: substitution.name.clone(),
                    slot: replacement.slot.clone(),
                    work_date: substitution.fitted_date,
                    mass_change_kg: mass_change_kg(record, vehicle, replacement),
                    same_day: false,
                });
            }
        }
    }
    for (slot, fitment) in &vehicle.fitments {
        let by_substitution = fitment
            .substitution
            .as_ref()
            .is_some_and(|name| record.substitutions.contains_key(name));
        if fitment.fitted_date.is_some() && !by_substitution {
            let mass = fitment.part.as_ref().and_then(|part| mass_of(record, part));
            work.push(Work {
                work: fitment.name.clone(),
                slot: slot.clone(),
                work_date: fitment.fitted_date,
                mass_change_kg: mass.map(|mass| mass.mass_kg),
                same_day: false,
            });
        }
    }
    work.sort_by(|left, right| {
        let date = |work: &Work| (work.work_date.is_none(), work.work_date);
        (date(left), &left.work, &left.slot).cmp(&(date(right), &right.work, &right.slot))
    });
    work
}

fn mass_of(record: &Record, part: &Name) -> Option<Mass> {
    record.parts.get(part)?.mass
}

fn mass_change_kg(record: &Record, vehicle: &Vehicle, replacement: &Replacement) -> Option<f64> {
    let incoming = mass_of(record, &replacement.incoming_part)?.mass_kg;
    match &replacement.outgoing_part {
        Some(outgoing) => Some(incoming - mass_of(record, outgoing)?.mass_kg),
        None => {
            let empty = vehicle
                .fitments
                .get(&replacement.slot)
                .is_some_and(|fitment| fitment.part.is_none());
            empty.then_some(incoming)
        }
    }
}

fn reason(evidence: &Piece<'_>, by: &[Work]) -> String {
    let dated = evidence.issued_date.map_or_else(
        || format!("{}, of which the date is not known,", evidence.title),
        |date| format!("{} of {date}", evidence.title),
    );
    let work: Vec<String> = by
        .iter()
        .map(|work| {
            let when = work.work_date.map_or_else(
                || "at a date that is not known".to_owned(),
                |date| {
                    if work.same_day {
                        format!("on {date}, the same day; which came first is not recorded")
                    } else {
                        format!("on {date}")
                    }
                },
            );
            format!("{} ({}) {when}", work.slot, work.work.id())
        })
        .collect();
    format!("{dated} is stale: work on {}", work.join(", on "))
}
