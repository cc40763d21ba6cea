//! Restraint of heavy items: what a standard asks for and what friction, lashings and blocking give.
//!
//! - [`standard`]: the standards as data, each with its source, how it was seen and its scope limits.
//! - [`lashing`]: tie-downs, direct lashings and blocks, and what each gives in a direction.
//! - [`mod@assess`]: required against provided per direction, the shortfall, and how many further
//!   lashings close it.
//! - [`us_rules`]: the counts and aggregates of 49 CFR 393.
//! - [`recorded`]: restraint as the record holds it, against what a departure asks.
//! - [`vehicle`]: everything that a vehicle carries, each thing by each standard asked.
//!
//! Forces are horizontal or upward, in newtons, and act one direction at a time.

pub mod assess;
mod holding;
pub mod lashing;
pub mod recorded;
pub mod standard;
pub mod us_rules;
pub mod vehicle;

pub use assess::{Assessment, Closing, Item, Remedy, Row, Verdict, assess};
pub use lashing::{Block, Geometry, LashingGroup, Lead, Ratings};
pub use recorded::{HeldThing, assess_held};
pub use standard::{Direction, Factors, Standard};
pub(crate) use vehicle::Aboard;
pub use vehicle::{HeldRecord, VehicleRestraint, assess_vehicle};

/// Version of how restraint is computed. It changes when an answer may change for the same record.
pub const FORMULA_VERSION: &str = "restraint/2";

/// What to show with a capacity that was only written down. Common practice, no source.
pub const RECORD_CAUTION: &str = "A recorded capacity is as good as whoever wrote it down: nets, elastic cords and drawer \
     catches have no rating unless it is marked.";

/// What to show with every restraint assessment.
pub const CAUTIONS: [&str; 4] = [
    "A strap's rating is not the mass that it restrains (Australian heavy-vehicle regulator's guidance, read).",
    "Rollover is not covered (same guidance, read).",
    "Tipping of tall items, the strength of the item itself and of the anchor points are not assessed here: the \
     weakest part of the chain counts.",
    "Check tension after the first kilometres and at every stop: corrugations let straps go slack (common practice, \
     no source).",
];
