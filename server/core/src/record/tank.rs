//! What the sums about a tank need beyond its capacity, and what a policy asks of tanks.

use crate::tanks::{CellChain, Division, Draw, Shape};

/// How a tank is built.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TankBuild {
    /// Brimful volume, of a set of containers together, litres. `None`: that of the inside.
    pub brimful_l: Option<f64>,
    /// Its inside. `None`: not known.
    pub inside: Option<TankInside>,
    /// The pump that draws from it. `None`: not known.
    pub pump: Option<Draw>,
    /// Its walls. `None`: not known.
    pub walls: Option<TankWalls>,
}

/// The inside of a tank, or of one of a set of equal containers.
#[derive(Debug, Clone, PartialEq)]
pub struct TankInside {
    /// Shape of one.
    pub shape: Shape,
    /// Equal containers that the tank is a set of, 1 or more.
    pub count: u32,
    /// Its cells in a row along the vehicle. `None`: not divided across.
    pub chain: Option<CellChain>,
    /// Walls that run along the vehicle, from left to right.
    pub lengthwise_walls: Vec<Division>,
}

/// The walls of a tank.
#[derive(Debug, Clone, PartialEq)]
pub struct TankWalls {
    /// Thickness of the sheet, millimetres.
    pub thickness_mm: f64,
    /// Young's modulus, gigapascals.
    pub modulus_gpa: f64,
    /// Yield strength, megapascals. `None`: not known.
    pub yield_mpa: Option<f64>,
    /// Sides of the flat bays, millimetres; at least one.
    pub bays_mm: Vec<(f64, f64)>,
}

/// What a policy asks of the tanks of every vehicle that goes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TankPolicy {
    /// Temperature of fuel when it is filled, degrees Celsius. `None`: not known.
    pub fill_temperature_c: Option<f64>,
    /// Hottest temperature that fuel reaches, degrees Celsius. `None`: not known.
    pub hottest_temperature_c: Option<f64>,
    /// Greatest share of the brimful volume that fuel may take when hottest. `None`: 0.98.
    pub fill_share_max: Option<f64>,
    /// Whether a pump draws air while more is left than counts as unusable.
    pub pump_flow: bool,
    /// Pressure of the leak test, kilopascals. `None`: walls are not asked about.
    pub leak_test_kpa: Option<f64>,
    /// Greatest share of the yield strength that walls may reach. `None`: 1.
    pub yield_share_max: Option<f64>,
    /// Most apparent rise of the centre of mass by free surfaces, millimetres. `None`: not asked about.
    pub free_surface_rise_max_mm: Option<f64>,
}
