//! Single holes in closed form: flow, drain time, levelling of two cells.
//!
//! Torricelli's relation, `Q = Cd a sqrt(2 g h)`; textbook forms, both cells open to the same air.

use std::f64::consts::PI;

use super::check_discharge_coefficient;
use crate::check::{Check, InvalidInput};
use crate::tanks::{SIDE_MAX_MM, check_side};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Flow in litres per minute through a round hole under a head of liquid.
///
/// # Errors
/// A diameter, coefficient or head out of range.
pub fn orifice_flow_l_per_min(
    diameter_mm: f64,
    discharge_coefficient: f64,
    head_mm: f64,
) -> Result<f64, InvalidInput> {
    let mut check = check_orifice(diameter_mm, discharge_coefficient);
    check.between("head_mm", head_mm, 0.0, SIDE_MAX_MM);
    check.finish()?;
    Ok(conductance(diameter_mm, discharge_coefficient) * (head_mm / 1e3).sqrt() * 6e4)
}

/// Time in seconds in which a cell of upright walls drains to the height of its hole, from a level
/// `head_mm` above it.
///
/// # Errors
/// An area, head, diameter or coefficient out of range.
pub fn drain_time_s(
    area_m2: f64,
    head_mm: f64,
    diameter_mm: f64,
    discharge_coefficient: f64,
) -> Result<f64, InvalidInput> {
    let mut check = check_orifice(diameter_mm, discharge_coefficient);
    check_area(&mut check, "area_m2", area_m2);
    check.between("head_mm", head_mm, 0.0, SIDE_MAX_MM);
    check.finish()?;
    Ok(2.0 * area_m2 * (head_mm / 1e3).sqrt() / conductance(diameter_mm, discharge_coefficient))
}

/// Two cells joined by a hole that lies below both levels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoCells {
    /// Plan area of one cell.
    pub first_area_m2: f64,
    /// Plan area of the other.
    pub second_area_m2: f64,
    /// Difference of levels at the start.
    pub from_head_mm: f64,
    /// Difference of levels at the end, from 0 to that at the start; 0 for level.
    pub to_head_mm: f64,
    /// Diameter of the hole.
    pub diameter_mm: f64,
    /// Discharge coefficient, over 0 up to 1.
    pub discharge_coefficient: f64,
}

/// Time in seconds in which two cells close a part of the difference of their levels.
///
/// # Errors
/// Numbers out of range; a difference at the end above that at the start.
pub fn two_cell_time_s(cells: &TwoCells) -> Result<f64, InvalidInput> {
    let mut check = check_orifice(cells.diameter_mm, cells.discharge_coefficient);
    check_area(&mut check, "first_area_m2", cells.first_area_m2);
    check_area(&mut check, "second_area_m2", cells.second_area_m2);
    check.between("from_head_mm", cells.from_head_mm, 0.0, SIDE_MAX_MM);
    check.non_negative("to_head_mm", cells.to_head_mm);
    if cells.to_head_mm > cells.from_head_mm {
        check.refuse("to_head_mm", "must not be above from_head_mm");
    }
    check.finish()?;
    let reduced_m2 =
        cells.first_area_m2 * cells.second_area_m2 / (cells.first_area_m2 + cells.second_area_m2);
    let roots = (cells.from_head_mm / 1e3).sqrt() - (cells.to_head_mm / 1e3).sqrt();
    Ok(2.0 * reduced_m2 * roots / conductance(cells.diameter_mm, cells.discharge_coefficient))
}

fn check_orifice(diameter_mm: f64, discharge_coefficient: f64) -> Check {
    let mut check = Check::new();
    check_side(&mut check, "diameter_mm", diameter_mm);
    check_discharge_coefficient(&mut check, "discharge_coefficient", discharge_coefficient);
    check
}

fn check_area(check: &mut Check, field: &str, area_m2: f64) {
    check.up_to(field, area_m2, (SIDE_MAX_MM / 1e3).powi(2));
}

/// Flow in cubic metres per second per root of a metre of head.
fn conductance(diameter_mm: f64, discharge_coefficient: f64) -> f64 {
    let area_m2 = PI * (diameter_mm / 1e3).powi(2) / 4.0;
    discharge_coefficient * area_m2 * (2.0 * STANDARD_GRAVITY_M_PER_S2).sqrt()
}
