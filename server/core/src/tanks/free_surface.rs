//! Free surface: how far liquid that may shift sideways raises the apparent centre of mass, and what
//! dividing the tank saves.
//!
//! Virtual rise = density x second moment of the surface / mass of the vehicle; a rectangle has
//! `i = l b^3 / 12`, and `n` equal cells side by side divide it by `n` squared, while walls across the
//! vehicle save nothing sideways. Source: a textbook of ship stability (Ship Stability for Masters and
//! Mates, pages 193 to 195, read). The mass of the liquid does not matter, only its surface.
//!
//! The formula holds for small angles, until the surface meets the roof or uncovers the floor:
//! [`FreeSurface::valid_to_deg`]. It is a measure for comparing tanks, never a safe side slope.

use std::f64::consts::PI;

use super::{check_liquid_density, check_side};
use crate::check::{Check, InvalidInput};

/// Fill from which a tank counts as pressed up, so that its free surface may be left out. Source:
/// IMO 2008 Intact Stability Code 3.3.2, which corrects tanks filled below 98 percent (read).
pub const PRESSED_UP_FILL_FRACTION: f64 = 0.98;

/// Greatest number of walls in a tank that is accepted.
pub const WALLS_MAX: usize = 64;

/// Outline of a free surface in plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// A rectangle: length along the vehicle, width across it.
    Rectangle {
        /// Length along the vehicle.
        length_mm: f64,
        /// Width across the vehicle.
        width_mm: f64,
    },
    /// A circle, of a standing cylinder.
    Circle {
        /// Diameter.
        diameter_mm: f64,
    },
}

impl Surface {
    /// Checks the sides.
    ///
    /// # Errors
    /// Every side that is not a number within the accepted range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        match *self {
            Self::Rectangle { length_mm, width_mm } => {
                check_side(&mut check, "length_mm", length_mm);
                check_side(&mut check, "width_mm", width_mm);
            }
            Self::Circle { diameter_mm } => check_side(&mut check, "diameter_mm", diameter_mm),
        }
        check.finish()
    }

    /// Second moment of area in metres to the fourth about the lengthwise line through its centre:
    /// the one that counts when the vehicle leans sideways.
    ///
    /// # Errors
    /// Sides out of range.
    pub fn second_moment_m4(&self) -> Result<f64, InvalidInput> {
        self.check()?;
        Ok(self.second_moment())
    }

    fn second_moment(&self) -> f64 {
        match *self {
            Self::Rectangle { length_mm, width_mm } => length_mm / 1e3 * (width_mm / 1e3).powi(3) / 12.0,
            Self::Circle { diameter_mm } => PI * (diameter_mm / 1e3).powi(4) / 64.0,
        }
    }

    fn width_mm(&self) -> f64 {
        match *self {
            Self::Rectangle { width_mm, .. } => width_mm,
            Self::Circle { diameter_mm } => diameter_mm,
        }
    }
}

/// Whether liquid passes a wall inside a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passage {
    /// A full wall without holes: it divides the surface.
    Closed,
    /// A baffle with holes or gaps. It damps sloshing, but on a lasting slope the liquid levels
    /// through it, so it divides nothing.
    Open,
}

/// A wall that runs along the vehicle and stands between the left and the right part of a tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Division {
    /// Distance of the wall from the left side of the surface, over 0 and below its width.
    pub from_left_mm: f64,
    /// Whether liquid passes it.
    pub passage: Passage,
}

/// A partly filled tank in a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeSurfaceInput {
    /// Outline of the whole surface.
    pub surface: Surface,
    /// Lengthwise walls, in rising order of their distance from the left; none in a circle, whose
    /// cells have no simple formula here.
    pub divisions: Vec<Division>,
    /// Density of the liquid.
    pub density_kg_per_m3: f64,
    /// Level above the floor, from 0 to the height.
    pub level_mm: f64,
    /// Height of the tank from floor to roof.
    pub height_mm: f64,
    /// Mass of the loaded vehicle with the liquid.
    pub vehicle_mass_kg: f64,
}

/// What the free surface of a tank does.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeSurface {
    /// Second moment of each cell, from left to right, in metres to the fourth.
    pub cell_second_moments_m4: Vec<f64>,
    /// Their sum.
    pub second_moment_m4: f64,
    /// Density times second moment.
    pub moment_kg_m: f64,
    /// Apparent rise of the centre of mass of the vehicle, in millimetres; 0 when pressed up.
    pub virtual_rise_mm: f64,
    /// Part of the undivided second moment that the closed walls save, from 0 to below 1.
    pub saved_fraction: f64,
    /// Whether the tank is so full, or empty, that it counts as having no free surface. The moments
    /// above are still those of the outline.
    pub is_pressed_up_or_empty: bool,
    /// Lean in degrees at which the surface of the widest cell meets the roof or uncovers the floor
    /// of a box, so up to which the small-angle formula holds.
    pub valid_to_deg: f64,
}

