//! The vehicle of the record on its springs in every load state, put there once for all who ask about it.

use super::recorded::{NotStanding, RunningGear, Springs};
use super::result::Stance;
use super::vehicle::SprungVehicle;
use crate::loads::{Carried, LoadResult};
use crate::record::{Record, Vehicle};

/// A vehicle at rest in one load state.
#[derive(Debug, Clone, PartialEq)]
pub struct AtRest {
    /// The state.
    pub load_state: String,
    /// What stands.
    pub sprung: SprungVehicle,
    /// How it stands.
    pub stance: Stance,
}

/// A vehicle in all its load states, on the springs that are fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// At rest, or why not, in the order of the states.
    pub states: Vec<Result<AtRest, NotStanding>>,
}

impl Standing {
    /// `vehicle` in its load `states`.
    pub fn of(record: &Record, vehicle: &Vehicle, states: &[LoadResult]) -> Self {
        let gear = RunningGear::of(record, vehicle, Springs::AsFitted);
        let stands = |state: &LoadResult| {
            let (sprung, stance) = gear.at_rest(&Carried::of(state))?;
            Ok(AtRest {
                load_state: state.load_state.clone(),
                sprung,
                stance,
            })
        };
        Self {
            states: states.iter().map(stands).collect(),
        }
    }

    /// The states in which it is at rest.
    pub fn at_rest(&self) -> impl Iterator<Item = &AtRest> {
        self.states.iter().filter_map(|state| state.as_ref().ok())
    }
}
