//! What differs between two readinesses.

use super::{Gate, Readiness};
use crate::answer::Answer;
use crate::record::Name;

/// A gate that differs between two readinesses.
#[derive(Debug, Clone, PartialEq)]
pub struct GateDifference {
    /// The vehicle. `None`: a gate of the convoy.
    pub vehicle: Option<Name>,
    /// The gate before. `None`: it was not asked.
    pub before: Option<Gate>,
    /// The gate after. `None`: it is not asked.
    pub after: Option<Gate>,
}

/// The gates that differ in anything, worst first as they are after; those that are no longer asked last.
pub fn differences(before: &Readiness, after: &Readiness) -> Vec<GateDifference> {
    let (before, after) = (every_gate(before), every_gate(after));
    let among = |gates: &[(Option<Name>, Gate)], vehicle: &Option<Name>, id: &str| {
        gates
            .iter()
            .find(|(own, gate)| own == vehicle && gate.id == id)
            .map(|(_, gate)| gate.clone())
    };
    let mut found: Vec<GateDifference> = after
        .iter()
        .map(|(vehicle, gate)| GateDifference {
            vehicle: vehicle.clone(),
            before: among(&before, vehicle, gate.id),
            after: Some(gate.clone()),
        })
        .filter(|difference| difference.before != difference.after)
        .collect();
    found.extend(
        before
            .iter()
            .filter(|(vehicle, gate)| among(&after, vehicle, gate.id).is_none())
            .map(|(vehicle, gate)| GateDifference {
                vehicle: vehicle.clone(),
                before: Some(gate.clone()),
                after: None,
            }),
    );
    let answer = |difference: &GateDifference| {
        let after = difference.after.as_ref();
        std::cmp::Reverse(after.map(|gate| gate.answer))
    };
    found.sort_by_key(answer);
    found
}

/// The gates of the vehicles and of the convoy.
fn every_gate(readiness: &Readiness) -> Vec<(Option<Name>, Gate)> {
    let vehicles = readiness.vehicles.iter().flat_map(|own| {
        let name = Some(own.vehicle.clone());
        own.gates.iter().map(move |gate| (name.clone(), gate.clone()))
    });
    let convoy = readiness.gates.iter().map(|gate| (None, gate.clone()));
    vehicles.chain(convoy).collect()
}

impl GateDifference {
    /// The gate's id.
    pub fn gate(&self) -> &'static str {
        let gate = self.after.as_ref().or(self.before.as_ref());
        gate.map_or("", |gate| gate.id)
    }

    /// The answers before and after.
    pub fn answers(&self) -> (Option<Answer>, Option<Answer>) {
        let answer = |gate: &Option<Gate>| gate.as_ref().map(|gate| gate.answer);
        (answer(&self.before), answer(&self.after))
    }
}