/// Free surface of a tank, with and without its closed walls.
///
/// # Errors
/// Sides, density, level or mass out of range; a level above the height; walls that are outside the
/// surface, out of order or in a circle.
pub fn free_surface(input: &FreeSurfaceInput) -> Result<FreeSurface, InvalidInput> {
    check_input(input)?;
    let cells = cells(input);
    let cell_second_moments_m4: Vec<f64> = cells.iter().map(Surface::second_moment).collect();
    let second_moment_m4: f64 = cell_second_moments_m4.iter().sum();
    let moment_kg_m = input.density_kg_per_m3 * second_moment_m4;
    let fill_fraction = input.level_mm / input.height_mm;
    let is_pressed_up_or_empty = fill_fraction >= PRESSED_UP_FILL_FRACTION || input.level_mm == 0.0;
    let virtual_rise_mm = if is_pressed_up_or_empty {
        0.0
    } else {
        1e3 * moment_kg_m / input.vehicle_mass_kg
    };
    let widest_mm = cells.iter().map(Surface::width_mm).fold(0.0, f64::max);
    let room_mm = input.level_mm.min(input.height_mm - input.level_mm);
    Ok(FreeSurface {
        saved_fraction: (1.0 - second_moment_m4 / input.surface.second_moment()).max(0.0),
        cell_second_moments_m4,
        second_moment_m4,
        moment_kg_m,
        virtual_rise_mm,
        is_pressed_up_or_empty,
        valid_to_deg: (2.0 * room_mm).atan2(widest_mm).to_degrees(),
    })
}

/// Apparent rise in millimetres of the centre of mass of a vehicle for a sum of free-surface moments
/// (density times second moment, of all its tanks).
///
/// # Errors
/// A negative moment or a mass that is not greater than 0.
pub fn virtual_rise_mm(moment_kg_m: f64, vehicle_mass_kg: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.non_negative("moment_kg_m", moment_kg_m);
    check.between(
        "vehicle_mass_kg",
        vehicle_mass_kg,
        VEHICLE_MASS_KG.0,
        VEHICLE_MASS_KG.1,
    );
    check.finish()?;
    Ok(1e3 * moment_kg_m / vehicle_mass_kg)
}

/// Masses accepted. Wide, since the same formula serves a ship, where it is published.
const VEHICLE_MASS_KG: (f64, f64) = (1.0, 1e9);

fn check_input(input: &FreeSurfaceInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    let has_surface = check.merge("surface", input.surface.check()).is_some();
    check_liquid_density(&mut check, "density_kg_per_m3", input.density_kg_per_m3);
    check_side(&mut check, "height_mm", input.height_mm);
    check.non_negative("level_mm", input.level_mm);
    if input.level_mm > input.height_mm {
        check.refuse(
            "level_mm",
            format!("must not be above height_mm, {}", input.height_mm),
        );
    }
    check.between(
        "vehicle_mass_kg",
        input.vehicle_mass_kg,
        VEHICLE_MASS_KG.0,
        VEHICLE_MASS_KG.1,
    );
    if input.divisions.len() > WALLS_MAX {
        check.refuse(
            "divisions",
            format!("must be at most {WALLS_MAX}, are {}", input.divisions.len()),
        );
        return check.finish();
    }
    if matches!(input.surface, Surface::Circle { .. }) && !input.divisions.is_empty() {
        check.refuse("divisions", "must be empty in a circular surface");
    }
    let mut before_mm = 0.0;
    for (index, division) in input.divisions.iter().enumerate() {
        let field = format!("divisions[{index}].from_left_mm");
        check.positive(&field, division.from_left_mm);
        if has_surface && division.from_left_mm >= input.surface.width_mm() {
            check.refuse(
                &field,
                format!("must be below the width, {}", input.surface.width_mm()),
            );
        }
        if index > 0 && division.from_left_mm <= before_mm {
            check.refuse(&field, "must be greater than that of the wall before it");
        }
        before_mm = division.from_left_mm;
    }
    check.finish()
}

fn cells(input: &FreeSurfaceInput) -> Vec<Surface> {
    let Surface::Rectangle { length_mm, width_mm } = input.surface else {
        return vec![input.surface];
    };
    let mut cells = Vec::with_capacity(input.divisions.len() + 1);
    let mut left_mm = 0.0;
    for division in input
        .divisions
        .iter()
        .filter(|division| division.passage == Passage::Closed)
    {
        cells.push(Surface::Rectangle {
            length_mm,
            width_mm: division.from_left_mm - left_mm,
        });
        left_mm = division.from_left_mm;
    }
    cells.push(Surface::Rectangle {
        length_mm,
        width_mm: width_mm - left_mm,
    });
    cells
}
