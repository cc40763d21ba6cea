//! `ostler load wheels`: a vehicle of a departure on its springs, or one from a file.

use std::path::Path;

use ostler_proto::v1::stance_service_client::StanceServiceClient;
use ostler_proto::v1::{
    CalculateStanceRequest, CalculateStanceResponse, ComputeStanceRequest, ComputeStanceResponse,
    StanceState, UndersideFigure,
};

use super::{Outcome, nothing_named, with_picture};
use crate::cli::LoadWheelsArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, word};
use crate::session::{Session, id_of};

/// Asks for the stances.
pub(super) async fn run(session: &Session, args: &LoadWheelsArgs) -> Result<Outcome, CliError> {
    let picture = args.picture.as_deref();
    let (head, mut stances) = match (&args.file, &args.departure, &args.vehicle) {
        (Some(file), ..) => {
            let head = format!("The vehicle of {} on its springs", file.display());
            (head, of_file(session, file, picture.is_some()).await?)
        }
        (None, Some(departure), Some(vehicle)) => {
            let departure = session.name(Kind::Departure, departure).await?;
            let vehicle = session.name_beside(&departure, Kind::Vehicle, vehicle)?;
            let head = format!("{} on its springs over {}", id_of(&vehicle), id_of(&departure));
            let moment = args.at.as_deref().unwrap_or("departure");
            let request = ComputeStanceRequest {
                departure,
                vehicle,
                picture_of: picture.map_or("", |_| moment).to_owned(),
            };
            (head, of_vehicle(session, request).await?)
        }
        (None, ..) => return Err(nothing_named("a departure with its vehicle")),
    };
    let svg = std::mem::take(&mut stances.picture_svg);
    let document = Document::of(&stances, blocks(&stances, head), records(&stances));
    with_picture(Outcome::document(document), picture, &svg)
}

async fn of_vehicle(
    session: &Session,
    request: ComputeStanceRequest,
) -> Result<ComputeStanceResponse, CliError> {
    session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_stance(request)
                .await
        })
        .await
}

async fn of_file(session: &Session, file: &Path, picture: bool) -> Result<ComputeStanceResponse, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let mut request: CalculateStanceRequest = input::request(file, "")?;
    request.picture |= picture;
    let answer = session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .calculate_stance(request)
                .await
        })
        .await?;
    let CalculateStanceResponse {
        state,
        formula_version,
        caution,
        picture_svg,
    } = answer;
    Ok(ComputeStanceResponse {
        states: state.into_iter().collect(),
        formula_version,
        caution,
        picture_svg,
    })
}

fn blocks(stances: &ComputeStanceResponse, head: String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    let mut said: Vec<&String> = Vec::new();
    for state in &stances.states {
        for sentence in state.missing.iter().filter(|sentence| !sentence.is_empty()) {
            if !said.contains(&sentence) {
                said.push(sentence);
            }
        }
        if !state.problem.is_empty() {
            let text = format!("{}: {}", state.load_state, state.problem);
            blocks.push(Block::toned(0, Tone::Bad, text));
        }
    }
    if !said.is_empty() {
        let text = "NOT KNOWN where the numbers are left out:";
        blocks.push(Block::toned(0, Tone::Bad, text));
        blocks.extend(
            said.iter()
                .map(|sentence| Block::line(2, format!("- {sentence}"))),
        );
    }
    blocks.extend([Block::Gap, Block::Table(load_table(stances)), Block::Gap]);
    blocks.extend([Block::Table(attitude_table(stances)), Block::Gap]);
    if let Some(table) = underside_table(stances) {
        blocks.extend([Block::Table(table), Block::Gap]);
    }
    let text = "Lean: right side lower. Rake: rear against front, from the reference height. Cross: \
                front left and rear right.";
    blocks.push(Block::line(0, text));
    let text = format!("{} Formula: {}.", stances.caution, stances.formula_version);
    blocks.push(Block::toned(0, Tone::Dim, text));
    blocks
}

fn wheel(state: &StanceState, index: usize) -> Cell {
    Cell::known(state.wheels.get(index).map(|wheel| wheel.load_kg))
}

fn load_table(stances: &ComputeStanceResponse) -> Records {
    let mut table = Records::new(["at", "front left kg", "front right", "rear left", "rear right"]);
    for state in &stances.states {
        table.push([
            Cell::text(state.load_state.as_str()),
            wheel(state, 0),
            wheel(state, 1),
            wheel(state, 2),
            wheel(state, 3),
        ]);
    }
    table
}

/// The least travel left to a bump stop. `None`: that of a wheel is not known.
fn least_travel_mm(state: &StanceState) -> Option<f64> {
    state
        .wheels
        .iter()
        .map(|wheel| wheel.bump_travel_left_mm)
        .collect::<Option<Vec<f64>>>()?
        .into_iter()
        .reduce(f64::min)
}

