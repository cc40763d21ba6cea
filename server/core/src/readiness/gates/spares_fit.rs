//! Spares fit: has every vehicle a spare wheel in the convoy that serves it?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::record::{Departure, Name, Record};
use crate::tyres::convoy::ConvoySpares;
use crate::tyres::interchange::{Outcome, SpareKind, UNLIKE_TYRES_CAUTION};
use crate::tyres::recorded::FORMULA_VERSION;

/// Spares fit.
pub(super) fn gate(record: &Record, departure: &Departure, spares: &ConvoySpares) -> Gate {
    let mut findings = Vec::new();
    if let Some(first) = spares.missing.first() {
        let text = match spares.missing.len() {
            1 => format!("not known: {first}"),
            count => format!("not known: {first}; and {} more", count - 1),
        };
        let mut finding = finding(Answer::NotKnown, text, vec![departure.name.clone()]);
        finding.remedy = "record what is missing, or set it in the departure's policy".to_owned();
        finding.missing.clone_from(&spares.missing);
        findings.push(finding);
    }
    // Without a policy nothing was compared, which is said above.
    if spares.missing.is_empty() || !spares.pairs.is_empty() {
        findings.extend(
            departure
                .vehicles
                .iter()
                .map(|going| of_vehicle(record, departure, spares, &going.vehicle)),
        );
    }
    build(
        "spares_fit",
        "Has every vehicle a spare wheel in the convoy that serves it?",
        findings,
        "every vehicle has a spare wheel that serves it".to_owned(),
    )
}

fn finding(answer: Answer, text: String, records: Vec<Name>) -> Finding {
    Finding::new(answer, text, records).basis(FORMULA_VERSION)
}

/// Spares of a kind and an outcome for a vehicle, in words, with the records of them.
struct Serving {
    words: Vec<String>,
    items: Vec<Name>,
}

fn serving(
    record: &Record,
    spares: &ConvoySpares,
    vehicle: &Name,
    wheels: bool,
    outcome: Outcome,
) -> Serving {
    let found = spares.spares.iter().enumerate().filter(|(index, carried)| {
        matches!(carried.spare.kind, SpareKind::Wheel(..)) == wheels
            && spares.outcome(*index, vehicle) == Some(outcome)
    });
    let (words, items) = found
        .map(|(_, carried)| {
            let on = record
                .vehicles
                .get(&carried.carried_on)
                .filter(|_| carried.carried_on != *vehicle)
                .map_or_else(String::new, |other| format!(" on {}", other.name.id()));
            (
                format!("{} ({}{on})", carried.display_name, carried.item.id()),
                carried.item.clone(),
            )
        })
        .unzip();
    Serving { words, items }
}

fn of_vehicle(record: &Record, departure: &Departure, spares: &ConvoySpares, vehicle: &Name) -> Finding {
    let title = record
        .vehicles
        .get(vehicle)
        .map_or(vehicle.id(), |vehicle| vehicle.display_name.as_str());
    let by = |wheels, outcome| serving(record, spares, vehicle, wheels, outcome);
    let records = |serving: &Serving| {
        let mut records = serving.items.clone();
        records.extend([vehicle.clone(), departure.name.clone()]);
        records
    };
    let serves = by(true, Outcome::Serves);
    let emergency = by(true, Outcome::EmergencyOnly);
    let unknown = by(true, Outcome::NotKnown);
    let loose = by(false, Outcome::Serves);
    let also = |serving: &Serving, what: &str| {
        if serving.words.is_empty() {
            String::new()
        } else {
            format!("; {what}: {}", serving.words.join(", "))
        }
    };
    if !serves.words.is_empty() {
        let text = format!(
            "{title} is served by {}{}{}",
            serves.words.join(", "),
            also(&emergency, "in emergency also"),
            also(&loose, "without a rim or a tyre")
        );
        return finding(Answer::Met, text, records(&serves));
    }
    if !unknown.words.is_empty() {
        let missing = missing_of(spares, vehicle);
        let text = format!(
            "whether a spare wheel serves {title} is not known: {}",
            missing.join(", ")
        );
        let mut finding = finding(Answer::NotKnown, text, records(&unknown));
        finding.remedy = "measure it, and try the wheel on the hub".to_owned();
        finding.missing = missing;
        return finding;
    }
    if !emergency.words.is_empty() || !loose.words.is_empty() {
        let text = format!(
            "no spare wheel serves {title} as its own would{}{}",
            also(&emergency, "in emergency only"),
            also(&loose, "without a rim or a tyre")
        );
        let mut all = records(&emergency);
        all.extend(loose.items);
        let mut finding = finding(Answer::MetWithConditions, text, all);
        finding.remedy = format!("take a spare wheel that serves it. {UNLIKE_TYRES_CAUTION}");
        return finding;
    }
    let text = format!(
        "no spare wheel of the convoy serves {title}{}",
        why_not(spares, vehicle)
    );
    let mut finding = finding(
        Answer::NotMet,
        text,
        vec![vehicle.clone(), departure.name.clone()],
    );
    finding.remedy =
        "take a spare wheel that serves it; record it as the spare_wheel of a cargo item".to_owned();
    finding
}

/// The data that are missing to compare complete wheels with a vehicle, each once.
fn missing_of(spares: &ConvoySpares, vehicle: &Name) -> Vec<String> {
    let mut missing: Vec<String> = Vec::new();
    for pair in spares.pairs.iter().filter(|pair| pair.vehicle == *vehicle) {
        let Some(carried) = spares.spares.get(pair.spare) else {
            continue;
        };
        if pair.interchange.outcome != Outcome::NotKnown
            || !matches!(carried.spare.kind, SpareKind::Wheel(..))
        {
            continue;
        }
        for field in pair.interchange.missing() {
            let sentence = format!("{field} ({})", carried.item.id());
            if !missing.contains(&sentence) {
                missing.push(sentence);
            }
        }
    }
    missing
}

/// Why the spare that the vehicle itself carries does not serve it.
fn why_not(spares: &ConvoySpares, vehicle: &Name) -> String {
    let own = spares.pairs.iter().find(|pair| {
        pair.vehicle == *vehicle
            && spares
                .spares
                .get(pair.spare)
                .is_some_and(|carried| carried.carried_on == *vehicle)
    });
    let worst = own.and_then(|pair| {
        pair.interchange
            .findings
            .iter()
            .find(|finding| finding.outcome == Outcome::DoesNotServe)
    });
    worst.map_or_else(String::new, |finding| format!(": {} of its own", finding.reason))
}
