//! `ostler settle`, `approve`, `prove`, `undo`: steps in the life of a substitution.

use ostler_proto::v1::interface::Value;
use ostler_proto::v1::substitution_service_client::SubstitutionServiceClient;
use ostler_proto::v1::{
    ApproveSubstitutionRequest, Hand, Interface, KeepAssessmentRequest, ProveSubstitutionRequest,
    SettleInterfaceRequest, Settlement, Substitution, UndoFittingRequest,
};

use super::Outcome;
use super::substitution::written;
use crate::cli::{ApproveArgs, AssessArgs, ProveArgs, SettleArgs, UndoArgs};
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::session::Session;

/// Keeps an assessment.
pub(super) async fn keep(session: &Session, args: &AssessArgs) -> Result<Substitution, CliError> {
    let request = KeepAssessmentRequest {
        name: session.name(Kind::Substitution, &args.substitution).await?,
        etag: String::new(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .keep_assessment(request)
                .await
        })
        .await
}

/// Settles an interface.
pub(super) async fn settle(session: &Session, args: &SettleArgs) -> Result<Outcome, CliError> {
    let measured = |value: &Option<String>| {
        value
            .as_ref()
            .map(|value| interface(&args.interface, value))
            .transpose()
    };
    let settlement = Settlement {
        slot: args.slot.clone(),
        interface_kind: args.interface.clone(),
        how: args.how.clone(),
        settled_by: args.by.clone(),
        settled_date: args.date.clone(),
        measured_on_vehicle: measured(&args.on_vehicle)?,
        measured_on_part: measured(&args.on_part)?,
    };
    let request = SettleInterfaceRequest {
        name: session.name(Kind::Substitution, &args.substitution).await?,
        etag: String::new(),
        settlement: Some(settlement),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let settled = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .settle_interface(request)
                .await
        })
        .await?;
    written("settled", &settled, &args.write)
}

/// A measured value written as TYPE=VALUE.
fn interface(kind: &str, text: &str) -> Result<Interface, CliError> {
    let unclear = || CliError::Usage {
        problem: format!("{text:?} is no measured value"),
        hint: "give its type and the value, for example --on-part length_mm=806 or --on-part count=21"
            .to_owned(),
    };
    let (form, value) = text.split_once('=').ok_or_else(unclear)?;
    let value = value.trim();
    let number = || value.parse::<f64>().map_err(|_| unclear());
    let value = match form.trim() {
        "text" => Value::Text(value.to_owned()),
        "count" => Value::Count(value.parse().map_err(|_| unclear())?),
        "length_mm" => Value::LengthMm(number()?),
        "thread" => Value::Thread(value.to_owned()),
        "ratio" => Value::Ratio(number()?),
        "hand" => match value {
            "left" => Value::Hand(Hand::Left.into()),
            "right" => Value::Hand(Hand::Right.into()),
            _ => return Err(unclear()),
        },
        "connector" => Value::Connector(value.to_owned()),
        "number" => Value::Number(number()?),
        _ => return Err(unclear()),
    };
    Ok(Interface {
        kind: kind.to_owned(),
        value: Some(value),
    })
}

/// Approves a substitution.
pub(super) async fn approve(session: &Session, args: &ApproveArgs) -> Result<Outcome, CliError> {
    let request = ApproveSubstitutionRequest {
        name: session.name(Kind::Substitution, &args.substitution).await?,
        etag: String::new(),
        approved_by: args.by.clone(),
        approved_date: args.date.clone(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let approved = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .approve_substitution(request)
                .await
        })
        .await?;
    written("approved", &approved, &args.write)
}

/// Names the evidence that proves a substitution.
pub(super) async fn prove(session: &Session, args: &ProveArgs) -> Result<Outcome, CliError> {
    let name = session.name(Kind::Substitution, &args.substitution).await?;
    let evidence: Result<Vec<String>, CliError> = args
        .evidence
        .iter()
        .map(|evidence| session.name_beside(&name, Kind::Evidence, evidence))
        .collect();
    let request = ProveSubstitutionRequest {
        evidence: evidence?,
        name,
        etag: String::new(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let proven = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .prove_substitution(request)
                .await
        })
        .await?;
    written("proven", &proven, &args.write)
}

/// Undoes a fitting.
pub(super) async fn undo(session: &Session, args: &UndoArgs) -> Result<Outcome, CliError> {
    let request = UndoFittingRequest {
        name: session.name(Kind::Substitution, &args.substitution).await?,
        etag: String::new(),
        undone_date: args.date.clone().unwrap_or_default(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let undone = session
        .connection
        .call(request, async |service, request| {
            SubstitutionServiceClient::new(service)
                .undo_fitting(request)
                .await
        })
        .await?;
    written("undone", &undone, &args.write)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measured_values_are_typed() {
        let value = |text: &str| interface("k", text).unwrap().value.unwrap();
        assert_eq!(value("length_mm=806"), Value::LengthMm(806.0));
        assert_eq!(value("count = 21"), Value::Count(21));
        assert_eq!(value("hand=left"), Value::Hand(Hand::Left.into()));
        for unclear in ["806", "length_mm=long", "hand=both", "colour=red"] {
            assert!(interface("k", unclear).is_err(), "{unclear}");
        }
    }
}
