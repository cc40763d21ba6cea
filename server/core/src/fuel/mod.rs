//! Fuel over the legs of a departure: consumption, drawdown, reserve, sharing over the convoy.
//!
//! The order of the sums, each in its own file:
//!
//! 1. [`consumption`]: litres per leg of one vehicle, from rates whose origin is stated;
//!    [`rolling`] derives a rate where none was measured; [`log`] corrects rates by a fuel log.
//! 2. [`tank`]: what of the fuel aboard can be used; [`drawdown`]: every tank after every leg.
//! 3. [`reserve`] and [`requirement`]: what each interval between confirmed fuel points asks for.
//! 4. [`chance`]: how likely a vehicle is to run short; [`sampling`] checks it by drawing.
//! 5. [`sharing`]: what vehicles of one fuel kind can give each other, and where; [`extra`]: the
//!    least to carry in addition.
//!
//! Everything counts **usable** litres. Nominal capacity appears only so that the difference can be
//! shown. Fuel points that are not confirmed count as nothing.
//!
//! Caution: a computed sufficiency is no more than its rates. Fuel vapour burns: move fuel between
//! vehicles in the open, engines off, earthed, in approved containers, away from flames.

pub mod chance;
pub mod consumption;
pub mod drawdown;
pub mod error;
pub mod extra;
pub mod log;
pub mod requirement;
pub mod reserve;
pub mod rolling;
pub mod sampling;
pub mod sharing;
pub mod tank;

pub use error::FuelError;
pub use tank::{Feed, FuelKind, Tank};
