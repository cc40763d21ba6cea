//! `ostler fuel`: what each vehicle needs and has, what the convoy can share, what more to carry.

use ostler_proto::v1::fuel_service_client::FuelServiceClient;
use ostler_proto::v1::{
    Answer, ComputeFuelRequest, ExtraFuel, ExtraFuelLoad, FuelResult, FuelSharing, VehicleFuel, WorstLoad,
};

use super::Outcome;
use super::verdict::{answer_tone, answer_words};
use crate::cli::FuelArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number, word};
use crate::session::{Session, id_of};

/// Asks for the fuel.
pub(super) async fn run(session: &Session, args: &FuelArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let vehicle = match &args.vehicle {
        Some(vehicle) => session.name_beside(&departure, Kind::Vehicle, vehicle)?,
        None => String::new(),
    };
    let with_legs = !vehicle.is_empty();
    let fuel = session
        .connection
        .call(
            ComputeFuelRequest { departure, vehicle },
            async |service, request| {
                FuelServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .compute_fuel(request)
                    .await
            },
        )
        .await?;
    Ok(Outcome::document(Document::of(
        &fuel,
        blocks(&fuel, with_legs),
        records(&fuel),
    )))
}

fn blocks(fuel: &FuelResult, with_legs: bool) -> Vec<Block> {
    let head = format!("Fuel of {}", id_of(&fuel.departure));
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    for vehicle in fuel.vehicles.iter().filter(|vehicle| !vehicle.missing.is_empty()) {
        let text = format!("{}: NOT KNOWN, missing:", id_of(&vehicle.vehicle));
        blocks.push(Block::toned(0, Tone::Bad, text));
        let missing = vehicle.missing.iter();
        blocks.extend(missing.map(|missing| Block::line(2, format!("- {missing}"))));
    }
    blocks.extend([Block::Gap, Block::Table(vehicle_table(fuel))]);
    for vehicle in &fuel.vehicles {
        if with_legs && !vehicle.legs.is_empty() {
            blocks.extend([Block::Gap, Block::Table(leg_table(vehicle))]);
        }
        let sentences = vehicle
            .points_not_counted
            .iter()
            .map(|point| format!("not counted: {point}"))
            .chain(vehicle.cautions.iter().cloned())
            .chain(vehicle.chance_notes.iter().cloned());
        let id = id_of(&vehicle.vehicle);
        blocks.extend(sentences.map(|sentence| Block::line(0, format!("- {id}: {sentence}"))));
    }
    blocks.push(Block::Gap);
    if fuel.sharing_missing.is_empty() {
        blocks.extend(fuel.sharing.iter().flat_map(sharing_blocks));
    } else {
        let text = "What can be shared is NOT KNOWN, missing:";
        blocks.push(Block::toned(0, Tone::Bad, text));
        let missing = fuel.sharing_missing.iter();
        blocks.extend(missing.map(|missing| Block::line(2, format!("- {missing}"))));
    }
    blocks.extend(fuel.extra.iter().flat_map(extra_blocks));
    blocks.extend([
        Block::Gap,
        Block::line(0, fuel.caution.as_str()),
        Block::toned(0, Tone::Dim, format!("Formula: {}.", fuel.formula_version)),
    ]);
    blocks
}

/// One row for every vehicle and interval.
fn vehicle_table(fuel: &FuelResult) -> Records {
    let mut table = Records::new([
        "vehicle",
        "to",
        "required l",
        "usable l",
        "balance l",
        "%",
        "nominal %",
        "answer",
    ]);
    for vehicle in &fuel.vehicles {
        let id = id_of(&vehicle.vehicle);
        let answer = answer_words(vehicle.answer());
        if vehicle.intervals.is_empty() {
            let unknown = [const { Cell::None("not known") }; 6];
            let row = std::iter::once(Cell::text(id)).chain(unknown);
            table.push(row.chain([Cell::text(answer)]));
        }
        for interval in &vehicle.intervals {
            let percent = |fraction: Option<f64>| Cell::maybe(fraction.map(|fraction| 100.0 * fraction));
            table.push([
                Cell::text(id),
                Cell::text(interval.end_place.as_str()),
                Cell::Number(interval.required_l),
                Cell::Number(interval.usable_at_start_l),
                Cell::Number(interval.balance_l),
                percent(interval.balance_fraction),
                percent(interval.nominal_balance_fraction),
                Cell::text(answer),
            ]);
        }
    }
    table
}

