//! `ostler find`: parts that would serve a slot, slots that would take a part.

use ostler_proto::v1::part_service_client::PartServiceClient;
use ostler_proto::v1::{FitCandidate, SearchPartsRequest, SearchSlotsRequest};

use super::Outcome;
use super::assess::{fit_tone, fit_words, totals};
use crate::cli::FindArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of};

/// Searches.
pub(super) async fn run(session: &Session, args: &FindArgs) -> Result<Outcome, CliError> {
    let document = match (&args.vehicle, &args.slot, &args.part) {
        (Some(vehicle), Some(slot), _) => parts(session, args, vehicle, slot).await?,
        (_, _, Some(part)) => slots(session, args, part).await?,
        _ => {
            return Err(CliError::Usage {
                problem: "it is not said what to find".to_owned(),
                hint: "give --vehicle and --slot, or --part".to_owned(),
            });
        }
    };
    Ok(Outcome::document(document))
}

async fn parts(session: &Session, args: &FindArgs, vehicle: &str, slot: &str) -> Result<Document, CliError> {
    let request = SearchPartsRequest {
        vehicle: session.name(Kind::Vehicle, vehicle).await?,
        slot: slot.to_owned(),
        max_results: args.limit,
    };
    let head = format!("Parts for {slot} of {}", id_of(&request.vehicle));
    let found = session
        .connection
        .call(request, async |service, request| {
            PartServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .search_parts(request)
                .await
        })
        .await?;
    let title = |candidate: &FitCandidate| id_of(&candidate.part).to_owned();
    let blocks = blocks(&head, &found.candidates, title);
    Ok(Document::of(&found, blocks, records(&found.candidates)))
}

async fn slots(session: &Session, args: &FindArgs, part: &str) -> Result<Document, CliError> {
    let request = SearchSlotsRequest {
        part: session.name(Kind::Part, part).await?,
        max_results: args.limit,
    };
    let head = format!("Slots for {}", id_of(&request.part));
    let found = session
        .connection
        .call(request, async |service, request| {
            PartServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .search_slots(request)
                .await
        })
        .await?;
    let title = |candidate: &FitCandidate| format!("{} {}", id_of(&candidate.vehicle), candidate.slot);
    let blocks = blocks(&head, &found.candidates, title);
    Ok(Document::of(&found, blocks, records(&found.candidates)))
}

fn blocks(head: &str, candidates: &[FitCandidate], title: impl Fn(&FitCandidate) -> String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if candidates.is_empty() {
        blocks.push(Block::line(2, "none on record"));
    }
    for candidate in candidates {
        let fitted = if candidate.fitted {
            ", fitted there now"
        } else {
            ""
        };
        let text = format!("- {}: {}{fitted}", title(candidate), fit_words(candidate.fit()));
        blocks.push(Block::toned(2, fit_tone(candidate.fit()), text));
        for (what, kinds) in [
            ("clashes", &candidate.clashing),
            ("not known", &candidate.not_known),
            ("to bridge", &candidate.to_bridge),
        ] {
            if !kinds.is_empty() {
                blocks.push(Block::line(4, format!("{what}: {}", kinds.join(", "))));
            }
        }
        if let Some(chain) = candidate.chain.as_ref().filter(|chain| !chain.steps.is_empty()) {
            let steps: Vec<&str> = chain
                .steps
                .iter()
                .filter_map(|step| step.remedy.as_ref())
                .map(|remedy| remedy.text.as_str())
                .collect();
            blocks.push(Block::line(4, format!("{}: {}", totals(chain), steps.join("; "))));
        }
    }
    blocks
}

fn records(candidates: &[FitCandidate]) -> Records {
    let mut records = Records::new([
        "part",
        "vehicle",
        "slot",
        "fitted",
        "fit",
        "clashing",
        "not_known",
        "to_bridge",
    ]);
    for candidate in candidates {
        records.push([
            Cell::text(candidate.part.as_str()),
            Cell::text(candidate.vehicle.as_str()),
            Cell::text(candidate.slot.as_str()),
            Cell::yes_no(candidate.fitted),
            Cell::text(fit_words(candidate.fit())),
            Cell::list(&candidate.clashing),
            Cell::list(&candidate.not_known),
            Cell::list(&candidate.to_bridge),
        ]);
    }
    records
}
