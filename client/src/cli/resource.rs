//! Commands that work alike on every kind of record.

use std::path::PathBuf;

use clap::Args;

use super::WriteArgs;
pub use crate::kinds::Kind;

/// `ostler list`.
#[derive(Debug, Args)]
pub struct ListArgs {
    /// Kind of record
    #[arg(value_enum)]
    pub kind: Kind,
    /// Conditions on fields, joined by AND: 'severity = "grounding" AND disposition = "open"'
    #[arg(long, value_name = "CONDITIONS")]
    pub filter: Option<String>,
    /// Only records of this vehicle; fitments need it
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: Option<String>,
    /// Most records to list [default: all]
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..))]
    pub limit: Option<u32>,
}

/// `ostler show`.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// Kind of record
    #[arg(value_enum)]
    pub kind: Kind,
    /// The record; a fitment is VEHICLE/SLOT
    pub id: String,
    /// Show it as it was at this moment, be it changed or deleted since: 2027-04-01T08:00:00Z, or a day
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
}

/// `ostler create`.
#[derive(Debug, Args)]
pub struct CreateArgs {
    /// Kind of record
    #[arg(value_enum)]
    pub kind: Kind,
    /// Id of the new record; a fitment is VEHICLE/SLOT
    pub id: String,
    /// File with its fields, YAML or JSON; `-` for standard input
    #[arg(long, value_name = "FILE")]
    pub file: PathBuf,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler change`.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("source").required(true).args(["set", "file"]))]
pub struct ChangeArgs {
    /// Kind of record
    #[arg(value_enum)]
    pub kind: Kind,
    /// The record; a fitment is VEHICLE/SLOT
    pub id: String,
    /// Field and its new value as FIELD=VALUE, for example specification.gross_mass_kg=3500; an empty value
    /// clears the field. May be given several times
    #[arg(long, value_name = "FIELD=VALUE")]
    pub set: Vec<String>,
    /// File with the fields to change, YAML or JSON; `-` for standard input. An etag in it makes the
    /// change conditional
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Clear the fields that the file does not have
    #[arg(long, requires = "file")]
    pub replace: bool,
    /// Change only when the record still has this etag
    #[arg(long, value_name = "ETAG")]
    pub etag: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler delete`.
#[derive(Debug, Args)]
pub struct DeleteArgs {
    /// Kind of record
    #[arg(value_enum)]
    pub kind: Kind,
    /// The record; a fitment is VEHICLE/SLOT
    pub id: String,
    /// Delete everything below it as well
    #[arg(long)]
    pub force: bool,
    /// Delete only when the record still has this etag
    #[arg(long, value_name = "ETAG")]
    pub etag: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}
