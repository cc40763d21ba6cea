//! A plan as files: comma-separated values, a calendar for each workshop, a chart.

mod calendar;
mod chart;
mod comma_separated;

use jiff::civil::DateTime;
use ostler_proto::v1::{BuildPlan, PlanFile, PlanFormat};

use crate::SheetError;

/// Writes `plan` in `format`; nothing of a plan without jobs, and nothing in a form that is not stated.
/// `now_micros` is stamped into calendars: microseconds since 1970, UTC.
///
/// # Errors
/// When memory fails.
pub fn plan_files(
    plan: &BuildPlan,
    format: PlanFormat,
    now_micros: i64,
) -> Result<Vec<PlanFile>, SheetError> {
    if plan.jobs.is_empty() {
        return Ok(Vec::new());
    }
    let departure = id_of(&plan.departure);
    let file = |file_name: String, media_type: &str, content: Vec<u8>| PlanFile {
        file_name,
        media_type: media_type.to_owned(),
        content,
        format: format.into(),
    };
    Ok(match format {
        PlanFormat::Unspecified => Vec::new(),
        PlanFormat::Csv => vec![file(
            format!("{departure}.csv"),
            "text/csv",
            comma_separated::comma_separated(plan)?,
        )],
        PlanFormat::Icalendar => calendar::calendars(plan, now_micros)
            .into_iter()
            .map(|(workshop, content)| {
                let name = format!("{departure}-{workshop}.ics");
                file(name, "text/calendar", content.into_bytes())
            })
            .collect(),
        PlanFormat::Svg => vec![file(
            format!("{departure}.svg"),
            "image/svg+xml",
            chart::chart(plan).into_bytes(),
        )],
    })
}

/// The last part of a name.
fn id_of(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

/// The moment of a text `YYYY-MM-DDTHH:MM`. `None`: it is none.
fn moment(civil_time: &str) -> Option<DateTime> {
    civil_time.parse().ok()
}

#[cfg(test)]
pub(super) mod tests {
    use ostler_proto::v1::PlannedJob;

    use super::*;

    /// Two jobs in a workshop and one in none, on four days.
    pub(in crate::plan) fn plan() -> BuildPlan {
        let job = |id: &str, title: &str, workshop: &str, start: &str, finish: &str| PlannedJob {
            job: format!("fleets/f/jobs/{id}"),
            display_name: title.to_owned(),
            vehicles: vec!["fleets/f/vehicles/v1".to_owned()],
            workshop: match workshop {
                "" => String::new(),
                id => format!("fleets/f/workshops/{id}"),
            },
            workshop_display_name: workshop.to_owned(),
            start_civil_time: start.to_owned(),
            finish_civil_time: finish.to_owned(),
            slack_hours: 24.0,
            critical: id == "t1",
            under_way: false,
        };
        BuildPlan {
            departure: "fleets/f/departures/north".to_owned(),
            start_civil_time: "2027-03-29T00:00".to_owned(),
            ready_by_civil_time: "2027-04-05T00:00".to_owned(),
            finish_civil_time: "2027-04-01T17:00".to_owned(),
            jobs: vec![
                job(
                    "t1",
                    "=strip; inspect, <clean>",
                    "yard",
                    "2027-03-29T08:00",
                    "2027-03-30T12:00",
                ),
                job(
                    "t2",
                    "wire the \"second\" battery\r\nand test",
                    "yard",
                    "2027-03-30T08:00",
                    "2027-03-31T12:00",
                ),
                job("t3", "papers", "", "2027-03-31T08:00", "2027-04-01T17:00"),
            ],
            ..BuildPlan::default()
        }
    }

    #[test]
    fn a_plan_without_jobs_has_no_files() {
        for format in [PlanFormat::Csv, PlanFormat::Icalendar, PlanFormat::Svg] {
            assert!(plan_files(&BuildPlan::default(), format, 0).unwrap().is_empty());
            assert!(!plan_files(&plan(), format, 0).unwrap().is_empty());
        }
    }
}
