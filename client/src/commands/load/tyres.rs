//! `ostler load tyres`: tyres and wheels of a vehicle of a departure, or one tyre from a file.

use ostler_proto::v1::tyre_service_client::TyreServiceClient;
use ostler_proto::v1::{
    AxleTyres, CalculateTyreRequest, ComputeTyresRequest, ComputeTyresResponse, TyreCalculation,
};

use super::Outcome;
use crate::cli::LoadTyresArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, word};
use crate::session::{Session, id_of};

/// Asks about the vehicle, or about the tyre in the file.
pub(super) async fn run(session: &Session, args: &LoadTyresArgs) -> Result<Outcome, CliError> {
    match (&args.file, &args.departure, &args.vehicle) {
        (Some(file), _, _) => from_file(session, file).await,
        (None, Some(departure), Some(vehicle)) => of_vehicle(session, departure, vehicle).await,
        (None, _, _) => Err(CliError::Usage {
            problem: "a departure with its vehicle, or a file, is needed".to_owned(),
            hint: "name the departure and give --vehicle, or give --file".to_owned(),
        }),
    }
}

async fn of_vehicle(session: &Session, departure: &str, vehicle: &str) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, departure).await?;
    let vehicle = session.name_beside(&departure, Kind::Vehicle, vehicle)?;
    let head = format!("Tyres of {} over {}", id_of(&vehicle), id_of(&departure));
    let tyres = session
        .connection
        .call(
            ComputeTyresRequest { departure, vehicle },
            async |service, request| {
                TyreServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .compute_tyres(request)
                    .await
            },
        )
        .await?;
    Ok(Outcome::document(Document::of(
        &tyres,
        blocks(&tyres, head),
        records(&tyres),
    )))
}

async fn from_file(session: &Session, file: &std::path::Path) -> Result<Outcome, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let request: CalculateTyreRequest = input::request(file, "")?;
    let tyre = session
        .connection
        .call(request, async |service, request| {
            TyreServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .calculate_tyre(request)
                .await
        })
        .await?;
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, tyre.designation.as_str()),
        Block::Gap,
        Block::Table(figures(&tyre)),
        Block::Gap,
        Block::line(0, format!("Capacity: {}.", tyre.capacity_source)),
    ];
    if !tyre.needed_basis.is_empty() {
        blocks.push(Block::line(0, format!("Needed pressure: {}.", tyre.needed_basis)));
    }
    blocks.extend(
        tyre.cautions
            .iter()
            .map(|caution| Block::toned(0, Tone::Dim, caution.as_str())),
    );
    Ok(Outcome::document(Document::of(&tyre, blocks, figures(&tyre))))
}

/// The figures of a tyre: what, value, unit. What was not asked for or is not known is left out.
fn figures(tyre: &TyreCalculation) -> Records {
    let rows = [
        ("rim diameter", Some(tyre.rim_diameter_in), "in"),
        ("section width", Some(tyre.section_width_mm), "mm"),
        (
            if tyre.diameter_is_nominal {
                "diameter, nominal"
            } else {
                "diameter"
            },
            tyre.diameter_mm,
            "mm",
        ),
        ("capacity of one", tyre.capacity_kg, "kg"),
        ("speed symbol", tyre.speed_max_km_per_h, "km/h"),
        ("needed pressure", tyre.needed_kpa, "kPa"),
        ("overload", tyre.overload_kg, "kg"),
        ("planned below needed", tyre.below_needed_kpa, "kPa"),
        ("highest speed at it", tyre.reduced_speed_max_km_per_h, "km/h"),
        ("against the placard", tyre.diameter_change_percent, "%"),
        ("true speed at 100", tyre.true_speed_at_100_km_per_h, "km/h"),
    ];
    let mut records = Records::new(["figure", "value", "unit"]);
    for (figure, value, unit) in rows {
        if let Some(value) = value {
            records.push([Cell::text(figure), Cell::Number(value), Cell::text(unit)]);
        }
    }
    records
}

fn blocks(tyres: &ComputeTyresResponse, head: String) -> Vec<Block> {
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, head),
        Block::Gap,
        Block::Table(axle_table(tyres)),
        Block::Gap,
        Block::Table(pressure_table(tyres)),
        Block::Gap,
    ];
    if let Some(table) = state_table(tyres) {
        blocks.extend([Block::Table(table), Block::Gap]);
    }
    for finding in &tyres.findings {
        let answer = word("Answer", finding.answer().as_str_name());
        blocks.push(Block::line(0, format!("{answer}: {}", finding.text)));
        if !finding.remedy.is_empty() {
            blocks.push(Block::toned(2, Tone::Dim, finding.remedy.as_str()));
        }
    }
    blocks.push(Block::Gap);
    blocks.extend(Block::closing(&tyres.cautions, &tyres.formula_version));
    blocks
}

fn axle_table(tyres: &ComputeTyresResponse) -> Records {
    let mut table = Records::new(["axle", "wheel kg", "at", "carries kg", "needs kPa"]);
    for axle in &tyres.axles {
        table.push([
            Cell::text(axle.axle.as_str()),
            Cell::known(axle.wheel_load_kg),
            Cell::text(axle.load_state.as_str()),
            Cell::known(axle.capacity_kg),
            Cell::known(axle.needed_kpa),
        ]);
    }
    table
}

