//! A moment of a departure: what is in the tanks then, and how much of the consumed cargo is left.

use std::collections::BTreeMap;

use super::DEPARTURE_STATE;
use super::tally::Tally;
use crate::record::Id;

/// What is in the tanks at a moment.
#[derive(Debug)]
pub(super) enum Fills {
    /// What the departure fills.
    AtDeparture,
    /// Litres by tank. A tank that is not listed is not known, and the moment says why.
    UnderWay(BTreeMap<Id, f64>),
}

/// A moment of a departure.
#[derive(Debug)]
pub(super) struct Moment {
    /// Which.
    pub(super) load_state: String,
    /// What is in the tanks.
    pub(super) fills: Fills,
    /// Share of the consumed cargo that is left, 0 to 1.
    pub(super) consumed_share_left: f64,
    /// What is missing to know the moment.
    pub(super) missing: Vec<String>,
    /// What it rests on.
    pub(super) notes: Vec<String>,
}

impl Moment {
    /// The departure itself.
    pub(super) fn departure() -> Self {
        Self {
            load_state: DEPARTURE_STATE.to_owned(),
            fills: Fills::AtDeparture,
            consumed_share_left: 1.0,
            missing: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Adds what the moment is missing, each once.
    pub(super) fn say_what_is_missing(&self, tally: &mut Tally) {
        for sentence in &self.missing {
            if !tally.missing.contains(sentence) {
                tally.miss(sentence.clone());
            }
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
