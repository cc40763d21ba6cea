//! Mass and centre of a tank with its liquid: what axles carry and what restraint must hold.
//!
//! Restrain a tank for its brimful mass, whatever its fill at departure: ask for the brimful contents.

use super::check_liquid_density;
use super::shape::Shape;
use crate::check::{Check, InvalidInput};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Where the middle of a tank's floor stands in the vehicle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankPosition {
    /// Aft of the front axle centre.
    pub x_mm: f64,
    /// To the right of the centre plane.
    pub y_mm: f64,
    /// Above ground at reference ride height.
    pub floor_z_mm: f64,
}

/// A tank to be weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContentsInput {
    /// Inside of the tank.
    pub shape: Shape,
    /// Where it stands.
    pub position: TankPosition,
    /// Density of the liquid.
    pub density_kg_per_m3: f64,
    /// Mass of the empty tank with its fittings; its centre is taken at half height. 0 when it is
    /// already counted elsewhere.
    pub shell_mass_kg: f64,
    /// Volume of the liquid, from 0 to the capacity; `None` for brimful.
    pub volume_l: Option<f64>,
}

/// Mass, weight and centre of a tank with its liquid, at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contents {
    /// Volume of the liquid.
    pub volume_l: f64,
    /// Level of the liquid above the floor.
    pub level_mm: f64,
    /// Mass of the liquid.
    pub liquid_mass_kg: f64,
    /// Mass of liquid and shell.
    pub mass_kg: f64,
    /// Weight of liquid and shell, in newtons: the unit by which restraint standards multiply.
    pub weight_n: f64,
    /// Centre of liquid and shell, aft of the front axle centre.
    pub x_mm: f64,
    /// Centre, to the right of the centre plane.
    pub y_mm: f64,
    /// Centre, above ground.
    pub z_mm: f64,
}

/// Mass, weight and centre of a tank with its liquid.
///
/// # Errors
/// Dimensions, position, density or masses out of range; a volume above the capacity.
pub fn contents(input: &ContentsInput) -> Result<Contents, InvalidInput> {
    let mut check = Check::new();
    let capacity_l = check.merge("shape", input.shape.capacity_l());
    check.finite("position.x_mm", input.position.x_mm);
    check.finite("position.y_mm", input.position.y_mm);
    check.finite("position.floor_z_mm", input.position.floor_z_mm);
    check_liquid_density(&mut check, "density_kg_per_m3", input.density_kg_per_m3);
    check.non_negative("shell_mass_kg", input.shell_mass_kg);
    match (input.volume_l, capacity_l) {
        (Some(volume_l), Some(capacity_l)) => check.between("volume_l", volume_l, 0.0, capacity_l),
        (Some(volume_l), None) => check.non_negative("volume_l", volume_l),
        (None, _) => {}
    }
    check.finish()?;
    let volume_l = match input.volume_l {
        Some(volume_l) => volume_l,
        None => input.shape.capacity_l()?,
    };
    let level_mm = input.shape.level_mm(volume_l)?;
    let liquid_mass_kg = volume_l * input.density_kg_per_m3 / 1e3;
    let mass_kg = liquid_mass_kg + input.shell_mass_kg;
    let shell_centre_mm = input.shape.height_mm() / 2.0;
    let above_floor_mm = if mass_kg > 0.0 {
        let liquid_centre_mm = input.shape.liquid_centre_mm(level_mm)?;
        (liquid_mass_kg * liquid_centre_mm + input.shell_mass_kg * shell_centre_mm) / mass_kg
    } else {
        shell_centre_mm
    };
    Ok(Contents {
        volume_l,
        level_mm,
        liquid_mass_kg,
        mass_kg,
        weight_n: mass_kg * STANDARD_GRAVITY_M_PER_S2,
        x_mm: input.position.x_mm,
        y_mm: input.position.y_mm,
        z_mm: input.position.floor_z_mm + above_floor_mm,
    })
}
