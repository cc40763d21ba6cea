//! The proven best kit of a small case, by dynamic programming over whole mass steps.

use super::cover::poisson_cover;
use super::kit::{GAIN_LEAST, Spare, check_kit, mass_of, together};
use crate::check::{Check, InvalidInput};

/// Most work of a small case: mass steps times copies to try, over all spares.
pub const WORK_MAX: f64 = 2e7;

/// Most mass steps of a small case.
pub const STEPS_MAX: f64 = 2e6;

/// Most spares of a small case.
pub const SPARES_MAX: usize = 100;

/// A proven best kit.
#[derive(Debug, Clone, PartialEq)]
pub struct ExactKit {
    /// Copies of each spare, in the order given, those held included.
    pub stocks: Vec<u32>,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Weighted expected backorders.
    pub expected_backorders: f64,
    /// Whether every mass and the budget left over the copies held were whole steps. Then no kit within the
    /// budget has fewer expected backorders, but for copies gaining less than [`GAIN_LEAST`].
    pub proven: bool,
}

/// The kit of least weighted expected backorders within `budget_kg`.
///
/// Masses are rounded up and the budget down to whole `mass_step_kg`, so that the kit never exceeds the budget.
///
/// # Errors
/// As for [`super::kit::frontier`]; a step not 0.001 to 100 kg; more than [`SPARES_MAX`] spares, a case
/// larger than [`WORK_MAX`] or [`STEPS_MAX`].
pub fn exact_kit(spares: &[Spare], budget_kg: f64, mass_step_kg: f64) -> Result<ExactKit, InvalidInput> {
    exact_kit_if_small(spares, budget_kg, mass_step_kg)?.ok_or_else(|| {
        if spares.len() > SPARES_MAX {
            InvalidInput::one(
                "spares",
                format!("must be at most {SPARES_MAX}, are {}", spares.len()),
            )
        } else {
            InvalidInput::one("mass_step_kg", "must be coarser: the case is too large")
        }
    })
}

/// [`exact_kit`], or `None` when the case is too large.
pub(super) fn exact_kit_if_small(
    spares: &[Spare],
    budget_kg: f64,
    mass_step_kg: f64,
) -> Result<Option<ExactKit>, InvalidInput> {
    let mut check = Check::new();
    check.merge("", check_kit(spares, budget_kg));
    check.between("mass_step_kg", mass_step_kg, 0.001, 100.0);
    check.finish()?;
    if spares.len() > SPARES_MAX {
        return Ok(None);
    }
    let held: Vec<u32> = spares.iter().map(|spare| spare.held).collect();
    let free_kg = (budget_kg - mass_of(spares, &held)).max(0.0);
    // A ratio a hair off a whole number is that number: 0.3 / 0.1 is 2.9999999999999996.
    let steps = (free_kg / mass_step_kg + ROUNDING_STEPS).floor();
    let options: Vec<_> = spares
        .iter()
        .map(|spare| options_of(spare, mass_step_kg, steps))
        .collect();
    let work: f64 = options
        .iter()
        .map(|option| (steps + 1.0) * option.backorders.len() as f64)
        .sum();
    if work > WORK_MAX || steps > STEPS_MAX {
        return Ok(None);
    }
    let stocks = solve(spares, &options, steps as usize);
    let covers: Vec<_> = spares
        .iter()
        .zip(&stocks)
        .map(|(spare, stock)| poisson_cover(spare.mean, *stock))
        .collect();
    let whole = |mass_kg: f64| {
        let ratio = mass_kg / mass_step_kg;
        (ratio - ratio.round()).abs() < ROUNDING_STEPS
    };
    Ok(Some(ExactKit {
        mass_kg: mass_of(spares, &stocks),
        expected_backorders: together(spares, &covers).0,
        proven: whole(free_kg) && spares.iter().all(|spare| whole(spare.mass_kg)),
        stocks,
    }))
}

/// Room for rounding when masses are counted in steps.
const ROUNDING_STEPS: f64 = 1e-6;

/// What may be added of one spare.
struct Options {
    /// Steps that one copy weighs.
    steps_each: usize,
    /// Weighted expected backorders with 0, 1, 2, … copies added.
    backorders: Vec<f64>,
}

fn options_of(spare: &Spare, mass_step_kg: f64, steps: f64) -> Options {
    let steps_each = (spare.mass_kg / mass_step_kg - ROUNDING_STEPS).ceil().max(1.0);
    let fitting = (steps / steps_each).floor();
    let mut backorders = Vec::new();
    for stock in spare.held..=spare.most {
        let cover = poisson_cover(spare.mean, stock);
        backorders.push(spare.importance * cover.expected_backorders);
        if backorders.len() as f64 > fitting || spare.importance * cover.stock_out < GAIN_LEAST {
            break;
        }
    }
    Options {
        steps_each: steps_each as usize,
        backorders,
    }
}

fn solve(spares: &[Spare], options: &[Options], steps: usize) -> Vec<u32> {
    // least[m]: least backorders of the spares so far within m steps; choices[i][m]: copies added of spare i there.
    let mut least = vec![0.0; steps + 1];
    let mut choices: Vec<Vec<u16>> = Vec::with_capacity(options.len());
    for option in options {
        let mut next = vec![f64::INFINITY; steps + 1];
        let mut choice = vec![0_u16; steps + 1];
        for mass in 0..=steps {
            for (copies, backorders) in (0_u16..).zip(&option.backorders) {
                let Some(rest) = mass.checked_sub(usize::from(copies) * option.steps_each) else {
                    break;
                };
                let total = least[rest] + backorders;
                if total < next[mass] {
                    (next[mass], choice[mass]) = (total, copies);
                }
            }
        }
        least = next;
        choices.push(choice);
    }
    let mut left = steps;
    let mut stocks: Vec<u32> = spares.iter().map(|spare| spare.held).collect();
    for (index, option) in options.iter().enumerate().rev() {
        let copies = choices[index][left];
        left -= usize::from(copies) * option.steps_each;
        stocks[index] += u32::from(copies);
    }
    stocks
}