/// Needed pressures at every moment, front and rear side by side.
fn state_table(tyres: &ComputeTyresResponse) -> Option<Records> {
    let [front, rear] = tyres.axles.as_slice() else {
        return None;
    };
    let mut table = Records::new(["at", "front kg", "needs kPa", "rear kg", "needs kPa"]);
    for (front, rear) in front.states.iter().zip(&rear.states) {
        table.push([
            Cell::text(front.load_state.as_str()),
            Cell::known(front.load_kg),
            Cell::known(front.needed_kpa),
            Cell::known(rear.load_kg),
            Cell::known(rear.needed_kpa),
        ]);
    }
    Some(table)
}

fn pressure_table(tyres: &ComputeTyresResponse) -> Records {
    let mut table = Records::new(["on", "axle", "planned kPa", "lacks kPa", "most km/h"]);
    for axle in &tyres.axles {
        for step in &axle.planned {
            table.push([
                Cell::text(step.surfaces.join(", ")),
                Cell::text(axle.axle.as_str()),
                Cell::Number(step.pressure_kpa),
                Cell::known(step.below_needed_kpa),
                Cell::Number(step.speed_max_km_per_h),
            ]);
        }
    }
    table
}

/// One row per axle and planned pressure; of an axle without one, one row.
fn records(tyres: &ComputeTyresResponse) -> Records {
    let mut records = Records::new([
        "axle",
        "wheel_load_kg",
        "load_state",
        "capacity_kg",
        "needed_kpa",
        "surfaces",
        "pressure_kpa",
        "below_needed_kpa",
        "speed_max_km_per_h",
    ]);
    let row = |axle: &AxleTyres, surfaces: String, numbers: [Option<f64>; 3]| {
        let [pressure_kpa, below_needed_kpa, speed_max_km_per_h] = numbers;
        [
            Cell::text(axle.axle.as_str()),
            Cell::maybe(axle.wheel_load_kg),
            Cell::text(axle.load_state.as_str()),
            Cell::maybe(axle.capacity_kg),
            Cell::maybe(axle.needed_kpa),
            Cell::text(surfaces),
            Cell::maybe(pressure_kpa),
            Cell::maybe(below_needed_kpa),
            Cell::maybe(speed_max_km_per_h),
        ]
    };
    for axle in &tyres.axles {
        if axle.planned.is_empty() {
            records.push(row(axle, String::new(), [None; 3]));
        }
        for step in &axle.planned {
            let numbers = [
                Some(step.pressure_kpa),
                step.below_needed_kpa,
                Some(step.speed_max_km_per_h),
            ];
            records.push(row(axle, step.surfaces.join(" "), numbers));
        }
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::{Answer, Finding, PlannedPressure, StateTyreLoad};

    fn tyres() -> ComputeTyresResponse {
        let axle = |axle: &str, needed_kpa| AxleTyres {
            axle: axle.to_owned(),
            wheel_load_kg: Some(812.0),
            load_state: "departure".to_owned(),
            from_stance: true,
            capacity_kg: Some(1550.0),
            needed_kpa,
            dual: false,
            states: vec![StateTyreLoad {
                load_state: "end of l01".to_owned(),
                load_kg: Some(777.0),
                needed_kpa,
            }],
            planned: vec![PlannedPressure {
                surfaces: vec!["sand".to_owned(), "dunes".to_owned()],
                pressure_kpa: 125.0,
                speed_max_km_per_h: 40.0,
                below_needed_kpa: needed_kpa.map(|needed| needed - 125.0),
            }],
        };
        ComputeTyresResponse {
            findings: vec![Finding {
                answer: Answer::NotKnown.into(),
                text: "not known: the tyre of the placard".to_owned(),
                remedy: "record it".to_owned(),
                ..Default::default()
            }],
            axles: vec![axle("front", Some(180.0)), axle("rear", None)],
            formula_version: "tyres/1".to_owned(),
            cautions: vec!["Measure cold.".to_owned()],
        }
    }

    #[test]
    fn tyres_for_people_say_what_is_not_known_and_the_speed_that_goes_with_a_pressure() {
        let tyres = tyres();
        let head = "Tyres of v1 over north".to_owned();
        let document = Document::of(&tyres, blocks(&tyres, head), records(&tyres));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "Tyres of v1 over north",
            "not known: the tyre of the placard",
            "sand, dunes",
            "55",
            "40",
            "record it",
            "tyres/1",
            "end of l01",
            "777",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
    }

    #[test]
    fn tyres_for_scripts_have_a_row_for_each_axle_and_pressure() {
        let tyres = tyres();
        let document = Document::of(&tyres, blocks(&tyres, String::new()), records(&tyres));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        assert_eq!(text.lines().count(), 1 + 2, "{text}");
        assert!(text.contains("sand dunes"), "{text}");
    }

    #[test]
    fn a_tyre_from_a_file_shows_only_what_is_known() {
        let tyre = TyreCalculation {
            rim_diameter_in: 16.0,
            section_width_mm: 265.0,
            capacity_kg: Some(1550.0),
            ..Default::default()
        };
        let document = Document::of(&tyre, Vec::new(), figures(&tyre));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        assert!(
            text.contains("1550") && !text.contains("needed pressure"),
            "{text}"
        );
    }
}
