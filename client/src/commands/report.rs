//! `ostler ready --report`: readiness as a file for the meeting that decides.

use std::path::Path;

use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_proto::v1::{RenderReadinessReportRequest, ReportFormat};

use super::sheet::page_size;
use super::verdict::{exit_code, verdict_tone, verdict_words};
use super::{Outcome, write_file};
use crate::cli::Paper;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::output::{Answer, Block, Cell, Document, Records};
use crate::session::Session;

/// Has the report written and puts it into `file`; ends as `ostler ready` does.
pub(super) async fn run(
    session: &Session,
    departure: String,
    file: &Path,
    paper: Paper,
) -> Result<Outcome, CliError> {
    let request = RenderReadinessReportRequest {
        departure,
        format: format_of(file)?.into(),
        page_size: page_size(paper).into(),
    };
    let report = session
        .connection
        .call(request, async |service, request| {
            ReadinessServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .render_readiness_report(request)
                .await
        })
        .await?;
    write_file(file, &report.content)?;
    let path = file.display().to_string();
    let words = verdict_words(report.verdict());
    let mut records = Records::new(["verdict", "path", "record_version"]);
    records.push([
        Cell::text(words),
        Cell::text(path.as_str()),
        Cell::text(report.record_version.as_str()),
    ]);
    let json = serde_json::to_string_pretty(&serde_json::json!({
        "verdict": report.verdict().as_str_name(),
        "path": path,
        "recordVersion": report.record_version,
    }));
    let document = Document {
        blocks: vec![Block::toned(
            0,
            verdict_tone(report.verdict()),
            format!("{words}: {path}"),
        )],
        answer: Answer::Json(json.map_err(|error| CliError::Answer {
            problem: format!("it has no JSON form: {error}"),
        })?),
        records,
    };
    Ok(Outcome {
        exit_code: exit_code(report.verdict())?,
        ..Outcome::document(document)
    })
}

/// The form that a file's ending names.
fn format_of(file: &Path) -> Result<ReportFormat, CliError> {
    let ending = file
        .extension()
        .and_then(|ending| ending.to_str())
        .unwrap_or_default();
    match ending.to_ascii_lowercase().as_str() {
        "md" => Ok(ReportFormat::Markdown),
        "pdf" => Ok(ReportFormat::Pdf),
        _ => Err(CliError::Usage {
            problem: format!("{} ends neither in .md nor in .pdf", file.display()),
            hint: "the ending says in what form the report is written".to_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_says_the_form() {
        let form = |file: &str| format_of(Path::new(file)).ok();
        assert_eq!(form("a/report.MD"), Some(ReportFormat::Markdown));
        assert_eq!(form("report.pdf"), Some(ReportFormat::Pdf));
        assert_eq!(form("report.docx"), None);
        assert_eq!(form("report"), None);
    }
}
