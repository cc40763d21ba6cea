//! Readiness: the gates of vehicles and convoy put together.
//!
//! A gate is one question; its answer is the worst of its findings. Missing data never reads as ready:
//! an input that is not known makes a finding *not known*, and that stops a "go" as surely as *not met*
//! does. Every finding names the records and numbers it comes from.
//!
//! To add a gate, write it under `gates/` and put it into the table there.

mod assess;
mod clearing;
mod convoy;
mod difference;
mod earlier;
mod gates;
mod going;
mod own;
mod packs;
mod results;
mod settle;

use crate::answer::Answer;
use crate::record::{Name, Shared};

pub use assess::{assess, assess_by};
pub use clearing::{ClearingJob, FirstStep};
pub use difference::{GateDifference, differences};
pub use earlier::Earlier;
pub use packs::{NoPack, Packs};

/// What a computed verdict is and is not.
pub const CAUTION: &str = "A computed verdict is an aid to the people who sign: it replaces neither a weighbridge, \
     an engineer's approval nor local law.";

/// The gates of a vehicle or a convoy put together. Ordered from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Every gate is met.
    Go,
    /// Every gate is met, some with conditions.
    GoWithConditions,
    /// A gate is not met or not known.
    NoGo,
}

impl Verdict {
    /// The words for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Go => "go",
            Self::GoWithConditions => "go with conditions",
            Self::NoGo => "no-go",
        }
    }

    /// The verdict of a worst answer.
    pub fn of(worst: Answer) -> Self {
        match worst {
            Answer::Met => Self::Go,
            Answer::MetWithConditions => Self::GoWithConditions,
            Answer::NotKnown | Answer::NotMet => Self::NoGo,
        }
    }
}

/// The gates of a departure put together.
#[derive(Debug, Clone, PartialEq)]
pub struct Readiness {
    /// The departure.
    pub departure: Name,
    /// The worst of the vehicles' verdicts and the convoy's gates.
    pub verdict: Verdict,
    /// Each vehicle, worst first.
    pub vehicles: Vec<Shared<VehicleReadiness>>,
    /// Gates of the convoy as a whole, worst first.
    pub gates: Vec<Gate>,
}

/// The gates of one vehicle put together.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleReadiness {
    /// The vehicle.
    pub vehicle: Name,
    /// Name for people.
    pub display_name: String,
    /// The worst of its gates.
    pub verdict: Verdict,
    /// Its gates, worst first.
    pub gates: Vec<Gate>,
}

/// One question of readiness.
#[derive(Debug, Clone, PartialEq)]
pub struct Gate {
    /// Which question.
    pub id: &'static str,
    /// The question for people.
    pub display_name: &'static str,
    /// The worst of its findings; met when there are none.
    pub answer: Answer,
    /// The answer in one sentence.
    pub summary: String,
    /// What the answer comes from, worst first.
    pub findings: Vec<Finding>,
    /// The departure's policy leaves it out of the verdict.
    pub not_binding: bool,
}

/// One thing that an answer comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it means for the gate.
    pub answer: Answer,
    /// What was found.
    pub text: String,
    /// What would clear it. Empty: nothing to do.
    pub remedy: String,
    /// The numbers behind it.
    pub figures: Vec<Figure>,
    /// The records behind it.
    pub records: Vec<Name>,
    /// Inputs that are missing.
    pub missing: Vec<String>,
    /// The formula or the rule pack version it came from.
    pub basis: String,
    /// What tells it from the other findings of its gate while its numbers change. Empty: nothing does.
    pub key: String,
    /// The acceptance under which a condition counts as met.
    pub acceptance: Option<Name>,
    /// Jobs still to do that clear it, by their names.
    pub clearing_jobs: Vec<ClearingJob>,
}

impl Finding {
    /// A finding about `records`, without numbers.
    pub(crate) fn new(answer: Answer, text: impl Into<String>, records: Vec<Name>) -> Self {
        Self {
            answer,
            text: text.into(),
            remedy: String::new(),
            figures: Vec::new(),
            records,
            missing: Vec::new(),
            basis: String::new(),
            key: String::new(),
            acceptance: None,
            clearing_jobs: Vec::new(),
        }
    }

    pub(crate) fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = remedy.into();
        self
    }

    pub(crate) fn basis(mut self, basis: impl Into<String>) -> Self {
        self.basis = basis.into();
        self
    }
}

/// A number of a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is, its unit last.
    pub id: String,
    /// The value.
    pub value: f64,
    /// The limit it is held against.
    pub limit: Option<f64>,
    /// Combined standard uncertainty of the value.
    pub uncertainty: Option<f64>,
}
