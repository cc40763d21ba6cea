//! Counts and aggregates of 49 CFR 393.106 to 393.110 (United States, commercial vehicles).

use super::assess::{Closing, Item, Remedy, Verdict};
use super::holding::further;
use super::lashing::{Geometry, LashingGroup};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Newtons in a pound-force: pound of 0.453 592 37 kg (exact) under standard gravity.
const N_PER_LBF: f64 = 0.453_592_37 * STANDARD_GRAVITY_M_PER_S2;

/// Kilograms in a pound, exact.
const KG_PER_LB: f64 = 0.453_592_37;

/// Millimetres in a foot, exact.
const MM_PER_FT: f64 = 304.8;

/// Aggregate working load limit of all tie-downs against what is asked for (393.106(d): at least half of
/// the article's weight; read in the agency's guidance).
#[derive(Debug, Clone, PartialEq)]
pub struct AggregateCheck {
    /// Asked for, N.
    pub required_n: f64,
    /// Known to be there, N.
    pub provided_n: f64,
    /// Answer.
    pub verdict: Verdict,
    /// Ratings that are missing.
    pub missing: Vec<String>,
    /// Ways to close the shortfall.
    pub closing: Vec<Closing>,
}

/// Number of lashings against what length and mass ask for (393.110).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountCheck {
    /// Asked for; `None` when the length is not known.
    pub required: Option<u32>,
    /// There.
    pub provided: u32,
    /// Answer.
    pub verdict: Verdict,
}

/// Sums the working load limits. A lashing over the article to the other side counts in full, one from the
/// article to an anchor by half (from memory, not verified).
pub(super) fn aggregate(item: &Item, n_per_kg: f64, lashings: &[LashingGroup]) -> AggregateCheck {
    let required_n = n_per_kg * item.mass_kg;
    let mut provided_n = 0.0;
    let mut missing = Vec::new();
    for (index, group) in lashings.iter().enumerate().filter(|(_, group)| group.count > 0) {
        match counted_n(group) {
            Some(each_n) => provided_n += f64::from(group.count) * each_n,
            None => missing.push(format!("lashings[{index}].ratings.working_load_limit_n")),
        }
    }
    let holds = |mass_kg: f64| provided_n >= n_per_kg * mass_kg * (1.0 - 1e-9);
    let held = holds(item.mass_kg);
    let verdict = match (held, missing.is_empty()) {
        (true, _) if holds(item.mass_kg + item.mass_uncertainty_kg) => Verdict::Held,
        (true, _) => Verdict::Doubtful,
        (false, false) => Verdict::NotKnown,
        (false, true) => Verdict::Short,
    };
    let remedy = |group: &LashingGroup| match counted_n(group) {
        Some(each_n) => further(required_n - provided_n, each_n).map_or(Remedy::CannotClose, Remedy::Further),
        None => Remedy::NotKnown,
    };
    let close = |group: &LashingGroup| Closing {
        group: group.name.clone(),
        remedy: remedy(group),
    };
    let closing = if held {
        Vec::new()
    } else {
        lashings.iter().map(close).collect()
    };
    AggregateCheck {
        required_n,
        provided_n,
        verdict,
        missing,
        closing,
    }
}

fn counted_n(group: &LashingGroup) -> Option<f64> {
    let share = match group.geometry {
        Geometry::TieDown { .. } => 1.0,
        Geometry::Direct { .. } => 0.5,
    };
    group.ratings.working_load_limit_n.map(|limit_n| share * limit_n)
}

pub(super) fn count(item: &Item, lashings: &[LashingGroup]) -> CountCheck {
    let provided = lashings.iter().map(|group| group.count).sum();
    let required = item
        .length_mm
        .map(|length_mm| least_tiedowns(length_mm, item.mass_kg));
    let verdict = match required {
        Some(required) if provided >= required => Verdict::Held,
        Some(_) => Verdict::Short,
        None => Verdict::NotKnown,
    };
    CountCheck {
        required,
        provided,
        verdict,
    }
}

/// Fewest tie-downs for an article that no headboard or blocking stops: 1 up to 5 ft and 1,100 lb, 2 up to
/// 10 ft, and 1 more for every further 10 ft or part of it. Read in a secondary copy of 393.110.
/// Lengths above 100 m count as 100 m.
pub fn least_tiedowns(length_mm: f64, mass_kg: f64) -> u32 {
    let length_ft = length_mm / MM_PER_FT;
    if length_ft <= 5.0 && mass_kg <= 1_100.0 * KG_PER_LB {
        1
    } else if length_ft <= 10.0 {
        2
    } else {
        // At most 32 further lengths of 10 ft within 100 m, so the conversion is exact.
        2 + ((length_ft.min(329.0) - 10.0) / 10.0).ceil() as u32
    }
}

/// Working load limit in N of synthetic webbing without a mark, by its width; `None` below 1 inch. Between two
/// listed widths the lower counts. Read in a secondary copy of 393.108.
pub fn unmarked_webbing_wll_n(width_mm: f64) -> Option<f64> {
    const ROWS: [(f64, f64); 5] = [
        (1.0, 1_000.0),
        (1.75, 1_750.0),
        (2.0, 2_000.0),
        (3.0, 3_000.0),
        (4.0, 4_000.0),
    ];
    // Webbing is sold as 25, 50, 75 and 100 mm for 1, 2, 3 and 4 inches.
    let width_in = width_mm * 1.016 / 25.4;
    let row = ROWS.iter().rev().find(|(row_in, _)| width_in + 1e-9 >= *row_in);
    row.map(|(_, limit_lbf)| limit_lbf * N_PER_LBF)
}
