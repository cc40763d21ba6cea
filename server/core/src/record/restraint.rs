//! How a thing is held.

use crate::restraint::LashingGroup;

/// How a thing is held: by what it bears against or is bolted to, by lashings, by friction. What is `None`
/// is not known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Restraint {
    /// The means, in words.
    pub method: String,
    /// What it bears against or is bolted to holds forward, newtons, 0 or more.
    pub capacity_forward_n: Option<f64>,
    /// The same rearward.
    pub capacity_rearward_n: Option<f64>,
    /// The same to either side: the weaker of the two.
    pub capacity_sideways_n: Option<f64>,
    /// The same upward.
    pub capacity_upward_n: Option<f64>,
    /// Friction coefficient between it and what it stands on, 0 to 1.5.
    pub friction: Option<f64>,
    /// The vehicle's structure contains it on all sides and above.
    pub fully_contained: bool,
    /// Its length along the vehicle, millimetres.
    pub length_mm: Option<f64>,
    /// Its lashings, in groups of equal ones.
    pub lashings: Vec<LashingGroup>,
}

/// A standard that a departure may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RestraintStandard {
    /// Load Restraint Guide 2018, Australia.
    AustralianGuide2018,
    /// EN 12195-1:2010.
    En12195Part1Of2010,
    /// 49 CFR 393, United States.
    Us49Cfr393,
}

/// The lashing with which a team closes shortfalls, set directly against the movement.
#[derive(Debug, Clone, PartialEq)]
pub struct ClosingLashing {
    /// What it is, for example `strap 25 mm`.
    pub name: String,
    /// Ratings of one.
    pub ratings: crate::restraint::Ratings,
    /// Its angle to the deck, degrees, 0 to 90.
    pub angle_to_deck_deg: f64,
}
