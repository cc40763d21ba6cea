//! Load and inflation pressure by a declared model, and the pressure that a load needs.
//!
//! The generic form is load = rated load × (pressure / rated pressure)^n. The exponent is a choice
//! that whoever asks must declare: published ones differ, and a stiffness model needs *higher*
//! pressure at part load than some formulas in use ("Inflation Pressures at
//! Less-Than-Maximum Tire Loads", Tire Society 2009, abstract read). A maker's table, when given,
//! is never undercut.

use super::maker_table::MakerTable;
use crate::check::{Check, InvalidInput};

/// Highest inflation pressure accepted, kPa.
pub const PRESSURE_MAX_KPA: f64 = 2_000.0;

/// Largest load per tyre accepted, kg.
pub const LOAD_MAX_KG: f64 = 100_000.0;

/// What to show beside a pressure that came from a model alone.
pub const MODEL_CAUTION: &str = "Computed by a load model, not the tyre maker's table: check the maker's table and \
     the placard, measure cold, and watch the tyre's temperature.";

/// The exponent of load over pressure, as a declared choice. There is no default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LoadModel {
    /// 0.5: US passenger sizes (read in a secondary copy).
    UsPassenger,
    /// 0.7: US light-truck sizes (from memory, not verified).
    UsLightTruck,
    /// 0.8: European passenger sizes (from memory, not verified).
    EuropeanPassenger,
    /// 0.65: older European form (from memory, not verified).
    EuropeanOlder,
    /// An exponent declared by the user, who answers for it; above 0, at most 1.
    Declared {
        /// The exponent.
        exponent: f64,
    },
}

impl LoadModel {
    /// The exponent n.
    pub fn exponent(self) -> f64 {
        match self {
            Self::UsPassenger => 0.5,
            Self::UsLightTruck => 0.7,
            Self::EuropeanPassenger => 0.8,
            Self::EuropeanOlder => 0.65,
            Self::Declared { exponent } => exponent,
        }
    }

    /// Where the exponent comes from and how it was seen.
    pub fn status(self) -> &'static str {
        match self {
            Self::UsPassenger => "US passenger form, exponent 0.5, read in a secondary copy",
            Self::UsLightTruck => "US light-truck form, exponent 0.7, from memory, not verified",
            Self::EuropeanPassenger => "European passenger form, exponent 0.8, from memory, not verified",
            Self::EuropeanOlder => "older European form, exponent 0.65, from memory, not verified",
            Self::Declared { .. } => "exponent declared by the user",
        }
    }

    fn check(self, check: &mut Check) {
        if let Self::Declared { exponent } = self
            && check.finite("model.exponent", exponent)
            && !(0.1..=1.0).contains(&exponent)
        {
            check.refuse(
                "model.exponent",
                format!("must be between 0.1 and 1, is {exponent}"),
            );
        }
    }
}

/// What a tyre carries at which pressure, by its marking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatedLoad {
    /// Capacity of one tyre in this fitting, kg.
    pub capacity_kg: f64,
    /// Cold pressure at which it holds, kPa.
    pub pressure_kpa: f64,
}

impl RatedLoad {
    fn check(&self, check: &mut Check) {
        check.between("rated.capacity_kg", self.capacity_kg, 1.0, LOAD_MAX_KG);
        check.between("rated.pressure_kpa", self.pressure_kpa, 1.0, PRESSURE_MAX_KPA);
    }
}

/// Capacity of one tyre in kg at a pressure. Above the rated pressure it stays at the rated capacity.
///
/// # Errors
/// A number out of range, with its field.
pub fn capacity_at_pressure_kg(
    rated: RatedLoad,
    pressure_kpa: f64,
    model: LoadModel,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    rated.check(&mut check);
    check.between("pressure_kpa", pressure_kpa, 0.0, PRESSURE_MAX_KPA);
    model.check(&mut check);
    check.finish()?;
    let part = (pressure_kpa / rated.pressure_kpa).min(1.0);
    Ok(rated.capacity_kg * part.powf(model.exponent()))
}

/// What decided a needed pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The declared model; no maker's table was given.
    Model,
    /// The declared model, which asks for more than the maker's table.
    ModelAboveTable,
    /// The maker's table.
    MakerTable,
}

