//! Consumption corrected by a fuel log.
//!
//! The method of filling from full to full (common practice, no source): the litres that fill the
//! tank again are what was burnt since it was last full. Fills that do not fill up are added to the
//! next that does.
//!
//! Several surfaces usually share one fill, so rates are estimated together: each starts from what is
//! believed with its spread, and every full fill, with its own error, moves it (linear regression with
//! a normal prior; textbook, from memory). A surface never driven keeps what was believed.

use nalgebra::{DMatrix, DVector};

use super::FuelError;
use super::consumption::{DISTANCE_MAX_KM, RATE_MAX_L_PER_100KM};
use super::error::Missing;
use crate::check::{Check, InvalidInput, element};

/// Most entries accepted.
pub const ENTRIES_MAX: usize = 10_000;

/// Most surfaces accepted.
pub const SURFACES_MAX: usize = 50;

/// What is believed of one surface before the log is read.
#[derive(Debug, Clone, PartialEq)]
pub struct BelievedRate {
    /// Name of the surface.
    pub surface: String,
    /// Litres per 100 true km at the load of the log, greater than 0.
    pub rate_l_per_100km: f64,
    /// Standard deviation as a fraction of the rate, greater than 0 up to 1.
    pub spread_fraction: f64,
}

/// One fill.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelLogEntry {
    /// Indicated km since the entry before, by surface.
    pub indicated_km: Vec<(String, f64)>,
    /// True km per indicated km, 0.5 to 2.
    pub odometer_factor: f64,
    /// Litres filled, 0 or more.
    pub litres: f64,
    /// Whether it filled the tank.
    pub filled_up: bool,
}

/// How far one full fill can be trusted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogErrors {
    /// Standard deviation of the level called full, litres, greater than 0.
    pub fill_l: f64,
    /// Standard deviation of the litres themselves as a fraction (weather, traffic, driver), 0 to 1.
    pub spread_fraction: f64,
}

/// A surface after the log is read.
#[derive(Debug, Clone, PartialEq)]
pub struct RefinedRate {
    /// Name of the surface.
    pub surface: String,
    /// Litres per 100 true km.
    pub rate_l_per_100km: f64,
    /// Its standard deviation, litres per 100 km.
    pub deviation_l_per_100km: f64,
    /// True km on it in the log.
    pub driven_km: f64,
}

/// What the log says.
#[derive(Debug, Clone, PartialEq)]
pub struct RefinedRates {
    /// Surfaces in the order given.
    pub rates: Vec<RefinedRate>,
    /// Per full fill: litres less those the refined rates expect, in standard deviations of the fill.
    /// Beyond 3 either way, look for a leak, a wrong entry or a wrong surface.
    pub residuals: Vec<f64>,
    /// Entries after the last full fill, not used.
    pub entries_open: usize,
}

/// From full to full: true km per surface, litres.
struct Fill {
    km: Vec<f64>,
    litres: f64,
}

