//! A moment of a departure, and what is in the tanks then.

use std::collections::BTreeMap;

use super::DEPARTURE_STATE;
use crate::record::Id;

/// What is in the tanks at a moment.
#[derive(Debug, PartialEq)]
pub(super) enum Fills {
    /// What the departure fills.
    AtDeparture,
    /// Litres by tank. A tank that is not listed is not known, and the moment says why.
    UnderWay(BTreeMap<Id, f64>),
}

/// A moment of a departure.
#[derive(Debug, PartialEq)]
pub(super) struct Moment {
    /// Which.
    pub(super) load_state: String,
    /// What is in the tanks.
    pub(super) fills: Fills,
    /// The leg at the end of which it is, by its place. `None`: it is the departure.
    pub(super) leg: Option<usize>,
    /// What is missing to know it, whatever the cargo.
    pub(super) missing: Vec<String>,
    /// What it rests on, whatever the cargo.
    pub(super) notes: Vec<String>,
}

impl Moment {
    /// The departure itself.
    pub(super) fn departure() -> Self {
        Self {
            load_state: DEPARTURE_STATE.to_owned(),
            fills: Fills::AtDeparture,
            leg: None,
            missing: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// A volume for people: as written in the record, or rounded where it was computed.
    pub(super) fn litres(&self, volume_l: f64) -> String {
        match self.fills {
            Fills::AtDeparture => format!("{volume_l} l"),
            Fills::UnderWay(_) => format!("{volume_l:.1} l"),
        }
    }
}
