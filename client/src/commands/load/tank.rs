//! `ostler load tank`: a tank on record or from a file.

use ostler_proto::v1::compute_tank_request::Subject;
use ostler_proto::v1::tank_service_client::TankServiceClient;
use ostler_proto::v1::{
    ComputeTankRequest, RecordedTank, TankContents, TankFigures, TankStarving, TankWallLoad, TankWarming,
};

use super::Outcome;
use crate::cli::LoadTankArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of};

/// Asks for the figures.
pub(super) async fn run(session: &Session, args: &LoadTankArgs) -> Result<Outcome, CliError> {
    let (head, mut request) = match (&args.file, &args.vehicle, &args.tank) {
        (Some(file), ..) => (format!("Tank of {}", file.display()), input::request(file, "")?),
        (None, Some(vehicle), Some(tank)) => {
            let vehicle = session.name(Kind::Vehicle, vehicle).await?;
            let head = format!("Tank {tank} of {}", id_of(&vehicle));
            let recorded = RecordedTank {
                vehicle,
                tank: tank.clone(),
            };
            let request = ComputeTankRequest {
                subject: Some(Subject::Recorded(recorded)),
                ..Default::default()
            };
            (head, request)
        }
        // The command line is refused before.
        (None, ..) => (String::new(), ComputeTankRequest::default()),
    };
    request.volume_l = args.volume_l.or(request.volume_l);
    request.leak_test_kpa = args.leak_test_kpa.or(request.leak_test_kpa);
    request.vehicle_mass_kg = args.vehicle_mass_kg.or(request.vehicle_mass_kg);
    if let (Some(fill_temperature_c), Some(hottest_temperature_c)) = (args.fill_c, args.hottest_c) {
        request.warming = Some(TankWarming {
            fill_temperature_c,
            hottest_temperature_c,
            fill_share_max: None,
        });
    }
    let figures = session
        .connection
        .call(request, async |service, request| {
            TankServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_tank(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &figures,
        blocks(&figures, head),
        records(&figures),
    )))
}

/// A figure: what, value, unit.
type Row = (String, f64, &'static str);

fn contents(rows: &mut Vec<Row>, when: &str, contents: Option<&TankContents>) {
    let Some(contents) = contents else {
        return;
    };
    rows.push((format!("volume, {when}"), contents.volume_l, "l"));
    rows.push((format!("mass, {when}"), contents.mass_kg, "kg"));
    rows.push((format!("weight, {when}"), contents.weight_n, "N"));
    let places = [
        ("level", contents.level_mm),
        ("centre above the floor", contents.centre_mm),
    ];
    for (what, value) in places {
        rows.extend(value.map(|value| (format!("{what}, {when}"), value, "mm")));
    }
}

fn figures(of: &TankFigures) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    contents(&mut rows, "now", of.now.as_ref());
    contents(&mut rows, "brimful", of.brimful.as_ref());
    if let Some(room) = &of.room {
        rows.push(("most to fill in".to_owned(), room.fill_limit_l, "l"));
        rows.push(("to leave out".to_owned(), room.excess_l, "l"));
        rows.push(("free when hottest".to_owned(), room.ullage_l, "l"));
    }
    if let Some(surface) = &of.free_surface {
        rows.push(("free surface moment".to_owned(), surface.moment_kgm, "kg m"));
        rows.push((
            "rise of the vehicle's centre".to_owned(),
            surface.virtual_rise_mm,
            "mm",
        ));
        rows.push((
            "saved by closed walls".to_owned(),
            100.0 * surface.saved_share,
            "%",
        ));
        rows.push((
            "sum holds up to a lean of".to_owned(),
            surface.valid_to_deg,
            "degrees",
        ));
    }
    for (index, slosh) in of.slosh.iter().enumerate() {
        let cell = index + 1;
        rows.push((format!("slosh along, cell {cell}"), slosh.lengthwise_hz, "Hz"));
        rows.push((format!("slosh across, cell {cell}"), slosh.crosswise_hz, "Hz"));
    }
    if let Some(flow) = &of.flow {
        let parts = [
            ("left when the pump draws air", flow.left_l, "l"),
            ("flow asked of the wall", flow.needed_l_per_min, "l/min"),
            ("flow that it passes", flow.passes_l_per_min, "l/min"),
            ("cells level within", flow.levels_within_s, "s"),
        ];
        for (what, value, unit) in parts {
            rows.extend(value.map(|value| (what.to_owned(), value, unit)));
        }
    }
    for load in &of.walls {
        walls(&mut rows, load);
    }
    rows
}

