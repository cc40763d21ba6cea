//! Commands about a departure: load sheets, rules.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// `ostler sheet`.
#[derive(Debug, Args)]
pub struct SheetArgs {
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
}

/// Form of a written load sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetForm {
    /// The load sheet in its JSON form
    Json,
    /// One table: section, item, figure, unit
    Csv,
}

/// `ostler fuel`.
#[derive(Debug, Args)]
pub struct FuelArgs {
    /// The departure
    pub departure: String,
    /// Only this vehicle, leg by leg
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: Option<String>,
}

/// `ostler water`.
#[derive(Debug, Args)]
pub struct WaterArgs {
    /// The departure
    pub departure: String,
}

/// `ostler power`.
#[derive(Debug, Args)]
pub struct PowerArgs {
    /// The departure
    #[arg(required_unless_present = "file", requires = "vehicle")]
    pub departure: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE", requires = "departure")]
    pub vehicle: Option<String>,
    /// YAML or JSON file with a system that is not on record: the fields of `GivenPower`
    #[arg(long, value_name = "FILE", conflicts_with_all = ["departure", "vehicle"])]
    pub file: Option<PathBuf>,
}

/// `ostler rules`.
#[derive(Debug, Args)]
pub struct RulesArgs {
    /// The regulated item
    pub item: String,
    /// The departure whose rule packs and dates hold
    pub departure: String,
    /// Fact to take for granted instead of the recorded one, as FACT=VALUE: yes, no, a number, a text, or
    /// `unknown`. Nothing is written. May be given several times
    #[arg(long, value_name = "FACT=VALUE")]
    pub assume: Vec<String>,
}
