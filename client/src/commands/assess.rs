//! `ostler assess`: how the parts of a substitution fit, what bridges them, and what that entails.

use ostler_proto::v1::substitution_service_client::SubstitutionServiceClient;
use ostler_proto::v1::{
    AssessSubstitutionRequest, BridgeChain, Fit, InterfaceAssessment, SubstitutionAssessment,
    assess_substitution_request,
};

use super::{Outcome, life};
use crate::cli::AssessArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number, word};
use crate::session::{Session, id_of, short};

/// Shows how the parts fit.
pub(super) async fn run(session: &Session, args: &AssessArgs) -> Result<Outcome, CliError> {
    let name = session.name(Kind::Substitution, &args.substitution).await?;
    let subject = assess_substitution_request::Subject::Name(name);
    let request = AssessSubstitutionRequest {
        subject: Some(subject),
        parent: String::new(),
    };
    let assessment = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .assess_substitution(request)
                .await
        })
        .await?;
    let document = Document::of(&assessment, blocks(&assessment), records(&assessment));
    let outcome = Outcome::document(document);
    if !args.keep {
        return Ok(outcome);
    }
    let kept = life::keep(session, args).await?;
    let note = format!("kept as the assessment of {}", id_of(&kept.name));
    Ok(if args.write.dry_run {
        outcome.after_writing(&args.write)
    } else {
        outcome.with_note(note)
    })
}

/// The words of a fit. A value that is missing reads as not known, never as a match.
pub(super) fn fit_words(fit: Fit) -> String {
    match fit {
        Fit::Unknown => "not known".to_owned(),
        other => word("Fit", other.as_str_name()),
    }
}

pub(super) fn fit_tone(fit: Fit) -> Tone {
    match fit {
        Fit::Matches => Tone::Good,
        Fit::Bridged => Tone::Caution,
        Fit::Unspecified | Fit::Unknown | Fit::Clashes => Tone::Bad,
    }
}

fn blocks(assessment: &SubstitutionAssessment) -> Vec<Block> {
    let standing = if assessment.blocks {
        "stands in the way"
    } else {
        "does not stand in the way"
    };
    let fit = fit_words(assessment.fit());
    let head = format!(
        "Substitution {}: {fit}; {standing}",
        id_of(&assessment.substitution)
    );
    let tone = if assessment.blocks {
        Tone::Bad
    } else {
        fit_tone(assessment.fit())
    };
    let mut blocks = vec![Block::toned(0, tone, head)];
    if !assessment.changes.is_empty() {
        let heading = Block::toned(0, Tone::Heading, "Not as in the kept assessment");
        blocks.extend([Block::Gap, heading]);
        for change in &assessment.changes {
            let text = format!("- {}, {}", change.slot, change.interface_kind);
            blocks.push(Block::toned(2, Tone::Caution, text));
            for (when, how) in [("was", &change.before), ("is", &change.now)] {
                let how = if how.is_empty() { "not asked about" } else { how };
                blocks.push(Block::line(4, format!("{when}: {how}")));
            }
        }
    }
    if !assessment.open_questions.is_empty() {
        blocks.push(Block::Gap);
        blocks.push(Block::toned(
            0,
            Tone::Heading,
            "Settle before the old part comes out",
        ));
        for open in &assessment.open_questions {
            let text = format!("- {}, {}: {}", open.slot, open.interface_kind, open.question);
            blocks.push(Block::toned(2, Tone::Bad, text));
        }
    }
    blocks.push(Block::Gap);
    blocks.push(Block::toned(0, Tone::Heading, "Interfaces"));
    blocks.extend(assessment.interfaces.iter().flat_map(interface_blocks));
    blocks.extend(bridge_blocks(assessment));
    blocks.extend(job_blocks(assessment));
    blocks.push(Block::Gap);
    blocks.push(Block::toned(0, Tone::Heading, "What it entails"));
    blocks.extend(consequence_blocks(assessment));
    blocks.extend(
        assessment
            .cautions
            .iter()
            .map(|text| Block::toned(0, Tone::Caution, format!("Caution: {text}"))),
    );
    blocks
}

fn interface_blocks(interface: &InterfaceAssessment) -> Vec<Block> {
    let blocking = if interface.blocks {
        ", stands in the way"
    } else {
        ""
    };
    let head = format!(
        "{}, {}: {}{blocking}",
        interface.slot,
        interface.interface_kind,
        fit_words(interface.fit())
    );
    let mut blocks = vec![Block::toned(2, fit_tone(interface.fit()), head)];
    let or_unknown = |text: &str| {
        if text.is_empty() {
            "not known".to_owned()
        } else {
            text.to_owned()
        }
    };
    let values = format!(
        "asked {}; offered {}",
        or_unknown(&interface.required),
        or_unknown(&interface.offered)
    );
    blocks.push(Block::line(4, values));
    if !interface.reason.is_empty() {
        blocks.push(Block::line(4, interface.reason.as_str()));
    }
    let done = if interface.remedy_done { "done" } else { "not done" };
    for remedy in &interface.remedies {
        let means = if remedy.adapter.is_empty() {
            "remedy"
        } else {
            "adapter"
        };
        blocks.push(Block::line(4, format!("{means}, {done}: {}", remedy.text)));
    }
    if !interface.compatibility_notes.is_empty() {
        let notes: Vec<_> = interface
            .compatibility_notes
            .iter()
            .map(|name| short(name))
            .collect();
        blocks.push(Block::toned(4, Tone::Dim, format!("from: {}", notes.join(", "))));
    }
    blocks
}

