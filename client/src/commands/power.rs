//! `ostler power`: battery, charging, circuits and welding of a vehicle.

use ostler_proto::v1::compute_power_request::Question;
use ostler_proto::v1::power_service_client::PowerServiceClient;
use ostler_proto::v1::{ComputePowerRequest, PowerResult, RecordedPower, WeldingVerdict};

use super::Outcome;
use super::verdict::{answer_tone, answer_words};
use crate::cli::PowerArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number};
use crate::session::{Session, id_of};

/// Asks for the power.
pub(super) async fn run(session: &Session, args: &PowerArgs) -> Result<Outcome, CliError> {
    let question = match (&args.file, &args.departure, &args.vehicle) {
        (Some(file), _, _) => Some(Question::Given(input::request(file, "")?)),
        (None, Some(departure), Some(vehicle)) => {
            let departure = session.name(Kind::Departure, departure).await?;
            let vehicle = session.name_beside(&departure, Kind::Vehicle, vehicle)?;
            Some(Question::Recorded(RecordedPower { departure, vehicle }))
        }
        // The command line does not let this through.
        _ => None,
    };
    let power = session
        .connection
        .call(ComputePowerRequest { question }, async |service, request| {
            PowerServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_power(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &power,
        blocks(&power),
        records(&power),
    )))
}

/// The figures: what, value, unit.
fn figures(power: &PowerResult) -> Vec<(String, Option<f64>, &'static str)> {
    let mut figures = vec![
        ("taken from the battery", power.energy_wh_per_day, "Wh/day"),
        ("its standard deviation", power.energy_spread_wh_per_day, "Wh/day"),
        ("usable energy of the battery", power.usable_wh, "Wh"),
        ("days without charging", power.autonomy_days, "days"),
        ("the same at high draw", power.autonomy_at_high_draw_days, "days"),
        ("days asked for", power.autonomy_min_days, "days"),
        ("alternator", power.alternator_wh_per_day, "Wh/day"),
        ("panels", power.panels_wh_per_day, "Wh/day"),
        ("lowest on the way", power.lowest_wh, "Wh"),
        ("everything at once", power.running_current_a, "A"),
        ("battery current limit", power.current_limit_a, "A"),
    ]
    .into_iter()
    .map(|(figure, value, unit)| (figure.to_owned(), value, unit))
    .collect::<Vec<_>>();
    for (source, welding) in weldings(power) {
        for limit in &welding.limits {
            let figure = format!("welding from the {source}: {}", limit.limit);
            figures.push((figure, Some(limit.current_a), "A"));
        }
        let load = format!("welding from the {source}: load voltage");
        figures.push((load, Some(welding.load_voltage_v), "V"));
        let minutes = format!("welding from the {source}: arc per charge");
        figures.push((minutes, welding.arc_minutes, "min"));
        let clock = format!("welding from the {source}: by the clock");
        figures.push((clock, welding.elapsed_minutes, "min"));
    }
    if let Some(generator) = &power.generator {
        let saved = [
            ("without the generator: mass saved", Some(generator.mass_saved_kg)),
            (
                "without the generator: front axle saved",
                generator.front_axle_saved_kg,
            ),
            (
                "without the generator: rear axle saved",
                generator.rear_axle_saved_kg,
            ),
        ];
        figures.extend(saved.map(|(figure, value)| (figure.to_owned(), value, "kg")));
    }
    figures
}

fn weldings(power: &PowerResult) -> impl Iterator<Item = (&'static str, &WeldingVerdict)> {
    [
        ("battery", &power.battery_welding),
        ("generator", &power.generator_welding),
    ]
    .into_iter()
    .filter_map(|(source, welding)| Some((source, welding.as_ref()?)))
}