fn leg_table(vehicle: &VehicleFuel) -> Records {
    let mut table = Records::new([
        "leg",
        "driven km",
        "burns l",
        "before l",
        "after l",
        "to next l",
        "in hand l",
        "chance short",
    ]);
    for leg in &vehicle.legs {
        table.push([
            Cell::text(leg.leg.as_str()),
            Cell::Number(leg.driven_km),
            Cell::Number(leg.litres),
            Cell::Number(leg.usable_before_l),
            Cell::Number(leg.usable_after_l),
            Cell::Number(leg.to_next_point_l),
            Cell::Number(leg.in_hand_l),
            Cell::known(leg.chance_of_short),
        ]);
    }
    table
}

fn sharing_blocks(sharing: &FuelSharing) -> Vec<Block> {
    let fuel = word("Fluid", sharing.fuel().as_str_name());
    let litres = number;
    let (tone, outcome) = if sharing.shortfall_l <= 0.0 {
        (Tone::Good, "nobody is short".to_owned())
    } else if sharing.moves.is_empty() {
        let text = format!(
            "{} l short, and nobody has any to give",
            litres(sharing.shortfall_l)
        );
        (Tone::Bad, text)
    } else {
        let text = format!(
            "{} l short, {} l over on others, {} l stay short",
            litres(sharing.shortfall_l),
            litres(sharing.surplus_l),
            litres(sharing.uncovered_l)
        );
        let answer = if sharing.uncovered_l > 1e-6 {
            Answer::NotMet
        } else {
            Answer::MetWithConditions
        };
        (answer_tone(answer), text)
    };
    let head = format!(
        "Sharing {fuel}, {} to {}: {outcome}",
        sharing.start_place, sharing.end_place
    );
    let mut blocks = vec![Block::toned(0, tone, head)];
    blocks.extend(sharing.moves.iter().map(|one| {
        let text = format!(
            "- at {}: {} l from {} to {}",
            one.place,
            litres(one.litres),
            id_of(&one.from_vehicle),
            id_of(&one.to_vehicle)
        );
        Block::line(2, text)
    }));
    blocks
}

fn extra_blocks(extra: &ExtraFuel) -> Vec<Block> {
    let fuel = word("Fluid", extra.fuel().as_str_name());
    let mut blocks = Vec::new();
    if !extra.covered {
        let text = format!(
            "More {fuel} to carry: no way is known for {} l; what is on record allows {} l.",
            number(extra.shortfall_l),
            number(extra.most_l)
        );
        blocks.push(Block::toned(0, Tone::Bad, text));
    }
    let missing = extra.missing.iter();
    blocks.extend(missing.map(|missing| Block::line(2, format!("- missing: {missing}"))));
    for load in &extra.loads {
        let containers: Vec<String> = load
            .containers
            .iter()
            .map(|some| format!("{} x {}", some.count, some.container))
            .collect();
        let after = load
            .balance_after_l
            .map(|litres| format!(", {} l over then", number(litres)))
            .unwrap_or_default();
        let text = format!(
            "The least to carry in addition: {} on {}, {} l usable, {} kg{after}",
            containers.join(" and "),
            id_of(&load.vehicle),
            number(load.usable_l),
            number(load.mass_kg)
        );
        blocks.extend([Block::line(0, text), Block::Table(margin_table(load))]);
    }
    blocks
}

fn margin_table(load: &ExtraFuelLoad) -> Records {
    let mut table = Records::new(["load", "margin kg", "with them kg", "answer with them"]);
    let margin = |worst: &WorstLoad| worst.load.as_ref().and_then(|load| load.margin_kg);
    for after in &load.after {
        let before = load
            .before
            .iter()
            .find(|one| one.limited_load == after.limited_load);
        table.push([
            Cell::text(after.limited_load.replace('_', " ")),
            Cell::known(before.and_then(margin)),
            Cell::known(margin(after)),
            Cell::text(answer_words(
                after.load.as_ref().map_or(Answer::NotKnown, |load| load.answer()),
            )),
        ]);
    }
    table
}

