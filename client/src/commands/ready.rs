//! `ostler ready`: the verdict on a departure, gate by gate.

use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_proto::v1::{
    CompareReadinessRequest, Finding, FirstStep, Gate, GetReadinessRequest, Readiness, ReadinessView,
    VehicleReadiness,
};

use super::verdict::{
    answer_words, change_blocks, change_records, exit_code, gate_blocks, job_words, of_whom, verdict_tone,
    verdict_words,
};
use super::{Outcome, report, time};
use crate::cli::ReadyArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of, short};

/// Columns of the CSV form: a row per figure, and at least one per finding and gate.
const HEADERS: [&str; 20] = [
    "departure",
    "departure_verdict",
    "vehicle",
    "vehicle_verdict",
    "gate",
    "gate_answer",
    "gate_summary",
    "finding_answer",
    "finding",
    "remedy",
    "missing",
    "records",
    "basis",
    "figure",
    "value",
    "limit",
    "uncertainty",
    "finding_key",
    "acceptance",
    "gate_binds",
];

/// Asks for the verdict.
pub(super) async fn run(session: &Session, args: &ReadyArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    if let Some(since) = &args.since {
        return compare(session, departure, since, args.until.as_deref()).await;
    }
    if let Some(file) = &args.report {
        return report::run(session, departure, file, args.paper).await;
    }
    let vehicle = session.optional_name_beside(&departure, Kind::Vehicle, args.vehicle.as_ref())?;
    let readiness = session
        .connection
        .call(
            GetReadinessRequest {
                departure,
                vehicle,
                known_version: String::new(),
                // Everything, as a server that knows no views answers too.
                view: ReadinessView::Unspecified.into(),
            },
            async |service, request| {
                ReadinessServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .get_readiness(request)
                    .await
            },
        )
        .await?;
    let exit_code = exit_code(readiness.verdict())?;
    Ok(Outcome {
        exit_code,
        ..Outcome::document(document(&readiness, args.full)?)
    })
}

/// Holds the readiness of two moments against each other.
async fn compare(
    session: &Session,
    departure: String,
    since: &str,
    until: Option<&str>,
) -> Result<Outcome, CliError> {
    let request = CompareReadinessRequest {
        departure,
        before_time: Some(time::moment("--since", since)?),
        after_time: until.map(|until| time::moment("--until", until)).transpose()?,
    };
    let answer = session
        .connection
        .call(request, async |service, request| {
            ReadinessServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compare_readiness(request)
                .await
        })
        .await?;
    let exit_code = exit_code(answer.verdict_after())?;
    let words = format!(
        "Then: {}. Later: {}.",
        verdict_words(answer.verdict_before()),
        verdict_words(answer.verdict_after())
    );
    let mut blocks = vec![
        Block::toned(0, verdict_tone(answer.verdict_after()), words),
        Block::Gap,
    ];
    if answer.gates.is_empty() {
        blocks.push(Block::line(0, "No gate differs."));
    }
    blocks.extend(answer.gates.iter().flat_map(change_blocks));
    blocks.extend([
        Block::Gap,
        Block::toned(0, Tone::Heading, "What was changed, newest first"),
    ]);
    for entry in &answer.changes {
        let line = format!("{}: {} {}", entry.actor, entry.action, short(&entry.resource));
        blocks.push(Block::line(2, line));
    }
    if answer.more_changes {
        blocks.push(Block::line(2, "and more: see `ostler history`"));
    }
    let document = Document::of(&answer, blocks, change_records(&answer.gates));
    Ok(Outcome {
        exit_code,
        ..Outcome::document(document)
    })
}

fn document(readiness: &Readiness, full: bool) -> Result<Document, CliError> {
    let verdict = readiness.verdict();
    let head = format!(
        "Departure {}: {}",
        id_of(&readiness.departure),
        verdict_words(verdict)
    );
    let mut blocks = vec![Block::toned(0, verdict_tone(verdict), head)];
    for vehicle in &readiness.vehicles {
        let line = format!("{}: {}", vehicle_words(vehicle), verdict_words(vehicle.verdict()));
        blocks.push(Block::toned(2, verdict_tone(vehicle.verdict()), line));
    }
    for vehicle in &readiness.vehicles {
        let head = format!("{}: {}", vehicle_words(vehicle), verdict_words(vehicle.verdict()));
        blocks.push(Block::Gap);
        blocks.push(Block::toned(0, Tone::Heading, head));
        blocks.extend(vehicle.gates.iter().flat_map(|gate| gate_blocks(gate, full)));
    }
    if !readiness.gates.is_empty() {
        blocks.push(Block::Gap);
        blocks.push(Block::toned(0, Tone::Heading, "The convoy as a whole"));
        blocks.extend(readiness.gates.iter().flat_map(|gate| gate_blocks(gate, full)));
    }
    blocks.extend(what_first(&readiness.first_steps));
    if !readiness.caution.is_empty() {
        blocks.push(Block::Gap);
        blocks.push(Block::toned(
            0,
            Tone::Caution,
            format!("Caution: {}", readiness.caution),
        ));
    }
    if !readiness.record_version.is_empty() {
        blocks.push(Block::toned(
            0,
            Tone::Dim,
            format!("From the record as of {}.", readiness.record_version),
        ));
    }
    Ok(Document::of(readiness, blocks, records(readiness)))
}

