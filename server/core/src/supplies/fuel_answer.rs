//! What the fuel of a departure means for its gates.

use super::convoy_fuel::{DepartureFuel, IntervalSharing};
use super::vehicle_fuel::VehicleFuel;
use crate::answer::Answer;
use crate::fuel::requirement::FuelInterval;
use crate::fuel::sharing::Move;
use crate::record::{Departure, Policy};

/// Litres below which a shortfall is rounding.
const ROUNDING_L: f64 = 1e-6;

/// One thing that stands against the fuel of a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub enum FuelIssue {
    /// Inputs are missing.
    Missing(Vec<String>),
    /// An interval asks for more than is aboard.
    Short(FuelInterval),
    /// An interval asks for more than is aboard, and the others can give it.
    CoveredByOthers {
        /// The interval.
        interval: FuelInterval,
        /// What must be moved to the vehicle.
        moves: Vec<Move>,
    },
    /// Running out on the way is likelier than the policy accepts.
    Likely {
        /// The chance, at most.
        chance: f64,
        /// The highest that is accepted.
        accepted: f64,
    },
    /// The policy asks for the chance of running out, and it is not known.
    ChanceNotKnown(Vec<String>),
    /// A rate that was not measured as the vehicle will go.
    Rate(String),
}

impl FuelIssue {
    /// What it means for the gate.
    pub fn answer(&self) -> Answer {
        match self {
            Self::Short(_) | Self::Likely { .. } => Answer::NotMet,
            Self::Missing(_) | Self::ChanceNotKnown(_) => Answer::NotKnown,
            Self::CoveredByOthers { .. } | Self::Rate(_) => Answer::MetWithConditions,
        }
    }
}

/// What stands against the fuel of a vehicle. Nothing: it suffices.
pub fn fuel_issues(departure: &Departure, all: &DepartureFuel, fuel: &VehicleFuel) -> Vec<FuelIssue> {
    let Some(sums) = &fuel.sums else {
        return vec![FuelIssue::Missing(fuel.missing.clone())];
    };
    let mut issues = Vec::new();
    for (index, interval) in sums.requirement.intervals.iter().enumerate() {
        if interval.balance_l >= 0.0 {
            continue;
        }
        let sharing = all
            .sharing
            .iter()
            .find(|sharing| Some(sharing.fuel) == fuel.fuel && sharing.interval == index);
        issues.push(match sharing.and_then(|sharing| help(sharing, fuel)) {
            Some(moves) => FuelIssue::CoveredByOthers {
                interval: interval.clone(),
                moves,
            },
            None => FuelIssue::Short(interval.clone()),
        });
    }
    issues.extend(chance_issue(&departure.policy, fuel));
    issues.extend(sums.route.cautions.iter().cloned().map(FuelIssue::Rate));
    issues
}

/// What the others move to a vehicle that is short. `None`: they cannot cover it.
fn help(sharing: &IntervalSharing, fuel: &VehicleFuel) -> Option<Vec<Move>> {
    let after_l = sharing.balance_after_l(&fuel.vehicle)?;
    let moves = sharing.plan.moves.iter().filter(|one| *one.to == *fuel.vehicle);
    (after_l >= -ROUNDING_L).then(|| moves.cloned().collect())
}

fn chance_issue(policy: &Policy, fuel: &VehicleFuel) -> Option<FuelIssue> {
    let accepted = policy.fuel_chance_max?;
    let sums = fuel.sums.as_ref()?;
    match sums.chance.as_ref().and_then(|chance| chance.route_most) {
        None => Some(FuelIssue::ChanceNotKnown(sums.chance_notes.clone())),
        Some(chance) => (chance > accepted).then_some(FuelIssue::Likely { chance, accepted }),
    }
}

/// The answer of the gate `fuel` of a vehicle.
pub fn fuel_answer(departure: &Departure, all: &DepartureFuel, fuel: &VehicleFuel) -> Answer {
    let issues = fuel_issues(departure, all, fuel);
    issues.iter().map(FuelIssue::answer).max().unwrap_or(Answer::Met)
}
