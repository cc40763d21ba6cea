//! `ostler load reconcile`: a weighing against what is computed for its moment, on record or in a file.

use std::path::Path;

use ostler_proto::v1::weighing_service_client::WeighingServiceClient;
use ostler_proto::v1::{
    AdoptBaselineRequest, CalculateReconciliationRequest, MassDifference, ReconcileWeighingRequest,
    Reconciliation,
};
use prost_reflect::ReflectMessage;

use super::{Outcome, nothing_named};
use crate::cli::{ReconcileArgs, WriteArgs};
use crate::commands::resource;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number};
use crate::session::{Session, id_of, short};

/// Asks for the reconciliation.
pub(super) async fn run(session: &Session, args: &ReconcileArgs) -> Result<Outcome, CliError> {
    let reconciliation = match (&args.file, &args.weighing) {
        (Some(file), _) => of_file(session, file).await?,
        (None, Some(weighing)) => {
            let name = session.name(Kind::Weighing, weighing).await?;
            if args.adopt {
                return adopt(session, name, &args.write).await;
            }
            let against = match &args.against {
                Some(against) => session.name_beside(&name, Kind::Weighing, against)?,
                None => String::new(),
            };
            of_weighing(session, ReconcileWeighingRequest { name, against }).await?
        }
        (None, None) => return Err(nothing_named("a weighing")),
    };
    Ok(Outcome::document(Document::of(
        &reconciliation,
        blocks(&reconciliation),
        records(&reconciliation),
    )))
}

async fn of_weighing(
    session: &Session,
    request: ReconcileWeighingRequest,
) -> Result<Reconciliation, CliError> {
    session
        .connection
        .call(request, async |service, request| {
            WeighingServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .reconcile_weighing(request)
                .await
        })
        .await
}

async fn of_file(session: &Session, file: &Path) -> Result<Reconciliation, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let request: CalculateReconciliationRequest = input::request(file, "")?;
    session
        .connection
        .call(request, async |service, request| {
            WeighingServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .calculate_reconciliation(request)
                .await
        })
        .await
}

async fn adopt(session: &Session, name: String, write: &WriteArgs) -> Result<Outcome, CliError> {
    let weighing = id_of(&name).to_owned();
    let request = AdoptBaselineRequest {
        name,
        vehicle_etag: String::new(),
        request_id: write.request_id(),
        validate_only: write.dry_run,
    };
    let vehicle = session
        .connection
        .call(request, async |service, request| {
            WeighingServiceClient::new(service).adopt_baseline(request).await
        })
        .await?;
    let done = format!(
        "weighing {weighing} adopted as the baseline of {}",
        id_of(&vehicle.name)
    );
    resource::written(&done, &vehicle.transcode_to_dynamic(), write)
}

fn differences(of: &Reconciliation) -> [(&'static str, Option<&MassDifference>); 3] {
    [
        ("total", of.total.as_ref()),
        ("front axle", of.front_axle.as_ref()),
        ("rear axle", of.rear_axle.as_ref()),
    ]
}

/// What a difference means.
fn meaning(difference: Option<&MassDifference>) -> &'static str {
    match difference {
        None => "not known",
        Some(difference) if difference.significant => "unexplained",
        Some(_) => "within tolerance",
    }
}

fn blocks(of: &Reconciliation) -> Vec<Block> {
    let head = match of.weighing.as_str() {
        "" => "The readings in the file".to_owned(),
        weighing => format!("Weighing {} of {}", id_of(weighing), id_of(&of.vehicle)),
    };
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if !of.missing.is_empty() {
        let text = "NOT KNOWN: the computed side leaves these out:";
        blocks.push(Block::toned(0, Tone::Bad, text));
        blocks.extend(
            of.missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    blocks.extend([Block::Gap, Block::Table(table(of)), Block::Gap]);
    if let Some(centre) = &of.centre {
        let side = match centre.y_mm {
            Some(y_mm) => format!("{} mm to the right", number(y_mm)),
            None => "side not known".to_owned(),
        };
        let text = format!(
            "The unexplained mass sits {} mm aft of the front axle (+/- {}), {side}.",
            number(centre.x_mm.round()),
            number(centre.x_uncertainty_mm.round())
        );
        blocks.push(Block::line(0, text));
    }
    let baseline = if of.baseline.is_empty() {
        "none"
    } else {
        short(&of.baseline)
    };
    let text = format!("Computed from: {baseline}. Formula: {}.", of.formula_version);
    blocks.push(Block::toned(0, Tone::Dim, text));
    blocks
}

fn table(of: &Reconciliation) -> Records {
    let mut table = Records::new([
        "",
        "measured kg",
        "computed kg",
        "unexplained kg",
        "+/- kg",
        "meaning",
    ]);
    for (name, difference) in differences(of) {
        table.push([
            Cell::text(name),
            Cell::known(difference.map(|difference| difference.measured_kg)),
            Cell::known(difference.map(|difference| difference.computed_kg)),
            Cell::known(difference.map(|difference| difference.unexplained_kg)),
            Cell::known(difference.map(|difference| difference.uncertainty_kg)),
            Cell::text(meaning(difference)),
        ]);
    }
    table
}

fn records(of: &Reconciliation) -> Records {
    let mut records = Records::new([
        "weighing",
        "vehicle",
        "item",
        "measured_kg",
        "computed_kg",
        "unexplained_kg",
        "uncertainty_kg",
        "meaning",
    ]);
    for (name, difference) in differences(of) {
        records.push([
            Cell::text(of.weighing.as_str()),
            Cell::text(of.vehicle.as_str()),
            Cell::text(name),
            Cell::maybe(difference.map(|difference| difference.measured_kg)),
            Cell::maybe(difference.map(|difference| difference.computed_kg)),
            Cell::maybe(difference.map(|difference| difference.unexplained_kg)),
            Cell::maybe(difference.map(|difference| difference.uncertainty_kg)),
            Cell::text(meaning(difference)),
        ]);
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::UnexplainedCentre;

    fn reconciliation() -> Reconciliation {
        Reconciliation {
            weighing: "fleets/orrin/weighings/w2".to_owned(),
            vehicle: "fleets/orrin/vehicles/v1".to_owned(),
            baseline: "fleets/orrin/weighings/w1".to_owned(),
            total: Some(MassDifference {
                measured_kg: 2500.0,
                computed_kg: 2410.0,
                unexplained_kg: 90.0,
                uncertainty_kg: 10.0,
                significant: true,
                untoleranced_count: 0,
            }),
            centre: Some(UnexplainedCentre {
                x_mm: 2000.4,
                x_uncertainty_mm: 250.2,
                y_mm: None,
            }),
            missing: vec!["the mass of part x is not known".to_owned()],
            formula_version: "reconciliation/1".to_owned(),
            ..Default::default()
        }
    }

    #[test]
    fn a_reconciliation_says_what_is_unexplained_where_and_what_is_missing() {
        let of = reconciliation();
        let document = Document::of(&of, blocks(&of), records(&of));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "Weighing w2 of v1",
            "- the mass of part x is not known",
            "unexplained",
            "2000 mm aft",
            "side not",
            "not known",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        let csv = document.render(Format::Csv, Style::plain()).unwrap();
        assert_eq!(csv.lines().count(), 4, "{csv}");
    }
}
