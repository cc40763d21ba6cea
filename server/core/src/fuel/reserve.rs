//! Policies of fuel reserve.
//!
//! All three are in use among travellers; none has a published authority (common practice, no source).

use super::FuelError;
use crate::check::{Check, InvalidInput};

/// How much fuel must be left on arrival at the next confirmed point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReservePolicy {
    /// A fraction of the litres the interval needs.
    Fraction {
        /// 0 to 5.
        fraction: f64,
    },
    /// The litres for a further distance at the worst mean rate of any leg of the interval, plus a
    /// fraction of what the interval needs.
    DistancePlusFraction {
        /// Driven km, 0 or more.
        distance_km: f64,
        /// 0 to 5.
        fraction: f64,
    },
    /// The litres of further days at the interval's mean per day.
    Days {
        /// 0 to 1,000.
        days: f64,
    },
}

/// What a reserve is computed from: one interval between confirmed points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IntervalNeed {
    /// Litres over the interval, 0 or more.
    pub litres: f64,
    /// Days planned for it, 0 or more.
    pub days: f64,
    /// Highest mean rate of a leg, litres per 100 driven km; `None` when no leg has distance.
    pub worst_leg_l_per_100km: Option<f64>,
}

impl ReservePolicy {
    /// Checks the numbers of the policy.
    ///
    /// # Errors
    /// Every number out of its range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        match *self {
            Self::Fraction { fraction } => check.between("fraction", fraction, 0.0, 5.0),
            Self::DistancePlusFraction {
                distance_km,
                fraction,
            } => {
                check.between("distance_km", distance_km, 0.0, 100_000.0);
                check.between("fraction", fraction, 0.0, 5.0);
            }
            Self::Days { days } => check.between("days", days, 0.0, 1_000.0),
        }
        check.finish()
    }

    /// The reserve for one interval, litres.
    ///
    /// # Errors
    /// [`FuelError::Invalid`] for numbers out of range; [`FuelError::NotKnown`] where a distance has
    /// no rate or the interval no days.
    pub fn reserve_l(&self, need: &IntervalNeed) -> Result<f64, FuelError> {
        let mut check = Check::new();
        check.merge("policy", self.check());
        check.non_negative("litres", need.litres);
        check.non_negative("days", need.days);
        if let Some(rate) = need.worst_leg_l_per_100km {
            check.non_negative("worst_leg_l_per_100km", rate);
        }
        check.finish()?;
        let not_known = |what: &str| FuelError::NotKnown {
            missing: vec![what.to_owned()],
        };
        let reserve_l = match *self {
            Self::Fraction { fraction } => fraction * need.litres,
            Self::DistancePlusFraction {
                distance_km,
                fraction,
            } if distance_km > 0.0 => {
                let rate = need
                    .worst_leg_l_per_100km
                    .ok_or_else(|| not_known("rate of a leg with distance"))?;
                distance_km * rate / 100.0 + fraction * need.litres
            }
            Self::DistancePlusFraction { fraction, .. } => fraction * need.litres,
            Self::Days { .. } if need.litres == 0.0 => 0.0,
            Self::Days { .. } if need.days == 0.0 => {
                return Err(not_known("days planned for the interval"));
            }
            Self::Days { days } => days * need.litres / need.days,
        };
        let mut check = Check::new();
        check.finite("reserve_l", reserve_l);
        check.finish()?;
        Ok(reserve_l)
    }
}