/// What to see to first: what nobody has planned, then what takes longest.
fn what_first(steps: &[FirstStep]) -> Vec<Block> {
    let mut blocks = Vec::new();
    let planned = |step: &&FirstStep| {
        let finding = step.finding.as_ref();
        finding.is_some_and(|finding| !finding.clearing_jobs.is_empty())
    };
    let groups = [
        (false, "What first: no job on record clears these"),
        (true, "Then, planned, what takes longest first"),
    ];
    for (is_planned, head) in groups {
        let own: Vec<&FirstStep> = steps.iter().filter(|step| planned(step) == is_planned).collect();
        if own.is_empty() {
            continue;
        }
        blocks.extend([Block::Gap, Block::toned(0, Tone::Heading, head)]);
        blocks.extend(own.into_iter().map(|step| Block::line(2, step_words(step))));
    }
    blocks
}

fn step_words(step: &FirstStep) -> String {
    let finding = step.finding.clone().unwrap_or_default();
    let jobs: Vec<String> = finding.clearing_jobs.iter().map(job_words).collect();
    let jobs = match jobs.is_empty() {
        true => String::new(),
        false => format!("{}: ", jobs.join(", ")),
    };
    format!(
        "- {jobs}{} {}: {}",
        of_whom(&step.vehicle),
        step.gate,
        finding.text
    )
}

fn vehicle_words(vehicle: &VehicleReadiness) -> String {
    let id = id_of(&vehicle.vehicle);
    if vehicle.display_name.is_empty() {
        id.to_owned()
    } else {
        format!("{id} ({})", vehicle.display_name)
    }
}

fn records(readiness: &Readiness) -> Records {
    let mut records = Records::new(HEADERS);
    for vehicle in &readiness.vehicles {
        for gate in &vehicle.gates {
            gate_records(&mut records, readiness, Some(vehicle), gate);
        }
    }
    for gate in &readiness.gates {
        gate_records(&mut records, readiness, None, gate);
    }
    records
}

fn gate_records(
    records: &mut Records,
    readiness: &Readiness,
    vehicle: Option<&VehicleReadiness>,
    gate: &Gate,
) {
    let gate_cells = || {
        vec![
            Cell::text(readiness.departure.as_str()),
            Cell::text(verdict_words(readiness.verdict())),
            vehicle.map_or(Cell::None(""), |vehicle| Cell::text(vehicle.vehicle.as_str())),
            vehicle.map_or(Cell::None(""), |vehicle| {
                Cell::text(verdict_words(vehicle.verdict()))
            }),
            Cell::text(gate.id.as_str()),
            Cell::text(answer_words(gate.answer())),
            Cell::text(gate.summary.as_str()),
        ]
    };
    let mut push = |mut cells: Vec<Cell>, finding: Option<&Finding>| {
        cells.resize(HEADERS.len() - 3, Cell::None(""));
        cells.push(Cell::text(finding.map_or("", |finding| &finding.key)));
        cells.push(Cell::text(finding.map_or("", |finding| &finding.acceptance)));
        cells.push(Cell::yes_no(!gate.not_binding));
        records.push(cells);
    };
    if gate.findings.is_empty() {
        push(gate_cells(), None);
    }
    for finding in &gate.findings {
        let mut cells = gate_cells();
        cells.extend(finding_cells(finding));
        if finding.figures.is_empty() {
            push(cells.clone(), Some(finding));
        }
        for figure in &finding.figures {
            let mut cells = cells.clone();
            cells.push(Cell::text(figure.id.as_str()));
            cells.push(Cell::Number(figure.value));
            cells.push(Cell::maybe(figure.limit));
            cells.push(Cell::maybe(figure.uncertainty));
            push(cells, Some(finding));
        }
    }
}

fn finding_cells(finding: &Finding) -> [Cell; 6] {
    [
        Cell::text(answer_words(finding.answer())),
        Cell::text(finding.text.as_str()),
        Cell::text(finding.remedy.as_str()),
        Cell::list(&finding.missing),
        Cell::list(&finding.records),
        Cell::text(finding.basis.as_str()),
    ]
}

#[cfg(test)]
#[path = "ready_tests.rs"]
mod tests;
