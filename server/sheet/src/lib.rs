//! Load sheets as files, from the core's [`LoadSheet`](ostler_core::sheet::LoadSheet), and pictures of results.
//!
//! The JSON form of a sheet is the API message's own and is written by the server; the other forms are here.

mod comma_separated;
mod speeds;

pub use comma_separated::{SheetError, comma_separated};
pub use speeds::speed_picture;
