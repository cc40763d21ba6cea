//! The cargo list as CSV, for a spreadsheet: one line per cargo item.
//!
//! Columns are named as the fields of the API, in any order; an empty cell leaves a field open.
//! `true` stands for yes, vehicles are ids, and those of `shared_with` are separated by spaces. A text
//! that a spreadsheet would take for a formula has an apostrophe before it, which [`read()`] takes away again.
//!
//! A cargo item that has a restraint of which nothing is said reads back as one without.

mod cells;
mod columns;
mod read;
mod write;

#[cfg(test)]
mod tests;

pub(in crate::app) use read::{CargoRow, read};
pub(in crate::app) use write::write;
