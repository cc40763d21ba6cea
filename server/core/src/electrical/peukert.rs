//! Discharge-rate (Peukert) law of lead-acid, in both forms in print.
//!
//! `I^k t` is constant (read, a battery-monitor handbook). What the constant is depends on what the stated
//! capacity means, and the two readings differ: hence the basis is always an argument.

use super::CURRENT_MAX_A;
use super::battery::{CAPACITY_LEAST_AH, CAPACITY_MAX_AH};
use crate::check::{Check, InvalidInput};

/// What a capacity in ampere-hours means. The two forms of the discharge-rate law in print differ by it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CapacityBasis {
    /// Capacity when drawn at 1 A (the "Peukert capacity").
    OneAmpere,
    /// Capacity when emptied in this many hours, 1 to 200: what makers print (20 hours as a rule).
    RatedHours(f64),
}

/// Lowest current of the discharge-rate law, A: below it the law was never meant.
pub const CURRENT_LEAST_A: f64 = 0.001;

/// Hours that a lead-acid battery lasts at `current_a` until empty, by the discharge-rate (Peukert) law.
///
/// - capacity at 1 A: `t = C / I^k` (read, an electrical engineering site, 2010);
/// - capacity at R hours: `t = C (C/R)^(k-1) / I^k` (read, a battery-monitor maker's note).
///
/// The same number of ampere-hours in the wrong form errs by a factor `(C/R)^(k-1)`. At currents far from
/// the rating the law is only rough, and it overstates the capacity at small ones.
///
/// # Errors
/// Capacity not 0.001 to 10,000 Ah, rated hours not 1 to 200, exponent not 1 to 2, current not
/// [`CURRENT_LEAST_A`] to [`CURRENT_MAX_A`].
pub fn peukert_hours(
    capacity_ah: f64,
    basis: CapacityBasis,
    exponent: f64,
    current_a: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("capacity_ah", capacity_ah, CAPACITY_LEAST_AH, CAPACITY_MAX_AH);
    check_basis(&mut check, "basis", basis);
    check.between("exponent", exponent, 1.0, 2.0);
    check.between("current_a", current_a, CURRENT_LEAST_A, CURRENT_MAX_A);
    check.finish()?;
    Ok(peukert_formula(capacity_ah, basis, exponent, current_a))
}

/// A discharge until empty, as measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredDischarge {
    /// Constant current, A.
    pub current_a: f64,
    /// Hours until empty.
    pub hours: f64,
}

/// Exponent of the discharge-rate law from two measured discharges: `log(t2/t1) / log(I1/I2)` (read, a
/// battery-monitor handbook).
///
/// # Errors
/// Currents not [`CURRENT_LEAST_A`] to [`CURRENT_MAX_A`], hours not 0.001 to 10,000, currents closer than
/// 1 % to each other, or an exponent outside 1 to 2 (the measurements contradict the law).
pub fn peukert_exponent(first: MeasuredDischarge, second: MeasuredDischarge) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    for (name, discharge) in [("first", first), ("second", second)] {
        check.between(
            format_args!("{name}.current_a"),
            discharge.current_a,
            CURRENT_LEAST_A,
            CURRENT_MAX_A,
        );
        check.between(format_args!("{name}.hours"), discharge.hours, 0.001, 10_000.0);
    }
    check.finish()?;
    if (first.current_a / second.current_a).ln().abs() < 0.01 {
        return Err(InvalidInput::one(
            "second.current_a",
            "must differ from first.current_a by 1 % or more",
        ));
    }
    let exponent = (second.hours / first.hours).ln() / (first.current_a / second.current_a).ln();
    let mut check = Check::new();
    check.between("exponent", exponent, 1.0, 2.0);
    check.finish()?;
    Ok(exponent)
}

pub(super) fn peukert_formula(capacity_ah: f64, basis: CapacityBasis, exponent: f64, current_a: f64) -> f64 {
    match basis {
        CapacityBasis::OneAmpere => capacity_ah / current_a.powf(exponent),
        CapacityBasis::RatedHours(hours) => {
            capacity_ah * (capacity_ah / hours).powf(exponent - 1.0) / current_a.powf(exponent)
        }
    }
}

pub(super) fn check_basis(check: &mut Check, field: &str, basis: CapacityBasis) {
    if let CapacityBasis::RatedHours(hours) = basis {
        check.between(format_args!("{field}.rated_hours"), hours, 1.0, 200.0);
    }
}
