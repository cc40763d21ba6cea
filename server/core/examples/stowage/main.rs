//! Stows random convoys of 4 to 6 vehicles and 120 items and prints each with its result, one JSON object a line, for a
//! check against an independent solver:
//!
//! `cargo run --release -p ostler-core --example stowage -- FIRST_SEED COUNT STEPS [SECONDS]`
//!
//! SECONDS ends each search when it has taken that long. Numbers read back as the same `f64`.

mod convoy;

use std::error::Error;
use std::io::{BufWriter, Write};
use std::time::{Duration, Instant};

use convoy::random_convoy;
use ostler_core::stowage::{Ban, Convoy, ConvoyVehicle, Item, Place, SolveOptions, Stowage, Watch, solve};

struct Deadline(Option<Instant>);

impl Watch for Deadline {
    fn is_over(&self) -> bool {
        self.0.is_some_and(|end| Instant::now() >= end)
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (first, count, steps, seconds) = match arguments.as_slice() {
        [first, count, steps] => (first, count, steps, None),
        [first, count, steps, seconds] => (first, count, steps, Some(seconds)),
        _ => return Err("usage: stowage FIRST_SEED COUNT STEPS [SECONDS]".into()),
    };
    let (first, count): (u64, u64) = (first.parse()?, count.parse()?);
    let options = SolveOptions {
        steps_max: steps.parse()?,
        ..SolveOptions::default()
    };
    let budget = seconds
        .map(|seconds| Ok::<_, Box<dyn Error>>(Duration::try_from_secs_f64(seconds.parse()?)?))
        .transpose()?;
    let mut output = BufWriter::new(std::io::stdout().lock());
    for seed in first..first.saturating_add(count) {
        let convoy = random_convoy(seed, 4 + (seed % 3) as usize, 120);
        let begin = Instant::now();
        let stowage = solve(&convoy, &options, &Deadline(budget.map(|budget| begin + budget)))?;
        let seconds = begin.elapsed().as_secs_f64();
        writeln!(output, "{}", line(seed, seconds, &convoy, &stowage))?;
        output.flush()?;
    }
    Ok(())
}

fn line(seed: u64, seconds: f64, convoy: &Convoy, stowage: &Stowage) -> String {
    format!(
        r#"{{"seed":{seed},"seconds":{seconds:.3},"steps":{},"answer":"{}","margin":{},"bound":{},"moved_kg":{},"moves":{},"places":{},"vehicles":{},"items":{},"groups":{}}}"#,
        stowage.steps,
        stowage.answer.word(),
        number(stowage.smallest_margin),
        number(stowage.margin_bound),
        stowage.moved_mass_kg,
        stowage.moves.len(),
        list(&stowage.places, |one| place(Some(one))),
        list(&convoy.vehicles, vehicle),
        list(&convoy.items, |one| item(convoy, one)),
        list(&convoy.groups, |group| list(group, usize::to_string)),
    )
}

fn list<T>(values: &[T], text: impl Fn(&T) -> String) -> String {
    format!("[{}]", values.iter().map(text).collect::<Vec<_>>().join(","))
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(|| "null".to_owned(), |value| value.to_string())
}

fn place(place: Option<&Place>) -> String {
    place.map_or_else(
        || "null".to_owned(),
        |place| {
            let own = place
                .own
                .map_or_else(|| "null".to_owned(), |own| format!("[{},{}]", own.x_mm, own.y_mm));
            format!("[{},{},{own}]", place.vehicle, place.zone)
        },
    )
}

fn vehicle(vehicle: &ConvoyVehicle) -> String {
    let zones = list(&vehicle.zones, |zone| {
        format!(
            "[{},{},{},{}]",
            zone.x_mm,
            zone.y_mm,
            number(zone.limit_kg),
            zone.on_roof
        )
    });
    let states = list(&vehicle.states, |state| {
        format!(
            "[{},{},{},{},{},{},{}]",
            state.total_kg,
            state.front_axle_kg,
            state.rear_axle_kg,
            state.roof_kg,
            state.lateral_moment_kgm,
            list(&state.zones_kg, f64::to_string),
            state.consumed_share_left
        )
    });
    format!(
        r#"{{"wheelbase":{},"gross":{},"front":{},"rear":{},"roof":{},"lateral":{},"zones":{zones},"states":{states}}}"#,
        vehicle.wheelbase_mm,
        vehicle.gross_mass_kg,
        vehicle.front_axle_rating_kg,
        vehicle.rear_axle_rating_kg,
        number(vehicle.roof_limit_kg),
        number(vehicle.lateral_limit_kgm),
    )
}

/// An item with the zones that its bans leave it, spelled out.
fn item(convoy: &Convoy, item: &Item) -> String {
    let mut open = Vec::new();
    for (vehicle, of) in convoy.vehicles.iter().enumerate() {
        for (zone, here) in of.zones.iter().enumerate() {
            let banned = item.bans.iter().any(|ban| match *ban {
                Ban::Roof => here.on_roof,
                Ban::OccupantSpace => here.occupant_space,
                Ban::Vehicle(banned) => banned == vehicle,
                Ban::Zone(of, banned) => (of, banned) == (vehicle, zone),
            });
            if !banned {
                open.push((vehicle, zone));
            }
        }
    }
    format!(
        r#"{{"mass":{},"consumed":{},"pinned":{},"now":{},"open":{}}}"#,
        item.mass_kg,
        item.consumed,
        item.pinned,
        place(item.now.as_ref()),
        list(&open, |(vehicle, zone)| format!("[{vehicle},{zone}]")),
    )
}
