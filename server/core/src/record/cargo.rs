//! Cargo items.

use super::{Id, Mass, Name, Position, Restraint, SpareContent, SpareWheel};

/// A thing carried.
#[derive(Debug, Clone, PartialEq)]
pub struct CargoItem {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub display_name: String,
    /// The vehicle it is on. `None`: not stowed.
    pub vehicle: Option<Name>,
    /// Zone of that vehicle.
    pub zone: Option<Id>,
    /// How many, 1 or more.
    pub quantity: u32,
    /// Mass of one.
    pub unit_mass: Option<Mass>,
    /// Centre of all of them together. `None`: the zone's.
    pub position: Option<Position>,
    /// What it is for.
    pub category: String,
    /// How it is held.
    pub restraint: Option<Restraint>,
    /// Used up under way.
    pub consumed: bool,
    /// The crossing must not start without it.
    pub critical: bool,
    /// What makes it dangerous.
    pub hazard: String,
    /// Other vehicles that count on it.
    pub shared_with: Vec<Name>,
    /// It stays where it is.
    pub pinned: bool,
    /// The wheel or tyre that it is, when it is a spare one. `None`: it is none.
    pub spare_wheel: Option<SpareWheel>,
    /// Spare parts that it is or holds; spare wheels are `spare_wheel`.
    pub spares: Vec<SpareContent>,
    /// What a proposed stowage must keep to besides.
    pub stowage_terms: StowageTerms,
}

/// Where a thing may not be stowed, and with what it goes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StowageTerms {
    /// On no roof.
    pub not_on_roof: bool,
    /// In no zone where people sit.
    pub not_in_occupant_space: bool,
    /// Not on these vehicles.
    pub not_on_vehicles: Vec<Name>,
    /// Not in these zones of these vehicles.
    pub not_in_zones: Vec<(Name, Id)>,
    /// Things with the same word here go onto the same vehicle.
    pub together: Option<Id>,
}

impl CargoItem {
    /// Whether it is a spare or holds one.
    pub(crate) fn carries_spares(&self) -> bool {
        self.spare_wheel.is_some() || !self.spares.is_empty()
    }

    /// Mass of all of them, kilograms. `None`: not known.
    pub fn mass_kg(&self) -> Option<f64> {
        self.unit_mass.map(|mass| mass.mass_kg * f64::from(self.quantity))
    }
}
