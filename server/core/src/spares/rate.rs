//! A demand rate from counted failures, with its confidence interval.

use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::check::{Check, InvalidInput};

/// A rate estimated from a count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateEstimate {
    /// Count over exposure; 0 when nothing failed, which does not mean that nothing will.
    pub rate: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval: the cautious rate.
    pub high: f64,
}

/// Rate per unit of exposure from `count` failures over `exposure`, with the exact two-sided interval of a
/// Poisson mean at `confidence`: `chi2(a/2; 2n)/2` to `chi2(1-a/2; 2n+2)/2`, over the exposure.
///
/// The interval is Garwood's (1936), from memory; its values are checked against a general library.
///
/// # Errors
/// Count above 10,000, exposure not 1e-6 to 1e9, confidence not 0.5 to 0.999.
pub fn rate_from_count(count: u32, exposure: f64, confidence: f64) -> Result<RateEstimate, InvalidInput> {
    let mut check = Check::new();
    check.between("count", f64::from(count), 0.0, 10_000.0);
    check.between("exposure", exposure, 1e-6, 1e9);
    check.between("confidence", confidence, 0.5, 0.999);
    check.finish()?;
    let tail = (1.0 - confidence) / 2.0;
    let low = if count == 0 {
        0.0
    } else {
        half_chi_squared(2.0 * f64::from(count), tail)?
    };
    let high = half_chi_squared(2.0 * f64::from(count) + 2.0, 1.0 - tail)?;
    Ok(RateEstimate {
        rate: f64::from(count) / exposure,
        low: low / exposure,
        high: high / exposure,
    })
}

fn half_chi_squared(freedom: f64, probability: f64) -> Result<f64, InvalidInput> {
    let distribution = ChiSquared::new(freedom)
        .map_err(|error| InvalidInput::one("count", format!("gives no interval: {error}")))?;
    Ok(distribution.inverse_cdf(probability) / 2.0)
}
