//! Commands about a departure: fuel, water, rules.

use std::path::PathBuf;

use clap::Args;

use super::WriteArgs;

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

/// `ostler spares`.
#[derive(Debug, Args)]
pub struct SparesArgs {
    /// The departure
    #[arg(required_unless_present = "file")]
    pub departure: Option<String>,
    /// YAML or JSON file with spares that are not on record: the fields of `GivenSpares`
    #[arg(long, value_name = "FILE", conflicts_with = "departure")]
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

/// `ostler stow`.
#[derive(Debug, Args)]
#[command(after_help = "\
Things in a zone are taken to sit at its centre; what must stay is pinned, here or on the record, where `stowage_terms` of a \
cargo item says where it may not go and what it goes with. What is dangerous is never put where people sit.")]
pub struct StowArgs {
    /// The departure
    pub departure: String,
    /// Seconds to look for a better stowage, at most
    #[arg(long, value_name = "SECONDS", default_value_t = 2.0)]
    pub seconds: f64,
    /// Seed of the random choices
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = clap::value_parser!(i32).range(0..=2_000_000_000))]
    pub seed: i32,
    /// Stow this thing, which is on no vehicle, as well
    #[arg(long, value_name = "CARGO")]
    pub also: Vec<String>,
    /// Leave this thing where it is
    #[arg(long, value_name = "CARGO")]
    pub pin: Vec<String>,
    /// Share of the smallest margin to give up so that less is moved, 0 to 1; 1: move only what must be moved
    #[arg(long, value_name = "SHARE", default_value_t = 0.005)]
    pub give_up: f64,
    /// Nothing heavier than this goes on a roof [default: 20]
    #[arg(long, value_name = "KG")]
    pub roof_item_max: Option<f64>,
    /// Make the moves, all of them or none
    #[arg(long)]
    pub make: bool,
    /// How it is written.
    #[command(flatten)]
    pub write: WriteArgs,
}
