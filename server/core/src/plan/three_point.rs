//! Three-point estimates: least, most likely and greatest value, and the spread between them.

use statrs::function::beta::{checked_beta_reg, checked_ln_beta};

use crate::check::{Check, InvalidInput};

/// Largest value a three-point estimate may state, in its own unit. A job of a million hours or a
/// lead time of a million days is a slip of the pen.
pub const ESTIMATE_MAX: f64 = 1e6;

/// A three-point estimate. All three values share the unit named by the field that holds the
/// estimate: `work_hours`, `lead_time_days`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePoint {
    /// Value that is missed on the low side hardly ever; 0 or more.
    pub optimistic: f64,
    /// Most likely value (the mode); not below `optimistic`.
    pub likely: f64,
    /// Value that is exceeded hardly ever; not below `likely`.
    pub pessimistic: f64,
}

/// How values spread between the least and the greatest of a three-point estimate. A declared
/// choice: three numbers do not determine a distribution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Spread {
    /// Beta distribution on the whole range, mode at the likely value, shape sum 6, so that its mean
    /// is the PERT mean (a + 4m + b) / 6. Common practice in project risk work.
    #[default]
    BetaPert,
    /// Straight flanks: more weight far from the likely value, mean (a + m + b) / 3.
    Triangular,
}

impl ThreePoint {
    /// An estimate without spread.
    pub fn exactly(value: f64) -> Self {
        Self {
            optimistic: value,
            likely: value,
            pessimistic: value,
        }
    }

    /// Checks range and order of the three values.
    ///
    /// # Errors
    /// Every value that is not finite, below 0 or above [`ESTIMATE_MAX`], and values out of order.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("optimistic", self.optimistic, 0.0, ESTIMATE_MAX);
        check.between("likely", self.likely, 0.0, ESTIMATE_MAX);
        check.between("pessimistic", self.pessimistic, 0.0, ESTIMATE_MAX);
        if check.passes() {
            if self.likely < self.optimistic {
                check.refuse(
                    "likely",
                    format!(
                        "must not be below optimistic {}, is {}",
                        self.optimistic, self.likely
                    ),
                );
            }
            if self.pessimistic < self.likely {
                check.refuse(
                    "pessimistic",
                    format!(
                        "must not be below likely {}, is {}",
                        self.likely, self.pessimistic
                    ),
                );
            }
        }
        check.finish()
    }

    /// The same estimate with all three values multiplied.
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            optimistic: self.optimistic * factor,
            likely: self.likely * factor,
            pessimistic: self.pessimistic * factor,
        }
    }

    /// PERT mean (a + 4m + b) / 6. Textbook formula (Taylor, Introduction to Management Science, read in
    /// an online copy).
    pub fn pert_mean(&self) -> f64 {
        (self.optimistic + 4.0 * self.likely + self.pessimistic) / 6.0
    }

    /// PERT variance ((b - a) / 6)². Textbook formula, same source; a convention, and not the variance
    /// of the beta distribution that [`Spread::BetaPert`] draws from (see [`ThreePoint::variance`]).
    pub fn pert_variance(&self) -> f64 {
        ((self.pessimistic - self.optimistic) / 6.0).powi(2)
    }

    /// Mean of the distribution that `spread` declares.
    pub fn mean(&self, spread: Spread) -> f64 {
        match spread {
            Spread::BetaPert => self.pert_mean(),
            Spread::Triangular => (self.optimistic + self.likely + self.pessimistic) / 3.0,
        }
    }

    /// Variance of the distribution that `spread` declares: (mean - a)(b - mean) / 7 for the beta
    /// distribution with shape sum 6; (a² + m² + b² - am - ab - mb) / 18 for the triangle.
    pub fn variance(&self, spread: Spread) -> f64 {
        let (a, m, b) = (self.optimistic, self.likely, self.pessimistic);
        match spread {
            Spread::BetaPert => (self.pert_mean() - a) * (b - self.pert_mean()) / 7.0,
            Spread::Triangular => ((b - a).powi(2) - (m - a) * (b - m)) / 18.0,
        }
    }

    /// Probability that a value is at most `value`; exact up to the incomplete beta function.
    pub fn chance_at_most(&self, spread: Spread, value: f64) -> f64 {
        let width = self.pessimistic - self.optimistic;
        if value >= self.pessimistic {
            return 1.0;
        }
        if value <= self.optimistic || width <= 0.0 {
            return 0.0;
        }
        let (share, mode) = (
            (value - self.optimistic) / width,
            (self.likely - self.optimistic) / width,
        );
        match spread {
            Spread::BetaPert => Shape::with_mode(mode).chance_at_most(share),
            Spread::Triangular if share <= mode => share * share / mode,
            Spread::Triangular => 1.0 - (1.0 - share).powi(2) / (1.0 - mode),
        }
    }

    /// Value that is not exceeded with probability `chance`, a number from 0 to 1 (clamped).
    pub fn quantile(&self, spread: Spread, chance: f64) -> f64 {
        let width = self.pessimistic - self.optimistic;
        if width <= 0.0 {
            return self.optimistic;
        }
        let (chance, mode) = (chance.clamp(0.0, 1.0), (self.likely - self.optimistic) / width);
        let share = match spread {
            Spread::BetaPert => Shape::with_mode(mode).quantile(chance, mode),
            Spread::Triangular => triangular_quantile(mode, chance),
        };
        self.optimistic + width * share
    }
}

/// Quantile of the triangle on 0 to 1 with its peak at `mode`.
pub(crate) fn triangular_quantile(mode: f64, chance: f64) -> f64 {
    if chance < mode {
        (chance * mode).sqrt()
    } else {
        1.0 - ((1.0 - chance) * (1.0 - mode)).sqrt()
    }
}

/// A beta distribution on 0 to 1 with shape sum 6.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) alpha: f64,
    pub(crate) beta: f64,
    ln_beta: f64,
}

impl Shape {
    pub(crate) fn with_mode(mode: f64) -> Self {
        let (alpha, beta) = (1.0 + 4.0 * mode, 5.0 - 4.0 * mode);
        // Both shapes lie between 1 and 5: the function cannot refuse them.
        let ln_beta = checked_ln_beta(alpha, beta).unwrap_or_default();
        Self { alpha, beta, ln_beta }
    }

    pub(crate) fn chance_at_most(&self, share: f64) -> f64 {
        let share = share.clamp(0.0, 1.0);
        checked_beta_reg(self.alpha, self.beta, share).unwrap_or(share)
    }

    pub(crate) fn density(&self, share: f64) -> f64 {
        ((self.alpha - 1.0) * share.ln() + (self.beta - 1.0) * (1.0 - share).ln() - self.ln_beta).exp()
    }

    /// Newton steps from `guess`, kept inside a shrinking bracket.
    pub(crate) fn quantile(&self, chance: f64, guess: f64) -> f64 {
        if chance <= 0.0 || chance >= 1.0 {
            return chance.clamp(0.0, 1.0);
        }
        let (mut least, mut most) = (0.0, 1.0);
        let mut share = guess.clamp(1e-6, 1.0 - 1e-6);
        for _ in 0..100 {
            let excess = self.chance_at_most(share) - chance;
            if excess > 0.0 {
                most = share
            } else {
                least = share
            }
            let newton = share - excess / self.density(share);
            let next = if newton > least && newton < most {
                newton
            } else {
                0.5 * (least + most)
            };
            if (next - share).abs() < 1e-11 {
                return next;
            }
            share = next;
        }
        share
    }
}
