//! Readiness as the demo shows it.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::say;

/// Answers by gate and vehicle; the convoy's own under `convoy`.
pub(crate) fn answers(readiness: &Value) -> BTreeMap<(String, String), String> {
    let mut answers = BTreeMap::new();
    let mut take = |subject: &str, gates: Option<&Value>| {
        for gate in gates.and_then(Value::as_array).into_iter().flatten() {
            answers.insert((text(gate, "id"), subject.to_owned()), answer(gate));
        }
    };
    for vehicle in readiness
        .get("vehicles")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
    {
        let name = text(vehicle, "vehicle");
        take(name.rsplit('/').next().unwrap_or(&name), vehicle.get("gates"));
    }
    take("convoy", readiness.get("gates"));
    answers
}

pub(crate) fn answer(gate: &Value) -> String {
    text(gate, "answer")
        .trim_start_matches("ANSWER_")
        .to_lowercase()
        .replace('_', " ")
}

pub(crate) fn text(value: &Value, field: &str) -> String {
    value
        .get(field)
        .and_then(Value::as_str)
        .unwrap_or_default()
        .to_owned()
}

pub(crate) fn print_answers(readiness: &Value, before: Option<&Value>) {
    let now = answers(readiness);
    let then = before.map(answers).unwrap_or_else(|| now.clone());
    let mut subjects: Vec<&String> = now.keys().map(|(_, subject)| subject).collect();
    subjects.sort_by_key(|subject| (subject.as_str() == "convoy", subject.to_owned()));
    subjects.dedup();
    let mut gates: Vec<&String> = now.keys().map(|(gate, _)| gate).collect();
    gates.dedup();
    let short = |answer: &str| match answer {
        "met with conditions" => "conditions".to_owned(),
        other => other.to_owned(),
    };
    let row = |first: &str, cells: Vec<String>| {
        let cells: String = cells.iter().map(|cell| format!("{cell:<13}")).collect();
        say(format!("{first:<15}{cells}").trim_end());
    };
    row("", subjects.iter().map(|subject| (*subject).clone()).collect());
    for gate in gates {
        let cell = |subject: &&String| {
            let key = (gate.clone(), (*subject).clone());
            match (now.get(&key), then.get(&key)) {
                (Some(now), Some(then)) if now != then => format!("* {}", short(now)),
                (Some(now), _) => short(now),
                (None, _) => "-".to_owned(),
            }
        };
        row(gate, subjects.iter().map(cell).collect());
    }
    say(&format!(
        "\nverdict: {}",
        text(readiness, "verdict")
            .trim_start_matches("VERDICT_")
            .replace('_', "-")
            .to_lowercase()
    ));
    for ((gate, subject), answer) in &now {
        if let Some(was) = then
            .get(&(gate.clone(), subject.clone()))
            .filter(|was| *was != answer)
        {
            say(&format!("* {gate} of {subject}: {was} -> {answer}"));
        }
    }
}

/// Everything that is not met or not known, vehicle by vehicle.
pub(crate) fn print_obstacles(readiness: &Value) {
    say("\nWhat stands in the way:");
    for vehicle in readiness
        .get("vehicles")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
    {
        let name = text(vehicle, "vehicle");
        let id = name.rsplit('/').next().unwrap_or(&name);
        for gate in vehicle
            .get("gates")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
        {
            let findings = gate
                .get("findings")
                .and_then(Value::as_array)
                .into_iter()
                .flatten();
            for finding in
                findings.filter(|finding| matches!(answer(finding).as_str(), "not met" | "not known"))
            {
                say(&format!("  {id} {}: {}", text(gate, "id"), text(finding, "text")));
            }
        }
    }
}
