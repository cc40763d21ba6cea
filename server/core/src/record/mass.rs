//! Masses with their provenance, and positions.

/// How a mass is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MassProvenance {
    /// Put on a scale.
    Weighed,
    /// Taken from a maker's or supplier's figures.
    Catalogue,
    /// Estimated.
    Estimated,
}

/// A mass, how it is known and how well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mass {
    /// Kilograms, finite, 0 or more.
    pub mass_kg: f64,
    /// How it is known.
    pub provenance: MassProvenance,
    /// Standard tolerance (one standard deviation), kilograms. `None`: not stated.
    pub tolerance_kg: Option<f64>,
}

/// Where a thing is, in the right-handed vehicle frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Millimetres aft of the front axle centre.
    pub x_mm: f64,
    /// Millimetres to the right of the centre plane.
    pub y_mm: f64,
    /// Millimetres above ground at reference ride height. `None`: not known.
    pub z_mm: Option<f64>,
}
