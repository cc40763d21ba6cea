//! Commands around the verdict: readiness, what changes would make of it, signing for conditions.

use std::path::PathBuf;

use clap::Args;

use super::{ConditionArgs, Paper, WriteArgs};

const READY_EXIT_CODES: &str = "\
Exit codes:
  0  go
  3  go with conditions
  4  no-go
  1  the verdict could not be had: standard error says why
  2  the command itself is wrong";

/// `ostler ready`.
#[derive(Debug, Args)]
#[command(after_help = READY_EXIT_CODES)]
pub struct ReadyArgs {
    /// The departure
    pub departure: String,
    /// Only this vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: Option<String>,
    /// Show the findings that are met as well
    #[arg(long)]
    pub full: bool,
    /// Show every gate's answer, then every change of one as it comes, until interrupted
    #[arg(long, conflicts_with_all = ["full", "since", "until"])]
    pub watch: bool,
    /// Show what has changed since this moment, and who changed it: 2027-04-01T08:00:00Z, or a day
    #[arg(long, value_name = "TIME", conflicts_with_all = ["full", "vehicle"])]
    pub since: Option<String>,
    /// Look back from this moment instead of from now
    #[arg(long, value_name = "TIME", requires = "since")]
    pub until: Option<String>,
    /// Write it as a report for the meeting that decides: FILE.md, or FILE.pdf to print
    #[arg(long, value_name = "FILE", conflicts_with_all = ["full", "watch", "since", "vehicle"])]
    pub report: Option<PathBuf>,
    /// Size of the pages of a report as PDF
    #[arg(long, value_name = "SIZE", value_enum, default_value_t = Paper::A4, requires = "report")]
    pub paper: Paper,
}

/// `ostler what-if`.
#[derive(Debug, Args)]
#[command(after_help = "\
The changes are taken in this order: those of the files, parts fitted and withdrawn, defects fixed, jobs done, cargo, then the \
departure itself. The exit code is that of `ostler ready` as it would be.")]
pub struct WhatIfArgs {
    /// The departure
    pub departure: String,
    /// File with `changes:`, a list of requests as the API takes them, YAML or JSON; `-` for standard input
    #[arg(long, value_name = "FILE")]
    pub changes: Vec<PathBuf>,
    /// The parts of this substitution are in
    #[arg(long, value_name = "SUBSTITUTION")]
    pub fit: Vec<String>,
    /// This substitution is given up
    #[arg(long, value_name = "SUBSTITUTION")]
    pub withdraw: Vec<String>,
    /// This defect is fixed
    #[arg(long, value_name = "DEFECT")]
    pub fix: Vec<String>,
    /// This job is done
    #[arg(long = "done", value_name = "JOB")]
    pub done: Vec<String>,
    /// This thing is left behind
    #[arg(long, value_name = "CARGO")]
    pub drop: Vec<String>,
    /// This thing goes on that vehicle, or into that zone of it
    #[arg(long = "move", value_name = "CARGO=VEHICLE[/ZONE]")]
    pub moved: Vec<String>,
    /// This vehicle does not go
    #[arg(long, value_name = "VEHICLE")]
    pub leave: Vec<String>,
    /// Litres in a tank at departure
    #[arg(long, value_name = "VEHICLE/TANK=LITRES")]
    pub fill: Vec<String>,
    /// The day of departure, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub depart: Option<String>,
    /// The day of return, YYYY-MM-DD
    #[arg(long = "return", value_name = "DATE")]
    pub return_date: Option<String>,
    /// Day on which parts are fitted, defects fixed and jobs done, YYYY-MM-DD [default: today]
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
    /// Make the changes, all of them or none, instead of asking what they would come to
    #[arg(long)]
    pub make: bool,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler accept`.
#[derive(Debug, Args)]
#[command(
    override_usage = "ostler accept [OPTIONS] --gate <GATE> --finding <KEY> --condition <TEXT>\n                     --owner <ROLE> --check-interval <TEXT>\n                     --accepted-by <ROLE> --date <DATE> <ID> <DEPARTURE>"
)]
pub struct AcceptArgs {
    /// Id of the new acceptance
    pub id: String,
    /// The departure
    pub departure: String,
    /// The vehicle [default: the convoy]
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: Option<String>,
    /// The gate, for example axles
    #[arg(long, value_name = "GATE")]
    pub gate: String,
    /// Key of the finding, as `ostler ready` shows it
    #[arg(long, value_name = "KEY")]
    pub finding: String,
    /// What it is accepted under.
    #[command(flatten)]
    pub condition: ConditionArgs,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}
