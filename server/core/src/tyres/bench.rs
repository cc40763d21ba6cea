//! One tyre at the bench: what a designation and the numbers beside it give, without a record.

use super::designation::Designation;
use super::maker_table::MakerTable;
use super::pressure::{LoadModel, MODEL_CAUTION, PressureNeed, RatedLoad, needed_pressure};
use super::reduced::{REDUCED_PRESSURE_CAUTION, SpeedAtPressure, SpeedStep, speed_at_pressure};
use super::service::{Fitting, capacity_kg, load_index_source};
use super::size::{Diameter, DiameterChange, diameter, diameter_change, section_width_mm};
use crate::check::{Check, InvalidInput};

/// A tyre and what is asked of it. What is `None` is left out of the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchTyre {
    /// Its marking.
    pub designation: Designation,
    /// One or two at each end of the axle.
    pub fitting: Fitting,
    /// Measured diameter, mm.
    pub diameter_mm: Option<f64>,
    /// Diameter of the placard's tyre, mm.
    pub placard_diameter_mm: Option<f64>,
    /// Cold pressure at which the capacity holds, kPa.
    pub rated_pressure_kpa: Option<f64>,
    /// Load of the tyre, kg.
    pub load_kg: Option<f64>,
    /// Load model.
    pub model: Option<LoadModel>,
    /// The tyre maker's table.
    pub table: Option<MakerTable>,
    /// Planned cold pressure, kPa.
    pub pressure_kpa: Option<f64>,
    /// Speeds at reduced pressures.
    pub speeds: Vec<SpeedStep>,
}

/// What a tyre comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchResult {
    /// Its marking.
    pub designation: Designation,
    /// Section width, mm.
    pub section_width_mm: f64,
    /// Diameter.
    pub diameter: Diameter,
    /// Capacity of one tyre, kg. `None`: not known by the marking.
    pub capacity_kg: Option<f64>,
    /// Where it comes from, or what is missing.
    pub capacity_source: String,
    /// Pressure that the load needs.
    pub need: Option<PressureNeed>,
    /// Speed at the planned pressure.
    pub speed: Option<SpeedAtPressure>,
    /// Change against the placard.
    pub change: Option<DiameterChange>,
    /// To show with it.
    pub cautions: Vec<&'static str>,
}

/// Computes what the numbers that are given allow.
///
/// # Errors
/// Numbers out of range, with their field.
pub fn calculate(tyre: &BenchTyre) -> Result<BenchResult, InvalidInput> {
    let (capacity, capacity_source) = match capacity_kg(&tyre.designation, tyre.fitting) {
        Ok(capacity_kg) => {
            let index = tyre.designation.service.map_or(0, |service| match tyre.fitting {
                Fitting::Single => service.load_index_single,
                Fitting::Dual => service.load_index_dual.unwrap_or(0),
            });
            (Some(capacity_kg), load_index_source(index).to_owned())
        }
        Err(lacks) => (None, lacks.to_string()),
    };
    let diameter = diameter(&tyre.designation.size, tyre.diameter_mm)
        .map_err(|_| InvalidInput::one("diameter_mm", "must be between 100 and 2500 mm"))?;
    let mut check = Check::new();
    if let Some(table) = &tyre.table {
        check.merge("pressure_table", table.check());
    }
    check.finish()?;
    let mut cautions = Vec::new();
    let need = match (tyre.load_kg, capacity, tyre.rated_pressure_kpa, tyre.model) {
        (Some(load_kg), Some(capacity_kg), Some(pressure_kpa), Some(model)) => {
            let rated = RatedLoad {
                capacity_kg,
                pressure_kpa,
            };
            cautions.push(MODEL_CAUTION);
            Some(needed_pressure(load_kg, rated, model, tyre.table.as_ref())?)
        }
        _ => None,
    };
    let speed = match (tyre.pressure_kpa, need.and_then(|need| need.pressure_kpa())) {
        (Some(pressure_kpa), Some(needed_kpa)) => {
            let contradicts = |_| {
                let problem = "must not allow more speed than a step of the same or more pressure";
                InvalidInput::one("speeds", problem)
            };
            Some(speed_at_pressure(pressure_kpa, needed_kpa, &tyre.speeds).map_err(contradicts)?)
        }
        _ => None,
    };
    if speed.is_some_and(|speed| speed != SpeedAtPressure::NotReduced) {
        cautions.push(REDUCED_PRESSURE_CAUTION);
    }
    let change = match (tyre.placard_diameter_mm, diameter.mm()) {
        (Some(placard_mm), Some(fitted_mm)) => Some(diameter_change(placard_mm, fitted_mm)?),
        _ => None,
    };
    Ok(BenchResult {
        designation: tyre.designation,
        section_width_mm: section_width_mm(&tyre.designation.size),
        diameter,
        capacity_kg: capacity,
        capacity_source,
        need,
        speed,
        change,
        cautions,
    })
}
