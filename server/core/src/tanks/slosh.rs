//! Natural frequencies of liquid that sloshes in a rectangular cell.
//!
//! `f = sqrt(g k tanh(k h)) / 2 pi` with `k = n pi / L` for the nth mode over the side L at depth h.
//! Source: linear wave theory, as in a solver's validation manual (code_aster V8.21.101, read, in its
//! two-dimensional form). Small waves, rigid walls, no damping.
//!
//! A baffle with holes lies between two limits: with small holes its cells slosh by themselves, with
//! large ones the liquid sloshes over the whole tank. Compute both and keep clear of both.

use std::f64::consts::PI;

use super::check_side;
use crate::check::{Check, InvalidInput};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Greatest number of modes that is computed.
pub const MODES_MAX: u32 = 16;

/// A rectangular cell of a tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SloshCell {
    /// Inner length along the vehicle.
    pub length_mm: f64,
    /// Inner width across the vehicle.
    pub width_mm: f64,
    /// Inner height.
    pub height_mm: f64,
    /// Depth of the liquid, over 0 up to the height.
    pub depth_mm: f64,
}

/// Natural frequencies in hertz, first mode first.
#[derive(Debug, Clone, PartialEq)]
pub struct SloshFrequencies {
    /// Along the vehicle: what braking and washboard excite.
    pub lengthwise_hz: Vec<f64>,
    /// Across the vehicle: what cornering and side-to-side roll excite.
    pub crosswise_hz: Vec<f64>,
}

/// Frequencies of the first `modes` modes of a cell, both ways.
///
/// # Errors
/// Sides out of range; a depth that is not greater than 0 or above the height; no modes or more than
/// [`MODES_MAX`].
pub fn slosh_frequencies(cell: &SloshCell, modes: u32) -> Result<SloshFrequencies, InvalidInput> {
    let mut check = Check::new();
    check_side(&mut check, "length_mm", cell.length_mm);
    check_side(&mut check, "width_mm", cell.width_mm);
    check_side(&mut check, "height_mm", cell.height_mm);
    check_side(&mut check, "depth_mm", cell.depth_mm);
    if cell.depth_mm > cell.height_mm {
        check.refuse(
            "depth_mm",
            format!("must not be above height_mm, {}", cell.height_mm),
        );
    }
    if !(1..=MODES_MAX).contains(&modes) {
        check.refuse("modes", format!("must be between 1 and {MODES_MAX}, is {modes}"));
    }
    check.finish()?;
    let over = |side_mm: f64| {
        (1..=modes)
            .map(|mode| frequency(side_mm, cell.depth_mm, mode))
            .collect()
    };
    Ok(SloshFrequencies {
        lengthwise_hz: over(cell.length_mm),
        crosswise_hz: over(cell.width_mm),
    })
}

/// Frequency in hertz of one mode over one side of a cell.
///
/// # Errors
/// A side or depth out of range; a mode that is 0 or above [`MODES_MAX`].
pub fn slosh_frequency_hz(side_mm: f64, depth_mm: f64, mode: u32) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_side(&mut check, "side_mm", side_mm);
    check_side(&mut check, "depth_mm", depth_mm);
    if !(1..=MODES_MAX).contains(&mode) {
        check.refuse("mode", format!("must be between 1 and {MODES_MAX}, is {mode}"));
    }
    check.finish()?;
    Ok(frequency(side_mm, depth_mm, mode))
}

fn frequency(side_mm: f64, depth_mm: f64, mode: u32) -> f64 {
    let wave_number_per_m = f64::from(mode) * PI / (side_mm / 1e3);
    let shallow = (wave_number_per_m * depth_mm / 1e3).tanh();
    (STANDARD_GRAVITY_M_PER_S2 * wave_number_per_m * shallow).sqrt() / (2.0 * PI)
}
