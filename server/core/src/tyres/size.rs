//! Nominal diameter and section of a size, and what another diameter does to the speedometer.

use super::designation::{MM_PER_INCH, Size};
use crate::check::{Check, InvalidInput};

/// Largest tyre diameter accepted, mm: beyond every road tyre.
pub const DIAMETER_MAX_MM: f64 = 2_500.0;

/// Nominal overall diameter in mm, or `None` when the designation does not give it (old inch and
/// full-profile metric sizes): then only a measured diameter will do.
///
/// Metric: 2 × width × aspect / 100 + 25.4 × rim, the design size (read in a secondary copy).
/// Regulations allow tolerances, so the actual tyre must be measured where millimetres count.
pub fn nominal_diameter_mm(size: &Size) -> Option<f64> {
    match *size {
        Size::Metric {
            section_width_mm,
            aspect_percent,
            rim_in,
        } => {
            let aspect_percent = aspect_percent?;
            let section_height_mm = f64::from(section_width_mm) * f64::from(aspect_percent) / 100.0;
            Some(2.0 * section_height_mm + rim_in.inches_in_mm())
        }
        Size::Flotation { diameter_in, .. } => Some(diameter_in.inches_in_mm()),
        Size::OldInch { .. } => None,
    }
}

/// Nominal section width, mm.
pub fn section_width_mm(size: &Size) -> f64 {
    match *size {
        Size::Metric { section_width_mm, .. } => f64::from(section_width_mm),
        Size::Flotation { section_width_in, .. } | Size::OldInch { section_width_in, .. } => {
            section_width_in.value() * MM_PER_INCH
        }
    }
}

/// Where a diameter comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Diameter {
    /// Measured on the tyre, mm.
    Measured(f64),
    /// Computed from the designation, mm.
    Nominal(f64),
    /// The designation does not give it and no measured diameter was given.
    NotKnown,
}

impl Diameter {
    /// The diameter in mm, if known.
    pub fn mm(self) -> Option<f64> {
        match self {
            Self::Measured(mm) | Self::Nominal(mm) => Some(mm),
            Self::NotKnown => None,
        }
    }
}

/// The diameter to compute with: the measured one when given, else the nominal one.
///
/// # Errors
/// A measured diameter that is not above 0 and at most [`DIAMETER_MAX_MM`].
pub fn diameter(size: &Size, measured_mm: Option<f64>) -> Result<Diameter, InvalidInput> {
    match measured_mm {
        Some(measured_mm) => {
            check_diameter("measured_mm", measured_mm)?;
            Ok(Diameter::Measured(measured_mm))
        }
        None => Ok(nominal_diameter_mm(size).map_or(Diameter::NotKnown, Diameter::Nominal)),
    }
}

/// A tyre against the placard's tyre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiameterChange {
    /// Fitted minus placard, mm.
    pub change_mm: f64,
    /// The same in per cent of the placard.
    pub change_percent: f64,
    /// Fitted over placard: true speed over the speed that an unchanged speedometer shows, had it
    /// been exact before. Above 1 the speedometer now shows too little.
    pub true_speed_over_indicated: f64,
    /// Change of ground clearance under the axle, mm: half of the change of diameter.
    pub clearance_change_mm: f64,
}

impl DiameterChange {
    /// True speed in km/h when an unchanged speedometer, exact before, shows `indicated_km_per_h`.
    pub fn true_speed_km_per_h(&self, indicated_km_per_h: f64) -> f64 {
        indicated_km_per_h * self.true_speed_over_indicated
    }
}

/// Compares a fitted tyre's diameter with the placard's.
///
/// # Errors
/// A diameter that is not above 0 and at most [`DIAMETER_MAX_MM`].
pub fn diameter_change(placard_mm: f64, fitted_mm: f64) -> Result<DiameterChange, InvalidInput> {
    let mut check = Check::new();
    check.merge("", check_diameter("placard_mm", placard_mm));
    check.merge("", check_diameter("fitted_mm", fitted_mm));
    check.finish()?;
    let change_mm = fitted_mm - placard_mm;
    Ok(DiameterChange {
        change_mm,
        change_percent: 100.0 * change_mm / placard_mm,
        true_speed_over_indicated: fitted_mm / placard_mm,
        clearance_change_mm: change_mm / 2.0,
    })
}

/// Refuses a diameter outside 100 mm to [`DIAMETER_MAX_MM`].
pub(super) fn check_diameter(field: &str, diameter_mm: f64) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between(field, diameter_mm, 100.0, DIAMETER_MAX_MM);
    check.finish()
}
