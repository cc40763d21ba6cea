//! Weighings.

use std::collections::BTreeMap;

use super::{Date, Id, Mass, Name, Position, TankFill};

/// Scale readings and what was aboard.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighing {
    /// Its name.
    pub name: Name,
    /// The vehicle.
    pub vehicle: Name,
    /// When.
    pub weighed_date: Date,
    /// Number of the ticket.
    pub ticket: String,
    /// What the scale read.
    pub readings: Option<Readings>,
    /// Standard tolerance of each reading, kilograms.
    pub tolerance_kg: Option<f64>,
    /// Litres aboard; tanks not listed were empty.
    pub fills: Vec<TankFill>,
    /// People aboard.
    pub people: Vec<AboardMass>,
    /// Other things aboard that do not belong to the baseline.
    pub other: Vec<AboardMass>,
    /// The parts fitted then, by slot; `None` for a slot that was empty.
    pub fitted_parts: BTreeMap<Id, Option<Name>>,
    /// What the baseline includes, in words.
    pub includes: Vec<String>,
    /// Heights measured in the same state.
    pub heights: Option<Heights>,
}

/// Heights measured on a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Heights {
    /// The floor is stated to be level.
    pub floor_level: bool,
    /// What the tape read.
    pub readings: Vec<HeightReading>,
}

/// One measured height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightReading {
    /// Where.
    pub wheel: WheelPosition,
    /// From where to where.
    pub kind: HeightKind,
    /// The reading, millimetres.
    pub height_mm: f64,
    /// Standard tolerance of the reading, millimetres. `None`: not stated.
    pub tolerance_mm: Option<f64>,
}

/// One of the four wheels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WheelPosition {
    /// Front left.
    FrontLeft,
    /// Front right.
    FrontRight,
    /// Rear left.
    RearLeft,
    /// Rear right.
    RearRight,
}

/// From where to where a height was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeightKind {
    /// Wheel arch down to the floor beside the tyre.
    ArchToFloor,
    /// Wheel arch to a level line, given as if the line lay at the ground.
    ArchToLevelLine,
    /// Hub centre up to the arch.
    HubToArch,
}

/// What the scale read, kilograms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Readings {
    /// One reading per axle.
    Axles {
        /// Front axle.
        front_kg: f64,
        /// Rear axle.
        rear_kg: f64,
    },
    /// One reading per wheel.
    Wheels {
        /// Front left.
        front_left_kg: f64,
        /// Front right.
        front_right_kg: f64,
        /// Rear left.
        rear_left_kg: f64,
        /// Rear right.
        rear_right_kg: f64,
    },
}

impl Readings {
    /// What stood on the front and on the rear axle, kilograms.
    pub fn axles_kg(&self) -> (f64, f64) {
        match *self {
            Self::Axles { front_kg, rear_kg } => (front_kg, rear_kg),
            Self::Wheels {
                front_left_kg,
                front_right_kg,
                rear_left_kg,
                rear_right_kg,
            } => (front_left_kg + front_right_kg, rear_left_kg + rear_right_kg),
        }
    }
}

/// A mass that was aboard and where it sat.
#[derive(Debug, Clone, PartialEq)]
pub struct AboardMass {
    /// What it was.
    pub display_name: String,
    /// Its mass.
    pub mass: Mass,
    /// Where it sat.
    pub position: Position,
}
