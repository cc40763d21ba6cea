//! How far jobs are: begun, reported on, done, to do again. And which of them would come after themselves.

use std::collections::BTreeMap;

use ostler_core::record::{Circles, Name};
use ostler_proto::v1;
use ostler_store::Row;
use prost_reflect::ReflectMessage;

use super::kind_table::typed;
use super::kinds::{Jobs, Kind};
use super::standard::{step, wrong_state};
use super::stored::{Stored, decode};
use super::unit::Unit;
use super::{App, AppError, Call};

impl App {
    /// Says that work on a job has begun.
    ///
    /// # Errors
    /// When it is not to do, or the workshop is not one that could do it.
    pub async fn start_job(&self, call: &Call, request: v1::StartJobRequest) -> Result<v1::Job, AppError> {
        self.write(call, async |unit: &mut Unit| start(unit, request).await)
            .await
    }

    /// Reports the hours spent on a job under way, and the hours left.
    ///
    /// # Errors
    /// When it is not under way, or nothing is left of its estimate and no hours left are given.
    pub async fn report_job(&self, call: &Call, request: v1::ReportJobRequest) -> Result<v1::Job, AppError> {
        self.write(call, async |unit: &mut Unit| report(unit, request).await)
            .await
    }

    /// Says that a job is done.
    ///
    /// # Errors
    /// When it is done already, or was begun later.
    pub async fn complete_job(
        &self,
        call: &Call,
        request: v1::CompleteJobRequest,
    ) -> Result<v1::Job, AppError> {
        self.write(call, async |unit: &mut Unit| complete(unit, request).await)
            .await
    }

    /// Takes back that a job was begun or done.
    ///
    /// # Errors
    /// When it is to do.
    pub async fn reopen_job(&self, call: &Call, request: v1::ReopenJobRequest) -> Result<v1::Job, AppError> {
        self.write(call, async |unit: &mut Unit| reopen(unit, request).await)
            .await
    }
}

pub(super) async fn start(unit: &mut Unit, request: v1::StartJobRequest) -> Result<v1::Job, AppError> {
    let v1::StartJobRequest {
        name,
        etag,
        started_date,
        workshop,
        request_id: _,
        validate_only: _,
    } = request;
    step(unit, &name, &etag, "start", |stored: &Stored<Jobs>| {
        let mut job = stored.message.clone();
        if job.state() != v1::JobState::ToDo {
            return Err(wrong_state(stored, "is not to do: it is under way or done"));
        }
        job.started_workshop = match (workshop.as_str(), job.workshops.as_slice()) {
            ("", []) => String::new(),
            ("", [only]) => only.clone(),
            ("", _) => {
                return Err(AppError::field(
                    "workshop",
                    "must say which of the job's workshops",
                ));
            }
            (given, could) if could.iter().any(|could| could == given) => given.to_owned(),
            (given, _) => {
                let problem = format!("must be one of the job's workshops, {given} is not");
                return Err(AppError::field("workshop", problem));
            }
        };
        job.set_state(v1::JobState::UnderWay);
        job.started_date = started_date;
        Ok(job)
    })
    .await
}

pub(super) async fn report(unit: &mut Unit, request: v1::ReportJobRequest) -> Result<v1::Job, AppError> {
    let v1::ReportJobRequest {
        name,
        etag,
        actual_hours,
        remaining_hours,
        request_id: _,
        validate_only: _,
    } = request;
    step(unit, &name, &etag, "report", |stored: &Stored<Jobs>| {
        let mut job = stored.message.clone();
        if job.state() != v1::JobState::UnderWay {
            return Err(wrong_state(stored, "is not under way"));
        }
        job.actual_hours = Some(actual_hours);
        job.remaining_hours = remaining_hours;
        let record = Jobs::record(stored.name.clone(), job.clone())?;
        if job.work_hours.is_some() && record.hours_left().is_none() {
            let problem = "must be set: more hours were spent than its estimate allows";
            return Err(AppError::field("remaining_hours", problem));
        }
        Ok(job)
    })
    .await
}

pub(super) async fn complete(unit: &mut Unit, request: v1::CompleteJobRequest) -> Result<v1::Job, AppError> {
    let v1::CompleteJobRequest {
        name,
        etag,
        done_date,
        actual_hours,
        request_id: _,
        validate_only: _,
    } = request;
    step(unit, &name, &etag, "complete", |stored: &Stored<Jobs>| {
        let mut job = stored.message.clone();
        if job.state() == v1::JobState::Done {
            return Err(wrong_state(stored, "is done already"));
        }
        // Dates are YYYY-MM-DD: their order is that of their texts.
        if done_date < job.started_date {
            let problem = format!("must not be before {}, when it was begun", job.started_date);
            return Err(AppError::field("done_date", problem));
        }
        job.set_state(v1::JobState::Done);
        job.done_date = done_date;
        job.actual_hours = actual_hours.or(job.actual_hours);
        job.remaining_hours = None;
        Ok(job)
    })
    .await
}

pub(super) async fn reopen(unit: &mut Unit, request: v1::ReopenJobRequest) -> Result<v1::Job, AppError> {
    let v1::ReopenJobRequest {
        name,
        etag,
        request_id: _,
        validate_only: _,
    } = request;
    step(unit, &name, &etag, "reopen", |stored: &Stored<Jobs>| {
        let mut job = stored.message.clone();
        if job.state() == v1::JobState::ToDo {
            return Err(wrong_state(stored, "is to do already"));
        }
        job.set_state(v1::JobState::ToDo);
        job.started_date.clear();
        job.started_workshop.clear();
        job.actual_hours = None;
        job.remaining_hours = None;
        job.done_date.clear();
        Ok(job)
    })
    .await
}

/// The circles among the jobs of a fleet once `name` is as `message`. Nothing is read when it comes after no job.
///
/// # Errors
/// When the fleet's jobs cannot be read.
pub(super) async fn circles_with(
    unit: &mut Unit,
    name: &Name,
    message: &impl ReflectMessage,
) -> Result<Circles, AppError> {
    let own = typed::<Jobs>(&message.transcode_to_dynamic())?;
    if own.after.is_empty() {
        return Ok(Circles::default());
    }
    let rows = unit.rows_of_fleet(&name.fleet()).await?;
    let mut after = stored_precedence(rows.values())?;
    after.insert(name.clone(), before(&own));
    Ok(Circles::of(&after))
}

/// What comes before each job among `rows`.
///
/// # Errors
/// When one cannot be read.
pub(super) fn stored_precedence<'r>(
    rows: impl Iterator<Item = &'r Row>,
) -> Result<BTreeMap<Name, Vec<Name>>, AppError> {
    rows.filter(|row| row.kind == Jobs::WORD)
        .map(|row| {
            let stored = decode::<Jobs>(row.clone())?;
            Ok((stored.name, before(&stored.message)))
        })
        .collect()
}

/// The jobs that `job` comes after; what is no name is left out.
pub(super) fn before(job: &v1::Job) -> Vec<Name> {
    let names = job.after.iter().map(|name| Name::new(name.as_str()));
    names.filter_map(Result::ok).collect()
}
