//! Cover: the chance that a stock suffices for Poisson demand, and the expected shortage.

use super::{MEAN_MAX, STOCK_MAX};
use crate::check::{Check, InvalidInput};

/// What a stock of one spare covers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cover {
    /// Chance that the demand does not exceed the stock, 0 to 1.
    pub no_stock_out: f64,
    /// Chance that it does, 0 to 1: computed apart, so that small chances keep their digits. It is also what
    /// one more copy would take off the expected backorders.
    pub stock_out: f64,
    /// Expected number of needs beyond the stock (expected backorders).
    pub expected_backorders: f64,
}

/// Cover of `stock` copies against Poisson demand of mean `mean`:
/// `P(X <= s)`, `P(X > s)` and `EBO(s) = sum over x > s of (x - s) p(x)`.
///
/// The sums run over positive terms only, from `exp(-mean)` upward by `p(k+1) = p(k) mean / (k+1)`. That keeps
/// 12 digits in every result, also far out in the tail, where the closed form
/// `mean P(X >= s) - s P(X > s)` cancels (over a general library's tail it lost all but 9 digits). It works because [`MEAN_MAX`] keeps `exp(-mean)` above underflow.
///
/// # Errors
/// Mean not 0 to [`MEAN_MAX`], stock above [`STOCK_MAX`].
pub fn cover(mean: f64, stock: u32) -> Result<Cover, InvalidInput> {
    let mut check = Check::new();
    check.between("mean", mean, 0.0, MEAN_MAX);
    check.between("stock", f64::from(stock), 0.0, f64::from(STOCK_MAX));
    check.finish()?;
    Ok(poisson_cover(mean, stock))
}

/// [`cover`] without the check: for inputs that were checked.
pub(super) fn poisson_cover(mean: f64, stock: u32) -> Cover {
    let mut probability = (-mean).exp();
    let mut covered = 0.0;
    let mut demand = 0_u32;
    while demand <= stock && probability > 0.0 {
        covered += probability;
        demand += 1;
        probability *= mean / f64::from(demand);
    }
    let (mut stock_out, mut expected_backorders) = (0.0, 0.0);
    // Past the mean the terms fall faster than geometrically; when one no longer shows in the sum, none will.
    while demand > stock && probability > 0.0 {
        let short_by = f64::from(demand - stock);
        stock_out += probability;
        expected_backorders += short_by * probability;
        if f64::from(demand) > 2.0 * mean + 1.0 && short_by * probability < expected_backorders * 1e-18 {
            break;
        }
        demand += 1;
        probability *= mean / f64::from(demand);
    }
    Cover {
        no_stock_out: if f64::from(stock) > mean {
            1.0 - stock_out
        } else {
            covered
        }
        .clamp(0.0, 1.0),
        stock_out: stock_out.min(1.0),
        expected_backorders,
    }
}

/// Smallest stock that covers demand of mean `mean` with at least the chance `wanted`.
///
/// # Errors
/// Mean not 0 to [`MEAN_MAX`], wanted chance not 0 to 0.999999999.
pub fn stock_for_cover(mean: f64, wanted: f64) -> Result<u32, InvalidInput> {
    let mut check = Check::new();
    check.between("mean", mean, 0.0, MEAN_MAX);
    check.between("wanted", wanted, 0.0, 0.999_999_999);
    check.finish()?;
    // The chance rises with the stock: halve the range. The upper end is far beyond six standard deviations.
    let (mut least, mut most) = (0, STOCK_MAX);
    while least < most {
        let middle = least + (most - least) / 2;
        if poisson_cover(mean, middle).stock_out <= 1.0 - wanted {
            most = middle;
        } else {
            least = middle + 1;
        }
    }
    Ok(least)
}

/// A spare aboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockedSpare {
    /// Mean demand over the departure, 0 to [`MEAN_MAX`], as pooled.
    pub mean: f64,
    /// Copies aboard all vehicles, 0 to [`STOCK_MAX`].
    pub stock: u32,
}

/// Cover of a whole kit.
#[derive(Debug, Clone, PartialEq)]
pub struct KitCover {
    /// Spare by spare, in the order given.
    pub spares: Vec<Cover>,
    /// Chance that nothing runs out: the product, demands taken as independent.
    pub no_stock_out: f64,
    /// Expected number of needs beyond the kit, all spares together.
    pub expected_backorders: f64,
    /// Index of the spare likeliest to run out; `None` for an empty kit.
    pub weakest: Option<usize>,
}

/// Cover that the kit in hand gives.
///
/// # Errors
/// As for [`cover`], or more than [`super::ITEMS_MAX`] spares.
pub fn kit_cover(spares: &[StockedSpare]) -> Result<KitCover, InvalidInput> {
    let mut check = Check::new();
    if spares.len() > super::ITEMS_MAX {
        check.refuse(
            "spares",
            format!("must be at most {}, are {}", super::ITEMS_MAX, spares.len()),
        );
    }
    let covers: Vec<_> = spares
        .iter()
        .enumerate()
        .take(super::ITEMS_MAX)
        .filter_map(|(index, spare)| {
            check.merge(format_args!("spares[{index}]"), cover(spare.mean, spare.stock))
        })
        .collect();
    check.finish()?;
    let weakest = (0..covers.len()).max_by(|&left, &right| {
        covers[left]
            .stock_out
            .total_cmp(&covers[right].stock_out)
            .then(right.cmp(&left))
    });
    Ok(KitCover {
        no_stock_out: covers.iter().map(|cover| cover.no_stock_out).product(),
        expected_backorders: covers.iter().map(|cover| cover.expected_backorders).sum(),
        weakest,
        spares: covers,
    })
}
