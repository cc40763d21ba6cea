//! Height of the centre of mass with its uncertainty and where it comes from.

use crate::check::{Check, InvalidInput};

/// Highest centre of mass accepted, mm.
pub const HEIGHT_MAX_MM: f64 = 10_000.0;

/// Most items in one list.
const ITEMS_MAX: usize = 100_000;

/// How a height was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HeightMethod {
    /// From raised-axle readings.
    AxleLift,
    /// From the masses and heights of all parts.
    ItemList,
    /// Estimated.
    Estimate,
}

/// Height of the centre of mass above ground at reference ride height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CentreOfMassHeight {
    /// Height, mm.
    pub height_mm: f64,
    /// Standard uncertainty or stated tolerance, mm (root-sum-square of its parts).
    pub uncertainty_mm: f64,
    /// How it was found.
    pub method: HeightMethod,
}

impl CentreOfMassHeight {
    pub(super) fn check(&self, check: &mut Check) {
        check.between("height.height_mm", self.height_mm, 1.0, HEIGHT_MAX_MM);
        check.between("height.uncertainty_mm", self.uncertainty_mm, 0.0, HEIGHT_MAX_MM);
    }
}

/// A height that somebody estimates, with the tolerance that he answers for.
///
/// # Errors
/// A height that is not above 0, or a tolerance of 0: an estimate has one.
pub fn height_by_estimate(height_mm: f64, tolerance_mm: f64) -> Result<CentreOfMassHeight, InvalidInput> {
    let height = CentreOfMassHeight {
        height_mm,
        uncertainty_mm: tolerance_mm,
        method: HeightMethod::Estimate,
    };
    let mut check = Check::new();
    check.between("height_mm", height_mm, 1.0, HEIGHT_MAX_MM);
    check.between("tolerance_mm", tolerance_mm, 1.0, HEIGHT_MAX_MM);
    check.finish()?;
    Ok(height)
}

/// A part of the vehicle or its load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ItemHeight {
    /// Mass, kg; negative for a part taken away.
    pub mass_kg: f64,
    /// Uncertainty of the mass, kg.
    pub mass_uncertainty_kg: f64,
    /// Height above ground, mm.
    pub z_mm: f64,
    /// Uncertainty of the height, mm.
    pub z_uncertainty_mm: f64,
}

/// Height from all parts: sum of mass × height over total mass. The uncertainties of masses and heights
/// are taken as independent and combined by root-sum-square.
///
/// # Errors
/// No items or more than 100,000, a number out of range, or a total mass that is not above 0.
pub fn height_from_items(items: &[ItemHeight]) -> Result<CentreOfMassHeight, InvalidInput> {
    let mut check = Check::new();
    if items.is_empty() || items.len() > ITEMS_MAX {
        check.refuse("items", format!("must be 1 to {ITEMS_MAX}, are {}", items.len()));
    }
    for (index, item) in items.iter().enumerate().take(ITEMS_MAX) {
        check.between(format_args!("items[{index}].mass_kg"), item.mass_kg, -1e6, 1e6);
        check.between(
            format_args!("items[{index}].mass_uncertainty_kg"),
            item.mass_uncertainty_kg,
            0.0,
            1e6,
        );
        check.between(format_args!("items[{index}].z_mm"), item.z_mm, 0.0, HEIGHT_MAX_MM);
        check.between(
            format_args!("items[{index}].z_uncertainty_mm"),
            item.z_uncertainty_mm,
            0.0,
            HEIGHT_MAX_MM,
        );
    }
    check.finish()?;
    let total_kg: f64 = items.iter().map(|item| item.mass_kg).sum();
    // Below a gram, what is left after taking parts away is rounding.
    if total_kg < 1e-3 {
        return Err(InvalidInput::one(
            "items",
            format!("must have a total mass above 0, have {total_kg} kg"),
        ));
    }
    let height_mm = items.iter().map(|item| item.mass_kg * item.z_mm).sum::<f64>() / total_kg;
    if !(0.0..=HEIGHT_MAX_MM).contains(&height_mm) {
        let problem =
            format!("must have their centre between 0 and {HEIGHT_MAX_MM} mm, have it at {height_mm}");
        return Err(InvalidInput::one("items", problem));
    }
    let variance_mm2: f64 = items
        .iter()
        .map(|item| {
            let by_height = item.mass_kg * item.z_uncertainty_mm / total_kg;
            let by_mass = (item.z_mm - height_mm) * item.mass_uncertainty_kg / total_kg;
            by_height.powi(2) + by_mass.powi(2)
        })
        .sum();
    Ok(CentreOfMassHeight {
        height_mm,
        uncertainty_mm: variance_mm2.sqrt(),
        method: HeightMethod::ItemList,
    })
}
