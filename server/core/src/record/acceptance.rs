//! Acceptances.

use super::{AcceptedCondition, Id, Name};

/// A signature under one finding of readiness. It holds for as long as the finding is there and no worse.
#[derive(Debug, Clone, PartialEq)]
pub struct Acceptance {
    /// Its name.
    pub name: Name,
    /// The departure that it is for.
    pub departure: Name,
    /// The vehicle whose gate it is. `None`: a gate of the convoy.
    pub vehicle: Option<Name>,
    /// The gate.
    pub gate: Id,
    /// Key of the finding in its gate.
    pub finding: String,
    /// What it is accepted under.
    pub condition: AcceptedCondition,
    /// What the finding said when it was signed.
    pub finding_text: String,
    /// The finding's first figure when it was signed.
    pub signed_value: Option<f64>,
    /// The limit that figure was held against.
    pub signed_limit: Option<f64>,
    /// Who signed: the holder of this token.
    pub signed_by: String,
}

impl Acceptance {
    /// Whether a figure is no worse than the one that was signed for. One without a limit has no direction
    /// and counts as no worse.
    ///
    /// A figure that was below its limit when signed is held to be limited from above, and the other way
    /// round; what counts is what is left to the limit.
    pub fn covers(&self, value: Option<f64>, limit: Option<f64>) -> bool {
        let (Some(signed_value), Some(signed_limit)) = (self.signed_value, self.signed_limit) else {
            return true;
        };
        let (Some(value), Some(limit)) = (value, limit) else {
            return false;
        };
        let left = if signed_value <= signed_limit {
            limit - value
        } else {
            value - limit
        };
        left >= (signed_limit - signed_value).abs() - f64::EPSILON * signed_limit.abs()
    }
}
