//! Spares: cover against Poisson demand and the best kit under a mass budget.
//!
//! - [`demand`]: rates with their provenance, exposure, and pooling over fitments that interchange.
//! - [`rate`]: a rate from counted failures, with its confidence interval.
//! - [`cover`]: the chance that a stock suffices, and the expected number of needs it leaves open.
//! - [`kit`]: the efficient frontier of kits by marginal analysis.
//! - [`exact`]: the proven best kit of a small case.
//! - [`best`]: the better of the two under a mass budget: what a quartermaster asks for.
//! - [`placement`]: which vehicle carries which spare.
//! - [`convoy`]: all of it together for what is given: pools, cover of the kit aboard, what to add.
//! - [`advice`]: the best kit under the budget and where to carry it.
//! - [`recorded`]: the same from the record.
//! - [`issues`]: what stands against the spares sufficing.
//!
//! Demand is taken as Poisson with a constant rate: failures independent of each other and of age. A worn
//! part, or a bad road that breaks the same part on every vehicle, does not keep to that.

pub mod advice;
pub mod best;
pub mod convoy;
pub mod cover;
pub mod demand;
pub mod exact;
pub mod issues;
pub mod kit;
pub mod placement;
pub mod rate;
pub mod recorded;

/// Version of the formulas. It changes when a result may change for the same data.
pub const FORMULA_VERSION: &str = "spares/1";

/// What to show with every result.
pub const CAUTION: &str = "Cover is no better than its rates, and takes failures as independent: a worn batch or a bad \
     track that breaks the same part on every vehicle does not keep to that.";

/// Longest list of fitments, spares or vehicles that one calculation takes.
pub const ITEMS_MAX: usize = 1_000;

/// Highest mean demand of one spare over a departure.
pub const MEAN_MAX: f64 = 500.0;

/// Largest stock of one spare.
pub const STOCK_MAX: u32 = 10_000;

/// Lightest spare, kg.
pub const MASS_LEAST_KG: f64 = 0.001;

/// Heaviest spare, kg.
pub const MASS_MAX_KG: f64 = 10_000.0;