/// One row per figure that is known, and per issue, circuit and reason.
fn records(power: &PowerResult) -> Records {
    let mut records = Records::new(["section", "item", "value", "unit", "answer", "text"]);
    let none = || Cell::None("");
    for (figure, value, unit) in figures(power) {
        if value.is_some() {
            let unit = Cell::text(unit);
            records.push([
                Cell::text("figure"),
                Cell::text(figure),
                Cell::maybe(value),
                unit,
                none(),
                none(),
            ]);
        }
    }
    for device in &power.devices {
        records.push([
            Cell::text("device"),
            Cell::text(device.display_name.as_str()),
            Cell::Number(device.energy_wh_per_day),
            Cell::text("Wh/day"),
            none(),
            none(),
        ]);
    }
    for circuit in &power.circuits {
        records.push([
            Cell::text("circuit"),
            Cell::text(circuit.display_name.as_str()),
            Cell::Number(circuit.drop_v),
            Cell::text("V"),
            Cell::text(answer_words(circuit.answer())),
            none(),
        ]);
    }
    for issue in &power.issues {
        records.push([
            Cell::text("issue"),
            none(),
            none(),
            none(),
            Cell::text(answer_words(issue.answer())),
            Cell::text(issue.text.as_str()),
        ]);
    }
    for reason in power.generator.iter().flat_map(|generator| &generator.reasons) {
        records.push([
            Cell::text("generator"),
            Cell::text(reason.about.as_str()),
            none(),
            none(),
            Cell::text(answer_words(reason.answer())),
            Cell::text(reason.text.as_str()),
        ]);
    }
    records
}

fn blocks(power: &PowerResult) -> Vec<Block> {
    let head = match power.vehicle.as_str() {
        "" => "Electrical power of the system in the file".to_owned(),
        vehicle => format!(
            "Electrical power of {} on {}",
            id_of(vehicle),
            id_of(&power.departure)
        ),
    };
    let answer = format!("Answer: {}", answer_words(power.answer()));
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, head),
        Block::toned(0, answer_tone(power.answer()), answer),
    ];
    for issue in &power.issues {
        blocks.push(Block::toned(
            2,
            answer_tone(issue.answer()),
            format!("- {}: {}", answer_words(issue.answer()), issue.text),
        ));
        blocks.push(Block::line(4, issue.remedy.as_str()));
    }
    let mut table = Records::new(["figure", "value", "unit"]);
    for (figure, value, unit) in figures(power) {
        if value.is_some() {
            table.push([Cell::text(figure), Cell::maybe(value), Cell::text(unit)]);
        }
    }
    blocks.extend([Block::Gap, Block::Table(table)]);
    if !power.devices.is_empty() {
        blocks.extend([Block::Gap, Block::Table(device_table(power))]);
    }
    if !power.circuits.is_empty() {
        blocks.extend([Block::Gap, Block::Table(circuit_table(power))]);
    }
    blocks.extend(welding_lines(power));
    blocks.extend(generator_lines(power));
    blocks.push(Block::Gap);
    if !power.bank_provenance.is_empty() {
        let text = format!("Values of the battery: {}.", power.bank_provenance);
        blocks.push(Block::line(0, text));
    }
    blocks.extend(
        power
            .cautions
            .iter()
            .map(|caution| Block::line(0, caution.as_str())),
    );
    blocks.push(Block::toned(
        0,
        Tone::Dim,
        format!("Formula: {}.", power.formula_version),
    ));
    blocks
}

fn device_table(power: &PowerResult) -> Records {
    let mut table = Records::new(["device", "running W", "Wh/day"]);
    for device in &power.devices {
        table.push([
            Cell::text(device.display_name.as_str()),
            Cell::Number(device.running_power_w),
            Cell::Number(device.energy_wh_per_day),
        ]);
    }
    table
}

fn circuit_table(power: &PowerResult) -> Records {
    let mut table = Records::new([
        "circuit",
        "drop V",
        "drop %",
        "allowed %",
        "fuse A",
        "from A",
        "to A",
        "answer",
    ]);
    for circuit in &power.circuits {
        table.push([
            Cell::text(circuit.display_name.as_str()),
            Cell::Number(circuit.drop_v),
            Cell::Number(circuit.drop_share * 100.0),
            Cell::Number(circuit.drop_max_share * 100.0),
            Cell::known(circuit.fuse_a),
            Cell::maybe(circuit.fuse_min_a),
            Cell::maybe(circuit.fuse_max_a),
            Cell::text(answer_words(circuit.answer())),
        ]);
    }
    table
}

