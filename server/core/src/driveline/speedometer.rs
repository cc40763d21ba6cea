//! Speedometer and odometer after a change of tyres or ratios, and the legal band.
//!
//! A speedometer counts turns at one place of the driveline and takes a fixed distance for each. When
//! the wheel rolls further per counted turn than before, it reads low: true speed is
//! `indicated x factor`, and so is true distance, which corrects fuel logs.
//!
//! Band: UN R39, 5.3: the indicated speed is never below the true one, and exceeds it by at most a
//! tenth of the true speed plus 4 km/h (read in a secondary copy; published bands for single speeds
//! were read). Conformity of production uses a wider band, and heavier categories may be allowed more
//! (not confirmed): neither is used here.

use super::ratios::check_ratio;
use super::{check_speed, check_tyre_diameter};
use crate::check::{Check, InvalidInput};

/// Greatest number of speeds judged in one call.
pub const SPEEDS_MAX: usize = 100;

/// What the speedometer sees, before and after a change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedometerChange {
    /// Outer diameter of the tyres before, measured or nominal like the one after.
    pub tyre_diameter_before_mm: f64,
    /// Outer diameter of the tyres after.
    pub tyre_diameter_after_mm: f64,
    /// Ratio between the counting place and the wheel, before: axle times hub for a drive on the
    /// transfer case; 1 for a sensor at the wheel.
    pub wheel_ratio_before: f64,
    /// The same after.
    pub wheel_ratio_after: f64,
    /// Ratio of the speedometer drive before, as indicated distance per counted turn on any scale: a
    /// driven gear, or an electronic correction.
    pub speedometer_drive_before: f64,
    /// The same after, on the same scale. Larger reads higher.
    pub speedometer_drive_after: f64,
}

/// True speed over indicated speed after a change, as a multiple of what it was before. It is also true
/// distance over odometer distance: multiply the distances of a fuel log by it.
///
/// # Errors
/// Diameters or ratios out of range.
pub fn odometer_factor(change: &SpeedometerChange) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_tyre_diameter(
        &mut check,
        "tyre_diameter_before_mm",
        change.tyre_diameter_before_mm,
    );
    check_tyre_diameter(
        &mut check,
        "tyre_diameter_after_mm",
        change.tyre_diameter_after_mm,
    );
    check_ratio(&mut check, "wheel_ratio_before", change.wheel_ratio_before);
    check_ratio(&mut check, "wheel_ratio_after", change.wheel_ratio_after);
    check_ratio(
        &mut check,
        "speedometer_drive_before",
        change.speedometer_drive_before,
    );
    check_ratio(
        &mut check,
        "speedometer_drive_after",
        change.speedometer_drive_after,
    );
    check.finish()?;
    Ok(
        change.tyre_diameter_after_mm / change.tyre_diameter_before_mm * change.wheel_ratio_before
            / change.wheel_ratio_after
            * change.speedometer_drive_before
            / change.speedometer_drive_after,
    )
}

/// Indicated speeds that UN R39 allows at a true speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedBand {
    /// Least indicated speed: the true one.
    pub least_km_per_h: f64,
    /// Greatest indicated speed.
    pub most_km_per_h: f64,
}

/// Indicated speeds that UN R39, 5.3 allows at a true speed.
///
/// # Errors
/// A speed that is not greater than 0 or above 400 km/h.
pub fn legal_band(true_speed_km_per_h: f64) -> Result<SpeedBand, InvalidInput> {
    let mut check = Check::new();
    check_speed(&mut check, "true_speed_km_per_h", true_speed_km_per_h);
    check.finish()?;
    Ok(SpeedBand {
        least_km_per_h: true_speed_km_per_h,
        most_km_per_h: 1.1 * true_speed_km_per_h + 4.0,
    })
}

/// A speedometer against the legal band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedometerVerdict {
    /// Within the band.
    Within,
    /// Below the true speed: not allowed, and the driver speeds unknowingly.
    ReadsLow,
    /// Above the band.
    ReadsHigh,
    /// Not known: `over_reading_before_percent` is missing.
    NotKnown,
}

/// What a speedometer shows at one true speed after a change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedometerReading {
    /// True speed.
    pub true_speed_km_per_h: f64,
    /// Indicated speed, when the error before is known.
    pub indicated_km_per_h: Option<f64>,
    /// What is allowed.
    pub band: SpeedBand,
    /// Verdict.
    pub verdict: SpeedometerVerdict,
}

/// What a speedometer shows at several true speeds after a change, and whether that is allowed.
///
/// `over_reading_before_percent` is how much it read above the true speed before the change, measured
/// against a second instrument; without it there is no verdict.
///
/// # Errors
/// A change or speeds out of range; more than [`SPEEDS_MAX`] speeds; an over-reading outside -50 to
/// 50 percent.
pub fn judge_speedometer(
    change: &SpeedometerChange,
    over_reading_before_percent: Option<f64>,
    true_speeds_km_per_h: &[f64],
) -> Result<Vec<SpeedometerReading>, InvalidInput> {
    let mut check = Check::new();
    let factor = check.merge("change", odometer_factor(change));
    if let Some(percent) = over_reading_before_percent {
        check.between("over_reading_before_percent", percent, -50.0, 50.0);
    }
    if true_speeds_km_per_h.len() > SPEEDS_MAX {
        let problem = format!("must be at most {SPEEDS_MAX}, are {}", true_speeds_km_per_h.len());
        check.refuse("true_speeds_km_per_h", problem);
    }
    for (index, speed) in true_speeds_km_per_h.iter().enumerate().take(SPEEDS_MAX) {
        check_speed(&mut check, &format!("true_speeds_km_per_h[{index}]"), *speed);
    }
    check.finish()?;
    let shown_per_true = factor
        .zip(over_reading_before_percent)
        .map(|(factor, percent)| (1.0 + percent / 100.0) / factor);
    true_speeds_km_per_h
        .iter()
        .map(|&true_speed_km_per_h| {
            let band = legal_band(true_speed_km_per_h)?;
            let indicated_km_per_h = shown_per_true.map(|shown| shown * true_speed_km_per_h);
            let verdict = match indicated_km_per_h {
                None => SpeedometerVerdict::NotKnown,
                Some(shown) if shown < band.least_km_per_h => SpeedometerVerdict::ReadsLow,
                Some(shown) if shown > band.most_km_per_h => SpeedometerVerdict::ReadsHigh,
                Some(_) => SpeedometerVerdict::Within,
            };
            Ok(SpeedometerReading {
                true_speed_km_per_h,
                indicated_km_per_h,
                band,
                verdict,
            })
        })
        .collect()
}
