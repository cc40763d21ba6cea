//! What is known and asked about spares.

use super::{Id, Name};
use crate::spares::demand::{DemandRate, RateProvenance};

/// How often one fitted piece of a part needs a spare, and where that comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct SpareDemand {
    /// The rate of one.
    pub rate: DemandRate,
    /// Where it comes from. `None`: not stated.
    pub provenance: Option<RateProvenance>,
}

/// Spares that a cargo item is or holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpareContent {
    /// The part.
    pub part: Name,
    /// Pieces of it in one item, 1 or more.
    pub pieces: u32,
}

/// What the lead asks of the spares of a departure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SparesPolicy {
    /// What spares are asked about, each kind of slot once.
    pub needs: Vec<SpareNeed>,
    /// Least chance that none of them runs out, 0 to 1. `None`: not known.
    pub cover_min: Option<f64>,
    /// Most that the spares asked about may weigh, kilograms. `None`: no budget.
    pub mass_budget_kg: Option<f64>,
}

/// Parts of one kind of slot, for which spares are asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct SpareNeed {
    /// Kind of slot.
    pub slot_kind: Id,
    /// Demand of one fitted part that states none itself. `None`: then not known.
    pub demand: Option<SpareDemand>,
    /// How much an open need counts against the others, above 0.
    pub importance: f64,
}
