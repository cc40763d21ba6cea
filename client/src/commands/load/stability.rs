//! `ostler load stability`: height of the centre of mass and ceilings, over a departure or from a file.

use std::path::Path;

use ostler_proto::v1::stance_service_client::StanceServiceClient;
use ostler_proto::v1::{
    ComputeStabilityRequest, ComputeVehicleStabilityRequest, SlopeCeiling, Stability, StabilityState,
    VehicleStability,
};

use super::{Outcome, nothing_named};
use crate::cli::LoadStabilityArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number};
use crate::session::{Session, id_of};

/// Asks for the stability of a vehicle over a departure, or of the vehicle in a file.
pub(super) async fn run(session: &Session, args: &LoadStabilityArgs) -> Result<Outcome, CliError> {
    match (&args.file, &args.departure, &args.vehicle) {
        (Some(file), ..) => of_file(session, file).await,
        (None, Some(departure), Some(vehicle)) => of_vehicle(session, departure, vehicle).await,
        (None, ..) => Err(nothing_named("a departure with its vehicle")),
    }
}

async fn of_vehicle(session: &Session, departure: &str, vehicle: &str) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, departure).await?;
    let vehicle = session.name_beside(&departure, Kind::Vehicle, vehicle)?;
    let head = format!("Stability of {} over {}", id_of(&vehicle), id_of(&departure));
    let request = ComputeVehicleStabilityRequest { departure, vehicle };
    let stability = session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_vehicle_stability(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &stability,
        trip_blocks(&stability, head),
        trip_records(&stability),
    )))
}

async fn of_file(session: &Session, file: &Path) -> Result<Outcome, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let request: ComputeStabilityRequest = input::request(file, "")?;
    let stability = session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_stability(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &stability,
        blocks(&stability),
        records(&stability),
    )))
}

/// Height, factor and the lower ceiling sideways of a moment.
fn of_state(state: &StabilityState) -> [Option<f64>; 4] {
    let Some(stability) = &state.stability else {
        return [None; 4];
    };
    let ceiling = |ceiling: &Option<SlopeCeiling>| ceiling.as_ref().map(|ceiling| ceiling.ceiling_deg);
    let sides = [
        ceiling(&stability.left_ceiling),
        ceiling(&stability.right_ceiling),
    ];
    [
        Some(stability.height_mm),
        Some(stability.static_stability_factor),
        Some(stability.static_stability_factor_uncertainty),
        sides.into_iter().flatten().reduce(f64::min),
    ]
}

