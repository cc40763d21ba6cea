//! The question: vehicles with zones, limits and base loads, and the items to place.

use std::collections::BTreeSet;
use std::fmt::Display;

use crate::check::{Check, InvalidInput, element};
use crate::record::{Id, Name};

/// Most vehicles.
pub const VEHICLES_MAX: usize = 50;
/// Most zones over all vehicles.
pub const ZONES_MAX: usize = 1_000;
/// Most items.
pub const ITEMS_MAX: usize = 2_000;
/// Most load states of one vehicle.
pub const STATES_MAX: usize = 200;
/// Largest mass, load or limit, kilograms.
const MASS_MAX_KG: f64 = 1e6;
/// Largest distance from the front axle or the centre plane, millimetres.
const DISTANCE_MAX_MM: f64 = 1e5;

/// Vehicles and what is to be placed in them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Convoy {
    /// The vehicles, each named once.
    pub vehicles: Vec<ConvoyVehicle>,
    /// The items, each named once.
    pub items: Vec<Item>,
    /// Items (by index) that go into the same vehicle. An item is in at most one group.
    pub groups: Vec<Vec<usize>>,
}

/// A vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct ConvoyVehicle {
    /// Its name.
    pub name: Name,
    /// Front axle centre to rear axle centre, millimetres, positive.
    pub wheelbase_mm: f64,
    /// The most it may weigh, kilograms, 0 or more as every limit.
    pub gross_mass_kg: f64,
    /// The most the front axle may carry, kilograms.
    pub front_axle_rating_kg: f64,
    /// The most the rear axle may carry, kilograms.
    pub rear_axle_rating_kg: f64,
    /// The most that may lie on the roof, the rack not counted, kilograms. `None`: not known or no roof to
    /// load; nothing is put there.
    pub roof_limit_kg: Option<f64>,
    /// The largest sideways moment either way, kilogram metres. `None`: not looked after.
    pub lateral_limit_kgm: Option<f64>,
    /// Where things can go, each named once.
    pub zones: Vec<ConvoyZone>,
    /// What everything that is not an item loads, in every load state; at least one.
    pub states: Vec<BaseLoad>,
}

/// A stowage place.
#[derive(Debug, Clone, PartialEq)]
pub struct ConvoyZone {
    /// Its id.
    pub id: Id,
    /// Where a thing put into it sits, millimetres aft of the front axle.
    pub x_mm: f64,
    /// Millimetres to the right of the centre plane.
    pub y_mm: f64,
    /// Millimetres above ground, carried along for whoever writes the move down. `None`: not known.
    pub z_mm: Option<f64>,
    /// The most it may hold, kilograms. `None`: no limit of its own.
    pub limit_kg: Option<f64>,
    /// Counts against the roof's limit.
    pub on_roof: bool,
    /// Inside the space where people sit.
    pub occupant_space: bool,
}

/// What a vehicle carries besides the items, in one load state.
#[derive(Debug, Clone, PartialEq)]
pub struct BaseLoad {
    /// Which.
    pub load_state: String,
    /// Mass, kilograms.
    pub total_kg: f64,
    /// On the front axle, kilograms.
    pub front_axle_kg: f64,
    /// On the rear axle, kilograms.
    pub rear_axle_kg: f64,
    /// On the roof, kilograms.
    pub roof_kg: f64,
    /// Sideways moment, kilogram metres, positive to the right.
    pub lateral_moment_kgm: f64,
    /// In each zone, in the order of the zones, kilograms.
    pub zones_kg: Vec<f64>,
    /// Share of consumed items that is left, 0 to 1.
    pub consumed_share_left: f64,
}

/// A thing to place; it goes whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its name.
    pub name: Name,
    /// All of it, kilograms, 0 or more.
    pub mass_kg: f64,
    /// Used up under way.
    pub consumed: bool,
    /// Where it is. `None`: not stowed.
    pub now: Option<Place>,
    /// It stays where it is, also where a ban speaks against it.
    pub pinned: bool,
    /// Where it may not be.
    pub bans: Vec<Ban>,
}

/// Where an item is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Index of the vehicle.
    pub vehicle: usize,
    /// Index of the zone in it.
    pub zone: usize,
    /// Where in the zone. `None`: where things in it sit.
    pub own: Option<OwnPlace>,
}

/// A place of an item's own within its zone, lost when it is moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnPlace {
    /// Millimetres aft of the front axle.
    pub x_mm: f64,
    /// Millimetres to the right of the centre plane.
    pub y_mm: f64,
}

/// Where an item may not be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ban {
    /// On any roof.
    Roof,
    /// Inside any space where people sit.
    OccupantSpace,
    /// In a vehicle, by index.
    Vehicle(usize),
    /// In a zone, by index of the vehicle and of the zone in it.
    Zone(usize, usize),
}

