//! Load sheets and reports as files, from the API's messages, so that a sheet issued long ago is written from what was
//! frozen then and not from what the record says now; plans as files; and pictures of results.
//!
//! The JSON form is the message's own and is written by the server; the other forms are here. The same message gives the same
//! bytes in every form.

mod comma_separated;
mod drawing;
mod from_above;
mod load_run;
mod pages;
mod plan;
mod plan_data;
mod plan_masses;
mod plan_view;
mod report;
mod speeds;
mod words;
mod workbook;

pub use comma_separated::comma_separated;
pub use load_run::{LoadRun, RunningLoad, load_run};
pub use ostler_paper::{Fonts, PageSize, PaperError};
pub use pages::{ConvoySheet, convoy_pages, sheet_pages};
pub use plan::plan_files;
pub use plan_data::{HeldLoad, PlanMass, PlanView, plan_of};
pub use plan_view::plan_view;
pub use report::{Report, report_markdown, report_pages};
pub use speeds::speed_picture;
pub use workbook::workbook;

/// A file that cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// As comma-separated values.
    #[error("it cannot be written as comma-separated values")]
    Table(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// As a workbook.
    #[error("it cannot be written as a workbook")]
    Workbook(#[from] rust_xlsxwriter::XlsxError),
    /// As pages.
    #[error("it cannot be set on pages")]
    Pages(#[from] ostler_paper::PaperError),
}
