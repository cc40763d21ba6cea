//! The readiness report: what the people of a go/no-go meeting have before them, as Markdown and on pages.
//!
//! Both forms are written from the same parts, so that they cannot say different things.

mod content;
mod markdown;
mod pages;

use ostler_paper::{Fonts, PageSize};
use ostler_proto::v1::{Acceptance, Readiness, SheetRulePack};

use crate::SheetError;

/// What a report is written from.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// Name of the departure for people.
    pub departure: &'a str,
    /// Day of departure, YYYY-MM-DD.
    pub departure_date: &'a str,
    /// Last day of the trip, YYYY-MM-DD.
    pub return_date: &'a str,
    /// The readiness of the whole departure.
    pub readiness: &'a Readiness,
    /// Acceptances of the departure.
    pub acceptances: &'a [Acceptance],
    /// Its rule packs.
    pub rule_packs: &'a [SheetRulePack],
}

/// Writes a report as Markdown.
pub fn report_markdown(report: &Report<'_>) -> String {
    markdown::write(&content::content(report))
}

/// Writes a report as PDF.
///
/// # Errors
/// When the pages cannot be written.
pub fn report_pages(report: &Report<'_>, size: PageSize, fonts: &Fonts) -> Result<Vec<u8>, SheetError> {
    let document = pages::document(&content::content(report));
    Ok(ostler_paper::pdf(&document, size, fonts)?)
}

/// A report before it has a form.
struct Content {
    title: String,
    verdict: ostler_proto::v1::Verdict,
    below: String,
    version: String,
    parts: Vec<Part>,
}

/// A part of a report.
enum Part {
    Heading(String),
    Paragraph(String),
    Table {
        head: Vec<&'static str>,
        /// Widths on the page against each other.
        shares: Vec<f32>,
        rows: Vec<Vec<Entry>>,
    },
    /// Lines to sign on.
    Signatures,
}

/// An entry of a table.
struct Entry {
    text: String,
    /// Shown on the ground of this answer.
    answer: Option<ostler_proto::v1::Answer>,
}

impl From<String> for Entry {
    fn from(text: String) -> Self {
        Self { text, answer: None }
    }
}

impl From<&str> for Entry {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}
