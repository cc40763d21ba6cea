//! Road speed and engine speed through a ratio and a tyre: `v = 0.06 n Cr / i`, with v in km/h, n in
//! rpm, the rolling circumference Cr in metres and the overall ratio i. Plain kinematics, no slip.

use std::f64::consts::PI;

use super::ratios::OVERALL_RATIO;
use super::{check_engine_speed, check_speed, check_tyre_diameter};
use crate::check::{Check, InvalidInput};

/// Rolling circumference over outer diameter of a radial tyre: 3.05, as used in UN R54 (from memory,
/// not verified). One published tyre gives 3.073 (read). A measured one is better than any.
pub const RADIAL_CIRCUMFERENCE_FACTOR: f64 = 3.05;

/// The same of a diagonal tyre: 2.94 to 2.99 (from memory, not verified).
pub const DIAGONAL_CIRCUMFERENCE_FACTOR: f64 = 2.99;

/// Rolling circumference in metres of a tyre: its outer diameter times a factor between 2.8 (very soft)
/// and pi (no load).
///
/// # Errors
/// A diameter or factor out of range.
pub fn rolling_circumference_m(diameter_mm: f64, circumference_factor: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_tyre_diameter(&mut check, "diameter_mm", diameter_mm);
    check_circumference_factor(&mut check, circumference_factor);
    check.finish()?;
    Ok(circumference_factor * diameter_mm / 1e3)
}

/// Road speed in kilometres per hour at an engine speed.
///
/// # Errors
/// An engine speed, ratio or circumference out of range.
pub fn road_speed_km_per_h(
    engine_speed_rpm: f64,
    overall_ratio: f64,
    circumference_m: f64,
) -> Result<f64, InvalidInput> {
    let mut check = check_gearing(overall_ratio, circumference_m);
    check_engine_speed(&mut check, "engine_speed_rpm", engine_speed_rpm);
    check.finish()?;
    Ok(0.06 * engine_speed_rpm * circumference_m / overall_ratio)
}

/// Road speed in kilometres per hour per 1000 revolutions per minute.
///
/// # Errors
/// A ratio or circumference out of range.
pub fn speed_per_1000_rpm_km_per_h(overall_ratio: f64, circumference_m: f64) -> Result<f64, InvalidInput> {
    road_speed_km_per_h(1_000.0, overall_ratio, circumference_m)
}

/// Engine speed in revolutions per minute at a road speed.
///
/// # Errors
/// A speed, ratio or circumference out of range.
pub fn engine_speed_rpm(
    speed_km_per_h: f64,
    overall_ratio: f64,
    circumference_m: f64,
) -> Result<f64, InvalidInput> {
    let mut check = check_gearing(overall_ratio, circumference_m);
    check_speed(&mut check, "speed_km_per_h", speed_km_per_h);
    check.finish()?;
    Ok(speed_km_per_h * overall_ratio / (0.06 * circumference_m))
}

pub(super) fn check_circumference_factor(check: &mut Check, circumference_factor: f64) {
    check.between("circumference_factor", circumference_factor, 2.8, PI);
}

fn check_gearing(overall_ratio: f64, circumference_m: f64) -> Check {
    let mut check = Check::new();
    check.between("overall_ratio", overall_ratio, OVERALL_RATIO.0, OVERALL_RATIO.1);
    check.between("circumference_m", circumference_m, 0.5, 8.0);
    check
}
