//! `ostler load axles`: masses and axle loads of a vehicle at departure, or from a file.

use std::path::Path;

use ostler_proto::v1::load_service_client::LoadServiceClient;
use ostler_proto::v1::{Answer, CalculateLoadsRequest, ComputeLoadsRequest, LoadAgainstLimit, LoadResult};

use super::{Outcome, nothing_named, states};
use crate::cli::LoadAxlesArgs;
use crate::commands::verdict::answer_words;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number, word};
use crate::session::{Session, id_of, short};

/// Columns of the CSV form. `section` is `mass`, `limit`, `zone` or `line`.
const HEADERS: [&str; 14] = [
    "vehicle",
    "departure",
    "section",
    "item",
    "record",
    "mass_kg",
    "uncertainty_kg",
    "limit_kg",
    "margin_kg",
    "answer",
    "front_axle_kg",
    "rear_axle_kg",
    "provenance",
    "tolerance_kg",
];

/// Asks for the loads.
pub(super) async fn run(session: &Session, args: &LoadAxlesArgs) -> Result<Outcome, CliError> {
    let loads = match (&args.file, &args.departure, &args.vehicle) {
        (Some(file), ..) => of_file(session, file).await?,
        (None, Some(departure), Some(vehicle)) => {
            let departure = session.name(Kind::Departure, departure).await?;
            let vehicle = session.name_beside(&departure, Kind::Vehicle, vehicle)?;
            if args.states {
                return states::run(session, departure, vehicle, args.picture.as_deref()).await;
            }
            of_vehicle(session, departure, vehicle).await?
        }
        (None, ..) => return Err(nothing_named("a departure with its vehicle")),
    };
    Ok(Outcome::document(Document::of(
        &loads,
        blocks(&loads),
        records(&loads),
    )))
}

async fn of_vehicle(session: &Session, departure: String, vehicle: String) -> Result<LoadResult, CliError> {
    let request = ComputeLoadsRequest { departure, vehicle };
    session
        .connection
        .call(request, async |service, request| {
            LoadServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_loads(request)
                .await
        })
        .await
}

async fn of_file(session: &Session, file: &Path) -> Result<LoadResult, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let request: CalculateLoadsRequest = input::request(file, "")?;
    session
        .connection
        .call(request, async |service, request| {
            LoadServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .calculate_loads(request)
                .await
        })
        .await
}

