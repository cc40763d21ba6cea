//! Commands about load sheets.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::WriteArgs;

/// `ostler sheet`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct SheetArgs {
    /// What to do with issued sheets; nothing: write files.
    #[command(subcommand)]
    pub command: Option<SheetCommand>,
    /// What files to write.
    #[command(flatten)]
    pub files: Option<SheetFilesArgs>,
}

/// `ostler sheet DEPARTURE`.
#[derive(Debug, Args)]
pub struct SheetFilesArgs {
    /// The departure
    pub departure: String,
    /// Only this vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: Option<String>,
    /// Form of the files
    #[arg(long, value_name = "FORM", value_enum)]
    pub format: SheetForm,
    /// Folder for the files; made when it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// The sheets issued last instead of drafts of how the record is now
    #[arg(long)]
    pub issued: bool,
    /// Size of the pages of PDF
    #[arg(long, value_name = "SIZE", value_enum, default_value_t = Paper::A4)]
    pub paper: Paper,
    /// The summary of the convoy as well; only with PDF of a whole departure
    #[arg(long, conflicts_with = "vehicle")]
    pub summary: bool,
}

/// Form of a written load sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetForm {
    /// The load sheet in its JSON form
    Json,
    /// One table: section, item, figure, unit
    Csv,
    /// A workbook
    Xlsx,
    /// Pages to print
    Pdf,
}

/// Size of printed pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

/// `ostler sheet issue` and the like.
#[derive(Debug, Subcommand)]
pub enum SheetCommand {
    /// Freeze the load sheet of a vehicle under a number, and sign it
    #[command(override_usage = "ostler sheet issue DEPARTURE --vehicle V --role ROLE --name NAME")]
    Issue(SheetIssueArgs),
    /// List the issued load sheets of a departure
    List {
        /// The departure
        departure: String,
    },
    /// Show an issued load sheet: who signed it, and what has changed on record since
    Show {
        /// The sheet, as DEPARTURE/SHEET or by its full name
        sheet: String,
    },
    /// Hold a file against the load sheet that was issued; ends with 1 unless it is that one, byte for byte
    Verify(SheetVerifyArgs),
}

/// `ostler sheet issue`.
#[derive(Debug, Args)]
pub struct SheetIssueArgs {
    /// The departure
    pub departure: String,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: String,
    /// In what role you sign, for example `convoy lead`
    #[arg(long, value_name = "ROLE")]
    pub role: String,
    /// Your name or sign, as it is to stand on the sheet; your token is noted beside it
    #[arg(long, value_name = "NAME")]
    pub name: String,
    /// Why it is issued although the vehicle is no-go; needed then, and refused otherwise
    #[arg(long, value_name = "TEXT")]
    pub reason: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler sheet verify`.
#[derive(Debug, Args)]
pub struct SheetVerifyArgs {
    /// The file, in JSON form; `-` for standard input
    pub file: PathBuf,
    /// The sheet it should be, as DEPARTURE/SHEET or by its full name [default: the one it says it is]
    #[arg(long, value_name = "SHEET")]
    pub sheet: Option<String>,
}
