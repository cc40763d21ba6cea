//! A plan as comma-separated values: one job a line, by their starts.

use ostler_proto::v1::BuildPlan;

use crate::SheetError;
use crate::comma_separated::disarm;
use crate::words::decimal;

const COLUMNS: [&str; 10] = [
    "departure",
    "job",
    "display_name",
    "vehicles",
    "workshop",
    "start_civil_time",
    "finish_civil_time",
    "slack_hours",
    "critical",
    "under_way",
];

/// Writes `plan`; UTF-8, a header line, lines end in CR LF as RFC 4180 says.
pub(super) fn comma_separated(plan: &BuildPlan) -> Result<Vec<u8>, SheetError> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let failed = |error: csv::Error| SheetError::Table(Box::new(error));
    writer.write_record(COLUMNS).map_err(failed)?;
    let word = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    for job in &plan.jobs {
        let row = [
            disarm(&plan.departure),
            disarm(&job.job),
            disarm(&job.display_name),
            disarm(&job.vehicles.join(" ")),
            disarm(&job.workshop),
            job.start_civil_time.clone(),
            job.finish_civil_time.clone(),
            decimal(job.slack_hours),
            word(job.critical),
            word(job.under_way),
        ];
        writer.write_record(row).map_err(failed)?;
    }
    writer
        .into_inner()
        .map_err(|error| SheetError::Table(Box::new(error.into_error())))
}

#[cfg(test)]
mod tests {
    use super::super::tests::plan;
    use super::*;

    #[test]
    fn every_job_is_a_line_and_no_text_a_formula() {
        let text = String::from_utf8(comma_separated(&plan()).unwrap()).unwrap();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
        assert_eq!(rows.len(), 3);
        assert_eq!(&rows[0][2], "'=strip; inspect, <clean>");
        assert_eq!(&rows[1][2], "wire the \"second\" battery\r\nand test");
        assert_eq!((&rows[2][5], &rows[2][7]), ("2027-03-31T08:00", "24"));
        assert!(text.lines().next().unwrap().starts_with("departure,job,"));
    }
}
