//! Density of fuel with temperature, and the density limits of road fuels.
//!
//! The volume correction is that of ASTM D1250-80, Table 54B (API MPMS chapter 11.1): its constants
//! were read in secondary copies, six independent public implementations that agree to four to seven
//! figures (one writes 594.5470 for 594.5418). The official tables are licensed and were not seen.

use crate::check::{Check, InvalidInput};
use crate::fuel::FuelKind;

/// Temperature in degrees Celsius at which densities of products are stated.
pub const BASE_TEMPERATURE_C: f64 = 15.0;

/// Range of densities at 15 C, in kilograms per cubic metre, for which constants are known.
pub const PRODUCT_DENSITY_KG_PER_M3: (f64, f64) = (653.0, 1_075.0);

/// Temperatures in degrees Celsius that are accepted: what a vehicle can meet, with margin. The range
/// of the licensed tables was not seen.
pub const TEMPERATURE_C: (f64, f64) = (-50.0, 100.0);

/// Step of the density grid on which the product bands are published, in kilograms per cubic metre.
const BAND_STEP_KG_PER_M3: f64 = 0.5;

/// Halvings that take a density range below the resolution of `f64`.
const HALVINGS: usize = 64;

/// Limits of a fuel's density at 15 C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DensityBounds {
    /// Least density in kilograms per cubic metre.
    pub least_kg_per_m3: f64,
    /// Greatest density in kilograms per cubic metre.
    pub most_kg_per_m3: f64,
    /// Standard, and how it was seen.
    pub source: &'static str,
}

impl FuelKind {
    /// Density limits at 15 C of the fuel's European standard; of liquefied gas none is known here. Temperate grades only: older arctic
    /// diesel grades begin at 800 kg/m3 (read in a secondary copy).
    pub const fn density_bounds(self) -> Option<DensityBounds> {
        Some(match self {
            Self::LiquefiedPetroleumGas => return None,
            Self::Petrol => DensityBounds {
                least_kg_per_m3: 720.0,
                most_kg_per_m3: 775.0,
                source: "EN 228:2012, density at 15 C; read in a secondary copy",
            },
            Self::Diesel => DensityBounds {
                least_kg_per_m3: 820.0,
                most_kg_per_m3: 845.0,
                source: "EN 590, density at 15 C; read in a secondary copy",
            },
        })
    }

    /// Where a density at 15 C stands against the limits of this fuel. `None`: it has none.
    ///
    /// # Errors
    /// A density that is not a finite number greater than 0.
    pub fn judge_density(self, density_15_kg_per_m3: f64) -> Result<Option<DensityVerdict>, InvalidInput> {
        let mut check = Check::new();
        check.positive("density_15_kg_per_m3", density_15_kg_per_m3);
        check.finish()?;
        Ok(self.density_bounds().map(|bounds| {
            if density_15_kg_per_m3 < bounds.least_kg_per_m3 {
                DensityVerdict::Low
            } else if density_15_kg_per_m3 > bounds.most_kg_per_m3 {
                DensityVerdict::High
            } else {
                DensityVerdict::Within
            }
        }))
    }
}

/// A density against the limits of a fuel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DensityVerdict {
    /// Lighter than the standard allows: perhaps another product or a winter grade.
    Low,
    /// Within the standard.
    Within,
    /// Heavier than the standard allows: perhaps another product.
    High,
}

/// Coefficient of thermal expansion at 15 C, per degree, of a product with this density at 15 C.
/// Bands are chosen on the published grid of 0.5 kg/m3.
///
/// # Errors
/// A density outside [`PRODUCT_DENSITY_KG_PER_M3`].
pub fn expansion_per_c(density_15_kg_per_m3: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_product_density(&mut check, density_15_kg_per_m3);
    check.finish()?;
    Ok(expansion(density_15_kg_per_m3))
}

/// Volume correction factor: volume at 15 C of one unit of volume at `temperature_c`.
///
/// # Errors
/// A density outside [`PRODUCT_DENSITY_KG_PER_M3`] or a temperature outside [`TEMPERATURE_C`].
pub fn volume_correction(density_15_kg_per_m3: f64, temperature_c: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_product_density(&mut check, density_15_kg_per_m3);
    check_temperature(&mut check, "temperature_c", temperature_c);
    check.finish()?;
    Ok(correction(density_15_kg_per_m3, temperature_c))
}

/// Density in kilograms per cubic metre at a temperature.
///
/// # Errors
/// A density outside [`PRODUCT_DENSITY_KG_PER_M3`] or a temperature outside [`TEMPERATURE_C`].
pub fn density_kg_per_m3(density_15_kg_per_m3: f64, temperature_c: f64) -> Result<f64, InvalidInput> {
    Ok(density_15_kg_per_m3 * volume_correction(density_15_kg_per_m3, temperature_c)?)
}

/// Density at 15 C, in kilograms per cubic metre, of a product whose density was measured at another
/// temperature: the inverse of [`density_kg_per_m3`], solved by halving. The band edges leave jumps
/// of a few thousandths of a kilogram per cubic metre, within which the answer is uncertain.
///
/// # Errors
/// A temperature outside [`TEMPERATURE_C`]; a measured density that no known product has at that
/// temperature.
pub fn density_15_kg_per_m3(measured_kg_per_m3: f64, temperature_c: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_temperature(&mut check, "temperature_c", temperature_c);
    check.positive("measured_kg_per_m3", measured_kg_per_m3);
    check.finish()?;
    let (mut low, mut high) = PRODUCT_DENSITY_KG_PER_M3;
    let at_temperature = |density: f64| density * correction(density, temperature_c);
    let mut check = Check::new();
    check.between(
        "measured_kg_per_m3",
        measured_kg_per_m3,
        at_temperature(low),
        at_temperature(high),
    );
    check.finish()?;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if at_temperature(middle) < measured_kg_per_m3 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

pub(super) fn check_product_density(check: &mut Check, density_15_kg_per_m3: f64) {
    let (least, most) = PRODUCT_DENSITY_KG_PER_M3;
    check.between("density_15_kg_per_m3", density_15_kg_per_m3, least, most);
}

pub(super) fn check_temperature(check: &mut Check, field: &str, temperature_c: f64) {
    let (least, most) = TEMPERATURE_C;
    check.between(field, temperature_c, least, most);
}

/// [`volume_correction`] of checked numbers.
pub(super) fn correction(density_15_kg_per_m3: f64, temperature_c: f64) -> f64 {
    let above_base_c = temperature_c - BASE_TEMPERATURE_C;
    let expansion = expansion(density_15_kg_per_m3);
    (-expansion * above_base_c * (1.0 + 0.8 * expansion * above_base_c)).exp()
}

fn expansion(density_15_kg_per_m3: f64) -> f64 {
    let square = density_15_kg_per_m3 * density_15_kg_per_m3;
    // The bands are published with gaps of one grid step between them.
    let on_grid = (density_15_kg_per_m3 / BAND_STEP_KG_PER_M3).round() * BAND_STEP_KG_PER_M3;
    if on_grid <= 770.0 {
        // Petrols.
        346.4228 / square + 0.4388 / density_15_kg_per_m3
    } else if on_grid <= 787.5 {
        // Transition.
        -0.003_363_12 + 2_680.320_6 / square
    } else if on_grid <= 838.5 {
        // Jet fuels and kerosines, light diesels.
        594.541_8 / square
    } else {
        // Fuel oils, heavier diesels.
        186.969_6 / square + 0.4862 / density_15_kg_per_m3
    }
}
