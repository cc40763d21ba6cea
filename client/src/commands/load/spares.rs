//! `ostler load spares`: which spare of the convoy serves which vehicle.

use ostler_proto::v1::tyre_service_client::TyreServiceClient;
use ostler_proto::v1::{
    ComputeSpareInterchangeRequest, ComputeSpareInterchangeResponse, SpareInterchange, SpareOutcome,
};

use super::Outcome;
use crate::cli::LoadSparesArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, word};
use crate::session::{Session, id_of};

/// Asks for the comparison.
pub(super) async fn run(session: &Session, args: &LoadSparesArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let head = format!("Spare wheels and tyres of {}", id_of(&departure));
    let spares = session
        .connection
        .call(
            ComputeSpareInterchangeRequest { departure },
            async |service, request| {
                TyreServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .compute_spare_interchange(request)
                    .await
            },
        )
        .await?;
    Ok(Outcome::document(Document::of(
        &spares,
        blocks(&spares, head),
        records(&spares),
    )))
}

fn outcome(pair: &SpareInterchange) -> String {
    word("SpareOutcome", pair.outcome().as_str_name())
}

/// The vehicle, with its axle where the two differ.
fn place(pair: &SpareInterchange) -> String {
    match pair.axle.as_str() {
        "" => id_of(&pair.vehicle).to_owned(),
        axle => format!("{} {axle}", id_of(&pair.vehicle)),
    }
}

/// The points that decide the outcome, with their reasons.
fn deciding(pair: &SpareInterchange) -> String {
    let points = pair
        .points
        .iter()
        .filter(|point| point.outcome == pair.outcome && point.outcome() != SpareOutcome::Serves);
    let reasons: Vec<String> = points
        .map(|point| format!("{}: {}", point.point, point.reason))
        .collect();
    reasons.join("; ")
}

fn blocks(spares: &ComputeSpareInterchangeResponse, head: String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if !spares.missing.is_empty() {
        blocks.push(Block::toned(0, Tone::Bad, "NOT KNOWN:"));
        blocks.extend(
            spares
                .missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    let mut table = Records::new(["spare", "carried on", "for", "outcome"]);
    for pair in &spares.pairs {
        table.push([
            Cell::text(id_of(&pair.cargo_item)),
            Cell::text(id_of(&pair.carried_on)),
            Cell::text(place(pair)),
            Cell::text(outcome(pair)),
        ]);
    }
    blocks.extend([Block::Gap, Block::Table(table), Block::Gap]);
    for pair in &spares.pairs {
        let why = deciding(pair);
        if !why.is_empty() {
            let text = format!("{} for {}: {why}", id_of(&pair.cargo_item), place(pair));
            blocks.push(Block::line(0, text));
        }
    }
    blocks.push(Block::Gap);
    blocks.extend(Block::closing(&spares.cautions, &spares.formula_version));
    blocks
}

/// One row per spare and wheel end.
fn records(spares: &ComputeSpareInterchangeResponse) -> Records {
    let mut records = Records::new([
        "cargo_item",
        "pieces",
        "carried_on",
        "vehicle",
        "axle",
        "outcome",
        "reasons",
    ]);
    for pair in &spares.pairs {
        records.push([
            Cell::text(id_of(&pair.cargo_item)),
            Cell::text(word("SparePieces", pair.pieces().as_str_name())),
            Cell::text(id_of(&pair.carried_on)),
            Cell::text(id_of(&pair.vehicle)),
            Cell::text(pair.axle.as_str()),
            Cell::text(outcome(pair)),
            Cell::text(deciding(pair)),
        ]);
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::{SparePieces, SparePoint};

    #[test]
    fn spares_say_whom_they_serve_and_why_not_the_others() {
        let pair = |vehicle: &str, outcome: SpareOutcome, reason: &str| SpareInterchange {
            cargo_item: "fleets/f/cargoItems/c1".to_owned(),
            display_name: "spare wheel".to_owned(),
            pieces: SparePieces::Wheel.into(),
            carried_on: "fleets/f/vehicles/v1".to_owned(),
            vehicle: format!("fleets/f/vehicles/{vehicle}"),
            outcome: outcome.into(),
            at_best: outcome.into(),
            points: vec![SparePoint {
                point: "bolt circle".to_owned(),
                outcome: outcome.into(),
                reason: reason.to_owned(),
            }],
            ..Default::default()
        };
        let spares = ComputeSpareInterchangeResponse {
            pairs: vec![
                pair("v1", SpareOutcome::Serves, "5x150 on 5x150"),
                pair("v2", SpareOutcome::DoesNotServe, "5x150 on 6x139.7"),
            ],
            missing: vec!["the policy's tyres.hub_clearance_max_mm".to_owned()],
            formula_version: "tyres/1".to_owned(),
            cautions: vec!["Try it on the hub.".to_owned()],
        };
        let head = "Spare wheels and tyres of north".to_owned();
        let document = Document::of(&spares, blocks(&spares, head), records(&spares));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "hub_clearance_max_mm",
            "does not serve",
            "c1 for v2: bolt circle: 5x150 on 6x139.7",
            "Try it on the hub.",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        let csv = document.render(Format::Csv, Style::plain()).unwrap();
        assert_eq!(csv.lines().count(), 1 + 2, "{csv}");
    }
}
