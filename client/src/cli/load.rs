//! Commands about how vehicles are loaded.

use clap::{Args, Subcommand};

/// `ostler load`.
#[derive(Debug, Subcommand)]
pub enum LoadCommand {
    /// Show masses and axle loads of a vehicle of a departure
    Axles(LoadAxlesArgs),
    /// Hold a weighing against what is computed for its moment
    Reconcile(ReconcileArgs),
}

/// `ostler load axles`.
#[derive(Debug, Args)]
pub struct LoadAxlesArgs {
    /// The departure
    pub departure: String,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE")]
    pub vehicle: String,
    /// At every moment: the departure, the end of each leg, and after each supply under way
    #[arg(long)]
    pub states: bool,
}

/// `ostler load reconcile`.
#[derive(Debug, Args)]
pub struct ReconcileArgs {
    /// The weighing
    pub weighing: String,
    /// Another weighing of the vehicle to compute from [default: the vehicle's baseline]
    #[arg(long, value_name = "WEIGHING")]
    pub against: Option<String>,
}
