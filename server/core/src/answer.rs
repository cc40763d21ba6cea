//! The answer to one question of readiness.

/// How a requirement stands. Ordered from best to worst, so that the worst of several is their
/// maximum: what is known to fail weighs more than what is not known, and both stop a departure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Answer {
    /// Met.
    Met,
    /// Met with conditions, or in doubt.
    MetWithConditions,
    /// Inputs are missing.
    NotKnown,
    /// Not met.
    NotMet,
}

impl Answer {
    /// Whether it lets a vehicle go, with or without conditions.
    pub fn lets_go(self) -> bool {
        self <= Self::MetWithConditions
    }

    /// The word for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::MetWithConditions => "met with conditions",
            Self::NotKnown => "not known",
            Self::NotMet => "not met",
        }
    }
}
