//! Commands about how vehicles are loaded.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use ostler_proto::v1::WheelPosition;

use super::WriteArgs;

/// `ostler load`.
#[derive(Debug, Subcommand)]
pub enum LoadCommand {
    /// Show masses and axle loads of a vehicle of a departure, or compute them from a file
    Axles(LoadAxlesArgs),
    /// Put a vehicle of a departure on its springs at every moment of the trip, or a vehicle from a file
    Wheels(LoadWheelsArgs),
    /// Rank the causes of heights that were measured on a vehicle, on record or from a file
    Lean(LoadLeanArgs),
    /// Compute the height of the centre of mass and the ceilings of slopes over a departure, or from a file
    Stability(LoadStabilityArgs),
    /// Compute a tank on record or from a file: room to expand, free surface, slosh, flow to the pump, walls
    Tank(LoadTankArgs),
    /// Assess how cargo and containers are held, on record or from a file
    Restraint(LoadRestraintArgs),
    /// Hold a weighing against what is computed for its moment, on record or from a file
    Reconcile(ReconcileArgs),
    /// Judge tyres and wheels of a vehicle of a departure, or compute one tyre from a file
    Tyres(LoadTyresArgs),
    /// Show which spare wheel or tyre of the convoy serves which vehicle
    Spares(LoadSparesArgs),
}

/// `ostler load axles`.
#[derive(Debug, Args)]
pub struct LoadAxlesArgs {
    /// The departure
    #[arg(
        requires = "vehicle",
        required_unless_present = "file",
        conflicts_with = "file"
    )]
    pub departure: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE", requires = "departure")]
    pub vehicle: Option<String>,
    /// At every moment: the departure, the end of each leg, and after each supply under way
    #[arg(long, requires = "departure")]
    pub states: bool,
    /// Draw the loads over the trip into this SVG file
    #[arg(long, value_name = "SVG", requires = "states")]
    pub picture: Option<PathBuf>,
    /// YAML or JSON file with the fields of `CalculateLoadsRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
}

/// `ostler load wheels`.
#[derive(Debug, Args)]
pub struct LoadWheelsArgs {
    /// The departure
    #[arg(
        requires = "vehicle",
        required_unless_present = "file",
        conflicts_with = "file"
    )]
    pub departure: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE", requires = "departure")]
    pub vehicle: Option<String>,
    /// Draw the vehicle from above into this SVG file
    #[arg(long, value_name = "SVG")]
    pub picture: Option<PathBuf>,
    /// The moment to draw, for example "end of l03" [default: departure]
    #[arg(long, value_name = "MOMENT", requires_all = ["picture", "departure"])]
    pub at: Option<String>,
    /// YAML or JSON file with the fields of `CalculateStanceRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
}

/// `ostler load lean`.
#[derive(Debug, Args)]
pub struct LoadLeanArgs {
    /// The weighing that holds the heights, or says what was aboard when they were taken
    #[arg(required_unless_present = "file", conflicts_with = "file")]
    pub weighing: Option<String>,
    /// Height from a wheel's hub centre up to the arch, in place of the recorded heights: front-left, front-right,
    /// rear-left or rear-right. May be given several times
    #[arg(long, value_name = "WHEEL=MM", value_parser = wheel_height, requires = "weighing")]
    pub hub_to_arch: Vec<WheelHeight>,
    /// The same from the arch down to the floor
    #[arg(long, value_name = "WHEEL=MM", value_parser = wheel_height, requires = "weighing")]
    pub arch_to_floor: Vec<WheelHeight>,
    /// The floor is known to be level
    #[arg(long, requires = "weighing")]
    pub level_floor: bool,
    /// YAML or JSON file with the fields of `CalculateLeanRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
}

/// A height at a wheel.
#[derive(Debug, Clone, Copy)]
pub struct WheelHeight {
    /// Which.
    pub wheel: WheelPosition,
    /// Millimetres.
    pub height_mm: f64,
}

