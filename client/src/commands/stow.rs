//! `ostler stow`: where the cargo of a departure would go, and moving it there.

use std::io::{self, Write};

use ostler_proto::v1::change_service_client::ChangeServiceClient;
use ostler_proto::v1::compute_stowage_response::Step;
use ostler_proto::v1::stowage_service_client::StowageServiceClient;
use ostler_proto::v1::{
    Answer, ApplyChangesRequest, ComputeStowageRequest, Stowage, StowageLimit, StowageMargin, StowageMove,
    StowageProgress,
};

use super::Outcome;
use crate::cli::StowArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, fleet_of, id_of};

/// Limits that are shown to people; all of them stand in the JSON form.
const MARGINS_SHOWN: usize = 8;

/// Asks for the stowage, and makes its moves if that is wanted.
pub(super) async fn run(session: &Session, args: &StowArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let cargo = |texts: &[String]| -> Result<Vec<String>, CliError> {
        let names = texts.iter();
        names
            .map(|text| session.name_beside(&departure, Kind::Cargo, text))
            .collect()
    };
    let request = ComputeStowageRequest {
        departure: departure.clone(),
        time_limit_s: args.seconds,
        steps_max: 0,
        seed: args.seed,
        unstowed: cargo(&args.also)?,
        pinned: cargo(&args.pin)?,
        roof_item_mass_max_kg: args.roof_item_max,
        give_up_fraction: Some(args.give_up),
    };
    let mut stream = session
        .connection
        .call(request, async |service, request| {
            StowageServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_stowage(request)
                .await
        })
        .await?;
    let mut stowage = None;
    while let Some(message) = session.connection.next(&mut stream).await? {
        match message.step {
            Some(Step::Progress(progress)) => tell(&progress),
            Some(Step::Stowage(found)) => stowage = Some(found),
            None => {}
        }
    }
    let stowage = stowage.ok_or_else(|| CliError::Answer {
        problem: "the search ended without a stowage".to_owned(),
    })?;
    let outcome = Outcome::document(Document::of(&stowage, blocks(&stowage), records(&stowage)));
    match (args.make, stowage.moves.len()) {
        (false, 0) => Ok(outcome),
        (false, _) => Ok(outcome.with_note("nothing was written; --make makes these moves, all or none")),
        (true, 0) => Ok(outcome.with_note("there is nothing to move, and nothing was written")),
        (true, count) => {
            make(session, args, &departure, &stowage).await?;
            Ok(outcome
                .with_note(format!("made: {count} moves"))
                .after_writing(&args.write))
        }
    }
}

