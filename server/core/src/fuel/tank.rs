//! Tanks and containers of one vehicle, and what of their fuel can be used.

use std::collections::HashSet;

use crate::check::{Check, InvalidInput, element};

/// Most tanks and containers accepted for one vehicle.
pub const TANKS_MAX: usize = 1_000;

/// Largest tank or container accepted, litres: far above anything carried on a light vehicle.
pub const CAPACITY_MAX_L: f64 = 100_000.0;

/// The fuel a vehicle burns. Only vehicles of one kind can share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FuelKind {
    /// Diesel fuel.
    Diesel,
    /// Petrol.
    Petrol,
    /// Liquefied petroleum gas.
    LiquefiedPetroleumGas,
}

impl FuelKind {
    /// Whether the fuel can be moved between vehicles in the field with cans and a hand pump.
    ///
    /// Liquefied gas is stored under pressure and is not decanted without filling equipment (common
    /// practice, no source).
    pub fn can_be_decanted(self) -> bool {
        !matches!(self, Self::LiquefiedPetroleumGas)
    }
}

/// How the fuel of a tank reaches the engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feed {
    /// Plumbed: the engine draws from it, directly or by a fitted transfer pump.
    Engine,
    /// A container: its fuel is decanted into a plumbed tank first.
    Decanted,
}

/// One tank, or a group of equal containers recorded as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Identifier, unique within the vehicle.
    pub id: String,
    /// How its fuel reaches the engine.
    pub feed: Feed,
    /// Nominal capacity, litres, greater than 0 up to [`CAPACITY_MAX_L`].
    pub capacity_l: f64,
    /// The heel that cannot be drawn off, litres, from 0 to less than the fill limit.
    pub unusable_l: f64,
    /// As far as it may be filled, litres, from more than the heel to the capacity: fuel swells in heat,
    /// so a container full in the cold of the morning needs room.
    pub fill_limit_l: f64,
    /// Fuel in it now, litres, from 0 to the capacity.
    pub fill_l: f64,
}

impl Tank {
    /// What can be drawn off now, litres, never negative.
    pub fn usable_l(&self) -> f64 {
        (self.fill_l - self.unusable_l).max(0.0)
    }

    /// What is missing to the heel, litres: fuel poured in first only replaces it.
    pub fn heel_gap_l(&self) -> f64 {
        (self.unusable_l - self.fill_l).max(0.0)
    }

    /// What may still go in, litres, never negative.
    pub fn room_l(&self) -> f64 {
        (self.fill_limit_l - self.fill_l).max(0.0)
    }
}

/// Checks the tanks of one vehicle.
///
/// # Errors
/// Every tank whose litres contradict each other, a repeated identifier, too many tanks, or no
/// plumbed tank with usable capacity.
pub fn check_tanks(tanks: &[Tank]) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if tanks.len() > TANKS_MAX {
        check.refuse(
            "tanks",
            format!("must be at most {TANKS_MAX}, are {}", tanks.len()),
        );
        return check.finish();
    }
    let mut seen = HashSet::new();
    for (index, tank) in tanks.iter().enumerate() {
        let path = |field| element("tanks", index, field);
        if !seen.insert(tank.id.as_str()) {
            check.refuse(path("id"), format!("is given twice: {}", tank.id));
        }
        check.positive(path("capacity_l"), tank.capacity_l);
        check.between(path("capacity_l"), tank.capacity_l, 0.0, CAPACITY_MAX_L);
        if tank.capacity_l.is_finite() && tank.capacity_l > 0.0 {
            check.between(path("unusable_l"), tank.unusable_l, 0.0, tank.capacity_l);
            check.between(path("fill_limit_l"), tank.fill_limit_l, 0.0, tank.capacity_l);
            if tank.fill_limit_l <= tank.unusable_l {
                check.refuse(path("fill_limit_l"), "must be more than unusable_l");
            }
            check.between(path("fill_l"), tank.fill_l, 0.0, tank.capacity_l);
        }
    }
    if receiving_tank(tanks).is_none() {
        check.refuse(
            "tanks",
            "must hold one with usable capacity that feeds the engine",
        );
    }
    check.finish()
}

/// Index of the plumbed tank into which containers are decanted: the first in the drawdown order
/// that stands at its heel or above, else the first that can hold usable fuel.
pub(super) fn receiving_tank(tanks: &[Tank]) -> Option<usize> {
    let usable = |tank: &Tank| tank.feed == Feed::Engine && tank.fill_limit_l > tank.unusable_l;
    tanks
        .iter()
        .position(|tank| usable(tank) && tank.heel_gap_l() == 0.0)
        .or_else(|| tanks.iter().position(usable))
}

/// Litres aboard that the engine can burn: fills less heels, and less the heel that decanted fuel
/// must first replace where no plumbed tank stands at its heel.
///
/// # Errors
/// As [`check_tanks`].
pub fn usable_aboard_l(tanks: &[Tank]) -> Result<f64, InvalidInput> {
    check_tanks(tanks)?;
    Ok(usable_of(tanks))
}

/// [`usable_aboard_l`] of tanks already checked.
pub(super) fn usable_of(tanks: &[Tank]) -> f64 {
    let gap_l = receiving_tank(tanks).map_or(0.0, |index| tanks[index].heel_gap_l());
    (tanks.iter().map(Tank::usable_l).sum::<f64>() - gap_l).max(0.0)
}

/// Litres that tanks and containers filled as far as they may be would offer the engine.
///
/// # Errors
/// As [`check_tanks`].
pub fn usable_capacity_l(tanks: &[Tank]) -> Result<f64, InvalidInput> {
    check_tanks(tanks)?;
    Ok(tanks.iter().map(|tank| tank.fill_limit_l - tank.unusable_l).sum())
}

/// Sum of the nominal capacities, litres: for showing what counting them would hide, never for a
/// verdict.
///
/// # Errors
/// As [`check_tanks`].
pub fn nominal_capacity_l(tanks: &[Tank]) -> Result<f64, InvalidInput> {
    check_tanks(tanks)?;
    Ok(tanks.iter().map(|tank| tank.capacity_l).sum())
}
