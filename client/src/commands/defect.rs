//! `ostler defect`: faults found on vehicles.

use ostler_proto::v1::defect_service_client::DefectServiceClient;
use ostler_proto::v1::{AcceptDefectRequest, CreateDefectRequest, Defect, DefectSeverity, FixDefectRequest};
use prost_reflect::ReflectMessage;

use super::{Outcome, accept, resource};
use crate::cli::{
    DefectAcceptArgs, DefectAddArgs, DefectCommand, DefectFixArgs, DefectListArgs, Severity, ShowArgs,
    WriteArgs,
};
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::session::{Session, fleet_of, id_of};

/// Does `command`.
pub(super) async fn run(session: &Session, command: &DefectCommand) -> Result<Outcome, CliError> {
    match command {
        DefectCommand::List(args) => list(session, args).await,
        DefectCommand::Show { defect } => {
            resource::show(
                session,
                &ShowArgs {
                    kind: Kind::Defect,
                    id: defect.clone(),
                    at: None,
                },
            )
            .await
        }
        DefectCommand::Add(args) => add(session, args).await,
        DefectCommand::Accept(args) => accept(session, args).await,
        DefectCommand::Fix(args) => fix(session, args).await,
    }
}

async fn list(session: &Session, args: &DefectListArgs) -> Result<Outcome, CliError> {
    let open = args
        .open
        .then(|| "disposition = \"DEFECT_DISPOSITION_OPEN\"".to_owned());
    let (parent, vehicle) = match &args.vehicle {
        Some(vehicle) => {
            let vehicle = session.name(Kind::Vehicle, vehicle).await?;
            (
                fleet_of(&vehicle).to_owned(),
                Some(format!("vehicle = \"{vehicle}\"")),
            )
        }
        None => (session.fleet().await?, None),
    };
    resource::list_of(
        session,
        Kind::Defect,
        Some(parent),
        resource::joined(vehicle, open),
        usize::MAX,
    )
    .await
}

async fn add(session: &Session, args: &DefectAddArgs) -> Result<Outcome, CliError> {
    let vehicle = session.name(Kind::Vehicle, &args.vehicle).await?;
    let severity = match args.severity {
        Severity::Minor => DefectSeverity::Minor,
        Severity::Restricting => DefectSeverity::Restricting,
        Severity::Grounding => DefectSeverity::Grounding,
    };
    let mut caused_by = Vec::new();
    for (kind, ids) in [
        (Kind::Substitution, &args.caused_by),
        (Kind::Job, &args.caused_by_job),
    ] {
        for id in ids {
            caused_by.push(session.name_beside(&vehicle, kind, id)?);
        }
    }
    let request = CreateDefectRequest {
        parent: fleet_of(&vehicle).to_owned(),
        defect_id: id_of(&args.id).to_owned(),
        defect: Some(Defect {
            vehicle,
            severity: severity.into(),
            description: args.description.clone(),
            found_date: args.found.clone().unwrap_or_default(),
            proposal: args.proposal.clone().unwrap_or_default(),
            caused_by,
            ..Default::default()
        }),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let defect = session
        .connection
        .call(request, async |service, request| {
            DefectServiceClient::new(service).create_defect(request).await
        })
        .await?;
    written("recorded", &defect, &args.write)
}

async fn accept(session: &Session, args: &DefectAcceptArgs) -> Result<Outcome, CliError> {
    let request = AcceptDefectRequest {
        name: session.name(Kind::Defect, &args.defect).await?,
        etag: String::new(),
        accepted_condition: Some(accept::accepted_condition(&args.condition)),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let defect = session
        .connection
        .call(request, async |service, request| {
            DefectServiceClient::new(service).accept_defect(request).await
        })
        .await?;
    written("accepted with conditions", &defect, &args.write)
}

async fn fix(session: &Session, args: &DefectFixArgs) -> Result<Outcome, CliError> {
    let name = session.name(Kind::Defect, &args.defect).await?;
    let evidence = args
        .evidence
        .iter()
        .map(|evidence| session.name_beside(&name, Kind::Evidence, evidence))
        .collect::<Result<_, _>>()?;
    let request = FixDefectRequest {
        name,
        evidence,
        etag: String::new(),
        fix: args.fix.clone(),
        fixed_date: args.date.clone(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let defect = session
        .connection
        .call(request, async |service, request| {
            DefectServiceClient::new(service).fix_defect(request).await
        })
        .await?;
    written("fixed", &defect, &args.write)
}

fn written(action: &str, defect: &Defect, write: &WriteArgs) -> Result<Outcome, CliError> {
    resource::written(
        &format!("defect {} {action}", id_of(&defect.name)),
        &defect.transcode_to_dynamic(),
        write,
    )
}