/// Makes the moves as one change.
async fn make(
    session: &Session,
    args: &StowArgs,
    departure: &str,
    stowage: &Stowage,
) -> Result<(), CliError> {
    let request = ApplyChangesRequest {
        parent: fleet_of(departure).to_owned(),
        changes: stowage.changes.clone(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    session
        .connection
        .call(request, async |service, request| {
            ChangeServiceClient::new(service).apply_changes(request).await
        })
        .await?;
    Ok(())
}

fn tell(progress: &StowageProgress) {
    let margin = progress.smallest_margin_fraction.map_or_else(
        || "no margin".to_owned(),
        |margin| format!("{} in hand", percent(margin)),
    );
    // Progress is a courtesy: a closed standard error does not stop the search.
    let _ = writeln!(
        io::stderr().lock(),
        "stow: {} steps, {margin}, none above {}, {:.0} kg to move",
        progress.steps_count,
        percent(progress.margin_bound_fraction),
        progress.moved_mass_kg
    );
}

fn percent(fraction: f64) -> String {
    format!("{:.2} %", 100.0 * fraction)
}

fn blocks(stowage: &Stowage) -> Vec<Block> {
    let head = format!("Stowage of {}", id_of(&stowage.departure));
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    let (tone, word) = match stowage.answer() {
        Answer::Met => (Tone::Good, "MET"),
        Answer::NotMet => (Tone::Bad, "NOT MET"),
        _ => (Tone::Bad, "NOT KNOWN"),
    };
    blocks.push(Block::toned(0, tone, format!("{word}: {}", stowage.explanation)));
    for left_out in &stowage.left_out {
        let text = format!(
            "{} is left out: {}.",
            id_of(&left_out.vehicle),
            left_out.reasons.join("; ")
        );
        blocks.push(Block::toned(0, Tone::Bad, text));
    }
    if !stowage.missing.is_empty() {
        blocks.push(Block::toned(
            0,
            Tone::Bad,
            "The margins leave out what is missing:",
        ));
        let missing = stowage.missing.iter();
        blocks.extend(missing.map(|missing| Block::line(2, format!("- {missing}"))));
    }
    if !stowage.moves.is_empty() {
        let text = format!(
            "To move, {} things of {:.1} kg in all:",
            stowage.moves.len(),
            stowage.moved_mass_kg
        );
        blocks.extend([Block::Gap, Block::line(0, text), Block::Table(moves(stowage))]);
    } else if stowage.answer() == Answer::Met {
        blocks.push(Block::line(0, "Nothing need be moved."));
    }
    blocks.extend([Block::Gap, Block::line(0, "What would then be tightest:")]);
    blocks.push(Block::Table(tightest(stowage)));
    if !stowage.staying.is_empty() {
        let text = format!(
            "{} things stay where they are: pinned, or not known.",
            stowage.staying.len()
        );
        blocks.push(Block::line(0, text));
    }
    blocks.push(Block::Gap);
    blocks.push(Block::toned(
        0,
        Tone::Caution,
        format!("Caution: {}", stowage.caution),
    ));
    blocks
}

fn place(vehicle: &str, zone: &str) -> String {
    match vehicle {
        "" => "not stowed".to_owned(),
        vehicle => format!("{}/{zone}", id_of(vehicle)),
    }
}

fn moves(stowage: &Stowage) -> Records {
    let mut table = Records::new(["cargo", "what", "kg", "from", "to"]);
    for one in &stowage.moves {
        table.push([
            Cell::text(id_of(&one.cargo_item)),
            Cell::text(one.display_name.as_str()),
            Cell::text(format!("{:.1}", one.mass_kg)),
            Cell::text(place(&one.from_vehicle, &one.from_zone)),
            Cell::text(place(&one.to_vehicle, &one.to_zone)),
        ]);
    }
    table
}

fn tightest(stowage: &Stowage) -> Records {
    let mut table = Records::new(["vehicle", "limit", "moment", "load", "of", "in hand"]);
    for margin in stowage.margins.iter().take(MARGINS_SHOWN) {
        let StowageLimit { vehicle, limit } = margin.limit.clone().unwrap_or_default();
        table.push([
            Cell::text(id_of(&vehicle)),
            Cell::text(limit),
            Cell::text(margin.load_state.as_str()),
            Cell::text(format!("{:.1} kg", margin.load_kg)),
            Cell::text(format!("{:.1} kg", margin.limit_kg)),
            Cell::text(in_hand(margin)),
        ]);
    }
    table
}

fn in_hand(margin: &StowageMargin) -> String {
    match (margin.margin_fraction, margin.kept) {
        (Some(fraction), _) => percent(fraction),
        (None, true) => "kept".to_owned(),
        (None, false) => "NOT KEPT".to_owned(),
    }
}

fn records(stowage: &Stowage) -> Records {
    let mut records = Records::new([
        "cargo_item",
        "display_name",
        "mass_kg",
        "from_vehicle",
        "from_zone",
        "to_vehicle",
        "to_zone",
    ]);
    for one in &stowage.moves {
        let StowageMove {
            cargo_item,
            display_name,
            mass_kg,
            from_vehicle,
            from_zone,
            to_vehicle,
            to_zone,
            to_position: _,
        } = one;
        records.push([
            Cell::text(cargo_item.as_str()),
            Cell::text(display_name.as_str()),
            Cell::Number(*mass_kg),
            Cell::text(from_vehicle.as_str()),
            Cell::text(from_zone.as_str()),
            Cell::text(to_vehicle.as_str()),
            Cell::text(to_zone.as_str()),
        ]);
    }
    records
}
