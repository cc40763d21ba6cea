//! The command line as types: what can be asked for, and the words that explain it.

mod departure;
mod driveline;
mod load;
mod record;
mod resource;
mod sheet;
mod verdict;
mod work;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use uuid::Uuid;

pub use departure::{FuelArgs, PowerArgs, RulesArgs, SparesArgs, StowArgs, WaterArgs};
pub use driveline::DrivelineArgs;
pub use load::{
    LoadAxlesArgs, LoadCommand, LoadLeanArgs, LoadRestraintArgs, LoadSparesArgs, LoadStabilityArgs,
    LoadTankArgs, LoadTyresArgs, LoadWheelsArgs, ReconcileArgs, WheelHeight,
};
pub use record::{
    ApproveArgs, AssessArgs, CargoCommand, ConditionArgs, DefectAcceptArgs, DefectAddArgs, DefectCommand,
    DefectFixArgs, DefectListArgs, ExportArgs, FindArgs, FitArgs, HistoryArgs, ImportArgs, ProveArgs,
    SettleArgs, Severity, SubstituteArgs, UndoArgs, WithdrawArgs,
};
pub use resource::{ChangeArgs, CreateArgs, DeleteArgs, Kind, ListArgs, ShowArgs};
pub use sheet::{Paper, SheetArgs, SheetCommand, SheetFilesArgs, SheetForm, SheetIssueArgs, SheetVerifyArgs};
pub use verdict::{AcceptArgs, ReadyArgs, WhatIfArgs};
pub use work::{JobCommand, JobDoneArgs, JobListArgs, JobReportArgs, JobStartArgs, JobStateWord, PlanArgs};

/// What the numbers that the program ends with mean.
const EXIT_CODES: &str = "\
Exit codes:
  0  done; of `ready`: go
  1  it failed: standard error says why and what to do
  2  the command itself is wrong
  3  of `ready`: go with conditions
  4  of `ready`: no-go";

const ABOUT: &str = "\
Ostler gets expedition vehicles ready for a departure: what is fitted, what is carried, what the \
rules ask, and whether it may go. Ids are enough where a name is asked for: `v1` stands for \
`fleets/orrin/vehicles/v1` with the fleet given by --fleet, or when the server holds just one.";

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "ostler",
    version,
    about = "Get vehicles ready for a departure",
    long_about = ABOUT,
    after_help = EXIT_CODES,
    max_term_width = 80,
    disable_help_subcommand = true
)]
pub struct Cli {
    /// What holds for every command.
    #[command(flatten)]
    pub global: GlobalArgs,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What holds for every command.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "For every command")]
pub struct GlobalArgs {
    /// Address of the server, for example 127.0.0.1:7350
    #[arg(
        long,
        global = true,
        value_name = "ADDRESS",
        env = "OSTLER_SERVER",
        hide_env_values = true
    )]
    pub server: Option<String>,
    /// Token to call with. Other users of this machine can see it while the command runs: prefer the
    /// environment or --token-file
    #[arg(
        long,
        global = true,
        value_name = "TOKEN",
        env = "OSTLER_TOKEN",
        hide_env_values = true
    )]
    pub token: Option<String>,
    /// File whose first line is the token
    #[arg(
        long,
        global = true,
        value_name = "FILE",
        env = "OSTLER_TOKEN_FILE",
        hide_env_values = true
    )]
    pub token_file: Option<String>,
    /// File of the certificates that the server's is vouched for by; calls then go over TLS
    #[arg(
        long,
        global = true,
        value_name = "FILE",
        env = "OSTLER_CA",
        hide_env_values = true
    )]
    pub ca: Option<PathBuf>,
    /// File of a certificate and its private key, where the server asks for one
    #[arg(
        long,
        global = true,
        value_name = "FILE",
        env = "OSTLER_IDENTITY",
        hide_env_values = true
    )]
    pub identity: Option<PathBuf>,
    /// Fleet that ids belong to
    #[arg(
        long,
        global = true,
        value_name = "FLEET",
        env = "OSTLER_FLEET",
        hide_env_values = true
    )]
    pub fleet: Option<String>,
    /// Seconds to wait for the answer
    #[arg(long, global = true, value_name = "SECONDS", default_value_t = 30,
          value_parser = clap::value_parser!(u64).range(1..=3600))]
    pub timeout: u64,
    /// Form of what is printed
    #[arg(short, long, global = true, value_name = "FORM", value_enum, default_value_t = Format::Table)]
    pub output: Format,
}