fn attitude_table(stances: &ComputeStanceResponse) -> Records {
    let mut table = Records::new(["at", "lean mm", "lean deg", "rake mm", "bump left mm", "cross %"]);
    for state in &stances.states {
        table.push([
            Cell::text(state.load_state.as_str()),
            Cell::known(state.lean_mm),
            Cell::known(state.lean_deg),
            Cell::known(state.rake_change_mm),
            Cell::known(least_travel_mm(state)),
            Cell::known(state.cross_weight_share.map(|share| share * 100.0)),
        ]);
    }
    table
}

/// Clearance and angles. `None`: no point of the underside is known.
fn underside_table(stances: &ComputeStanceResponse) -> Option<Records> {
    let any = |state: &StanceState| state.clearance_mm.is_some();
    if !stances.states.iter().any(any) {
        return None;
    }
    let value = |figure: &Option<UndersideFigure>| Cell::known(figure.as_ref().map(|figure| figure.value));
    let mut table = Records::new([
        "at",
        "clear mm",
        "changed",
        "approach deg",
        "departure deg",
        "ramp deg",
    ]);
    for state in &stances.states {
        table.push([
            Cell::text(state.load_state.as_str()),
            value(&state.clearance_mm),
            Cell::known(state.clearance_mm.as_ref().map(|figure| figure.change)),
            value(&state.approach_deg),
            value(&state.departure_deg),
            value(&state.breakover_deg),
        ]);
    }
    Some(table)
}

/// One row per state and wheel.
fn records(stances: &ComputeStanceResponse) -> Records {
    let mut records = Records::new([
        "load_state",
        "wheel",
        "load_kg",
        "ride_height_change_mm",
        "bump_travel_left_mm",
        "droop_travel_left_mm",
        "lean_mm",
        "rake_change_mm",
        "cross_weight_share",
        "clearance_mm",
        "approach_deg",
        "departure_deg",
        "breakover_deg",
    ]);
    let figure = |figure: &Option<UndersideFigure>| Cell::maybe(figure.as_ref().map(|figure| figure.value));
    for state in &stances.states {
        for wheel in &state.wheels {
            records.push([
                Cell::text(state.load_state.as_str()),
                Cell::text(word("WheelPosition", wheel.wheel().as_str_name())),
                Cell::Number(wheel.load_kg),
                Cell::Number(wheel.ride_height_change_mm),
                Cell::maybe(wheel.bump_travel_left_mm),
                Cell::maybe(wheel.droop_travel_left_mm),
                Cell::maybe(state.lean_mm),
                Cell::maybe(state.rake_change_mm),
                Cell::maybe(state.cross_weight_share),
                figure(&state.clearance_mm),
                figure(&state.approach_deg),
                figure(&state.departure_deg),
                figure(&state.breakover_deg),
            ]);
        }
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::WheelStance;

    fn stances() -> ComputeStanceResponse {
        let wheel = |index: i32| WheelStance {
            wheel: index + 1,
            load_kg: 900.0 + f64::from(index),
            ride_height_change_mm: -70.0,
            bump_travel_left_mm: Some(40.0 - f64::from(index)),
            droop_travel_left_mm: None,
        };
        ComputeStanceResponse {
            states: vec![
                StanceState {
                    load_state: "departure".to_owned(),
                    wheels: (0..4).map(wheel).collect(),
                    lean_deg: Some(0.8),
                    lean_mm: Some(22.96),
                    rake_change_mm: Some(-60.0),
                    cross_weight_share: Some(0.49),
                    clearance_mm: Some(UndersideFigure {
                        value: 211.0,
                        change: -70.0,
                        point: "tank".to_owned(),
                    }),
                    ..Default::default()
                },
                StanceState {
                    load_state: "end of l01".to_owned(),
                    missing: vec!["consumption on dunes is not known".to_owned()],
                    ..Default::default()
                },
            ],
            formula_version: "stance/1".to_owned(),
            caution: "Computed.".to_owned(),
            picture_svg: String::new(),
        }
    }

    #[test]
    fn stances_for_people_name_what_is_not_known() {
        let stances = stances();
        let head = "v1 on its springs over north".to_owned();
        let document = Document::of(&stances, blocks(&stances, head), records(&stances));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "v1 on its springs over north",
            "- consumption on dunes is not known",
            "903",
            "37",
            "49",
            "stance/1",
            "211",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }

    #[test]
    fn stances_for_scripts_have_a_row_for_each_wheel() {
        let stances = stances();
        let document = Document::of(&stances, blocks(&stances, String::new()), records(&stances));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        assert_eq!(text.lines().count(), 1 + 4, "{text}");
    }
}
