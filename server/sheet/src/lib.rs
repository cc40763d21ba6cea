//! Load sheets as files, from the core's [`LoadSheet`](ostler_core::sheet::LoadSheet).
//!
//! The JSON form is the API message's own and is written by the server; the other forms are here.

mod comma_separated;

pub use comma_separated::{SheetError, comma_separated};
