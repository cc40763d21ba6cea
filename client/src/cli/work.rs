//! Commands about the work itself: jobs and how far they are.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::WriteArgs;
use super::sheet::Paper;

/// `ostler job`.
#[derive(Debug, Subcommand)]
pub enum JobCommand {
    /// List jobs
    List(JobListArgs),
    /// Show one job
    Show {
        /// The job
        job: String,
    },
    /// Say that work on a job has begun
    Start(JobStartArgs),
    /// Report hours spent on a job under way and, when known better, the hours left
    Report(JobReportArgs),
    /// Say that a job is done
    Done(JobDoneArgs),
    /// Take back that a job was begun or done
    Reopen {
        /// The job
        job: String,
        /// How it is written.
        #[command(flatten)]
        write: WriteArgs,
    },
}

/// `ostler job list`.
#[derive(Debug, Args)]
pub struct JobListArgs {
    /// Only jobs how far
    #[arg(long, value_name = "STATE", value_enum)]
    pub state: Option<JobStateWord>,
}

/// How far a job is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum JobStateWord {
    /// To do
    ToDo,
    /// Under way
    UnderWay,
    /// Done
    Done,
}

/// `ostler job start`.
#[derive(Debug, Args)]
pub struct JobStartArgs {
    /// The job
    pub job: String,
    /// Day on which it was begun, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
    /// Workshop, where several could do it
    #[arg(long, value_name = "WORKSHOP")]
    pub workshop: Option<String>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler job report`.
#[derive(Debug, Args)]
pub struct JobReportArgs {
    /// The job
    pub job: String,
    /// Hours spent on it so far, all together
    #[arg(long, value_name = "HOURS")]
    pub actual: f64,
    /// Hours left: hardly ever less, most likely, hardly ever more; for example 2,4,8
    #[arg(long, value_name = "A,M,B", value_delimiter = ',', num_args = 1)]
    pub left: Vec<f64>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler job done`.
#[derive(Debug, Args)]
pub struct JobDoneArgs {
    /// The job
    pub job: String,
    /// Day on which it was done, YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    pub date: String,
    /// Hours spent on it, all together
    #[arg(long, value_name = "HOURS")]
    pub actual: Option<f64>,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler plan`.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The departure
    pub departure: String,
    /// Sample the chance that the vehicles are ready, instead of one plan
    #[arg(long)]
    pub chance: bool,
    /// With the chance, compare what would win time
    #[arg(long)]
    pub gains: bool,
    /// Samples of the chance
    #[arg(long, value_name = "COUNT", default_value_t = 20_000, value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
    pub samples: u32,
    /// Plan from the start of this day on, YYYY-MM-DD [default: the departure's status date, or today if later]
    #[arg(long, value_name = "DATE")]
    pub from: Option<String>,
    /// Seconds to look for a better plan, at most
    #[arg(long, value_name = "SECONDS", default_value_t = 2.0)]
    pub seconds: f64,
    /// Seed of the random choices
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = clap::value_parser!(i32).range(0..=2_000_000_000))]
    pub seed: i32,
    /// Look for the best plan, however much it changes the adopted one
    #[arg(long)]
    pub freely: bool,
    /// Write the plan as comma-separated values to this file
    #[arg(long, value_name = "FILE", conflicts_with_all = ["chance", "gains"])]
    pub csv: Option<PathBuf>,
    /// Write a calendar for each workshop (iCalendar) into this folder
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["chance", "gains"])]
    pub ics: Option<PathBuf>,
    /// Draw the plan to this file, as SVG
    #[arg(long, value_name = "FILE", conflicts_with_all = ["chance", "gains"])]
    pub svg: Option<PathBuf>,
    /// Draw the plan to this file, as PDF on landscape pages
    #[arg(long, value_name = "FILE", conflicts_with_all = ["chance", "gains"])]
    pub pdf: Option<PathBuf>,
    /// Size of the pages of PDF
    #[arg(long, value_name = "SIZE", value_enum, default_value_t = Paper::A4, requires = "pdf")]
    pub paper: Paper,
    /// Make the order of this plan the one that people work by
    #[arg(long, conflicts_with_all = ["chance", "gains"])]
    pub adopt: bool,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}
