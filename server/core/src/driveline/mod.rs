//! Gearbox, transfer case, axles and tyres: overall ratios, speeds, speedometer, grade ability, and
//! all of them before and after a substitution.
//!
//! Every module but [`recorded`] takes plain numbers, so each serves a stored vehicle and a bench calculation alike.

pub mod chart;
pub mod climb;
pub mod compare;
mod fitted;
pub mod grade;
pub mod ratios;
pub mod recorded;
pub mod report;
pub mod speed;
pub mod speedometer;

pub use chart::{SpeedChart, SpeedSeries, speed_over_engine_speed};
pub use compare::{Comparison, GearFigures, GearRow, Setup, compare, gear_figures};
pub use grade::{
    DrivenAxles, GradeAbility, GradeInput, ROLLING_RESISTANCE, RollingResistance, Surface, grade_ability,
};
pub use ratios::{Driveline, Gear, OverallRatio, TransferRange, crawl_ratio, overall_ratios};
pub use report::{CAUTION, Driving, FORMULA_VERSION, Report, State, report};
pub use speedometer::{SpeedometerChange, SpeedometerReading, SpeedometerVerdict};

use crate::check::Check;

/// Outer diameters of tyres that are accepted, in millimetres.
pub const TYRE_DIAMETER_MM: (f64, f64) = (200.0, 2_500.0);

/// Road speeds that are accepted, in kilometres per hour.
pub const SPEED_MAX_KM_PER_H: f64 = 400.0;

/// Engine speeds that are accepted, in revolutions per minute.
pub const ENGINE_SPEED_MAX_RPM: f64 = 20_000.0;

fn check_tyre_diameter(check: &mut Check, field: &str, diameter_mm: f64) {
    check.between(field, diameter_mm, TYRE_DIAMETER_MM.0, TYRE_DIAMETER_MM.1);
}

fn check_speed(check: &mut Check, field: &str, speed_km_per_h: f64) {
    check.up_to(field, speed_km_per_h, SPEED_MAX_KM_PER_H);
}

fn check_engine_speed(check: &mut Check, field: &str, engine_speed_rpm: f64) {
    check.up_to(field, engine_speed_rpm, ENGINE_SPEED_MAX_RPM);
}
