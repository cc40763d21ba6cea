//! What a report says.

use std::collections::BTreeSet;

use ostler_proto::v1::{
    Acceptance, Answer, Figure, Finding, FirstStep, Gate, Readiness, VehicleReadiness, Verdict,
};

use super::{Content, Entry, Part, Report};
use crate::words::{self, decimal};

/// Gates that tell how the plan stands.
const PLAN_GATES: [&str; 2] = ["jobs", "schedule"];

/// Most jobs that are named for one finding.
const JOBS_MAX: usize = 2;

/// Most numbers of a finding that are written out.
const FIGURES_MAX: usize = 6;

pub(super) fn content(report: &Report<'_>) -> Content {
    let readiness = report.readiness;
    let mut parts = vec![Part::Paragraph(in_one_sentence(readiness)), vehicles(readiness)];
    parts.extend(first_steps(&readiness.first_steps));
    parts.extend(plan(readiness));
    parts.extend(open_conditions(readiness));
    parts.extend(signed(report.acceptances));
    for vehicle in &readiness.vehicles {
        let name = vehicle_name(vehicle);
        let verdict = words::verdict(vehicle.verdict());
        parts.push(Part::Heading(format!("{name}: {verdict}")));
        parts.push(gates(&vehicle.gates));
    }
    parts.push(Part::Heading("Convoy".to_owned()));
    parts.push(gates(&readiness.gates));
    parts.extend(sources(report));
    parts.push(Part::Heading("Decision".to_owned()));
    parts.push(Part::Paragraph(readiness.caution.clone()));
    parts.push(Part::Signatures);
    Content {
        title: format!("Readiness of {}", report.departure),
        verdict: readiness.verdict(),
        below: format!("{} to {}", report.departure_date, report.return_date),
        version: readiness.record_version.clone(),
        parts,
    }
}

fn vehicle_name(vehicle: &VehicleReadiness) -> String {
    let id = words::id(&vehicle.vehicle);
    match vehicle.display_name.as_str() {
        "" => id.to_owned(),
        name => format!("{id} {name}"),
    }
}

fn in_one_sentence(readiness: &Readiness) -> String {
    let of = |verdict: Verdict| {
        readiness
            .vehicles
            .iter()
            .filter(|vehicle| vehicle.verdict() == verdict)
            .count()
    };
    let count = readiness.vehicles.len();
    let blocking = readiness.first_steps.len();
    let mut text = format!("Of {count} vehicles {} are go", of(Verdict::Go));
    text = format!(
        "{text}, {} go with conditions, {} no-go.",
        of(Verdict::GoWithConditions),
        of(Verdict::NoGo)
    );
    match blocking {
        0 => format!("{text} Nothing blocks the departure."),
        1 => format!("{text} One finding blocks the departure."),
        _ => format!("{text} {blocking} findings block the departure."),
    }
}

fn vehicles(readiness: &Readiness) -> Part {
    let mut rows: Vec<Vec<Entry>> = readiness
        .vehicles
        .iter()
        .map(|vehicle| counted(&vehicle_name(vehicle), vehicle.verdict(), &vehicle.gates))
        .collect();
    let worst = readiness
        .gates
        .iter()
        .filter(|gate| !gate.not_binding)
        .map(Gate::answer)
        .max_by_key(weight);
    let verdict = match worst {
        None | Some(Answer::Met) => Verdict::Go,
        Some(Answer::MetWithConditions) => Verdict::GoWithConditions,
        Some(_) => Verdict::NoGo,
    };
    rows.push(counted("Convoy", verdict, &readiness.gates));
    Part::Table {
        head: vec![
            "vehicle",
            "verdict",
            "not met",
            "not known",
            "open conditions",
            "signed",
        ],
        shares: vec![3.4, 2.0, -1.0, -1.1, -1.6, -1.0],
        rows,
    }
}

/// The order of answers from best to worst.
fn weight(answer: &Answer) -> u8 {
    match answer {
        Answer::Met => 0,
        Answer::MetWithConditions => 1,
        Answer::NotKnown | Answer::Unspecified => 2,
        Answer::NotMet => 3,
    }
}

