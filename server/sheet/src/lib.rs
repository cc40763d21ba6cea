//! Load sheets as files, from the API's `LoadSheet` message, so that a sheet issued long ago is written from what was
//! frozen then and not from what the record says now; plans as files; and pictures of results.
//!
//! The JSON form is the message's own and is written by the server; the other forms are here.

mod comma_separated;
mod plan;
mod speeds;
mod words;

pub use comma_separated::{SheetError, comma_separated};
pub use plan::plan_files;
pub use speeds::speed_picture;