fn bridge_blocks(assessment: &SubstitutionAssessment) -> Vec<Block> {
    let wanting: Vec<_> = assessment
        .bridges
        .iter()
        .filter(|bridge| {
            !bridge.unbridged.is_empty() || bridge.chain.as_ref().is_none_or(|chain| !chain.steps.is_empty())
        })
        .collect();
    if wanting.is_empty() {
        return Vec::new();
    }
    let heading = Block::toned(0, Tone::Heading, "What bridges it at the least cost");
    let mut blocks = vec![Block::Gap, heading];
    for bridge in wanting {
        match &bridge.chain {
            Some(chain) => {
                blocks.push(Block::line(2, format!("{}: {}", bridge.slot, totals(chain))));
                for remedy in chain.steps.iter().filter_map(|step| step.remedy.as_ref()) {
                    blocks.push(Block::line(4, format!("- {}", remedy.text)));
                }
            }
            None => {
                let text = format!("{}: nothing on record bridges it all together", bridge.slot);
                blocks.push(Block::toned(2, Tone::Bad, text));
            }
        }
        if !bridge.unbridged.is_empty() {
            let text = format!("nothing bridges: {}", bridge.unbridged.join(", "));
            blocks.push(Block::toned(4, Tone::Bad, text));
        }
        for other in &bridge.alternatives {
            let steps: Vec<_> = other
                .steps
                .iter()
                .filter_map(|step| step.remedy.as_ref())
                .map(|remedy| remedy.text.as_str())
                .collect();
            let text = format!("or, {}: {}", totals(other), steps.join("; "));
            blocks.push(Block::toned(4, Tone::Dim, text));
        }
    }
    blocks
}

/// What a chain costs together.
pub(super) fn totals(chain: &BridgeChain) -> String {
    let known = |value: Option<f64>, unit: &str| match value {
        Some(value) => format!("{} {unit}", number(value)),
        None => format!("{unit} not known"),
    };
    [
        known(chain.hours, "h"),
        known(chain.mass_kg, "kg"),
        known(chain.lead_days, "days until all is there"),
    ]
    .join(", ")
}

fn job_blocks(assessment: &SubstitutionAssessment) -> Vec<Block> {
    if assessment.jobs.is_empty() {
        return Vec::new();
    }
    let heading = Block::toned(0, Tone::Heading, "Work that follows, in order");
    let mut blocks = vec![Block::Gap, heading];
    for job in &assessment.jobs {
        let hours = job.hours.map(|hours| format!(", {} h", number(hours)));
        let slot = match job.slot.as_str() {
            "" => String::new(),
            slot => format!("{slot}: "),
        };
        let stage = word("JobStage", job.stage().as_str_name());
        let text = format!("- {slot}{} ({stage}{})", job.title, hours.unwrap_or_default());
        blocks.push(Block::line(2, text));
    }
    blocks
}

fn consequence_blocks(assessment: &SubstitutionAssessment) -> Vec<Block> {
    let mass = match (assessment.mass_change_kg, assessment.mass_change_uncertainty_kg) {
        (Some(change), Some(uncertainty)) => format!("{} kg +/- {} kg", number(change), number(uncertainty)),
        (Some(change), None) => format!("{} kg", number(change)),
        (None, _) => "not known".to_owned(),
    };
    let mut blocks = vec![Block::line(2, format!("change of mass: {mass}"))];
    for change in &assessment.figure_changes {
        let (outgoing, incoming) = (number(change.outgoing), number(change.incoming));
        blocks.push(Block::line(
            2,
            format!(
                "{}, {}: {outgoing} becomes {incoming}",
                change.slot, change.figure
            ),
        ));
    }
    for (what, names) in [
        ("rules speak about", &assessment.regulated_items),
        ("evidence made stale", &assessment.stale_evidence),
    ] {
        if !names.is_empty() {
            let names: Vec<_> = names.iter().map(|name| short(name)).collect();
            blocks.push(Block::line(2, format!("{what}: {}", names.join(", "))));
        }
    }
    blocks
}

fn records(assessment: &SubstitutionAssessment) -> Records {
    let mut records = Records::new([
        "substitution",
        "slot",
        "interface_kind",
        "fit",
        "blocks",
        "essential",
        "required",
        "offered",
        "reason",
        "remedy",
        "remedy_done",
        "open_question",
        "compatibility_notes",
    ]);
    for interface in &assessment.interfaces {
        let open: Vec<_> = assessment
            .open_questions
            .iter()
            .filter(|open| open.slot == interface.slot && open.interface_kind == interface.interface_kind)
            .map(|open| open.question.clone())
            .collect();
        let remedies: Vec<String> = interface
            .remedies
            .iter()
            .map(|remedy| remedy.text.clone())
            .collect();
        records.push([
            Cell::text(assessment.substitution.as_str()),
            Cell::text(interface.slot.as_str()),
            Cell::text(interface.interface_kind.as_str()),
            Cell::text(fit_words(interface.fit())),
            Cell::yes_no(interface.blocks),
            Cell::yes_no(interface.essential),
            Cell::text(interface.required.as_str()),
            Cell::text(interface.offered.as_str()),
            Cell::text(interface.reason.as_str()),
            Cell::list(&remedies),
            Cell::yes_no(interface.remedy_done),
            Cell::list(&open),
            Cell::list(&interface.compatibility_notes),
        ]);
    }
    records
}

#[cfg(test)]
#[path = "assess_tests.rs"]
mod tests;
