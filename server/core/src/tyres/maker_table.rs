//! A tyre maker's table of load over pressure, interpolated and never left.

use super::pressure::{LOAD_MAX_KG, PRESSURE_MAX_KPA};
use crate::check::{Check, InvalidInput};

/// Most rows a table may have.
const ROWS_MAX: usize = 100;

/// One row of a maker's table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureRow {
    /// Cold pressure, kPa.
    pub pressure_kpa: f64,
    /// Load of one tyre at that pressure, kg.
    pub capacity_kg: f64,
}

/// A maker's table for one tyre in one fitting (single or dual): at least two rows, pressure and
/// capacity both rising.
///
/// Between rows it is interpolated linearly. Load rises with less than the first power of pressure, so
/// the straight line lies below the curve: it asks for a little more pressure, never for less.
#[derive(Debug, Clone, PartialEq)]
pub struct MakerTable {
    /// Rows, lowest pressure first.
    pub rows: Vec<PressureRow>,
    /// Which table this is: document, edition, page.
    pub source: String,
}

impl MakerTable {
    /// Checks the table.
    ///
    /// # Errors
    /// Fewer than two or more than 100 rows, numbers out of range, or rows that do not rise.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if !(2..=ROWS_MAX).contains(&self.rows.len()) {
            check.refuse(
                "rows",
                format!("must be 2 to {ROWS_MAX} rows, are {}", self.rows.len()),
            );
            return check.finish();
        }
        for (index, row) in self.rows.iter().enumerate() {
            check.between(
                format_args!("rows[{index}].pressure_kpa"),
                row.pressure_kpa,
                1.0,
                PRESSURE_MAX_KPA,
            );
            check.between(
                format_args!("rows[{index}].capacity_kg"),
                row.capacity_kg,
                1.0,
                LOAD_MAX_KG,
            );
        }
        for (index, pair) in self.rows.windows(2).enumerate() {
            if let [lower, upper] = pair
                && (upper.pressure_kpa <= lower.pressure_kpa || upper.capacity_kg <= lower.capacity_kg)
            {
                check.refuse(
                    format_args!("rows[{}]", index + 1),
                    "must rise in pressure and in capacity",
                );
            }
        }
        check.finish()
    }

    /// Capacity of one tyre in kg at a pressure within the table.
    ///
    /// # Errors
    /// A faulty table, or a pressure outside it: the table says nothing there.
    pub fn capacity_at_pressure_kg(&self, pressure_kpa: f64) -> Result<f64, InvalidInput> {
        self.check()?;
        let mut check = Check::new();
        check.finite("pressure_kpa", pressure_kpa);
        check.finish()?;
        let points = self.rows.iter().map(|row| (row.pressure_kpa, row.capacity_kg));
        interpolate(points, pressure_kpa).ok_or_else(|| {
            InvalidInput::one(
                "pressure_kpa",
                format!("is outside the maker's table, is {pressure_kpa}"),
            )
        })
    }

    /// Lowest pressure in kPa at which one tyre carries `load_kg`: the table's lowest pressure for loads
    /// below it, `None` for loads above it.
    ///
    /// # Errors
    /// A faulty table, or a load that is negative or not finite.
    pub fn pressure_for_load_kpa(&self, load_kg: f64) -> Result<Option<f64>, InvalidInput> {
        self.check()?;
        let mut check = Check::new();
        check.non_negative("load_kg", load_kg);
        check.finish()?;
        let lowest = self.rows.first().filter(|row| load_kg <= row.capacity_kg);
        Ok(match lowest {
            Some(row) => Some(row.pressure_kpa),
            None => interpolate(
                self.rows.iter().map(|row| (row.capacity_kg, row.pressure_kpa)),
                load_kg,
            ),
        })
    }

    /// Highest capacity of the table, kg; 0 for an empty table.
    pub(super) fn capacity_most_kg(&self) -> f64 {
        self.rows.last().map_or(0.0, |row| row.capacity_kg)
    }
}

/// The value at `at` on the line through points that rise in their first number; `None` outside them.
fn interpolate(points: impl Iterator<Item = (f64, f64)> + Clone, at: f64) -> Option<f64> {
    let next = points.clone().skip(1);
    points
        .zip(next)
        .find(|(lower, upper)| (lower.0..=upper.0).contains(&at))
        .map(|(lower, upper)| {
            let way = (at - lower.0) / (upper.0 - lower.0);
            lower.1 + way * (upper.1 - lower.1)
        })
}
