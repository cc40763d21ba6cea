//! `ostler load lean`: why a vehicle leans, from measured heights, on record or in a file.

use std::path::Path;

use ostler_proto::v1::stance_service_client::StanceServiceClient;
use ostler_proto::v1::{
    CalculateLeanRequest, DiagnoseLeanRequest, HeightKind, HeightReading, Heights, LeanDiagnosis,
};

use super::{Outcome, nothing_named};
use crate::cli::LoadLeanArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of};

/// Asks for the diagnosis.
pub(super) async fn run(session: &Session, args: &LoadLeanArgs) -> Result<Outcome, CliError> {
    let diagnosis = match (&args.file, &args.weighing) {
        (Some(file), _) => of_file(session, file).await?,
        (None, Some(weighing)) => {
            let name = session.name(Kind::Weighing, weighing).await?;
            let heights = heights(args);
            of_weighing(session, DiagnoseLeanRequest { name, heights }).await?
        }
        (None, None) => return Err(nothing_named("a weighing")),
    };
    Ok(Outcome::document(Document::of(
        &diagnosis,
        blocks(&diagnosis),
        records(&diagnosis),
    )))
}

async fn of_weighing(session: &Session, request: DiagnoseLeanRequest) -> Result<LeanDiagnosis, CliError> {
    session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .diagnose_lean(request)
                .await
        })
        .await
}

async fn of_file(session: &Session, file: &Path) -> Result<LeanDiagnosis, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let request: CalculateLeanRequest = input::request(file, "")?;
    session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .calculate_lean(request)
                .await
        })
        .await
}

/// The given heights. `None`: those of the weighing.
fn heights(args: &LoadLeanArgs) -> Option<Heights> {
    let given = [
        (HeightKind::HubToArch, &args.hub_to_arch),
        (HeightKind::ArchToFloor, &args.arch_to_floor),
    ];
    let readings: Vec<HeightReading> = given
        .into_iter()
        .flat_map(|(kind, heights)| {
            heights.iter().map(move |height| HeightReading {
                wheel: height.wheel.into(),
                kind: kind.into(),
                height_mm: height.height_mm,
                tolerance_mm: None,
            })
        })
        .collect();
    (!readings.is_empty()).then_some(Heights {
        floor_level: args.level_floor,
        readings,
    })
}

/// Causes shown to people; scripts get all.
const CAUSES_SHOWN: usize = 5;

fn blocks(diagnosis: &LeanDiagnosis) -> Vec<Block> {
    let head = match diagnosis.weighing.as_str() {
        "" => "Why the vehicle in the file leans".to_owned(),
        weighing => format!(
            "Why {} leans, from the heights of {}",
            id_of(&diagnosis.vehicle),
            id_of(weighing)
        ),
    };
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if !diagnosis.missing.is_empty() {
        let text = "NOT KNOWN: no cause can be ranked without:";
        blocks.push(Block::toned(0, Tone::Bad, text));
        blocks.extend(
            diagnosis
                .missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    for cause in diagnosis.causes.iter().take(CAUSES_SHOWN) {
        let text = format!("{:>3.0} %  {}", cause.probability * 100.0, cause.explanation);
        blocks.push(Block::line(2, text));
    }
    if let Some(next) = diagnosis.next_measurements.first() {
        let text = "To tell the first two apart, measure next:";
        blocks.extend([Block::Gap, Block::line(0, text)]);
        blocks.extend(next.predictions.iter().map(|prediction| {
            let text = format!(
                "{}: {:.1} {unit} by the first, {:.1} {unit} by the second (± {:.1} {unit})",
                prediction.quantity,
                prediction.leading,
                prediction.second,
                prediction.standard_deviation,
                unit = prediction.unit
            );
            Block::line(2, text)
        }));
        if !next.caution.is_empty() {
            blocks.push(Block::line(2, next.caution.as_str()));
        }
    }
    blocks.push(Block::Gap);
    blocks.extend(Block::closing(&diagnosis.cautions, &diagnosis.formula_version));
    blocks
}

/// One row per cause.
fn records(diagnosis: &LeanDiagnosis) -> Records {
    let mut records = Records::new([
        "vehicle",
        "weighing",
        "cause",
        "prior",
        "probability",
        "front_difference_mm",
        "rear_difference_mm",
    ]);
    for cause in &diagnosis.causes {
        records.push([
            Cell::text(diagnosis.vehicle.as_str()),
            Cell::text(diagnosis.weighing.as_str()),
            Cell::text(cause.explanation.as_str()),
            Cell::Number(cause.prior),
            Cell::Number(cause.probability),
            Cell::Number(cause.front_difference_mm),
            Cell::Number(cause.rear_difference_mm),
        ]);
    }
    records
}
