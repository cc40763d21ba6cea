//! `ostler job`: jobs and how far they are.

use ostler_proto::v1::job_service_client::JobServiceClient;
use ostler_proto::v1::{
    CompleteJobRequest, Job, ReopenJobRequest, ReportJobRequest, StartJobRequest, WorkHours,
};
use prost_reflect::ReflectMessage;

use super::{Outcome, resource};
use crate::cli::{
    JobCommand, JobDoneArgs, JobListArgs, JobReportArgs, JobStartArgs, JobStateWord, ShowArgs, WriteArgs,
};
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::session::{Session, id_of};

/// Does `command`.
pub(super) async fn run(session: &Session, command: &JobCommand) -> Result<Outcome, CliError> {
    match command {
        JobCommand::List(args) => list(session, args).await,
        JobCommand::Show { job } => {
            let args = ShowArgs {
                kind: Kind::Job,
                id: job.clone(),
                at: None,
            };
            resource::show(session, &args).await
        }
        JobCommand::Start(args) => start(session, args).await,
        JobCommand::Report(args) => report(session, args).await,
        JobCommand::Done(args) => done(session, args).await,
        JobCommand::Reopen { job, write } => reopen(session, job, write).await,
    }
}

async fn list(session: &Session, args: &JobListArgs) -> Result<Outcome, CliError> {
    let state = args.state.map(|state| {
        let word = match state {
            JobStateWord::ToDo => "JOB_STATE_TO_DO",
            JobStateWord::UnderWay => "JOB_STATE_UNDER_WAY",
            JobStateWord::Done => "JOB_STATE_DONE",
        };
        format!("state = \"{word}\"")
    });
    let parent = session.fleet().await?;
    resource::list_of(session, Kind::Job, Some(parent), state, usize::MAX).await
}

async fn start(session: &Session, args: &JobStartArgs) -> Result<Outcome, CliError> {
    let name = session.name(Kind::Job, &args.job).await?;
    let workshop = session.optional_name_beside(&name, Kind::Workshop, args.workshop.as_ref())?;
    let request = StartJobRequest {
        name,
        etag: String::new(),
        started_date: args.date.clone(),
        workshop,
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let job = session
        .connection
        .call(request, async |service, request| {
            JobServiceClient::new(service).start_job(request).await
        })
        .await?;
    written("begun", &job, &args.write)
}

async fn report(session: &Session, args: &JobReportArgs) -> Result<Outcome, CliError> {
    let remaining_hours = match args.left.as_slice() {
        [] => None,
        &[optimistic_hours, likely_hours, pessimistic_hours] => Some(WorkHours {
            optimistic_hours,
            likely_hours,
            pessimistic_hours,
        }),
        other => {
            return Err(CliError::Usage {
                problem: format!("--left needs three numbers, has {}", other.len()),
                hint: "give them as --left 2,4,8".to_owned(),
            });
        }
    };
    let request = ReportJobRequest {
        name: session.name(Kind::Job, &args.job).await?,
        etag: String::new(),
        actual_hours: args.actual,
        remaining_hours,
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let job = session
        .connection
        .call(request, async |service, request| {
            JobServiceClient::new(service).report_job(request).await
        })
        .await?;
    written("reported on", &job, &args.write)
}

async fn done(session: &Session, args: &JobDoneArgs) -> Result<Outcome, CliError> {
    let request = CompleteJobRequest {
        name: session.name(Kind::Job, &args.job).await?,
        etag: String::new(),
        done_date: args.date.clone(),
        actual_hours: args.actual,
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let job = session
        .connection
        .call(request, async |service, request| {
            JobServiceClient::new(service).complete_job(request).await
        })
        .await?;
    written("done", &job, &args.write)
}

async fn reopen(session: &Session, job: &str, write: &WriteArgs) -> Result<Outcome, CliError> {
    let request = ReopenJobRequest {
        name: session.name(Kind::Job, job).await?,
        etag: String::new(),
        request_id: write.request_id(),
        validate_only: write.dry_run,
    };
    let job = session
        .connection
        .call(request, async |service, request| {
            JobServiceClient::new(service).reopen_job(request).await
        })
        .await?;
    written("to do again", &job, write)
}

fn written(action: &str, job: &Job, write: &WriteArgs) -> Result<Outcome, CliError> {
    resource::written(
        &format!("job {} {action}", id_of(&job.name)),
        &job.transcode_to_dynamic(),
        write,
    )
}