fn wheel_height(text: &str) -> Result<WheelHeight, String> {
    let (wheel, height) = text
        .split_once('=')
        .ok_or_else(|| format!("{text:?} is not WHEEL=MM"))?;
    let wheel = match wheel {
        "front-left" => WheelPosition::FrontLeft,
        "front-right" => WheelPosition::FrontRight,
        "rear-left" => WheelPosition::RearLeft,
        "rear-right" => WheelPosition::RearRight,
        _ => {
            return Err(format!(
                "{wheel:?} is no wheel: front-left, front-right, rear-left, rear-right"
            ));
        }
    };
    let height_mm: f64 = height
        .parse()
        .map_err(|_| format!("{height:?} is not a number of millimetres"))?;
    Ok(WheelHeight { wheel, height_mm })
}

/// `ostler load stability`.
#[derive(Debug, Args)]
pub struct LoadStabilityArgs {
    /// The departure
    #[arg(
        requires = "vehicle",
        required_unless_present = "file",
        conflicts_with = "file"
    )]
    pub departure: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE", requires = "departure")]
    pub vehicle: Option<String>,
    /// YAML or JSON file with the fields of `ComputeStabilityRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
}

/// `ostler load tank`.
#[derive(Debug, Args)]
pub struct LoadTankArgs {
    /// The vehicle
    #[arg(requires = "tank", required_unless_present = "file", conflicts_with = "file")]
    pub vehicle: Option<String>,
    /// Its tank
    #[arg(long, value_name = "TANK", requires = "vehicle")]
    pub tank: Option<String>,
    /// YAML or JSON file with the fields of `ComputeTankRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Litres in it [default: its nominal capacity]
    #[arg(long, value_name = "L")]
    pub volume_l: Option<f64>,
    /// Temperature of the fuel when it is filled, degrees Celsius
    #[arg(long, value_name = "C", requires = "hottest_c", allow_negative_numbers = true)]
    pub fill_c: Option<f64>,
    /// Hottest temperature that the fuel reaches, degrees Celsius
    #[arg(long, value_name = "C", requires = "fill_c", allow_negative_numbers = true)]
    pub hottest_c: Option<f64>,
    /// Pressure of a leak test, kilopascals
    #[arg(long, value_name = "KPA")]
    pub leak_test_kpa: Option<f64>,
    /// Mass of the loaded vehicle, for what liquid that shifts does to it, kilograms
    #[arg(long, value_name = "KG")]
    pub vehicle_mass_kg: Option<f64>,
}

/// `ostler load reconcile`.
#[derive(Debug, Args)]
pub struct ReconcileArgs {
    /// The weighing
    #[arg(required_unless_present = "file", conflicts_with = "file")]
    pub weighing: Option<String>,
    /// Another weighing of the vehicle to compute from [default: the vehicle's baseline]
    #[arg(
        long,
        value_name = "WEIGHING",
        conflicts_with = "adopt",
        requires = "weighing"
    )]
    pub against: Option<String>,
    /// Make it the vehicle's baseline: loads are computed from it from now on
    #[arg(long, requires = "weighing")]
    pub adopt: bool,
    /// YAML or JSON file with the fields of `CalculateReconciliationRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// What every command that writes takes.
    #[command(flatten)]
    pub write: WriteArgs,
}

/// `ostler load restraint`.
#[derive(Debug, Args)]
pub struct LoadRestraintArgs {
    /// The departure
    #[arg(
        requires = "vehicle",
        required_unless_present = "file",
        conflicts_with = "file"
    )]
    pub departure: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE", requires = "departure")]
    pub vehicle: Option<String>,
    /// Only this cargo item or tank; may be given several times
    #[arg(long, value_name = "ID", requires = "departure")]
    pub only: Vec<String>,
    /// YAML or JSON file with the fields of `AssessRestraintRequest`
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
}

/// `ostler load tyres`.
#[derive(Debug, Args)]
pub struct LoadTyresArgs {
    /// The departure
    #[arg(required_unless_present = "file")]
    pub departure: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "VEHICLE", required_unless_present = "file")]
    pub vehicle: Option<String>,
    /// YAML or JSON file with the fields of `CalculateTyreRequest`, in place of a departure
    #[arg(long, value_name = "FILE", conflicts_with_all = ["departure", "vehicle"])]
    pub file: Option<PathBuf>,
}

/// `ostler load spares`.
#[derive(Debug, Args)]
pub struct LoadSparesArgs {
    /// The departure
    pub departure: String,
}