fn welding_lines(power: &PowerResult) -> Vec<Block> {
    let mut blocks = Vec::new();
    for (source, welding) in weldings(power) {
        let text = format!(
            "Welding from the {source}: {} A at the most, {} met first.",
            number(welding.current_max_a),
            welding.binding_limit
        );
        blocks.extend([Block::Gap, Block::line(0, text)]);
        if !welding.missing.is_empty() {
            let text = format!("An upper bound: {} not known.", welding.missing.join(", "));
            blocks.push(Block::toned(2, Tone::Caution, text));
        }
    }
    blocks
}

fn generator_lines(power: &PowerResult) -> Vec<Block> {
    let Some(generator) = &power.generator else {
        return Vec::new();
    };
    let text = format!(
        "Can the generator stay at home? {}.",
        match answer_words(generator.answer()) {
            "met" => "Yes",
            "not met" => "No",
            other => other,
        }
    );
    let mut blocks = vec![Block::Gap, Block::toned(0, answer_tone(generator.answer()), text)];
    for reason in &generator.reasons {
        blocks.push(Block::line(2, format!("- {}: {}", reason.about, reason.text)));
    }
    for missing in &generator.missing {
        blocks.push(Block::toned(2, Tone::Caution, format!("- {missing}")));
    }
    blocks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::{
        Answer, CircuitVerdict, DeviceEnergy, GeneratorReason, GeneratorVerdict, PowerIssue, WeldingLimit,
    };

    fn power() -> PowerResult {
        PowerResult {
            departure: "fleets/orrin/departures/north".to_owned(),
            vehicle: "fleets/orrin/vehicles/v4".to_owned(),
            answer: Answer::NotMet.into(),
            issues: vec![PowerIssue {
                answer: Answer::NotMet.into(),
                text: "main: a fuse of 200 A where it must be above 60.0 A, at most 170.0 A".to_owned(),
                remedy: "fit a fuse of 70 A".to_owned(),
            }],
            devices: vec![DeviceEnergy {
                display_name: "work lamps".to_owned(),
                running_power_w: 60.0,
                energy_wh_per_day: 120.0,
            }],
            energy_wh_per_day: Some(120.0),
            circuits: vec![CircuitVerdict {
                display_name: "main".to_owned(),
                fuse_a: Some(200.0),
                answer: Answer::NotMet.into(),
                ..Default::default()
            }],
            battery_welding: Some(WeldingVerdict {
                limits: vec![WeldingLimit {
                    limit: "battery current limit".to_owned(),
                    current_a: 83.9,
                }],
                binding_limit: "battery current limit".to_owned(),
                current_max_a: 83.9,
                missing: vec!["welder.power_factor".to_owned()],
                ..Default::default()
            }),
            generator: Some(GeneratorVerdict {
                answer: Answer::NotMet.into(),
                reasons: vec![GeneratorReason {
                    about: "welding on the way".to_owned(),
                    answer: Answer::NotMet.into(),
                    text: "90 A wanted, 83.9 A allowed (battery current limit)".to_owned(),
                }],
                missing: vec!["the wheelbase is not known".to_owned()],
                ..Default::default()
            }),
            formula_version: "power/1".to_owned(),
            ..Default::default()
        }
    }

    #[test]
    fn power_for_people_shows_issues_welding_and_the_generator() {
        let power = power();
        let document = Document::of(&power, blocks(&power), records(&power));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for said in [
            "Electrical power of v4 on north",
            "fit a fuse of 70 A",
            "work lamps",
            "Welding from the battery: 83.9 A at the most, battery current limit met first.",
            "An upper bound: welder.power_factor not known.",
            "Can the generator stay at home? No.",
            "the wheelbase is not known",
        ] {
            assert!(words.contains(said), "{said}\n{text}");
        }
    }

    #[test]
    fn every_row_for_scripts_has_its_section() {
        let power = power();
        let document = Document::of(&power, blocks(&power), records(&power));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        for row in [
            "figure,taken from the battery,120,Wh/day,,",
            "device,work lamps,120,Wh/day,,",
            "circuit,main,0,V,not met,",
            "generator,welding on the way,,,not met,",
        ] {
            assert!(text.contains(row), "{row}\n{text}");
        }
    }
}