/// The pressure that a load needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PressureNeed {
    /// The tyre carries the load from this cold pressure up.
    Needed {
        /// Lowest cold pressure, kPa.
        pressure_kpa: f64,
        /// What decided it.
        basis: Basis,
    },
    /// No pressure makes the tyre carry the load.
    Overloaded {
        /// How much the load is above the capacity, kg.
        excess_kg: f64,
    },
}

impl PressureNeed {
    /// The pressure in kPa, unless overloaded.
    pub fn pressure_kpa(&self) -> Option<f64> {
        match *self {
            Self::Needed { pressure_kpa, .. } => Some(pressure_kpa),
            Self::Overloaded { .. } => None,
        }
    }
}

/// Lowest cold pressure at which one tyre carries `load_kg`.
///
/// With a maker's table the higher of table and model is taken; a load below the table takes the
/// table's lowest pressure, a load above it (or above the rated capacity) is an overload.
///
/// # Errors
/// A number out of range, with its field; a table that does not rise.
pub fn needed_pressure(
    load_kg: f64,
    rated: RatedLoad,
    model: LoadModel,
    table: Option<&MakerTable>,
) -> Result<PressureNeed, InvalidInput> {
    let mut check = Check::new();
    check.between("load_kg", load_kg, 0.0, LOAD_MAX_KG);
    rated.check(&mut check);
    model.check(&mut check);
    if let Some(table) = table {
        check.merge("table", table.check());
    }
    check.finish()?;
    if load_kg > rated.capacity_kg {
        return Ok(PressureNeed::Overloaded {
            excess_kg: load_kg - rated.capacity_kg,
        });
    }
    let part = (load_kg / rated.capacity_kg).powf(1.0 / model.exponent());
    let by_model_kpa = rated.pressure_kpa * part;
    let Some(table) = table else {
        return Ok(PressureNeed::Needed {
            pressure_kpa: by_model_kpa,
            basis: Basis::Model,
        });
    };
    Ok(match table.pressure_for_load_kpa(load_kg)? {
        None => PressureNeed::Overloaded {
            excess_kg: load_kg - table.capacity_most_kg(),
        },
        Some(by_table_kpa) if by_table_kpa >= by_model_kpa => PressureNeed::Needed {
            pressure_kpa: by_table_kpa,
            basis: Basis::MakerTable,
        },
        Some(_) => PressureNeed::Needed {
            pressure_kpa: by_model_kpa,
            basis: Basis::ModelAboveTable,
        },
    })
}

/// A passenger size for [`us_passenger_load_kg`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassengerSize {
    /// Section width on the 70 per cent rim (S70), mm.
    pub section_width_70_mm: f64,
    /// Aspect ratio as a fraction, 0.5 to 0.8.
    pub aspect_ratio: f64,
    /// Rim diameter, mm.
    pub rim_diameter_mm: f64,
}

/// Load in kg of a US passenger size (50 to 80 series) at a pressure, before rounding to a load index:
/// 6.67e-5 × P^0.5 × Sd^1.39 × (Dr + Sd) with Sd = (0.34848 + 0.6497 A) × S70.
///
/// Source: read in a secondary copy (an engineering forum's FAQ of 2005) whose author warns that it is
/// a partial view. For checking markings, not for setting pressures.
///
/// # Errors
/// A number out of range, with its field.
pub fn us_passenger_load_kg(size: &PassengerSize, pressure_kpa: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("size.section_width_70_mm", size.section_width_70_mm, 50.0, 500.0);
    check.between("size.aspect_ratio", size.aspect_ratio, 0.5, 0.8);
    check.between("size.rim_diameter_mm", size.rim_diameter_mm, 200.0, 800.0);
    check.between("pressure_kpa", pressure_kpa, 0.0, PRESSURE_MAX_KPA);
    check.finish()?;
    let section_mm = (0.34848 + 0.6497 * size.aspect_ratio) * size.section_width_70_mm;
    Ok(6.67e-5 * pressure_kpa.sqrt() * section_mm.powf(1.39) * (size.rim_diameter_mm + section_mm))
}
