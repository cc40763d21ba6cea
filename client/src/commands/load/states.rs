//! `ostler load axles --states`: masses and axle loads of a vehicle at every moment of a departure.

use std::path::Path;

use ostler_proto::v1::load_service_client::LoadServiceClient;
use ostler_proto::v1::{
    Answer, ComputeLoadStatesRequest, ComputeLoadStatesResponse, LoadAgainstLimit, LoadResult,
};

use super::{Outcome, with_picture};
use crate::commands::verdict::answer_words;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of};

/// Asks for the loads at every moment.
pub(super) async fn run(
    session: &Session,
    departure: String,
    vehicle: String,
    picture: Option<&Path>,
) -> Result<Outcome, CliError> {
    let request = ComputeLoadStatesRequest {
        departure,
        vehicle,
        picture: picture.is_some(),
    };
    let mut states = session
        .connection
        .call(request, async |service, request| {
            LoadServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_load_states(request)
                .await
        })
        .await?;
    let svg = std::mem::take(&mut states.picture_svg);
    let document = Document::of(&states, blocks(&states), records(&states));
    with_picture(Outcome::document(document), picture, &svg)
}

fn blocks(states: &ComputeLoadStatesResponse) -> Vec<Block> {
    let Some(first) = states.states.first() else {
        return Vec::new();
    };
    let head = format!(
        "Loads of {} over {}",
        id_of(&first.vehicle),
        id_of(&first.departure)
    );
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    let missing = each_once(states, |state| &state.missing);
    if !missing.is_empty() {
        let text = "NOT KNOWN: the states marked * leave out what this concerns:";
        blocks.push(Block::toned(0, Tone::Bad, text));
        blocks.extend(
            missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    blocks.extend([Block::Gap, Block::Table(state_table(states)), Block::Gap]);
    let text = "Where each limit is tightest:";
    blocks.extend([Block::line(0, text), Block::Table(worst_table(states))]);
    let notes = each_once(states, |state| &state.notes);
    if !notes.is_empty() {
        blocks.push(Block::Gap);
        blocks.extend(notes.iter().map(|note| Block::line(0, format!("- {note}"))));
    }
    let text = format!("Formula: {}.", first.formula_version);
    blocks.extend([Block::Gap, Block::toned(0, Tone::Dim, text)]);
    blocks
}

/// The sentences of all states, each once, in order.
fn each_once(
    states: &ComputeLoadStatesResponse,
    sentences: impl Fn(&LoadResult) -> &Vec<String>,
) -> Vec<&String> {
    let mut once: Vec<&String> = Vec::new();
    for sentence in states.states.iter().flat_map(sentences) {
        if !once.contains(&sentence) {
            once.push(sentence);
        }
    }
    once
}

fn state_table(states: &ComputeLoadStatesResponse) -> Records {
    let mut table = Records::new([
        "at", "total kg", "front kg", "rear kg", "fuel kg", "water kg", "cargo kg",
    ]);
    let load = |load: Option<&LoadAgainstLimit>| Cell::known(load.map(|load| load.load_kg));
    for state in &states.states {
        let mark = if state.missing.is_empty() { "" } else { " *" };
        table.push([
            Cell::text(format!("{}{mark}", state.load_state)),
            load(state.total.as_ref()),
            load(state.front_axle.as_ref()),
            load(state.rear_axle.as_ref()),
            Cell::Number(state.fuel_mass_kg),
            Cell::Number(state.water_mass_kg),
            Cell::Number(state.cargo_mass_kg),
        ]);
    }
    table
}

fn worst_table(states: &ComputeLoadStatesResponse) -> Records {
    let mut table = Records::new(["load", "at", "kg", "limit kg", "margin kg", "answer"]);
    for worst in &states.worst {
        let load = worst.load.as_ref();
        table.push([
            Cell::text(worst.limited_load.replace('_', " ")),
            Cell::text(worst.load_state.as_str()),
            Cell::known(load.map(|load| load.load_kg)),
            Cell::known(load.and_then(|load| load.limit_kg)),
            Cell::known(load.and_then(|load| load.margin_kg)),
            Cell::text(answer_words(
                load.map_or(Answer::NotKnown, LoadAgainstLimit::answer),
            )),
        ]);
    }
    table
}

/// One row per state and load that has a limit.
fn records(states: &ComputeLoadStatesResponse) -> Records {
    let mut records = Records::new([
        "vehicle",
        "departure",
        "load_state",
        "load",
        "load_kg",
        "uncertainty_kg",
        "limit_kg",
        "margin_kg",
        "answer",
        "missing_count",
    ]);
    for state in &states.states {
        let fixed = [
            ("total", &state.total),
            ("front_axle", &state.front_axle),
            ("rear_axle", &state.rear_axle),
            ("roof", &state.roof),
        ];
        let fixed = fixed.into_iter().map(|(name, load)| (name.to_owned(), load));
        let zones = state
            .zones
            .iter()
            .map(|zone| (format!("zone {}", zone.zone), &zone.load));
        for (name, load) in fixed.chain(zones) {
            let load = load.as_ref();
            records.push([
                Cell::text(state.vehicle.as_str()),
                Cell::text(state.departure.as_str()),
                Cell::text(state.load_state.as_str()),
                Cell::text(name),
                Cell::maybe(load.map(|load| load.load_kg)),
                Cell::maybe(load.map(|load| load.uncertainty_kg)),
                Cell::maybe(load.and_then(|load| load.limit_kg)),
                Cell::maybe(load.and_then(|load| load.margin_kg)),
                Cell::text(answer_words(
                    load.map_or(Answer::NotKnown, LoadAgainstLimit::answer),
                )),
                Cell::text(state.missing.len().to_string()),
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
    use ostler_proto::v1::WorstLoad;

    fn against(load_kg: f64, answer: Answer) -> LoadAgainstLimit {
        LoadAgainstLimit {
            load_kg,
            uncertainty_kg: 4.0,
            limit_kg: Some(2020.0),
            margin_kg: Some(2020.0 - load_kg),
            answer: answer.into(),
            ..Default::default()
        }
    }

    fn state(load_state: &str, rear_kg: f64, missing: &[&str]) -> LoadResult {
        LoadResult {
            vehicle: "fleets/orrin/vehicles/v2".to_owned(),
            departure: "fleets/orrin/departures/north".to_owned(),
            load_state: load_state.to_owned(),
            rear_axle: Some(against(rear_kg, Answer::NotMet)),
            fuel_mass_kg: 250.0,
            missing: missing.iter().map(|text| (*text).to_owned()).collect(),
            notes: vec!["consumption: one test drive".to_owned()],
            formula_version: "loads/2".to_owned(),
            ..Default::default()
        }
    }

    fn states() -> ComputeLoadStatesResponse {
        ComputeLoadStatesResponse {
            picture_svg: String::new(),
            states: vec![
                state("departure", 2057.8, &[]),
                state("end of l01", 2041.3, &["consumption on dunes is not known"]),
            ],
            worst: vec![WorstLoad {
                limited_load: "rear_axle".to_owned(),
                load_state: "departure".to_owned(),
                load: Some(against(2057.8, Answer::NotMet)),
            }],
        }
    }

    #[test]
    fn states_for_people_mark_what_is_not_known_and_name_the_worst() {
        let states = states();
        let document = Document::of(&states, blocks(&states), records(&states));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "Loads of v2 over north",
            "end of l01 *",
            "- consumption on dunes is not known",
            "2057.8",
            "not met",
            "- consumption: one test drive",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        assert!(!text.contains("departure *"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }

    #[test]
    fn states_for_scripts_have_a_row_for_each_load() {
        let states = states();
        let document = Document::of(&states, blocks(&states), records(&states));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        // A header, and total, axles and roof of two states.
        assert_eq!(text.lines().count(), 1 + 2 * 4, "{text}");
        assert!(text.contains("end of l01,rear_axle,2041.3,4,2020,"), "{text}");
    }
}
