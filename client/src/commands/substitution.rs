//! `ostler substitute`, `assess`, `fit`, `withdraw`: other parts for slots of a vehicle.

use ostler_proto::v1::substitution_service_client::SubstitutionServiceClient;
use ostler_proto::v1::{
    AssessSubstitutionRequest, Fit, FitSubstitutionRequest, InterfaceAssessment, RecordSubstitutionRequest,
    Replacement, Substitution, SubstitutionAssessment, WithdrawSubstitutionRequest,
    assess_substitution_request,
};
use prost_reflect::ReflectMessage;

use super::{Outcome, resource};
use crate::cli::{AssessArgs, FitArgs, SubstituteArgs, WithdrawArgs, WriteArgs};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number, word};
use crate::session::{Session, fleet_of, id_of, short};

/// Records a substitution.
pub(super) async fn substitute(session: &Session, args: &SubstituteArgs) -> Result<Outcome, CliError> {
    if args.slots.len() != args.parts.len() {
        return Err(CliError::Usage {
            problem: format!(
                "--slot is given {} times, but --part {} times",
                args.slots.len(),
                args.parts.len()
            ),
            hint: "give one --part after each --slot".to_owned(),
        });
    }
    let vehicle = session.name(Kind::Vehicle, &args.vehicle).await?;
    let mut replacements = Vec::new();
    for (slot, part) in args.slots.iter().zip(&args.parts) {
        replacements.push(Replacement {
            slot: slot.clone(),
            outgoing_part: String::new(),
            incoming_part: session.name_beside(&vehicle, Kind::Part, part)?,
        });
    }
    let substitution = Substitution {
        replacements,
        reason: args.reason.clone().unwrap_or_default(),
        fitted_date: args.fitted.clone().unwrap_or_default(),
        supersedes: session.optional_name_beside(&vehicle, Kind::Substitution, args.supersedes.as_ref())?,
        vehicle: vehicle.clone(),
        ..Default::default()
    };
    let request = RecordSubstitutionRequest {
        parent: fleet_of(&vehicle).to_owned(),
        substitution_id: id_of(&args.id).to_owned(),
        substitution: Some(substitution),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let recorded = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .record_substitution(request)
                .await
        })
        .await?;
    let next = format!("see how it fits with `ostler assess {}`", id_of(&recorded.name));
    let outcome = written("recorded", &recorded, &args.write)?;
    Ok(if args.write.dry_run {
        outcome
    } else {
        outcome.with_note(next)
    })
}

/// Says that the parts are in.
pub(super) async fn fit(session: &Session, args: &FitArgs) -> Result<Outcome, CliError> {
    let request = FitSubstitutionRequest {
        name: session.name(Kind::Substitution, &args.substitution).await?,
        etag: String::new(),
        fitted_date: args.date.clone(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let fitted = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .fit_substitution(request)
                .await
        })
        .await?;
    written("fitted", &fitted, &args.write)
}

/// Gives it up.
pub(super) async fn withdraw(session: &Session, args: &WithdrawArgs) -> Result<Outcome, CliError> {
    let request = WithdrawSubstitutionRequest {
        name: session.name(Kind::Substitution, &args.substitution).await?,
        etag: String::new(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let withdrawn = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .withdraw_substitution(request)
                .await
        })
        .await?;
    written("withdrawn", &withdrawn, &args.write)
}

fn written(action: &str, substitution: &Substitution, write: &WriteArgs) -> Result<Outcome, CliError> {
    let head = format!("substitution {} {action}", id_of(&substitution.name));
    resource::written(&head, &substitution.transcode_to_dynamic(), write)
}

/// Shows how the parts fit.
pub(super) async fn assess(session: &Session, args: &AssessArgs) -> Result<Outcome, CliError> {
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
    let document = Document::of(&assessment, blocks(&assessment), records(&assessment))?;
    Ok(Outcome::document(document))
}

/// The words of a fit. A value that is missing reads as not known, never as a match.
fn fit_words(fit: Fit) -> String {
    match fit {
        Fit::Unknown => "not known".to_owned(),
        other => word("Fit", other.as_str_name()),
    }
}

fn fit_tone(fit: Fit) -> Tone {
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
        blocks.push(Block::line(4, format!("remedy, {done}: {}", remedy.text)));
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
#[path = "substitution_tests.rs"]
mod tests;
