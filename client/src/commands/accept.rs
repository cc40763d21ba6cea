//! `ostler accept`: signing for a condition of readiness.

use ostler_proto::v1::acceptance_service_client::AcceptanceServiceClient;
use ostler_proto::v1::{AcceptFindingRequest, Acceptance, AcceptedCondition};
use prost_reflect::ReflectMessage;

use super::{Outcome, resource};
use crate::cli::{AcceptArgs, ConditionArgs};
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::session::{Session, fleet_of, id_of};

/// Signs.
pub(super) async fn run(session: &Session, args: &AcceptArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let request = AcceptFindingRequest {
        parent: fleet_of(&departure).to_owned(),
        acceptance_id: id_of(&args.id).to_owned(),
        acceptance: Some(Acceptance {
            vehicle: session.optional_name_beside(&departure, Kind::Vehicle, args.vehicle.as_ref())?,
            departure,
            gate: args.gate.clone(),
            finding: args.finding.clone(),
            condition: Some(accepted_condition(&args.condition)),
            ..Default::default()
        }),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let acceptance = session
        .connection
        .call(request, async |service, request| {
            AcceptanceServiceClient::new(service)
                .accept_finding(request)
                .await
        })
        .await?;
    resource::written(
        &format!("acceptance {} signed", id_of(&acceptance.name)),
        &acceptance.transcode_to_dynamic(),
        &args.write,
    )
}

/// What something is accepted under, as the API takes it.
pub(super) fn accepted_condition(given: &ConditionArgs) -> AcceptedCondition {
    let ConditionArgs {
        condition,
        owner,
        check_interval,
        accepted_by,
        date,
    } = given.clone();
    AcceptedCondition {
        condition,
        owner,
        check_interval,
        accepted_by,
        accepted_date: date,
    }
}
