//! Energy budget, battery, inverter and welder, cables and fuses.
//!
//! Every calculation takes plain numbers, so that each also serves alone at the bench. One topic a file:
//!
//! - [`budget`]: what the devices take in a day.
//! - [`battery`] and [`peukert`]: what the bank gives, at which current and temperature.
//! - [`charging`]: what alternator and panels put back.
//! - [`autonomy`]: how many days that lasts, and the balance over a sequence of periods.
//! - [`inverter`], [`welder`] and [`battery_welding`]: what can be welded from the battery or a generator, and
//!   which limit binds.
//! - [`cable`] and [`fuse`]: conductor size, voltage drop, protection.
//! - [`generator`]: whether the generator can stay at home.
//! - [`recorded`] and its neighbours read all that from the record and say what it means for a departure.

pub mod autonomy;
pub mod battery;
pub mod battery_welding;
pub mod budget;
pub mod cable;
pub mod cautions;
pub mod charging;
pub mod fuse;
pub mod generator;
pub mod inverter;
pub mod peukert;
pub mod recorded;
pub mod recorded_circuits;
pub mod recorded_generator;
pub mod recorded_issues;
pub mod welder;

/// Longest list of devices, demands, days or items that one calculation takes.
pub const ITEMS_MAX: usize = 1_000;

/// Lowest and highest direct voltage that these calculations cover: extra-low voltage as on vehicles.
pub const DC_VOLTAGE_V: std::ops::RangeInclusive<f64> = 1.0..=120.0;

/// Lowest and highest efficiency taken as meant: outside it a percentage or a typing error is likelier.
pub const EFFICIENCY: std::ops::RangeInclusive<f64> = 0.05..=1.0;

/// Highest current covered, in amperes.
pub const CURRENT_MAX_A: f64 = 100_000.0;

/// Highest power covered, in watts or volt-amperes.
pub const POWER_MAX_W: f64 = 1_000_000.0;
