//! Stowage: which cargo goes into which zone of which vehicle, so that every limit holds, the smallest
//! relative margin of the convoy is as large as it can be, and as little as possible is moved.
//!
//! - [`from_record()`] makes the [`Convoy`] of a departure: what may be placed, where, and what everything
//!   else loads in every load state. It uses the loads of [`crate::loads`], so that what is promised here
//!   is what they give once the moves are made.
//! - [`solve()`] searches (seeded annealing), bounds what any placement could reach (linear programme, and
//!   for small convoys an enumeration), and says which limit binds, by which items, and what to move.
//! - [`explanation()`] says it in sentences.
//! - [`margins`] holds any placement against the limits.
//!
//! The relative margin of a limit is `(limit - load) / limit`, at the load state where it is smallest. It
//! counts masses as recorded: their uncertainty is judged by the gates, not here.
//!
//! Every load is linear in what is placed where, so the linear programme, in which items may be split over
//! zones, bounds the margin from above; that is the proof behind the gap.

mod anneal;
mod bound;
mod enumerate;
mod explain;
mod frame;
mod from_record;
mod model;
mod prepare;
mod result;
mod rows;
mod solve;
mod state;
mod terms;

pub use explain::explanation;
pub use frame::Limit;
pub use from_record::{FromRecord, LeftOut, LeftOutItem, from_record};
pub use model::{
    Ban, BaseLoad, Convoy, ConvoyVehicle, ConvoyZone, ITEMS_MAX, Item, OwnPlace, Place, STATES_MAX,
    VEHICLES_MAX, ZONES_MAX,
};
pub use result::{Binding, ItemLoad, LimitMargin, LimitRef, Move, Stowage, margins};
pub use solve::{Progress, STEPS_MAX, SolveOptions, Unwatched, Watch, solve};
pub use terms::{ROOF_ITEM_MAX_KG, Subject, Terms, Whereto};

/// Version of the formulas of this module. It changes when a result may change for the same question.
pub const FORMULA_VERSION: &str = "stowage/1";

/// What to show with every proposal.
pub const CAUTION: &str = "A proposed stowage looks after masses, axles and zone limits only: whether an item fits, \
                           can be reached and is held there is for whoever loads it to judge.";
