//! A vehicle: what it was built with, and what is fitted.

use std::collections::BTreeMap;

use super::{
    CentreHeight, Date, DrivelineSpecification, ElectricalSystem, Fact, Hand, Id, Mass, Name, Position,
    Requirement, Restraint, Suspension, TankBuild, TyrePlacard,
};

/// One vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Vehicle {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// Its task in the convoy.
    pub role: String,
    /// Kind of vehicle that compatibility notes speak about.
    pub kind: Option<Id>,
    /// What it was built with.
    pub specification: Specification,
    /// The weighing that loads are computed from. `None`: the declared mass.
    pub baseline_weighing: Option<Name>,
    /// What is fitted, by slot.
    pub fitments: BTreeMap<Id, Fitment>,
}

/// What a vehicle was built with.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Specification {
    /// Front axle centre to rear axle centre, millimetres, positive.
    pub wheelbase_mm: Option<f64>,
    /// Track of the front axle, millimetres.
    pub front_track_mm: Option<f64>,
    /// Track of the rear axle, millimetres.
    pub rear_track_mm: Option<f64>,
    /// The most the vehicle may weigh, kilograms.
    pub gross_mass_kg: Option<f64>,
    /// The gross mass before any re-rating, kilograms.
    pub original_gross_mass_kg: Option<f64>,
    /// The most the front axle may carry, kilograms.
    pub front_axle_rating_kg: Option<f64>,
    /// The most the rear axle may carry, kilograms.
    pub rear_axle_rating_kg: Option<f64>,
    /// Mass as the maker declares it.
    pub declared_mass: Option<DeclaredMass>,
    /// What the roof may carry.
    pub roof: Option<Roof>,
    /// Tanks and containers that belong to the vehicle.
    pub tanks: Vec<Tank>,
    /// Places that hold one part each.
    pub slots: Vec<Slot>,
    /// Named stowage places.
    pub zones: Vec<Zone>,
    /// The side the driver sits on.
    pub driver_side: Option<Hand>,
    /// What carries it.
    pub suspension: Option<Suspension>,
    /// What drives it.
    pub driveline: Option<DrivelineSpecification>,
    /// What stores, makes and takes electrical energy. `None`: not known.
    pub electrical: Option<ElectricalSystem>,
    /// The tyre that the placard names.
    pub tyre_placard: Option<TyrePlacard>,
    /// Height of the centre of mass. `None`: not known.
    pub centre_height: Option<CentreHeight>,
}

impl Specification {
    /// The slot `id`.
    pub fn slot(&self, id: &str) -> Option<&Slot> {
        self.slots.iter().find(|slot| &*slot.id == id)
    }

    /// The tank `id`.
    pub fn tank(&self, id: &str) -> Option<&Tank> {
        self.tanks.iter().find(|tank| &*tank.id == id)
    }

    /// The zone `id`.
    pub fn zone(&self, id: &str) -> Option<&Zone> {
        self.zones.iter().find(|zone| &*zone.id == id)
    }
}

/// A declared mass and the state it is declared in.
#[derive(Debug, Clone, PartialEq)]
pub struct DeclaredMass {
    /// Kilograms.
    pub mass_kg: f64,
    /// Share on the front axle, kilograms.
    pub front_axle_kg: Option<f64>,
    /// Fuel aboard in that state.
    pub fuel: Vec<TankFill>,
    /// Kilograms of driver included, 0 when none.
    pub driver_kg: Option<f64>,
    /// Anything else the state says.
    pub state: String,
    /// Standard tolerance, kilograms.
    pub tolerance_kg: Option<f64>,
}

/// Limits of the roof.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Roof {
    /// Most the roof may carry, the rack included, kilograms. 0: no roof load allowed.
    pub limit_kg: Option<f64>,
    /// Mass of the rack, kilograms.
    pub rack_mass_kg: Option<f64>,
    /// Rating of the rack for load on it, kilograms.
    pub rack_rating_kg: Option<f64>,
    /// Share of the rack's rating allowed off road. `None`: 1.
    pub rack_offroad_factor: Option<f64>,
}

/// What a tank or container holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fluid {
    /// Diesel fuel.
    Diesel,
    /// Petrol.
    Petrol,
    /// Drinking water.
    Water,
}

impl Fluid {
    /// Whether it is a fuel.
    pub fn is_fuel(self) -> bool {
        matches!(self, Self::Diesel | Self::Petrol)
    }

    /// The trade's word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Diesel => "diesel",
            Self::Petrol => "petrol",
            Self::Water => "water",
        }
    }
}

/// How a tank is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TankMounting {
    /// Fixed to the vehicle.
    Fixed,
    /// A container carried in or on the vehicle.
    Container,
}

/// A tank, or a set of equal containers kept in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Id within the vehicle.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// What it holds.
    pub fluid: Fluid,
    /// How it is held.
    pub mounting: TankMounting,
    /// Nominal capacity, litres, positive.
    pub capacity_l: f64,
    /// Part of the capacity that cannot be drawn, litres.
    pub unusable_l: Option<f64>,
    /// Mass of the empty container where the baseline does not hold it.
    pub empty_mass: Option<Mass>,
    /// Centre of the contents.
    pub position: Position,
    /// Anything worth knowing.
    pub note: String,
    /// How it is held. `None`: not known; what is fixed needs no record of it.
    pub restraint: Option<Restraint>,
    /// What its sums need beyond its capacity.
    pub build: TankBuild,
}

/// Litres in a tank.
#[derive(Debug, Clone, PartialEq)]
pub struct TankFill {
    /// Id of the tank in the vehicle.
    pub tank: Id,
    /// Litres, 0 or more.
    pub volume_l: f64,
}

/// System of a vehicle that a slot belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VehicleSystem {
    /// Engine and what it needs.
    Engine,
    /// Clutch, gearbox, transfer case, shafts, axles.
    Driveline,
    /// Springs, dampers, arms, steering.
    Suspension,
    /// Wheels, tyres, hubs, studs.
    Wheels,
    /// Brakes, parking brake included.
    Brakes,
    /// Tanks, lines, pumps, filters.
    Fuel,
    /// Batteries, alternator, wiring, radios.
    Electrical,
    /// Body, racks, carriers, seats.
    Body,
}

/// A place in the vehicle that holds one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Slot {
    /// Id within the vehicle, for example `spring.rear.left`.
    pub id: Id,
    /// Kind of slot that checklists speak about, for example `spring`.
    pub kind: Id,
    /// System it belongs to.
    pub system: VehicleSystem,
    /// Centre of the part.
    pub position: Option<Position>,
    /// What its neighbours ask of the part in it.
    pub requirements: Vec<Requirement>,
}

/// A named stowage place.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Id within the vehicle.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// Its centre.
    pub position: Option<Position>,
    /// Most it may hold, kilograms. `None`: no limit of its own.
    pub limit_kg: Option<f64>,
    /// Its contents count against the roof's limits.
    pub on_roof: bool,
    /// Inside the space where people sit.
    pub occupant_space: bool,
}

/// Which part is in a slot now, since when.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitment {
    /// Its name.
    pub name: Name,
    /// The part. `None`: the slot is empty.
    pub part: Option<Name>,
    /// Since when. `None`: not known, but before any weighing.
    pub fitted_date: Option<Date>,
    /// Facts about how it is fitted.
    pub facts: BTreeMap<Id, Fact>,
    /// The substitution that put it there.
    pub substitution: Option<Name>,
    /// Anything worth knowing.
    pub note: String,
}
