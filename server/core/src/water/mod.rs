//! Water and food for people over the intervals between confirmed points.
//!
//! - [`need`]: litres for people over days, with a reserve, never below a stated minimum.
//! - [`intervals`]: the need between confirmed drinkable points against what is carried.
//! - [`loss`]: what is left when the largest container is lost, and when a vehicle is alone.
//! - [`food`]: food aboard against days and reserve.
//!
//! Caution: these are quantities to carry, not how much to drink. Heat illness threatens those who
//! drink too little, and drinking far beyond sweat loss is dangerous too: United States Army guidance
//! caps drinking at about 1.4 litres per hour and 11.4 litres per day (fluid table of a post's
//! preventive medicine service, read).

pub mod food;
pub mod intervals;
pub mod loss;
pub mod need;

pub use need::{WaterNeed, WaterPolicy, water_need};