fn trip_blocks(of: &VehicleStability, head: String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    let mut said: Vec<&String> = Vec::new();
    for sentence in of
        .missing
        .iter()
        .chain(of.states.iter().flat_map(|state| &state.missing))
    {
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    if !said.is_empty() {
        blocks.push(Block::toned(
            0,
            Tone::Bad,
            "NOT KNOWN where the numbers are left out:",
        ));
        blocks.extend(
            said.iter()
                .map(|sentence| Block::line(2, format!("- {sentence}"))),
        );
    }
    for state in of.states.iter().filter(|state| !state.problem.is_empty()) {
        let text = format!("{}: {}", state.load_state, state.problem);
        blocks.push(Block::toned(0, Tone::Bad, text));
    }
    let mut table = Records::new(["at", "height mm", "factor", "+/-", "sideways, degrees"]);
    for state in &of.states {
        let cells = of_state(state).map(Cell::known);
        table.push([Cell::text(state.load_state.as_str())].into_iter().chain(cells));
    }
    blocks.extend([Block::Gap, Block::Table(table), Block::Gap]);
    if let (Some(height_mm), Some(by_mm)) = (of.bare_height_mm, of.bare_height_uncertainty_mm) {
        let text = format!(
            "Bare vehicle: {} mm +/- {}. {}",
            number(height_mm.round()),
            number(by_mm.round()),
            of.provenance
        );
        blocks.push(Block::line(0, text));
    }
    let first = of.states.iter().find_map(|state| state.stability.as_ref());
    for open in first.map_or(&[][..], |stability| &stability.unconfirmed) {
        blocks.push(Block::toned(0, Tone::Bad, format!("Not confirmed: {open}.")));
    }
    blocks.extend(Block::closing(&of.cautions, &of.formula_version));
    blocks
}

fn trip_records(of: &VehicleStability) -> Records {
    let mut records = Records::new([
        "load_state",
        "height_mm",
        "height_uncertainty_mm",
        "static_stability_factor",
        "static_stability_factor_uncertainty",
        "left_ceiling_deg",
        "right_ceiling_deg",
        "uphill_ceiling_deg",
        "downhill_ceiling_deg",
    ]);
    for state in &of.states {
        let stability = state.stability.as_ref();
        let ceiling = |of: fn(&Stability) -> Option<&SlopeCeiling>| {
            Cell::maybe(stability.and_then(of).map(|ceiling| ceiling.ceiling_deg))
        };
        records.push([
            Cell::text(state.load_state.as_str()),
            Cell::maybe(stability.map(|of| of.height_mm)),
            Cell::maybe(stability.map(|of| of.height_uncertainty_mm)),
            Cell::maybe(stability.map(|of| of.static_stability_factor)),
            Cell::maybe(stability.map(|of| of.static_stability_factor_uncertainty)),
            ceiling(|of| of.left_ceiling.as_ref()),
            ceiling(|of| of.right_ceiling.as_ref()),
            ceiling(|of| of.uphill_ceiling.as_ref()),
            ceiling(|of| of.downhill_ceiling.as_ref()),
        ]);
    }
    records
}

/// The figures: what, value, unit.
fn figures(of: &Stability) -> Vec<(&'static str, f64, &'static str)> {
    let mut figures = vec![
        ("height of the centre of mass", of.height_mm, "mm"),
        ("its uncertainty", of.height_uncertainty_mm, "mm"),
        ("centre aft of the front axle", of.centre_x_mm, "mm"),
        ("static stability factor", of.static_stability_factor, ""),
        ("its uncertainty", of.static_stability_factor_uncertainty, ""),
    ];
    let ceilings: [(&str, &str, &Option<SlopeCeiling>); 4] = [
        (
            "ceiling, left downhill",
            "the same, centre higher",
            &of.left_ceiling,
        ),
        (
            "ceiling, right downhill",
            "the same, centre higher",
            &of.right_ceiling,
        ),
        (
            "ceiling, nose uphill",
            "the same, centre higher",
            &of.uphill_ceiling,
        ),
        (
            "ceiling, nose downhill",
            "the same, centre higher",
            &of.downhill_ceiling,
        ),
    ];
    for (name, upper, ceiling) in ceilings {
        if let Some(ceiling) = ceiling {
            figures.push((name, ceiling.ceiling_deg, "degrees"));
            figures.push((upper, ceiling.ceiling_at_upper_height_deg, "degrees"));
        }
    }
    figures
}

fn records(of: &Stability) -> Records {
    let mut records = Records::new(["figure", "value", "unit"]);
    for (figure, value, unit) in figures(of) {
        records.push([Cell::text(figure), Cell::Number(value), Cell::text(unit)]);
    }
    records
}

fn blocks(of: &Stability) -> Vec<Block> {
    let text = "Stability: ceilings of a rigid body, never safe slopes";
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, text),
        Block::Gap,
        Block::Table(records(of)),
        Block::Gap,
    ];
    for open in &of.unconfirmed {
        blocks.push(Block::toned(0, Tone::Bad, format!("Not confirmed: {open}.")));
    }
    blocks.extend(
        of.cautions
            .iter()
            .map(|caution| Block::toned(0, Tone::Dim, caution.as_str())),
    );
    blocks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;

    #[test]
    fn stability_over_a_trip_shows_the_lower_side_and_what_is_not_known() {
        let ceiling = |ceiling_deg| {
            Some(SlopeCeiling {
                ceiling_deg,
                ceiling_at_upper_height_deg: ceiling_deg - 1.0,
            })
        };
        let known = Stability {
            height_mm: 812.0,
            static_stability_factor: 0.95,
            left_ceiling: ceiling(44.25),
            right_ceiling: ceiling(43.5),
            unconfirmed: vec!["the suspension was blocked".to_owned()],
            ..Default::default()
        };
        let state = |load_state: &str, stability, missing: &[&str]| StabilityState {
            load_state: load_state.to_owned(),
            stability,
            missing: missing.iter().map(|text| (*text).to_owned()).collect(),
            ..Default::default()
        };
        let of = VehicleStability {
            states: vec![
                state("departure", Some(known), &[]),
                state("end of l01", None, &["how high the tent sits is not known"]),
            ],
            bare_height_mm: Some(760.4),
            bare_height_uncertainty_mm: Some(15.0),
            provenance: "Invented.".to_owned(),
            formula_version: "stability/1".to_owned(),
            cautions: vec!["never a safe slope".to_owned()],
            ..Default::default()
        };
        let head = "Stability of v1 over north".to_owned();
        let document = Document::of(&of, trip_blocks(&of, head), trip_records(&of));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "43.5",
            "- how high the tent sits is not known",
            "760 mm +/- 15",
            "Not confirmed: the suspension was blocked.",
            "never a safe slope",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        assert!(!text.contains("44.25"), "{text}");
        let csv = document.render(Format::Csv, Style::plain()).unwrap();
        assert_eq!(csv.lines().count(), 3, "{csv}");
    }
}
