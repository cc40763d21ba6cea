//! Jobs.

use ostler_core::plan::three_point::ThreePoint;
use ostler_core::record::{Job, Name, Progress};
use ostler_proto::v1;

use super::{Converted, each, id, names, optional_date, optional_id, optional_name};

/// A job. One without a state, as in a request, is to do.
pub(crate) fn job(name: Name, message: v1::Job) -> Converted<Job> {
    let state = message.state();
    let v1::Job {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        vehicles,
        whole_fleet,
        stage,
        work_hours,
        after,
        workshops,
        without_bay,
        skills,
        awaited_parts,
        earliest_date,
        latest_date,
        serves,
        state: _,
        started_date,
        started_workshop,
        actual_hours,
        remaining_hours,
        done_date,
        note,
    } = message;
    let progress = match state {
        v1::JobState::ToDo | v1::JobState::Unspecified => Progress::ToDo,
        v1::JobState::UnderWay => Progress::UnderWay {
            started_date: optional_date("started_date", &started_date)?,
            workshop: optional_name("started_workshop", started_workshop)?,
            actual_hours,
            remaining_hours: remaining_hours.map(hours),
        },
        v1::JobState::Done => Progress::Done {
            done_date: optional_date("done_date", &done_date)?,
            actual_hours,
        },
    };
    Ok(Job {
        name,
        display_name,
        vehicles: names("vehicles", vehicles)?,
        whole_fleet,
        stage: optional_id("stage", stage)?,
        work_hours: work_hours.map(hours),
        after: names("after", after)?,
        workshops: names("workshops", workshops)?,
        without_bay,
        skills: each("skills", skills, |skill| id("", skill))?,
        awaited_parts: names("awaited_parts", awaited_parts)?,
        earliest_date: optional_date("earliest_date", &earliest_date)?,
        latest_date: optional_date("latest_date", &latest_date)?,
        serves: names("serves", serves)?,
        progress,
        note,
    })
}

fn hours(message: v1::WorkHours) -> ThreePoint {
    let v1::WorkHours {
        optimistic_hours,
        likely_hours,
        pessimistic_hours,
    } = message;
    ThreePoint {
        optimistic: optimistic_hours,
        likely: likely_hours,
        pessimistic: pessimistic_hours,
    }
}