/// Form of what is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people, at most 80 columns wide
    Table,
    /// The answer of the API in its JSON form
    Json,
    /// One flat table with a header row
    Csv,
}

/// What every command that writes takes.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Writing")]
pub struct WriteArgs {
    /// Id of this change: sent twice, it is done once [default: a new one]
    #[arg(long, value_name = "UUID")]
    pub request_id: Option<Uuid>,
    /// Check everything and show what would come of it, but write nothing
    #[arg(long)]
    pub dry_run: bool,
}

impl WriteArgs {
    /// The id of the change: the given one, or a new one.
    pub fn request_id(&self) -> String {
        self.request_id.unwrap_or_else(Uuid::new_v4).to_string()
    }
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Say whether a departure is ready: go, go with conditions, or no-go
    Ready(ReadyArgs),
    /// Say what changes would make of the verdict, or make them, all or none
    WhatIf(WhatIfArgs),
    /// Sign for a finding that is met with conditions
    Accept(AcceptArgs),
    /// Write the load sheets of a departure as files; issue, list, show and verify them
    Sheet(SheetArgs),
    /// How a vehicle is loaded
    #[command(subcommand)]
    Load(LoadCommand),
    /// Show the gears, speeds, climbs and speedometer of a vehicle, before and after a substitution
    Driveline(DrivelineArgs),
    /// Show what fuel the vehicles of a departure need and have, what they can share, and what more to carry
    Fuel(FuelArgs),
    /// Show what water and food the people of a departure need and have between confirmed points
    Water(WaterArgs),
    /// Show the battery, charging, cables and welding of a vehicle, and whether the generator can stay at home
    Power(PowerArgs),
    /// Show how long the spare parts of a departure last, what to add first, and which vehicle should carry what
    Spares(SparesArgs),
    /// Propose where the cargo of a departure goes, so that every limit holds with as much in hand as can be
    Stow(StowArgs),
    /// Record that other parts go into slots of a vehicle
    Substitute(SubstituteArgs),
    /// Show how the parts of a substitution fit, and what to ask before the old part comes out
    Assess(AssessArgs),
    /// Find parts that would serve a slot, or slots that would take a part, and what each still needs
    Find(FindArgs),
    /// Settle an interface of a substitution: a measurement, or a remedy that is done
    Settle(SettleArgs),
    /// Approve a substitution whose assessment is kept
    Approve(ApproveArgs),
    /// Say that the parts of an approved substitution are in
    Fit(FitArgs),
    /// Name the evidence that proves a fitted substitution
    Prove(ProveArgs),
    /// Undo a fitting: the old parts are in again
    Undo(UndoArgs),
    /// Give up a substitution that is not fitted
    Withdraw(WithdrawArgs),
    /// Show what the rule packs make of a regulated item
    Rules(RulesArgs),
    /// Faults found on vehicles
    #[command(subcommand)]
    Defect(DefectCommand),
    /// Jobs and how far they are
    #[command(subcommand)]
    Job(JobCommand),
    /// Say when each job of a departure runs, or the chance that all is ready in time
    Plan(PlanArgs),
    /// Things carried, as lists
    #[command(subcommand)]
    Cargo(CargoCommand),
    /// Bring in a fleet file: all of it or nothing
    Import(ImportArgs),
    /// Write the fleet as a fleet file
    Export(ExportArgs),
    /// Show what was changed, when and by whom, newest first
    History(HistoryArgs),
    /// List records of one kind
    List(ListArgs),
    /// Show one record
    Show(ShowArgs),
    /// Create a record from a YAML or JSON file
    Create(CreateArgs),
    /// Change fields of a record
    Change(ChangeArgs),
    /// Delete a record; its history stays
    Delete(DeleteArgs),
    /// Print the completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Write the manual pages, one a command
    Manual {
        /// Folder for the pages; it is made when it is not there
        #[arg(long, value_name = "FOLDER", default_value = ".")]
        out: PathBuf,
    },
}
