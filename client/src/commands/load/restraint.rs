//! `ostler load restraint`: how things are held, on record or from a file.

use ostler_proto::v1::assess_restraint_request::Subject;
use ostler_proto::v1::restraint_service_client::RestraintServiceClient;
use ostler_proto::v1::{
    Answer, AssessRestraintRequest, AssessRestraintResponse, ClosingCount, HeldThing, RecordedRestraint,
    RestraintDirection, RestraintRow,
};

use super::Outcome;
use crate::cli::LoadRestraintArgs;
use crate::commands::verdict::answer_words;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of};

/// Asks for the assessments.
pub(super) async fn run(session: &Session, args: &LoadRestraintArgs) -> Result<Outcome, CliError> {
    let (head, request) = match (&args.departure, &args.vehicle) {
        (Some(departure), Some(vehicle)) => {
            let departure = session.name(Kind::Departure, departure).await?;
            let vehicle = session.name_beside(&departure, Kind::Vehicle, vehicle)?;
            let head = format!("Restraint of {} for {}", id_of(&vehicle), id_of(&departure));
            let recorded = RecordedRestraint {
                departure,
                vehicle,
                ids: args.only.clone(),
            };
            let subject = Some(Subject::Recorded(recorded));
            (head, AssessRestraintRequest { subject })
        }
        _ => match &args.file {
            Some(file) => (
                format!("Restraint of {}", file.display()),
                input::request(file, "")?,
            ),
            // The command line is refused before.
            None => (String::new(), AssessRestraintRequest::default()),
        },
    };
    let response = session
        .connection
        .call(request, async |service, request| {
            RestraintServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .assess_restraint(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &response,
        blocks(&response, head),
        records(&response),
    )))
}

/// What closes a shortfall, in words.
fn closing(ways: &[ClosingCount]) -> String {
    let ways = ways.iter().filter_map(|way| match way.further_count {
        Some(0) => None,
        Some(count) => Some(format!("{count} more {}", way.lashing)),
        None if way.not_known => Some(format!("{}: a rating or the friction is missing", way.lashing)),
        None => None,
    });
    ways.collect::<Vec<_>>().join(" or ")
}

fn direction(row: &RestraintRow) -> &'static str {
    match row.direction() {
        RestraintDirection::Forward => "forward",
        RestraintDirection::Rearward => "rearward",
        RestraintDirection::Left => "left",
        RestraintDirection::Right => "right",
        RestraintDirection::Upward => "upward",
        RestraintDirection::Unspecified => "",
    }
}

fn thing_blocks(blocks: &mut Vec<Block>, thing: &HeldThing) {
    let mass = match thing.mass_kg {
        Some(mass_kg) => format!("{mass_kg:.1} kg"),
        None => "mass not known".to_owned(),
    };
    let text = format!(
        "{} ({mass}): {}",
        thing.display_name,
        answer_words(thing.answer())
    );
    let tone = match thing.answer() {
        Answer::NotMet | Answer::NotKnown => Tone::Bad,
        _ => Tone::Plain,
    };
    blocks.push(Block::toned(0, tone, text));
    blocks.extend(
        thing
            .missing
            .iter()
            .map(|missing| Block::line(2, format!("- missing: {missing}"))),
    );
    let assessed = thing.assessments.iter();
    for row in assessed
        .flat_map(|assessment| &assessment.rows)
        .filter(|row| row.answer() != Answer::Met)
    {
        let mut text = format!(
            "- {}: {:.0} N of {:.0} N, {:.0} N short",
            direction(row),
            row.provided_n,
            row.required_n,
            row.shortfall_n
        );
        let ways = closing(&row.closing);
        if !ways.is_empty() {
            text = format!("{text}; {ways}");
        }
        if !row.missing.is_empty() {
            text = format!("{text}; not counted without {}", row.missing.join(", "));
        }
        blocks.push(Block::line(2, text));
    }
}

fn blocks(of: &AssessRestraintResponse, head: String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if !of.missing.is_empty() {
        blocks.push(Block::toned(0, Tone::Bad, "NOT KNOWN what is asked:"));
        blocks.extend(
            of.missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    blocks.push(Block::Gap);
    for thing in &of.things {
        thing_blocks(&mut blocks, thing);
    }
    blocks.push(Block::Gap);
    for standard in &of.standards {
        blocks.push(Block::toned(
            0,
            Tone::Dim,
            format!("{}. {}", standard.title, standard.source),
        ));
    }
    blocks.extend(Block::closing(&of.cautions, &of.formula_version));
    blocks
}

fn records(of: &AssessRestraintResponse) -> Records {
    let mut records = Records::new([
        "thing",
        "tank",
        "mass_kg",
        "standard",
        "criterion",
        "direction",
        "required_n",
        "provided_n",
        "shortfall_n",
        "answer",
        "missing",
    ]);
    for thing in &of.things {
        for assessment in &thing.assessments {
            for row in &assessment.rows {
                records.push([
                    Cell::text(thing.display_name.as_str()),
                    Cell::text(thing.tank.as_str()),
                    Cell::maybe(thing.mass_kg),
                    Cell::text(assessment.standard.as_str()),
                    Cell::text(row.criterion.as_str()),
                    Cell::text(direction(row)),
                    Cell::Number(row.required_n),
                    Cell::Number(row.provided_n),
                    Cell::Number(row.shortfall_n),
                    Cell::text(answer_words(row.answer())),
                    Cell::text(row.missing.join(", ")),
                ]);
            }
        }
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shortfall_names_what_closes_it_and_what_did_not_count() {
        let ways = [
            ClosingCount {
                lashing: "strap".to_owned(),
                further_count: Some(2),
                not_known: false,
            },
            ClosingCount {
                lashing: "chain".to_owned(),
                further_count: None,
                not_known: true,
            },
        ];
        assert_eq!(
            closing(&ways),
            "2 more strap or chain: a rating or the friction is missing"
        );
        assert_eq!(closing(&[]), "");
    }
}
