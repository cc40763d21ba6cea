//! `ostler substitute`, `fit`, `withdraw`: other parts for slots of a vehicle.

use ostler_proto::v1::substitution_service_client::SubstitutionServiceClient;
use ostler_proto::v1::{
    FitSubstitutionRequest, RecordSubstitutionRequest, Replacement, Substitution, WithdrawSubstitutionRequest,
};
use prost_reflect::ReflectMessage;

use super::{Outcome, resource};
use crate::cli::{FitArgs, SubstituteArgs, WithdrawArgs, WriteArgs};
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::session::{Session, fleet_of, id_of};

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
        old_parts_place: args.old_parts.clone().unwrap_or_default(),
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

pub(super) fn written(
    action: &str,
    substitution: &Substitution,
    write: &WriteArgs,
) -> Result<Outcome, CliError> {
    let head = format!("substitution {} {action}", id_of(&substitution.name));
    resource::written(&head, &substitution.transcode_to_dynamic(), write)
}
