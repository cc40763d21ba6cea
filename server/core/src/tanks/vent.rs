//! Pressure that a vent costs while a tank is filled or drawn down.
//!
//! Air through a small opening: `dp = rho/2 (Q / (Cd a))^2`, incompressible, which holds for the few
//! kilopascals at stake. A textbook relation; no published example was seen for vents.

use std::f64::consts::PI;

use super::check_side;
use crate::check::{Check, InvalidInput};

/// A vent and the flow of liquid that drives air through it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VentInput {
    /// Inner diameter at the narrowest place.
    pub diameter_mm: f64,
    /// Discharge coefficient, over 0 up to 1; a sharp hole has about 0.6.
    pub discharge_coefficient: f64,
    /// Rate at which liquid enters or leaves the tank.
    pub liquid_rate_l_per_min: f64,
    /// Density of the air, from 0.1 to 5; about 1.2 at sea level and 20 C.
    pub air_density_kg_per_m3: f64,
}

/// Pressure difference in kilopascals across a vent: over the outside when filling, under it when
/// drawing. Compare it with the pressure the walls may see.
///
/// # Errors
/// Numbers out of range; a result above 50 kPa, where the incompressible relation does not hold and
/// the vent is far too small.
pub fn vent_pressure_kpa(input: &VentInput) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_side(&mut check, "diameter_mm", input.diameter_mm);
    super::flow::check_discharge_coefficient(
        &mut check,
        "discharge_coefficient",
        input.discharge_coefficient,
    );
    check.between(
        "liquid_rate_l_per_min",
        input.liquid_rate_l_per_min,
        0.0,
        10_000.0,
    );
    check.between("air_density_kg_per_m3", input.air_density_kg_per_m3, 0.1, 5.0);
    check.finish()?;
    let area_m2 = PI * (input.diameter_mm / 1e3).powi(2) / 4.0;
    let speed_m_per_s = input.liquid_rate_l_per_min / 6e4 / (input.discharge_coefficient * area_m2);
    let pressure_kpa = input.air_density_kg_per_m3 / 2.0 * speed_m_per_s.powi(2) / 1e3;
    if pressure_kpa > INCOMPRESSIBLE_MAX_KPA {
        let problem = format!("is far too small: it would cost over {INCOMPRESSIBLE_MAX_KPA} kPa");
        return Err(InvalidInput::one("diameter_mm", problem));
    }
    Ok(pressure_kpa)
}

/// Pressure difference up to which air may be taken as incompressible here.
const INCOMPRESSIBLE_MAX_KPA: f64 = 50.0;
