//! The readiness of a departure as a report.

use std::sync::Arc;

use ostler_proto::v1;
use ostler_sheet::Report;

use super::kinds::{Departures, name_of};
use super::long_work::apart;
use super::readiness::Assessed;
use super::sheets::{id, page_size};
use super::{App, AppError};
use crate::convert;
use crate::convert::readiness::{Detail, readiness_message};

impl App {
    /// Writes the readiness of a departure as a report.
    ///
    /// # Errors
    /// When the departure does not exist.
    pub async fn render_readiness_report(
        &self,
        request: v1::RenderReadinessReportRequest,
    ) -> Result<v1::RenderedReport, AppError> {
        let format = request.format();
        let pages = page_size(request.page_size() == v1::PageSize::Letter);
        let assessed = self
            .assessed(&name_of::<Departures>("departure", &request.departure)?, None)
            .await?;
        let Assessed {
            read,
            departure,
            readiness,
        } = &*assessed;
        let departure = departure.clone();
        let version = self.version_of(read);
        let readiness = Arc::new(readiness_message(readiness, version, Detail::Whole));
        let acceptances: Vec<v1::Acceptance> = read
            .record
            .acceptances
            .values()
            .filter(|acceptance| acceptance.departure == departure.name)
            .map(convert::acceptance::acceptance_message)
            .collect();
        let rule_packs: Vec<v1::SheetRulePack> = departure
            .rule_packs
            .iter()
            .filter_map(|pack| read.record.rule_packs.get(pack))
            .map(convert::sheet::sheet_rule_pack_message)
            .collect();
        let told = readiness.clone();
        let fonts = self.fonts.clone();
        let (ending, content) = apart("report", move || {
            let dates = [departure.departure_date, departure.return_date].map(|date| date.to_string());
            let [departure_date, return_date] = &dates;
            let report = Report {
                departure: match departure.display_name.as_str() {
                    "" => departure.name.id(),
                    name => name,
                },
                departure_date,
                return_date,
                readiness: &told,
                acceptances: &acceptances,
                rule_packs: &rule_packs,
            };
            match format {
                v1::ReportFormat::Pdf => {
                    let pages = ostler_sheet::report_pages(&report, pages, &fonts);
                    pages
                        .map(|content| ("pdf", content))
                        .map_err(|error| AppError::Corrupt {
                            name: departure.name.to_string(),
                            source: Box::new(error),
                        })
                }
                v1::ReportFormat::Markdown | v1::ReportFormat::Unspecified => {
                    Ok(("md", ostler_sheet::report_markdown(&report).into_bytes()))
                }
            }
        })
        .await?;
        Ok(v1::RenderedReport {
            file_name: format!("{}-readiness.{ending}", id(&readiness.departure)),
            content,
            verdict: readiness.verdict,
            record_version: readiness.record_version.clone(),
        })
    }
}