/// One row per vehicle and leg; one without numbers for a vehicle whose fuel is not known.
fn records(fuel: &FuelResult) -> Records {
    let mut records = Records::new([
        "vehicle",
        "departure",
        "answer",
        "leg",
        "driven_km",
        "indicated_km",
        "litres",
        "usable_before_l",
        "usable_after_l",
        "short_l",
        "to_next_point_l",
        "in_hand_l",
        "taken_on_l",
        "chance_of_short",
        "missing_count",
    ]);
    for vehicle in &fuel.vehicles {
        let start = || {
            [
                vehicle.vehicle.as_str(),
                fuel.departure.as_str(),
                answer_words(vehicle.answer()),
            ]
            .map(Cell::text)
        };
        let missing = || Cell::text(vehicle.missing.len().to_string());
        if vehicle.legs.is_empty() {
            let none = [const { Cell::None("") }; 11];
            records.push(start().into_iter().chain(none).chain([missing()]));
        }
        for leg in &vehicle.legs {
            let cells = [
                Cell::text(leg.leg.as_str()),
                Cell::Number(leg.driven_km),
                Cell::maybe(leg.indicated_km),
                Cell::Number(leg.litres),
                Cell::Number(leg.usable_before_l),
                Cell::Number(leg.usable_after_l),
                Cell::Number(leg.short_l),
                Cell::Number(leg.to_next_point_l),
                Cell::Number(leg.in_hand_l),
                Cell::Number(leg.taken_on_l),
                Cell::maybe(leg.chance_of_short),
                missing(),
            ];
            records.push(start().into_iter().chain(cells));
        }
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::{ExtraContainers, Fluid, FuelInterval, FuelLeg, FuelMove};

    fn fuel() -> FuelResult {
        let interval = FuelInterval {
            end_place: "Varn Crossing".to_owned(),
            required_l: 609.7,
            usable_at_start_l: 573.0,
            balance_l: -36.7,
            balance_fraction: Some(-0.0602),
            nominal_balance_fraction: Some(-0.0208),
            ..Default::default()
        };
        let short = VehicleFuel {
            vehicle: "fleets/orrin/vehicles/v4".to_owned(),
            answer: Answer::NotMet.into(),
            intervals: vec![interval],
            legs: vec![FuelLeg {
                leg: "l01".to_owned(),
                litres: 28.2,
                usable_before_l: 573.0,
                usable_after_l: 544.8,
                chance_of_short: Some(0.001),
                ..Default::default()
            }],
            points_not_counted: vec!["Corrow Airstrip is not confirmed".to_owned()],
            ..Default::default()
        };
        let unknown = VehicleFuel {
            vehicle: "fleets/orrin/vehicles/v9".to_owned(),
            answer: Answer::NotKnown.into(),
            missing: vec!["the policy's fuel_reserve is not known".to_owned()],
            ..Default::default()
        };
        let sharing = FuelSharing {
            fuel: Fluid::Diesel.into(),
            shortfall_l: 36.7,
            surplus_l: 8.7,
            uncovered_l: 28.0,
            moves: vec![FuelMove {
                from_vehicle: "fleets/orrin/vehicles/v1".to_owned(),
                to_vehicle: "fleets/orrin/vehicles/v4".to_owned(),
                place: "Dray Bore".to_owned(),
                litres: 2.5,
            }],
            ..Default::default()
        };
        let extra = ExtraFuel {
            fuel: Fluid::Diesel.into(),
            covered: true,
            loads: vec![ExtraFuelLoad {
                vehicle: "fleets/orrin/vehicles/v4".to_owned(),
                containers: vec![ExtraContainers {
                    container: "can-20".to_owned(),
                    count: 2,
                }],
                usable_l: 39.66,
                mass_kg: 41.6,
                ..Default::default()
            }],
            ..Default::default()
        };
        FuelResult {
            departure: "fleets/orrin/departures/north".to_owned(),
            vehicles: vec![short, unknown],
            sharing: vec![sharing],
            extra: vec![extra],
            formula_version: "fuel/1".to_owned(),
            ..Default::default()
        }
    }

    #[test]
    fn fuel_for_people_says_what_is_short_and_what_helps() {
        let fuel = fuel();
        let document = Document::of(&fuel, blocks(&fuel, true), records(&fuel));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "v9: NOT KNOWN",
            "fuel_reserve",
            "609.7",
            "-36.7",
            "-2.08",
            "not counted: Corrow Airstrip is not confirmed",
            "28 l stay short",
            "at Dray Bore: 2.5 l from v1 to v4",
            "2 x can-20 on v4",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }

    #[test]
    fn fuel_for_scripts_has_a_row_for_each_leg_and_each_unknown_vehicle() {
        let fuel = fuel();
        let document = Document::of(&fuel, blocks(&fuel, false), records(&fuel));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        assert_eq!(text.lines().count(), 3, "{text}");
        assert!(text.lines().next().unwrap().ends_with("missing_count"), "{text}");
        assert!(text.contains("not known") && text.ends_with(",1\n"), "{text}");
    }
}
