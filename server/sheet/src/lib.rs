//! Load sheets as files, from the API's `LoadSheet` message, so that a sheet issued long ago is written from what was
//! frozen then and not from what the record says now; plans as files; and pictures of results.
//!
//! The JSON form is the message's own and is written by the server; the other forms are here.

mod comma_separated;
mod drawing;
mod load_run;
mod plan;
mod plan_data;
mod plan_masses;
mod plan_view;
mod speeds;
mod words;

pub use comma_separated::{SheetError, comma_separated};
pub use load_run::{LoadRun, RunningLoad, load_run};
pub use plan::plan_files;
pub use plan_data::{HeldLoad, PlanMass, PlanView, plan_of};
pub use plan_view::plan_view;
pub use speeds::speed_picture;