/// The masses that make up the whole.
fn masses(loads: &LoadResult) -> [(&'static str, f64); 6] {
    [
        ("baseline", loads.baseline_mass_kg),
        ("parts changed since", loads.fitment_change_kg),
        ("people", loads.crew_mass_kg),
        ("fuel", loads.fuel_mass_kg),
        ("water", loads.water_mass_kg),
        ("cargo", loads.cargo_mass_kg),
    ]
}

/// The loads that have a limit, with their names. `None`: the load itself is not known.
fn limits(loads: &LoadResult) -> Vec<(&'static str, String, Option<&LoadAgainstLimit>)> {
    let whole = [
        ("total", &loads.total),
        ("front axle", &loads.front_axle),
        ("rear axle", &loads.rear_axle),
        ("roof", &loads.roof),
    ];
    let whole = whole
        .into_iter()
        .map(|(name, load)| ("limit", name.to_owned(), load.as_ref()));
    let zones = loads
        .zones
        .iter()
        .map(|zone| ("zone", zone.zone.clone(), zone.load.as_ref()));
    whole.chain(zones).collect()
}

fn answer(load: Option<&LoadAgainstLimit>) -> Answer {
    load.map_or(Answer::NotKnown, LoadAgainstLimit::answer)
}

fn blocks(loads: &LoadResult) -> Vec<Block> {
    let head = match loads.vehicle.as_str() {
        "" => "Loads of the vehicle in the file".to_owned(),
        vehicle => format!("Loads of {} at {}", id_of(vehicle), id_of(&loads.departure)),
    };
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if !loads.missing.is_empty() {
        let text = "NOT KNOWN: every number below leaves these out:";
        blocks.push(Block::toned(0, Tone::Bad, text));
        blocks.extend(
            loads
                .missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    blocks.extend([Block::Gap, Block::Table(limit_table(loads))]);
    let untoleranced = loads.total.as_ref().map_or(0, |total| total.untoleranced_count);
    if untoleranced > 0 {
        let text = format!("+/- leaves out {untoleranced} masses without a stated tolerance.");
        blocks.push(Block::line(0, text));
    }
    blocks.extend([Block::Gap, Block::Table(mass_table(loads))]);
    blocks.extend([Block::Gap, Block::Table(line_table(loads)), Block::Gap]);
    if let Some(centre_x_mm) = loads.centre_x_mm {
        let text = format!("Centre of mass {} mm aft of the front axle.", number(centre_x_mm));
        blocks.push(Block::line(0, text));
    }
    let text = format!(
        "Baseline: {}. Formula: {}.",
        short(&loads.baseline),
        loads.formula_version
    );
    blocks.push(Block::toned(0, Tone::Dim, text));
    blocks
}

fn limit_table(loads: &LoadResult) -> Records {
    let mut table = Records::new(["load", "kg", "+/- kg", "limit kg", "margin kg", "answer"]);
    for (section, name, load) in limits(loads) {
        table.push([
            Cell::text(if section == "zone" {
                format!("zone {name}")
            } else {
                name
            }),
            Cell::known(load.map(|load| load.load_kg)),
            Cell::known(load.map(|load| load.uncertainty_kg)),
            Cell::known(load.and_then(|load| load.limit_kg)),
            Cell::known(load.and_then(|load| load.margin_kg)),
            Cell::text(answer_words(answer(load))),
        ]);
    }
    table
}

fn mass_table(loads: &LoadResult) -> Records {
    let mut table = Records::new(["made up of", "kg"]);
    for (name, mass_kg) in masses(loads) {
        table.push([Cell::text(name), Cell::Number(mass_kg)]);
    }
    table
}

fn line_table(loads: &LoadResult) -> Records {
    let mut table = Records::new(["line", "kg", "front kg", "rear kg", "known by", "record"]);
    for line in &loads.lines {
        table.push([
            Cell::text(line.display_name.as_str()),
            Cell::Number(line.mass_kg),
            Cell::maybe(line.front_axle_kg),
            Cell::maybe(line.rear_axle_kg),
            Cell::text(word("MassProvenance", line.provenance().as_str_name())),
            Cell::text(short(&line.record)),
        ]);
    }
    table
}

fn records(loads: &LoadResult) -> Records {
    let mut records = Records::new(HEADERS);
    let mut push = |section: &str, item: &str, cells: [Cell; 10]| {
        let start = [loads.vehicle.as_str(), loads.departure.as_str(), section, item].map(Cell::text);
        records.push(start.into_iter().chain(cells));
    };
    let none = || Cell::None("");
    for (name, mass_kg) in masses(loads) {
        let mut cells = [const { Cell::None("") }; 10];
        cells[1] = Cell::Number(mass_kg);
        push("mass", name, cells);
    }
    for (section, name, load) in limits(loads) {
        let cells = [
            none(),
            Cell::maybe(load.map(|load| load.load_kg)),
            Cell::maybe(load.map(|load| load.uncertainty_kg)),
            Cell::maybe(load.and_then(|load| load.limit_kg)),
            Cell::maybe(load.and_then(|load| load.margin_kg)),
            Cell::text(answer_words(answer(load))),
            none(),
            none(),
            none(),
            none(),
        ];
        push(section, &name, cells);
    }
    for line in &loads.lines {
        let cells = [
            Cell::text(line.record.as_str()),
            Cell::Number(line.mass_kg),
            none(),
            none(),
            none(),
            none(),
            Cell::maybe(line.front_axle_kg),
            Cell::maybe(line.rear_axle_kg),
            Cell::text(word("MassProvenance", line.provenance().as_str_name())),
            Cell::maybe(line.tolerance_kg),
        ];
        push("line", &line.display_name, cells);
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::{LoadLine, MassProvenance, ZoneLoad};

    fn against(load_kg: f64, limit_kg: Option<f64>, answer: Answer) -> LoadAgainstLimit {
        LoadAgainstLimit {
            load_kg,
            uncertainty_kg: 12.345,
            limit_kg,
            margin_kg: limit_kg.map(|limit| limit - load_kg),
            answer: answer.into(),
            untoleranced_count: 3,
            ..Default::default()
        }
    }

    fn loads() -> LoadResult {
        LoadResult {
            vehicle: "fleets/orrin/vehicles/v2".to_owned(),
            departure: "fleets/orrin/departures/north".to_owned(),
            missing: vec!["position of slot winch".to_owned()],
            baseline_mass_kg: 2600.0,
            total: Some(against(3432.0, Some(3500.0), Answer::Met)),
            rear_axle: Some(against(1937.8, Some(1900.0), Answer::NotMet)),
            roof: Some(against(40.0, None, Answer::NotKnown)),
            zones: vec![ZoneLoad {
                zone: "tray".to_owned(),
                load: Some(against(80.0, Some(100.0), Answer::Met)),
            }],
            lines: vec![LoadLine {
                display_name: "=Water drum".to_owned(),
                record: "fleets/orrin/cargoItems/drum".to_owned(),
                mass_kg: 66.2,
                front_axle_kg: Some(-4.1),
                rear_axle_kg: Some(70.3),
                provenance: MassProvenance::Estimated.into(),
                ..Default::default()
            }],
            centre_x_mm: Some(1602.25),
            baseline: "fleets/orrin/weighings/w1".to_owned(),
            formula_version: "loads 1".to_owned(),
            ..Default::default()
        }
    }

    #[test]
    fn loads_for_people() {
        let loads = loads();
        let document = Document::of(&loads, blocks(&loads), records(&loads));
        insta::assert_snapshot!(document.render(Format::Table, Style::plain()).unwrap());
    }

    #[test]
    fn loads_for_scripts() {
        let loads = loads();
        let document = Document::of(&loads, blocks(&loads), records(&loads));
        insta::assert_snapshot!(document.render(Format::Csv, Style::plain()).unwrap());
    }
}