/// Corrects believed rates by a fuel log. The first entry counts from a full tank.
///
/// # Errors
/// [`FuelError::Invalid`] with every violation, or when the log contradicts itself so far that a rate
/// comes out at zero or less; [`FuelError::NotKnown`] naming surfaces without a believed rate.
pub fn refine_rates(
    believed: &[BelievedRate],
    entries: &[FuelLogEntry],
    errors: LogErrors,
) -> Result<RefinedRates, FuelError> {
    check_inputs(believed, entries, errors)?;
    let (fills, entries_open) = fills(believed, entries)?;
    // In units of the believed rates, so that the matrix is well scaled: 1 is what was believed.
    let expected = |fill: &Fill| {
        DVector::from_fn(believed.len(), |s, _| {
            fill.km[s] * believed[s].rate_l_per_100km / 100.0
        })
    };
    let deviation = |fill: &Fill| errors.fill_l.hypot(errors.spread_fraction * expected(fill).sum());
    let mut precision = DMatrix::from_fn(believed.len(), believed.len(), |i, j| {
        if i == j {
            believed[i].spread_fraction.powi(-2)
        } else {
            0.0
        }
    });
    let mut weighted = DVector::from_fn(believed.len(), |s, _| believed[s].spread_fraction.powi(-2));
    for fill in &fills {
        let row = expected(fill) / deviation(fill);
        precision += &row * row.transpose();
        weighted += row * (fill.litres / deviation(fill));
    }
    let contradiction = |what: &str| InvalidInput::one("entries", format!("contradict each other: {what}"));
    let factored = precision
        .cholesky()
        .ok_or_else(|| contradiction("no rates fit them"))?;
    let factors = factored.solve(&weighted);
    let covariance = factored.inverse();
    let mut rates = Vec::with_capacity(believed.len());
    for (s, rate) in believed.iter().enumerate() {
        let refined = RefinedRate {
            surface: rate.surface.clone(),
            rate_l_per_100km: factors[s] * rate.rate_l_per_100km,
            deviation_l_per_100km: covariance[(s, s)].max(0.0).sqrt() * rate.rate_l_per_100km,
            driven_km: fills.iter().map(|fill| fill.km[s]).sum(),
        };
        if !refined.rate_l_per_100km.is_finite() || refined.rate_l_per_100km <= 0.0 {
            let what = format!(
                "{} would burn {} l/100 km",
                rate.surface, refined.rate_l_per_100km
            );
            return Err(contradiction(&what).into());
        }
        rates.push(refined);
    }
    let residual = |fill: &Fill| (fill.litres - expected(fill).dot(&factors)) / deviation(fill);
    Ok(RefinedRates {
        rates,
        residuals: fills.iter().map(residual).collect(),
        entries_open,
    })
}

fn fills(believed: &[BelievedRate], entries: &[FuelLogEntry]) -> Result<(Vec<Fill>, usize), FuelError> {
    let empty = || Fill {
        km: vec![0.0; believed.len()],
        litres: 0.0,
    };
    let mut missing = Missing::default();
    let (mut fills, mut open, mut entries_open) = (Vec::new(), empty(), 0);
    for entry in entries {
        for (surface, km) in &entry.indicated_km {
            match believed.iter().position(|rate| rate.surface == *surface) {
                Some(s) => open.km[s] += km * entry.odometer_factor,
                None => missing.note(format!("believed consumption on {surface}")),
            }
        }
        open.litres += entry.litres;
        entries_open += 1;
        if entry.filled_up {
            fills.push(std::mem::replace(&mut open, empty()));
            entries_open = 0;
        }
    }
    missing.finish()?;
    Ok((fills, entries_open))
}

fn check_inputs(
    believed: &[BelievedRate],
    entries: &[FuelLogEntry],
    errors: LogErrors,
) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("errors.fill_l", errors.fill_l, 0.01, 1_000.0);
    check.between("errors.spread_fraction", errors.spread_fraction, 0.0, 1.0);
    if believed.len() > SURFACES_MAX {
        check.refuse(
            "believed",
            format!("must be at most {SURFACES_MAX} surfaces, are {}", believed.len()),
        );
    }
    if entries.len() > ENTRIES_MAX {
        check.refuse(
            "entries",
            format!("must be at most {ENTRIES_MAX}, are {}", entries.len()),
        );
    }
    if !check.passes() {
        return check.finish();
    }
    for (index, rate) in believed.iter().enumerate() {
        let path = |field| element("believed", index, field);
        if believed[..index]
            .iter()
            .any(|other| other.surface == rate.surface)
        {
            check.refuse(path("surface"), format!("is given twice: {}", rate.surface));
        }
        check.between(
            path("rate_l_per_100km"),
            rate.rate_l_per_100km,
            0.1,
            RATE_MAX_L_PER_100KM,
        );
        check.between(path("spread_fraction"), rate.spread_fraction, 1e-4, 1.0);
    }
    for (index, entry) in entries.iter().enumerate() {
        let path = |field| element("entries", index, field);
        check.between(path("odometer_factor"), entry.odometer_factor, 0.5, 2.0);
        check.between(path("litres"), entry.litres, 0.0, 1e5);
        for (part, (_, km)) in entry.indicated_km.iter().enumerate() {
            check.between(
                format_args!("entries[{index}].indicated_km[{part}]"),
                *km,
                0.0,
                DISTANCE_MAX_KM,
            );
        }
    }
    check.finish()
}
