//! Ullage: how far a tank may be filled so that its fuel has room when it warms.
//!
//! The swelling of the tank itself is left out, which is on the safe side for a tank that warms.

use super::density::{BASE_TEMPERATURE_C, check_product_density, check_temperature, correction};
use crate::check::{Check, InvalidInput};

/// Cautions to show wherever a fill is planned or a container is stowed.
pub const CAUTIONS: [&str; 4] = [
    "Fuel vapour burns and chokes: fill outdoors with the engine off, containers on the ground and bonded to the nozzle.",
    "Carry fuel in approved containers only, outside the passenger compartment where possible, and vented outside.",
    "A sealed container builds pressure when it warms: open it slowly and away from flame.",
    "Local rules on quantity, containers and fixed tanks decide; these figures do not replace them.",
];

/// A tank to be filled at one temperature and to be met at a hotter one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FillInput {
    /// Brimful volume of the tank in litres.
    pub capacity_l: f64,
    /// Density of the fuel at 15 C.
    pub density_15_kg_per_m3: f64,
    /// Temperature of the fuel when filled.
    pub fill_temperature_c: f64,
    /// Hottest temperature that the fuel will reach; not below the one at filling.
    pub hottest_temperature_c: f64,
    /// Greatest part of the capacity that the fuel may take at the hottest temperature, over 0 up
    /// to 1. The transport rules use 0.98.
    pub greatest_fill_fraction: f64,
}

/// How far a tank may be filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FillLimit {
    /// Greatest volume in litres at the filling temperature.
    pub volume_l: f64,
    /// The same as part of the capacity.
    pub fill_fraction: f64,
    /// Free space in litres left at filling.
    pub ullage_l: f64,
    /// Volume at the hottest temperature of one unit of volume filled.
    pub swelling: f64,
}

/// What becomes of a volume that was filled, when it is hottest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FillVerdict {
    /// The limit holds.
    WithinLimit {
        /// Free space in litres at the hottest temperature.
        ullage_l: f64,
    },
    /// The fuel stays in, but takes more than the allowed part of the tank.
    OverLimit {
        /// Litres, at the filling temperature, to leave out.
        excess_l: f64,
        /// Free space in litres at the hottest temperature.
        ullage_l: f64,
    },
    /// The fuel outgrows the tank.
    Spills {
        /// Litres, at the filling temperature, to leave out.
        excess_l: f64,
        /// Litres, at the hottest temperature, that find no room.
        spill_l: f64,
    },
}

impl FillInput {
    fn check(&self) -> Check {
        let mut check = Check::new();
        check.positive("capacity_l", self.capacity_l);
        check_product_density(&mut check, self.density_15_kg_per_m3);
        check_temperature(&mut check, "fill_temperature_c", self.fill_temperature_c);
        check_temperature(&mut check, "hottest_temperature_c", self.hottest_temperature_c);
        if self.hottest_temperature_c < self.fill_temperature_c {
            check.refuse("hottest_temperature_c", "must not be below fill_temperature_c");
        }
        check.up_to("greatest_fill_fraction", self.greatest_fill_fraction, 1.0);
        check
    }

    fn swelling(&self) -> f64 {
        correction(self.density_15_kg_per_m3, self.fill_temperature_c)
            / correction(self.density_15_kg_per_m3, self.hottest_temperature_c)
    }
}

/// Greatest fill for which the fuel keeps to the allowed part of the tank when hottest.
///
/// # Errors
/// Numbers out of range; a hottest temperature below that at filling.
pub fn fill_limit(input: &FillInput) -> Result<FillLimit, InvalidInput> {
    input.check().finish()?;
    let swelling = input.swelling();
    let fill_fraction = input.greatest_fill_fraction / swelling;
    let volume_l = input.capacity_l * fill_fraction;
    Ok(FillLimit {
        volume_l,
        fill_fraction,
        ullage_l: input.capacity_l - volume_l,
        swelling,
    })
}

