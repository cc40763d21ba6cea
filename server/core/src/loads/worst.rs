//! At which moment of a departure a limit is tightest.

use std::cmp::Ordering;

use super::result::{LoadAgainstLimit, LoadResult};
use crate::answer::Answer;
use crate::record::Id;

/// A load that has a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LimitedLoad {
    /// The whole vehicle.
    Total,
    /// The front axle.
    FrontAxle,
    /// The rear axle.
    RearAxle,
    /// The roof.
    Roof,
    /// A zone.
    Zone(Id),
}

impl LimitedLoad {
    /// This load in a state. `None`: the state does not have it.
    pub fn of<'a>(&self, state: &'a LoadResult) -> Option<&'a LoadAgainstLimit> {
        match self {
            Self::Total => Some(&state.total),
            Self::FrontAxle => state.front_axle.as_ref(),
            Self::RearAxle => state.rear_axle.as_ref(),
            Self::Roof => Some(&state.roof),
            Self::Zone(id) => state
                .zones
                .iter()
                .find(|zone| zone.zone == *id)
                .map(|zone| &zone.load),
        }
    }

    /// Its id: `total`, `front_axle`, `rear_axle`, `roof`, or `zone` and the zone's id.
    pub fn id(&self) -> String {
        match self {
            Self::Total => "total".to_owned(),
            Self::FrontAxle => "front_axle".to_owned(),
            Self::RearAxle => "rear_axle".to_owned(),
            Self::Roof => "roof".to_owned(),
            Self::Zone(id) => format!("zone {id}"),
        }
    }
}

/// A load at the moment at which its limit is tightest.
#[derive(Debug, Clone, PartialEq)]
pub struct WorstLoad {
    /// Which load.
    pub limited: LimitedLoad,
    /// The moment.
    pub load_state: String,
    /// The load then.
    pub load: LoadAgainstLimit,
}

/// For every load that has a limit, the moment at which it is tightest.
///
/// What is over in any state comes first; else the states of which nothing is missing are compared, by
/// answer and then by margin; of equal ones the earliest counts. Only when no state is complete does an
/// incomplete one stand here, and its answer is not known.
pub fn worst(states: &[LoadResult]) -> Vec<WorstLoad> {
    limited(states)
        .filter_map(|limited| {
            let (state, load) = worst_of(states, &limited)?;
            Some(WorstLoad {
                load_state: state.load_state.clone(),
                load: load.clone(),
                limited,
            })
        })
        .collect()
}

/// Every load of a vehicle that may have a limit.
pub(super) fn limited(states: &[LoadResult]) -> impl Iterator<Item = LimitedLoad> {
    let fixed = [
        LimitedLoad::Total,
        LimitedLoad::FrontAxle,
        LimitedLoad::RearAxle,
        LimitedLoad::Roof,
    ];
    let zones = states.first().into_iter().flat_map(|first| &first.zones);
    let zones = zones.map(|zone| LimitedLoad::Zone(zone.zone.clone()));
    fixed.into_iter().chain(zones)
}

/// The state in which one load is tightest, as [`worst`] does. `None`: no state has it.
pub fn worst_of<'a>(
    states: &'a [LoadResult],
    limited: &LimitedLoad,
) -> Option<(&'a LoadResult, &'a LoadAgainstLimit)> {
    states
        .iter()
        .filter_map(|state| limited.of(state).map(|load| (state, load)))
        .min_by(|(left_state, left), (right_state, right)| {
            rank(left_state, left)
                .cmp(&rank(right_state, right))
                .then_with(|| by_margin(left, right))
        })
}

fn rank(state: &LoadResult, load: &LoadAgainstLimit) -> u8 {
    match load.answer {
        Answer::NotMet => 0,
        _ if !state.missing.is_empty() => 3,
        Answer::MetWithConditions => 1,
        Answer::Met | Answer::NotKnown => 2,
    }
}

fn by_margin(left: &LoadAgainstLimit, right: &LoadAgainstLimit) -> Ordering {
    match (left.margin_kg, right.margin_kg) {
        (Some(left_kg), Some(right_kg)) => left_kg.total_cmp(&right_kg),
        // Without a limit the larger load is the worse one.
        _ => right.load_kg.total_cmp(&left.load_kg),
    }
}