impl Convoy {
    /// Checks the question.
    ///
    /// # Errors
    /// Every violation, with its field's path: a number out of range or not finite, an index that leads
    /// nowhere, a name given twice, too much of something.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        count(&mut check, "vehicles", self.vehicles.len(), VEHICLES_MAX);
        count(&mut check, "items", self.items.len(), ITEMS_MAX);
        let zones = self.vehicles.iter().map(|vehicle| vehicle.zones.len()).sum();
        count(&mut check, "vehicles.zones", zones, ZONES_MAX);
        if !check.passes() {
            return check.finish();
        }
        let mut names = BTreeSet::new();
        for (index, vehicle) in self.vehicles.iter().enumerate() {
            let path = format!("vehicles[{index}]");
            if !names.insert(&vehicle.name) {
                check.refuse(
                    format_args!("{path}.name"),
                    format!("is given twice: {}", vehicle.name),
                );
            }
            check.merge(&path, vehicle.check());
        }
        let mut names = BTreeSet::new();
        for (index, item) in self.items.iter().enumerate() {
            let path = format!("items[{index}]");
            if !names.insert(&item.name) {
                check.refuse(
                    format_args!("{path}.name"),
                    format!("is given twice: {}", item.name),
                );
            }
            check.merge(&path, self.check_item(item));
        }
        let mut grouped = BTreeSet::new();
        for (index, group) in self.groups.iter().enumerate() {
            for (at, item) in group.iter().enumerate() {
                let path = format!("groups[{index}][{at}]");
                if *item >= self.items.len() {
                    check.refuse(path, format!("must be an item, is {item}"));
                } else if !grouped.insert(*item) {
                    check.refuse(path, format!("must be in one group only: item {item}"));
                }
            }
        }
        check.finish()
    }

    fn check_item(&self, item: &Item) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("mass_kg", item.mass_kg, 0.0, MASS_MAX_KG);
        if let Some(place) = &item.now {
            self.check_zone(&mut check, "now", place.vehicle, place.zone);
            if let Some(own) = place.own {
                distance(&mut check, "now.own.x_mm", own.x_mm);
                distance(&mut check, "now.own.y_mm", own.y_mm);
            }
        } else if item.pinned {
            check.refuse("pinned", "must not be set of an item that is nowhere");
        }
        for (index, ban) in item.bans.iter().enumerate() {
            let path = format!("bans[{index}]");
            match *ban {
                Ban::Roof | Ban::OccupantSpace => {}
                Ban::Vehicle(vehicle) if vehicle < self.vehicles.len() => {}
                Ban::Vehicle(vehicle) => check.refuse(path, format!("must be a vehicle, is {vehicle}")),
                Ban::Zone(vehicle, zone) => self.check_zone(&mut check, &path, vehicle, zone),
            }
        }
        check.finish()
    }

    fn check_zone(&self, check: &mut Check, field: &str, vehicle: usize, zone: usize) {
        let known = self
            .vehicles
            .get(vehicle)
            .is_some_and(|vehicle| zone < vehicle.zones.len());
        if !known {
            check.refuse(
                field,
                format!("must be a zone, is zone {zone} of vehicle {vehicle}"),
            );
        }
    }
}

impl ConvoyVehicle {
    fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("wheelbase_mm", self.wheelbase_mm, 100.0, DISTANCE_MAX_MM);
        for (field, limit_kg) in [
            ("gross_mass_kg", Some(self.gross_mass_kg)),
            ("front_axle_rating_kg", Some(self.front_axle_rating_kg)),
            ("rear_axle_rating_kg", Some(self.rear_axle_rating_kg)),
            ("roof_limit_kg", self.roof_limit_kg),
            ("lateral_limit_kgm", self.lateral_limit_kgm),
        ] {
            if let Some(limit_kg) = limit_kg {
                check.between(field, limit_kg, 0.0, MASS_MAX_KG);
            }
        }
        let mut ids = BTreeSet::new();
        for (index, zone) in self.zones.iter().enumerate() {
            let path = |field| element("zones", index, field);
            if !ids.insert(&zone.id) {
                check.refuse(path("id"), format!("is given twice: {}", zone.id));
            }
            distance(&mut check, path("x_mm"), zone.x_mm);
            distance(&mut check, path("y_mm"), zone.y_mm);
            if let Some(limit_kg) = zone.limit_kg {
                check.between(path("limit_kg"), limit_kg, 0.0, MASS_MAX_KG);
            }
        }
        if self.states.is_empty() {
            check.refuse("states", "must be at least one");
        }
        count(&mut check, "states", self.states.len(), STATES_MAX);
        for (index, state) in self.states.iter().enumerate() {
            check.merge(format_args!("states[{index}]"), state.check(self.zones.len()));
        }
        check.finish()
    }
}

impl BaseLoad {
    fn check(&self, zones: usize) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        for (field, load) in [
            ("total_kg", self.total_kg),
            ("front_axle_kg", self.front_axle_kg),
            ("rear_axle_kg", self.rear_axle_kg),
            ("roof_kg", self.roof_kg),
            ("lateral_moment_kgm", self.lateral_moment_kgm),
        ] {
            check.between(field, load, -MASS_MAX_KG, MASS_MAX_KG);
        }
        check.between("consumed_share_left", self.consumed_share_left, 0.0, 1.0);
        if self.zones_kg.len() == zones {
            for (index, load_kg) in self.zones_kg.iter().enumerate() {
                check.between(format_args!("zones_kg[{index}]"), *load_kg, 0.0, MASS_MAX_KG);
            }
        } else {
            let problem = format!("must be one per zone ({zones}), are {}", self.zones_kg.len());
            check.refuse("zones_kg", problem);
        }
        check.finish()
    }
}

fn count(check: &mut Check, field: &str, count: usize, most: usize) {
    if count > most {
        check.refuse(field, format!("must be at most {most}, are {count}"));
    }
}

fn distance(check: &mut Check, field: impl Display, distance_mm: f64) {
    check.between(field, distance_mm, -DISTANCE_MAX_MM, DISTANCE_MAX_MM);
}