fn walls(rows: &mut Vec<Row>, load: &TankWallLoad) {
    let bay = format!("{:.0} x {:.0}", load.length_mm, load.width_mm);
    let edges = [
        ("edges free", &load.simply_supported),
        ("edges held", &load.clamped),
    ];
    for (edge, plate) in edges {
        if let Some(plate) = plate {
            let doubt = if plate.valid { "" } else { ", not valid" };
            rows.push((format!("stress, {bay}, {edge}{doubt}"), plate.stress_mpa, "MPa"));
            rows.push((format!("bulge, {bay}, {edge}{doubt}"), plate.deflection_mm, "mm"));
            rows.push((format!("valid up to, {bay}, {edge}"), plate.valid_to_kpa, "kPa"));
        }
    }
}

/// What stops the pump, in words. `None`: nothing that does not depend on the fill.
fn starving(of: &TankFigures) -> Option<String> {
    let flow = of.flow.as_ref()?;
    let number = flow.at_fault.unwrap_or_default() + 1;
    match flow.starving() {
        TankStarving::HolesTooSmall => Some(format!(
            "The pump draws air whatever the fill: the holes of wall {number} pass too little."
        )),
        TankStarving::Airless => Some(format!(
            "The pump draws air whatever the fill: cell {number} gets no air."
        )),
        TankStarving::AtFill | TankStarving::Unspecified => None,
    }
}

fn records(of: &TankFigures) -> Records {
    let mut records = Records::new(["figure", "value", "unit"]);
    for (figure, value, unit) in figures(of) {
        records.push([Cell::text(figure), Cell::Number(value), Cell::text(unit)]);
    }
    records
}

fn blocks(of: &TankFigures, head: String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if !of.missing.is_empty() {
        blocks.push(Block::toned(
            0,
            Tone::Bad,
            "NOT KNOWN where figures are left out:",
        ));
        blocks.extend(
            of.missing
                .iter()
                .map(|sentence| Block::line(2, format!("- {sentence}"))),
        );
    }
    blocks.extend(starving(of).map(|text| Block::toned(0, Tone::Bad, text)));
    blocks.extend([Block::Gap, Block::Table(records(of)), Block::Gap]);
    blocks.extend(Block::closing(&of.cautions, &of.formula_version));
    blocks
}

#[cfg(test)]
mod tests {
    use ostler_proto::v1::{PlateLoad, TankFlow, TankRoom};

    use super::*;

    #[test]
    fn what_is_not_valid_is_said_beside_the_figure_and_starving_in_words() {
        let plate = PlateLoad {
            stress_mpa: 90.0,
            deflection_mm: 3.0,
            valid: false,
            valid_to_kpa: 4.0,
        };
        let of = TankFigures {
            room: Some(TankRoom {
                fill_limit_l: 96.0,
                excess_l: 4.0,
                ullage_l: -0.5,
            }),
            flow: Some(TankFlow {
                starving: TankStarving::HolesTooSmall.into(),
                at_fault: Some(0),
                ..Default::default()
            }),
            walls: vec![TankWallLoad {
                length_mm: 400.0,
                width_mm: 300.0,
                simply_supported: Some(plate),
                clamped: None,
            }],
            ..Default::default()
        };
        let names: Vec<String> = figures(&of).into_iter().map(|(name, ..)| name).collect();
        assert!(
            names.contains(&"stress, 400 x 300, edges free, not valid".to_owned()),
            "{names:?}"
        );
        assert!(starving(&of).unwrap().contains("wall 1"));
        assert!(starving(&TankFigures::default()).is_none());
    }
}
