//! `ostler driveline`.

use std::path::PathBuf;

use clap::Args;

/// `ostler driveline`.
#[derive(Debug, Args)]
pub struct DrivelineArgs {
    /// The vehicle
    #[arg(required_unless_present = "file", conflicts_with = "file")]
    pub vehicle: Option<String>,
    /// A substitution of it: before and after
    #[arg(long, value_name = "SUBSTITUTION", requires = "vehicle")]
    pub with: Option<String>,
    /// The departure whose loads climbs are computed for [default: the gross mass]
    #[arg(long, value_name = "DEPARTURE", requires = "vehicle")]
    pub departure: Option<String>,
    /// Cruising speed, km/h [default: the recorded one]
    #[arg(long, value_name = "KM/H", requires = "vehicle")]
    pub cruise_km_per_h: Option<f64>,
    /// Friction between tyre and ground, for the grip on climbs
    #[arg(long, value_name = "COEFFICIENT", requires = "vehicle")]
    pub friction: Option<f64>,
    /// Draw road speed over engine speed into this SVG file
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// YAML or JSON file with the fields of `CompareDrivelinesRequest`, in place of a vehicle
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
}
