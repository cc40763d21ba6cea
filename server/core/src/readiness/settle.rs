//! Settles gates: gives findings their keys, counts signed conditions as met, and marks what does not bind.

use super::{Finding, Gate};
use crate::answer::Answer;
use crate::record::{Acceptance, Departure, Name, Record};

/// Longest part of a key that is taken from a text.
const WORDS_MAX: usize = 80;

/// Settles the gates of `vehicle`, or of the convoy.
pub(super) fn settle(
    record: &Record,
    departure: &Departure,
    vehicle: Option<&Name>,
    mut gates: Vec<Gate>,
) -> Vec<Gate> {
    let signed: Vec<&Acceptance> = record
        .acceptances
        .values()
        .filter(|acceptance| acceptance.departure == departure.name && acceptance.vehicle.as_ref() == vehicle)
        .collect();
    let policy = &departure.policy;
    for gate in &mut gates {
        gate.not_binding = policy.not_binding_gates.iter().any(|id| **id == *gate.id);
        give_keys(&mut gate.findings, &departure.name, vehicle);
        let of_gate = || signed.iter().filter(|acceptance| *acceptance.gate == *gate.id);
        for finding in &mut gate.findings {
            finding.acceptance = of_gate()
                .find(|acceptance| holds(acceptance, finding))
                .map(|acceptance| acceptance.name.clone());
        }
        count_signed(gate);
    }
    gates
}

/// Whether an acceptance speaks of a finding, and the finding is no worse than what was signed for.
fn holds(acceptance: &Acceptance, finding: &Finding) -> bool {
    let figure = finding.figures.first();
    finding.answer == Answer::MetWithConditions
        && !finding.key.is_empty()
        && finding.key == acceptance.finding
        && acceptance.covers(
            figure.map(|figure| figure.value),
            figure.and_then(|figure| figure.limit),
        )
}

/// The gate's answer again, with what is signed for counted as met.
fn count_signed(gate: &mut Gate) {
    let signed = gate
        .findings
        .iter()
        .filter(|finding| finding.acceptance.is_some())
        .count();
    if signed == 0 || gate.answer != Answer::MetWithConditions {
        return;
    }
    let open = gate
        .findings
        .iter()
        .filter(|finding| finding.answer == Answer::MetWithConditions && finding.acceptance.is_none())
        .collect::<Vec<_>>();
    match open.as_slice() {
        [] => {
            gate.answer = Answer::Met;
            gate.summary = match signed {
                1 => "met, one condition is signed for".to_owned(),
                count => format!("met, {count} conditions are signed for"),
            };
        }
        [one] => gate.summary.clone_from(&one.text),
        [first, rest @ ..] => gate.summary = format!("{}; and {} more", first.text, rest.len()),
    }
}

/// Gives each finding the shortest key that tells it from the others: its first figure or else its records, then
/// records and figures, then its words as well. Those that still cannot be told apart get none, so that
/// nobody signs for the wrong one.
fn give_keys(findings: &mut [Finding], departure: &Name, vehicle: Option<&Name>) {
    let mut without: Vec<usize> = (0..findings.len()).collect();
    for key in [short_subject, subject, subject_and_words] {
        // Nearly all are told apart by the first, and the last takes the longest.
        if without.is_empty() {
            return;
        }
        let keys: Vec<String> = findings
            .iter()
            .map(|finding| key(finding, departure, vehicle))
            .collect();
        without.retain(|index| {
            let own = &keys[*index];
            let alone = !own.is_empty() && keys.iter().filter(|key| *key == own).count() == 1;
            if alone {
                findings[*index].key.clone_from(own);
            }
            !alone
        });
    }
    for index in without {
        findings[index].key.clear();
    }
}

fn short_subject(finding: &Finding, departure: &Name, vehicle: Option<&Name>) -> String {
    match finding.figures.first() {
        Some(figure) => figure.id.clone(),
        None => subject(finding, departure, vehicle),
    }
}

/// Ids of the records and figures that a finding is about, apart from the departure and the vehicle.
fn subject(finding: &Finding, departure: &Name, vehicle: Option<&Name>) -> String {
    let records = finding
        .records
        .iter()
        .filter(|name| *name != departure && Some(*name) != vehicle)
        .map(Name::id);
    let figures = finding.figures.iter().map(|figure| figure.id.as_str());
    joined(records.chain(figures))
}

fn subject_and_words(finding: &Finding, departure: &Name, vehicle: Option<&Name>) -> String {
    joined([
        subject(finding, departure, vehicle).as_str(),
        &words(&finding.text),
    ])
}

fn joined<'a>(parts: impl IntoIterator<Item = &'a str>) -> String {
    let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join("/")
}

/// The words of a text without its numbers.
fn words(text: &str) -> String {
    let words: Vec<String> = text
        .split(|character: char| !character.is_alphanumeric())
        .filter(|word| !word.is_empty() && !word.starts_with(|first: char| first.is_ascii_digit()))
        .map(str::to_lowercase)
        .collect();
    words.join("-").chars().take(WORDS_MAX).collect()
}