fn counted(name: &str, verdict: Verdict, gates: &[Gate]) -> Vec<Entry> {
    let findings = || gates.iter().flat_map(|gate| &gate.findings);
    let with = |answer: Answer| findings().filter(|finding| finding.answer() == answer).count();
    let signed = findings()
        .filter(|finding| !finding.acceptance.is_empty())
        .count();
    let shown = match verdict {
        Verdict::Go => Answer::Met,
        Verdict::GoWithConditions => Answer::MetWithConditions,
        Verdict::NoGo | Verdict::Unspecified => Answer::NotMet,
    };
    vec![
        name.into(),
        Entry {
            text: words::verdict(verdict).to_uppercase(),
            answer: Some(shown),
        },
        with(Answer::NotMet).to_string().into(),
        with(Answer::NotKnown).to_string().into(),
        (with(Answer::MetWithConditions).saturating_sub(signed))
            .to_string()
            .into(),
        signed.to_string().into(),
    ]
}

/// What blocks, in the order in which to see to it.
fn first_steps(steps: &[FirstStep]) -> Vec<Part> {
    if steps.is_empty() {
        return Vec::new();
    }
    let rows = steps.iter().enumerate().map(|(index, step)| {
        let finding = step.finding.clone().unwrap_or_default();
        let whose = match step.vehicle.as_str() {
            "" => "convoy",
            vehicle => words::id(vehicle),
        };
        vec![
            (index + 1).to_string().into(),
            format!("{whose} {}", step.gate).into(),
            Entry {
                text: words::answer(finding.answer()).to_owned(),
                answer: Some(finding.answer()),
            },
            finding.text.clone().into(),
            clears(&finding).into(),
        ]
    });
    vec![
        Part::Heading("What blocks, and what first".to_owned()),
        Part::Paragraph(
            "In the order in which to see to it: what no job on record clears, then what the plan finishes last.".to_owned(),
        ),
        Part::Table {
            head: vec!["", "gate", "answer", "found", "what clears it"],
            shares: vec![-0.45, 1.4, 1.2, 4.0, 3.0],
            rows: rows.collect(),
        },
    ]
}

/// The jobs that clear a finding, else what would.
fn clears(finding: &Finding) -> String {
    if finding.clearing_jobs.is_empty() {
        return finding.remedy.clone();
    }
    let jobs = finding.clearing_jobs.iter().take(JOBS_MAX).map(|job| {
        let hours = job.hours_left.map_or_else(String::new, |hours| {
            format!(", {} h left", decimal((hours * 10.0).round() / 10.0))
        });
        let date = match job.finish_date.as_str() {
            "" => ", not planned".to_owned(),
            date => format!(", planned until {date}"),
        };
        format!("job {} {}{hours}{date}", words::id(&job.job), job.display_name)
    });
    let shown = jobs.collect::<Vec<_>>().join("; ");
    match finding.clearing_jobs.len().saturating_sub(JOBS_MAX) {
        0 => shown,
        more => format!("{shown}; and {more} more"),
    }
}

/// How the plan stands, vehicle by vehicle.
fn plan(readiness: &Readiness) -> Vec<Part> {
    let mut rows = Vec::new();
    for vehicle in &readiness.vehicles {
        for gate in vehicle
            .gates
            .iter()
            .filter(|gate| PLAN_GATES.contains(&gate.id.as_str()))
        {
            rows.push(vec![
                words::id(&vehicle.vehicle).into(),
                gate.id.as_str().into(),
                Entry {
                    text: words::answer(gate.answer()).to_owned(),
                    answer: Some(gate.answer()),
                },
                gate.summary.as_str().into(),
                numbers(gate.findings.iter().flat_map(|finding| &finding.figures)).into(),
            ]);
        }
    }
    vec![
        Part::Heading("How the plan stands".to_owned()),
        Part::Table {
            head: vec!["", "gate", "answer", "in short", "numbers"],
            shares: vec![0.5, 1.0, 1.4, 4.2, 2.8],
            rows,
        },
    ]
}

