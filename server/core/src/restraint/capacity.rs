//! The plain record: an item's forward restraint capacity in kgf against its mass.

use crate::check::{Check, InvalidInput};

/// What to show with a capacity that was only written down. Common practice, no source.
pub const RECORD_CAUTION: &str = "A recorded capacity is as good as whoever wrote it down: nets, elastic cords and drawer \
     catches have no rating unless it is marked.";

/// A forward capacity against what is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForwardCapacity {
    /// Mass of all pieces together, kg.
    pub mass_kg: f64,
    /// Asked for, kgf: forward factor × mass.
    pub required_kgf: f64,
    /// Recorded, kgf; `None` is not known.
    pub capacity_kgf: Option<f64>,
    /// Missing, kgf: 0 when held, `None` when the capacity is not known.
    pub shortfall_kgf: Option<f64>,
}

/// Compares the recorded forward capacity of a cargo line with its mass: `quantity` pieces share one
/// restraint.
///
/// # Errors
/// A quantity of 0, or numbers out of range, with their field.
pub fn forward_capacity(
    quantity: u32,
    unit_mass_kg: f64,
    capacity_forward_kgf: Option<f64>,
    factor_forward: f64,
) -> Result<ForwardCapacity, InvalidInput> {
    let mut check = Check::new();
    if quantity == 0 {
        check.refuse("quantity", "must be at least 1, is 0");
    }
    check.between("unit_mass_kg", unit_mass_kg, 0.001, 1e6);
    if let Some(capacity_kgf) = capacity_forward_kgf {
        check.between("capacity_forward_kgf", capacity_kgf, 0.0, 1e7);
    }
    check.between("factor_forward", factor_forward, 0.0, 10.0);
    check.finish()?;
    let mass_kg = f64::from(quantity) * unit_mass_kg;
    let required_kgf = factor_forward * mass_kg;
    let shortfall = |capacity_kgf: f64| {
        let missing_kgf = required_kgf - capacity_kgf;
        // A rounding error of the product is no shortfall.
        if missing_kgf <= 1e-9 * required_kgf {
            0.0
        } else {
            missing_kgf
        }
    };
    Ok(ForwardCapacity {
        mass_kg,
        required_kgf,
        capacity_kgf: capacity_forward_kgf,
        shortfall_kgf: capacity_forward_kgf.map(shortfall),
    })
}
