//! Fuses: the range between load and cable, and the ratings within it.

use super::CURRENT_MAX_A;
use crate::check::{Check, InvalidInput};

/// Ratings on the market for vehicle fuses, A. Common practice, no source.
pub const RATINGS_COMMON_PRACTICE_A: [f64; 29] = [
    1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0,
    175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 500.0, 600.0, 700.0, 800.0,
];

/// Why a fuse can or cannot be chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FuseReason {
    /// There is a rating above the load and within the cable's ampacity.
    Found,
    /// The cable does not even carry the load: a larger cable first.
    CableTooSmall,
    /// No rating of the series lies in the range: a larger cable or another series.
    NoRatingInRange,
    /// The cable's ampacity is not known.
    AmpacityNotKnown,
}

/// The fuse for a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct FuseChoice {
    /// The rating must exceed this, A: the load.
    pub above_a: f64,
    /// The rating must not exceed this, A: the cable's ampacity; `None` when not known.
    pub at_most_a: Option<f64>,
    /// Ratings of the series in the range, rising.
    pub fitting_a: Vec<f64>,
    /// The smallest of them, which protects best.
    pub chosen_a: Option<f64>,
    /// Why.
    pub reason: FuseReason,
}

/// Ratings with `load < fuse <= ampacity` (common practice; the text of a standard was not found).
///
/// Where load and ampacity leave several, the smallest is chosen; a load with a starting surge may need a
/// larger one of the range. Show [`super::cautions::CAUTION_CABLE`] with it.
///
/// # Errors
/// Load or ampacity not above 0 to [`CURRENT_MAX_A`]; a series empty, longer than 200 or not rising.
pub fn choose_fuse(
    load_current_a: f64,
    cable_ampacity_a: Option<f64>,
    series_a: &[f64],
) -> Result<FuseChoice, InvalidInput> {
    let mut check = Check::new();
    check.between("load_current_a", load_current_a, 0.001, CURRENT_MAX_A);
    if let Some(ampacity_a) = cable_ampacity_a {
        check.between("cable_ampacity_a", ampacity_a, 0.001, CURRENT_MAX_A);
    }
    if series_a.is_empty() || series_a.len() > 200 {
        check.refuse(
            "series_a",
            format!("must have 1 to 200 ratings, has {}", series_a.len()),
        );
    }
    for (index, rating_a) in series_a.iter().enumerate().take(200) {
        check.between(format_args!("series_a[{index}]"), *rating_a, 0.001, CURRENT_MAX_A);
    }
    if series_a.windows(2).any(|pair| pair[1] <= pair[0]) {
        check.refuse("series_a", "must rise from rating to rating");
    }
    check.finish()?;

    let fitting_a: Vec<f64> = match cable_ampacity_a {
        Some(ampacity_a) => series_a
            .iter()
            .copied()
            .filter(|rating| *rating > load_current_a && *rating <= ampacity_a)
            .collect(),
        None => Vec::new(),
    };
    let reason = match cable_ampacity_a {
        None => FuseReason::AmpacityNotKnown,
        Some(ampacity_a) if ampacity_a <= load_current_a => FuseReason::CableTooSmall,
        Some(_) if fitting_a.is_empty() => FuseReason::NoRatingInRange,
        Some(_) => FuseReason::Found,
    };
    let chosen_a = fitting_a.first().copied();
    Ok(FuseChoice {
        above_a: load_current_a,
        at_most_a: cable_ampacity_a,
        fitting_a,
        chosen_a,
        reason,
    })
}