/// Conditions that nobody has signed for.
fn open_conditions(readiness: &Readiness) -> Vec<Part> {
    let mut rows: Vec<Vec<Entry>> = Vec::new();
    let mut take = |whose: &str, gates: &[Gate]| {
        for gate in gates {
            let open = gate.findings.iter().filter(|finding| {
                finding.answer() == Answer::MetWithConditions && finding.acceptance.is_empty()
            });
            for finding in open {
                rows.push(vec![
                    format!("{whose} {}", gate.id).into(),
                    finding.text.as_str().into(),
                    finding.remedy.as_str().into(),
                    finding.key.as_str().into(),
                ]);
            }
        }
    };
    for vehicle in &readiness.vehicles {
        take(words::id(&vehicle.vehicle), &vehicle.gates);
    }
    take("convoy", &readiness.gates);
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Part::Heading("Conditions to sign for, or to clear".to_owned()),
        Part::Table {
            head: vec!["gate", "found", "condition or remedy", "key to sign with"],
            shares: vec![1.4, 3.6, 2.8, 2.2],
            rows,
        },
    ]
}

fn signed(acceptances: &[Acceptance]) -> Vec<Part> {
    if acceptances.is_empty() {
        return Vec::new();
    }
    let rows = acceptances.iter().map(|acceptance| {
        let accepted = acceptance.condition.clone().unwrap_or_default();
        let whose = match acceptance.vehicle.as_str() {
            "" => "convoy",
            vehicle => words::id(vehicle),
        };
        vec![
            format!("{whose} {}", acceptance.gate).into(),
            acceptance.finding_text.as_str().into(),
            accepted.condition.into(),
            format!("{}, {}", accepted.owner, accepted.check_interval).into(),
            format!(
                "{}, {}, token {}",
                accepted.accepted_by, accepted.accepted_date, acceptance.signed_by
            )
            .into(),
        ]
    });
    vec![
        Part::Heading("Conditions that were signed for".to_owned()),
        Part::Paragraph("A signature holds while its finding is no worse than when it was given.".to_owned()),
        Part::Table {
            head: vec!["gate", "found then", "condition", "kept by, how often", "signed"],
            shares: vec![1.2, 2.8, 2.4, 1.8, 1.8],
            rows: rows.collect(),
        },
    ]
}

/// The gates of a vehicle with their numbers.
fn gates(gates: &[Gate]) -> Part {
    let rows = gates.iter().map(|gate| {
        let binding = if gate.not_binding { " (not binding)" } else { "" };
        vec![
            format!("{}{binding}", gate.id).into(),
            Entry {
                text: words::answer(gate.answer()).to_owned(),
                answer: Some(gate.answer()),
            },
            gate.summary.as_str().into(),
            numbers(gate.findings.iter().flat_map(|finding| &finding.figures)).into(),
        ]
    });
    Part::Table {
        head: vec!["gate", "answer", "in short", "numbers"],
        shares: vec![1.4, 1.4, 4.2, 3.0],
        rows: rows.collect(),
    }
}

/// The numbers behind an answer.
fn numbers<'a>(figures: impl Iterator<Item = &'a Figure>) -> String {
    let all: Vec<String> = figures.map(number).collect();
    let shown = all.get(..FIGURES_MAX).unwrap_or(&all).join("; ");
    match all.len().saturating_sub(FIGURES_MAX) {
        0 => shown,
        more => format!("{shown}; and {more} more"),
    }
}

fn number(figure: &Figure) -> String {
    let mut text = format!("{} {}", figure.id, decimal(figure.value));
    if let Some(uncertainty) = figure.uncertainty {
        text = format!("{text} ± {}", decimal(uncertainty));
    }
    if let Some(limit) = figure.limit {
        text = format!("{text} (limit {})", decimal(limit));
    }
    text
}

fn sources(report: &Report<'_>) -> Vec<Part> {
    let readiness = report.readiness;
    let every = readiness
        .vehicles
        .iter()
        .flat_map(|vehicle| &vehicle.gates)
        .chain(&readiness.gates);
    let bases: BTreeSet<&str> = every
        .flat_map(|gate| &gate.findings)
        .map(|finding| finding.basis.as_str())
        .filter(|basis| !basis.is_empty())
        .collect();
    let mut parts = vec![
        Part::Heading("What it was computed from".to_owned()),
        Part::Paragraph(format!("Record and day: {}.", readiness.record_version)),
    ];
    for pack in report.rule_packs {
        parts.push(Part::Paragraph(format!(
            "Rule pack {} ({}), version {}, in force from {}.",
            words::id(&pack.rule_pack),
            pack.display_name,
            pack.version,
            pack.effective_date
        )));
    }
    parts.push(Part::Paragraph(format!(
        "Formulas and rules: {}.",
        bases.into_iter().collect::<Vec<_>>().join("; ")
    )));
    parts
}
