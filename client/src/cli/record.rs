//! Commands that record work or move whole files: substitutions, defects, cargo, fleets, history.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::WriteArgs;
use crate::kinds::Kind;

/// `ostler substitute`.
#[derive(Debug, Args)]
#[command(
    override_usage = "ostler substitute [OPTIONS] --vehicle <VEHICLE>\n                         --slot <SLOT> --part <PART> ... <ID>"
)]
pub struct SubstituteArgs {
    /// Id of the new substitution
    pub id: String,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: String,
    /// Slot that gets another part; one --part belongs to each --slot, in order
    #[arg(long = "slot", value_name = "SLOT", required = true)]
    pub slots: Vec<String>,
    /// Part that goes into the slot
    #[arg(long = "part", value_name = "PART", required = true)]
    pub parts: Vec<String>,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub reason: Option<String>,
    /// Day on which the parts went in, YYYY-MM-DD; without it the substitution is proposed
    #[arg(long, value_name = "DATE")]
    pub fitted: Option<String>,
    /// Substitution that this one takes the place of
    #[arg(long, value_name = "ID")]
    pub supersedes: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler assess`.
#[derive(Debug, Args)]
pub struct AssessArgs {
    /// The substitution
    pub substitution: String,
    /// Keep the assessment with the substitution, for approval
    #[arg(long)]
    pub keep: bool,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler fit`.
#[derive(Debug, Args)]
pub struct FitArgs {
    /// The substitution
    pub substitution: String,
    /// Day on which the parts went in, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
    /// Where the old parts are now
    #[arg(long, value_name = "TEXT")]
    pub old_parts: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler settle`.
#[derive(Debug, Args)]
#[command(
    override_usage = "ostler settle [OPTIONS] --slot <SLOT> --interface <KIND>\n                     --how <TEXT> --by <ROLE> --date <DATE> <SUBSTITUTION>"
)]
pub struct SettleArgs {
    /// The substitution
    pub substitution: String,
    /// Slot of the vehicle
    #[arg(long, value_name = "SLOT")]
    pub slot: String,
    /// Kind of interface
    #[arg(long, value_name = "KIND")]
    pub interface: String,
    /// What was measured on the part, as TYPE=VALUE; TYPE is one of text, count, length_mm, thread, ratio, hand, connector,
    /// number. The value then decides how the interface fits
    #[arg(long, value_name = "TYPE=VALUE")]
    pub on_part: Option<String>,
    /// What was measured on the vehicle's side, likewise
    #[arg(long, value_name = "TYPE=VALUE")]
    pub on_vehicle: Option<String>,
    /// How it was measured; without a measured value: how it was found right, or the remedy that was done
    #[arg(long, value_name = "TEXT")]
    pub how: String,
    /// Role of who did it
    #[arg(long, value_name = "ROLE")]
    pub by: String,
    /// When, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler approve`.
#[derive(Debug, Args)]
pub struct ApproveArgs {
    /// The substitution
    pub substitution: String,
    /// Role of who approves it
    #[arg(long, value_name = "ROLE")]
    pub by: String,
    /// When, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler prove`.
#[derive(Debug, Args)]
pub struct ProveArgs {
    /// The substitution
    pub substitution: String,
    /// Evidence of a day after the parts went in; may be given several times
    #[arg(long, value_name = "EVIDENCE", required = true)]
    pub evidence: Vec<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler undo`.
#[derive(Debug, Args)]
pub struct UndoArgs {
    /// The substitution
    pub substitution: String,
    /// Day on which the old parts went in again, YYYY-MM-DD; without it the fitting was recorded by mistake
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler find`.
#[derive(Debug, Args)]
#[command(override_usage = "ostler find --vehicle <VEHICLE> --slot <SLOT>\n       ostler find --part <PART>")]
pub struct FindArgs {
    /// The vehicle whose slot wants a part
    #[arg(long, value_name = "VEHICLE", requires = "slot", conflicts_with = "part")]
    pub vehicle: Option<String>,
    /// The slot
    #[arg(long, value_name = "SLOT", requires = "vehicle")]
    pub slot: Option<String>,
    /// The part that wants a slot: what else in the convoy takes it
    #[arg(long, value_name = "PART", required_unless_present = "vehicle")]
    pub part: Option<String>,
    /// Most results to show
    #[arg(long, value_name = "COUNT", default_value_t = 50, value_parser = clap::value_parser!(i32).range(1..=1000))]
    pub limit: i32,
}

/// `ostler withdraw`.
#[derive(Debug, Args)]
pub struct WithdrawArgs {
    /// The substitution
    pub substitution: String,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler defect`.
#[derive(Debug, Subcommand)]
pub enum DefectCommand {
    /// List defects
    List(DefectListArgs),
    /// Show one defect
    Show {
        /// The defect
        defect: String,
    },
    /// Record a fault that was found
    Add(DefectAddArgs),
    /// Accept a defect with conditions; a grounding one cannot be accepted
    Accept(DefectAcceptArgs),
    /// Say that a defect is fixed
    Fix(DefectFixArgs),
}

/// `ostler defect list`.
#[derive(Debug, Args)]
pub struct DefectListArgs {
    /// Only defects of this vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: Option<String>,
    /// Only defects that are neither fixed nor accepted
    #[arg(long)]
    pub open: bool,
}

/// How bad a defect is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Severity {
    /// To watch, or to put right when there is time
    Minor,
    /// To fix before departure, or to accept with conditions
    Restricting,
    /// The vehicle does not move until it is fixed
    Grounding,
}

/// `ostler defect add`.
#[derive(Debug, Args)]
#[command(
    override_usage = "ostler defect add [OPTIONS] --vehicle <VEHICLE>\n                         --severity <SEVERITY> --description <TEXT> <ID>"
)]
pub struct DefectAddArgs {
    /// Id of the new defect
    pub id: String,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: String,
    /// How bad it is
    #[arg(long, value_name = "SEVERITY", value_enum)]
    pub severity: Severity,
    /// What is wrong
    #[arg(long, value_name = "TEXT")]
    pub description: String,
    /// Day on which it was found, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub found: Option<String>,
    /// What the workshop proposes
    #[arg(long, value_name = "TEXT")]
    pub proposal: Option<String>,
    /// The substitution that caused it; may be given several times
    #[arg(long, value_name = "SUBSTITUTION")]
    pub caused_by: Vec<String>,
    /// The job that caused it; may be given several times
    #[arg(long, value_name = "JOB")]
    pub caused_by_job: Vec<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// What something is accepted under.
#[derive(Debug, Clone, Args)]
pub struct ConditionArgs {
    /// The limit or the rule to keep
    #[arg(long, value_name = "TEXT")]
    pub condition: String,
    /// Role that keeps it
    #[arg(long, value_name = "ROLE")]
    pub owner: String,
    /// How often it is checked, for example "every 50 km"
    #[arg(long, value_name = "TEXT")]
    pub check_interval: String,
    /// Role that accepts it
    #[arg(long, value_name = "ROLE")]
    pub accepted_by: String,
    /// Day on which it is accepted, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
}

/// `ostler defect accept`.
#[derive(Debug, Args)]
#[command(
    override_usage = "ostler defect accept [OPTIONS] --condition <TEXT> --owner <ROLE>\n                            --check-interval <TEXT> --accepted-by <ROLE>\n                            --date <DATE> <DEFECT>"
)]
pub struct DefectAcceptArgs {
    /// The defect
    pub defect: String,
    /// What it is accepted under.
    #[command(flatten)]
    pub condition: ConditionArgs,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler defect fix`.
#[derive(Debug, Args)]
pub struct DefectFixArgs {
    /// The defect
    pub defect: String,
    /// How it was fixed
    #[arg(long, value_name = "TEXT")]
    pub fix: String,
    /// Day on which it was fixed, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
    /// Evidence that shows it; may be given several times
    #[arg(long, value_name = "EVIDENCE")]
    pub evidence: Vec<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler cargo`.
#[derive(Debug, Subcommand)]
pub enum CargoCommand {
    /// Bring in a cargo list as CSV: all of it or nothing
    Import {
        /// The list; `-` for standard input
        file: PathBuf,
        /// How it is written.
        #[command(flatten)]
        write: WriteArgs,
    },
    /// Write the cargo list as CSV, in the columns that `cargo import` reads
    Export {
        /// Only what is on this vehicle
        #[arg(long, value_name = "VEHICLE")]
        vehicle: Option<String>,
        /// File to write [default: standard output]
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// List what is carried
    List {
        /// Only what is on this vehicle
        #[arg(long, value_name = "VEHICLE")]
        vehicle: Option<String>,
    },
}

/// `ostler import`.
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// The fleet file, YAML; `-` for standard input
    pub file: PathBuf,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// File to write [default: standard output]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// `ostler history`.
#[derive(Debug, Args)]
pub struct HistoryArgs {
    /// Only changes of this record, for example `vehicles/v1`
    pub resource: Option<String>,
    /// Only changes of this kind of record
    #[arg(long, value_enum, value_name = "KIND")]
    pub kind: Option<Kind>,
    /// Only changes by this token, named by its name
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Only changes that did this, such as create, update, delete, fit
    #[arg(long, value_name = "ACTION", conflicts_with = "watch")]
    pub action: Option<String>,
    /// Only changes of this moment or later: 2027-04-01T08:00:00Z, or a day
    #[arg(long, value_name = "TIME", conflicts_with = "watch")]
    pub since: Option<String>,
    /// Only changes before this moment
    #[arg(long, value_name = "TIME", conflicts_with = "watch")]
    pub until: Option<String>,
    /// Most entries to show
    #[arg(long, value_name = "COUNT", default_value_t = 50, value_parser = clap::value_parser!(u32).range(1..=100_000), conflicts_with = "watch")]
    pub limit: u32,
    /// Show changes as they come, until interrupted, also across a restart of the server
    #[arg(long)]
    pub watch: bool,
    /// Begin after this number of the history; 0: at its beginning [default: now]
    #[arg(long, value_name = "NUMBER", requires = "watch", value_parser = clap::value_parser!(i64).range(0..=1_000_000_000_000_000))]
    pub after: Option<i64>,
}
