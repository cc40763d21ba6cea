//! Height of the centre of mass of a vehicle.

use super::TankFill;
use crate::stability::AxleLift;

/// Height of the centre of mass of a vehicle as its baseline holds it: without fluids, people and cargo.
#[derive(Debug, Clone, PartialEq)]
pub struct CentreHeight {
    /// Where it comes from.
    pub source: CentreHeightSource,
    /// What was in the tanks while an axle was raised; tanks not listed were empty.
    pub fills: Vec<TankFill>,
    /// Who measured or estimated it, when and by what.
    pub provenance: String,
}

/// Where the height of a centre of mass comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum CentreHeightSource {
    /// An estimate of the state of the baseline.
    Estimate {
        /// Height above ground, millimetres.
        height_mm: f64,
        /// The tolerance that whoever estimates answers for, millimetres.
        tolerance_mm: f64,
    },
    /// Readings with one axle raised, nobody and no cargo aboard. The wheelbase in it is not used: that of the specification counts.
    RaisedAxle(AxleLift),
}
