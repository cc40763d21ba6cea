//! The best kit under a mass budget: exact where the case is small enough, else by marginal analysis.

use super::cover::poisson_cover;
use super::exact::exact_kit_if_small;
use super::kit::{Kit, Spare, marginal_kit, together};
use crate::check::InvalidInput;

/// How a kit was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KitMethod {
    /// Exact search: proven to be the best.
    Proven,
    /// Exact search over masses rounded to steps: no proof beyond the bound.
    Rounded,
    /// Marginal analysis.
    Marginal,
}

/// The best kit found.
#[derive(Debug, Clone, PartialEq)]
pub struct BestKit {
    /// The kit.
    pub kit: Kit,
    /// How it was found.
    pub method: KitMethod,
}

/// The kit of least weighted expected backorders found within `budget_kg`, and how.
///
/// Tries [`super::exact::exact_kit`] in steps of `mass_step_kg` and [`marginal_kit`], and keeps the better; of
/// equals the exact one. A proven kit's bound is its own value.
///
/// # Errors
/// As for [`super::exact::exact_kit`], except that no case is too large.
pub fn best_kit(spares: &[Spare], budget_kg: f64, mass_step_kg: f64) -> Result<BestKit, InvalidInput> {
    let exact = exact_kit_if_small(spares, budget_kg, mass_step_kg)?;
    let marginal = marginal_kit(spares, budget_kg)?;
    let Some(exact) =
        exact.filter(|exact| exact.expected_backorders <= marginal.expected_backorders || exact.proven)
    else {
        return Ok(BestKit {
            kit: marginal,
            method: KitMethod::Marginal,
        });
    };
    let covers: Vec<_> = spares
        .iter()
        .zip(&exact.stocks)
        .map(|(spare, stock)| poisson_cover(spare.mean, *stock))
        .collect();
    let expected_backorders = exact.expected_backorders;
    let kit = Kit {
        mass_kg: exact.mass_kg,
        expected_backorders,
        expected_backorders_bound: if exact.proven {
            expected_backorders
        } else {
            marginal.expected_backorders_bound.min(expected_backorders)
        },
        no_stock_out: together(spares, &covers).1,
        filled: 0,
        stocks: exact.stocks,
    };
    let method = if exact.proven {
        KitMethod::Proven
    } else {
        KitMethod::Rounded
    };
    Ok(BestKit { kit, method })
}
