//! A plan as files: comma-separated values, a calendar for each workshop, a chart for screens and for paper.

mod calendar;
mod chart;
mod comma_separated;

use jiff::civil::DateTime;
use ostler_paper::{Block, Document, Fonts, PageSize, pdf, svg};
use ostler_proto::v1::{BuildPlan, PlanFile, PlanFormat};

use crate::SheetError;

/// How much larger than in points a chart stands on a screen.
const ENLARGED: f32 = 1.6;

/// Writes `plan` in `format`, pages of `size`; nothing of a plan without jobs, and nothing in a form that is not stated.
/// `now_micros` is stamped into calendars: microseconds since 1970, UTC.
///
/// # Errors
/// When memory fails, or pages cannot be written.
pub fn plan_files(
    plan: &BuildPlan,
    format: PlanFormat,
    size: PageSize,
    now_micros: i64,
    fonts: &Fonts,
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
            svg(&chart::chart(plan, fonts), ENLARGED, fonts).into_bytes(),
        )],
        PlanFormat::Pdf => vec![file(
            format!("{departure}.pdf"),
            "application/pdf",
            chart_pages(plan, size.landscape(), fonts)?,
        )],
    })
}

/// The chart on pages, as many as its rows need.
fn chart_pages(plan: &BuildPlan, size: PageSize, fonts: &Fonts) -> Result<Vec<u8>, SheetError> {
    let departure = id_of(&plan.departure);
    let whole = chart::chart(plan, fonts);
    // A page that is narrower makes the parts smaller as a whole.
    let scale = (size.body_width() / whole.width).min(1.0);
    let mut blocks = Vec::new();
    for (index, part) in chart::parts(plan, size.body_height() / scale - 1.0, fonts)
        .into_iter()
        .enumerate()
    {
        if index > 0 {
            blocks.push(Block::NewPage);
        }
        blocks.push(Block::Drawing(part));
    }
    let day = |time: &str| time.split('T').next().unwrap_or_default().to_owned();
    let document = Document {
        title: format!("Plan of {departure}"),
        head: [
            format!("Plan · {departure}"),
            format!("departure {}", day(&plan.ready_by_civil_time)),
        ],
        foot: format!("computed from record {}", plan.record_version),
        mark: None,
        blocks,
    };
    Ok(pdf(&document, size, fonts)?)
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
        let fonts = Fonts::built_in().unwrap();
        let files = |plan: &BuildPlan, format| plan_files(plan, format, PageSize::A4, 0, &fonts).unwrap();
        for format in [
            PlanFormat::Csv,
            PlanFormat::Icalendar,
            PlanFormat::Svg,
            PlanFormat::Pdf,
        ] {
            assert!(files(&BuildPlan::default(), format).is_empty());
            assert!(!files(&plan(), format).is_empty());
        }
    }
}