/// What becomes of `volume_l` litres, measured at the filling temperature, when they are hottest.
///
/// # Errors
/// Numbers out of range; a hottest temperature below that at filling; a volume that is negative or
/// above the capacity.
pub fn judge_fill(input: &FillInput, volume_l: f64) -> Result<FillVerdict, InvalidInput> {
    let mut check = input.check();
    if check.passes() {
        check.between("volume_l", volume_l, 0.0, input.capacity_l);
    } else {
        check.non_negative("volume_l", volume_l);
    }
    check.finish()?;
    let limit = fill_limit(input)?;
    let excess_l = volume_l - limit.volume_l;
    let ullage_l = input.capacity_l - volume_l * limit.swelling;
    Ok(if ullage_l < 0.0 {
        FillVerdict::Spills {
            excess_l,
            spill_l: -ullage_l,
        }
    } else if excess_l > 0.0 {
        FillVerdict::OverLimit { excess_l, ullage_l }
    } else {
        FillVerdict::WithinLimit { ullage_l }
    })
}

/// Fill limit of a transport packaging by the rule of ADR 4.1.1.4.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdrFill {
    /// Mean expansion per degree between 15 and 50 C.
    pub expansion_per_c: f64,
    /// Greatest fill in percent of the capacity at the filling temperature.
    pub fill_percent: f64,
}

/// Fill limit by the formula of ADR 4.1.1.4, `98 / (1 + alpha (50 - t))` with
/// `alpha = (d15 - d50) / (35 d50)`: at 50 C the packaging is 98 percent full. The rule also forbids
/// that the packaging be completely full at 55 C; see [`judge_fill`].
///
/// Source: ADR 4.1.1.4, 2013 text, read in the official French copy of a national authority. "Capacity"
/// is taken as brimful by custom (trade guidance note, read in a secondary copy).
///
/// # Errors
/// Densities that are not greater than 0, or that rise with temperature; a filling temperature
/// outside -50 to 50 C.
pub fn adr_fill(
    density_15_kg_per_m3: f64,
    density_50_kg_per_m3: f64,
    fill_temperature_c: f64,
) -> Result<AdrFill, InvalidInput> {
    let mut check = Check::new();
    super::check_liquid_density(&mut check, "density_15_kg_per_m3", density_15_kg_per_m3);
    super::check_liquid_density(&mut check, "density_50_kg_per_m3", density_50_kg_per_m3);
    if density_50_kg_per_m3 > density_15_kg_per_m3 {
        check.refuse("density_50_kg_per_m3", "must not be above density_15_kg_per_m3");
    }
    check.between("fill_temperature_c", fill_temperature_c, -50.0, 50.0);
    check.finish()?;
    let expansion_per_c = (density_15_kg_per_m3 - density_50_kg_per_m3) / (35.0 * density_50_kg_per_m3);
    let fill_percent = 98.0 / (1.0 + expansion_per_c * (50.0 - fill_temperature_c));
    Ok(AdrFill {
        expansion_per_c,
        fill_percent,
    })
}

/// [`adr_fill`] for a fuel whose density at 50 C follows from that at 15 C by the volume correction.
///
/// # Errors
/// A density outside the known products; a filling temperature outside -50 to 50 C.
pub fn adr_fill_of_fuel(density_15_kg_per_m3: f64, fill_temperature_c: f64) -> Result<AdrFill, InvalidInput> {
    let density_50_kg_per_m3 = super::density::density_kg_per_m3(density_15_kg_per_m3, 50.0)?;
    adr_fill(density_15_kg_per_m3, density_50_kg_per_m3, fill_temperature_c)
}

/// Fill limit in percent of the capacity at 15 C by the boiling point at which the liquid begins to
/// boil: the other choice that ADR 4.1.1.4 gives.
///
/// Source: ADR 4.1.1.4, 2013 text, read in the official French copy of a national authority.
///
/// # Errors
/// A boiling point at or below 15 C, or above 1000 C.
pub fn adr_fill_percent_by_boiling_point(boiling_point_c: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("boiling_point_c", boiling_point_c, BASE_TEMPERATURE_C, 1_000.0);
    check.finish()?;
    Ok(match boiling_point_c {
        below if below < 60.0 => 90.0,
        below if below < 100.0 => 92.0,
        below if below < 200.0 => 94.0,
        below if below < 300.0 => 96.0,
        _ => 98.0,
    })
}
