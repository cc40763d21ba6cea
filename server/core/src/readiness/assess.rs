//! Puts the gates of a departure together, each computed again only when something it was computed from has changed.

use rayon::prelude::*;

use super::convoy::Convoy;
use super::earlier::Earlier;
use super::gates;
use super::going::Going;
use super::{Finding, Gate, Packs, Readiness, VehicleReadiness, Verdict};
use crate::answer::Answer;
use crate::plan::outlook::PlanOutlook;
use crate::record::{Departure, Name, Record, Shared, Vehicle};

/// The readiness of `departure`, or of the vehicle `only` of it, with the `outlook` of its plan
/// ([`PlanOutlook::of`]), which takes long enough that callers may keep it.
///
/// Never fails: what cannot be answered is not known. With `only`, the convoy's gates are still asked,
/// for they hold for every vehicle.
pub fn assess(
    record: &Record,
    departure: &Departure,
    only: Option<&Name>,
    outlook: &PlanOutlook,
) -> Readiness {
    let packs = Packs::of(record, departure);
    let outlook = outlook.clone().into();
    assess_by(record, departure, only, &outlook, &packs, &Earlier::default())
}

/// The same by `packs` that were checked before: proving a pack takes longer than everything else here, so that callers
/// may keep the proof ([`Packs::checked_by`]); and with the results of `earlier` assessments, as far as they hold.
pub fn assess_by(
    record: &Record,
    departure: &Departure,
    only: Option<&Name>,
    outlook: &Shared<PlanOutlook>,
    packs: &Packs,
    earlier: &Earlier,
) -> Readiness {
    let (record, departure) = (&earlier.record(record), earlier.departure.of(departure));
    let names: Vec<&Name> = departure.vehicles.iter().map(|going| &going.vehicle).collect();
    // No vehicle needs another's answer, so a fleet is asked about on all processors; but where most is known from earlier, to
    // wake them takes longer than what is left to do.
    let is_new = earlier.is_empty();
    let on_record: Vec<&Vehicle> = names
        .iter()
        .filter_map(|name| record.vehicles.get(*name))
        .collect();
    let going = each(is_new, &on_record, |vehicle| {
        Going::of(earlier.own.of(record, vehicle), &departure, earlier)
    });
    let packs = earlier.packs.of(packs);
    let convoy = Convoy::of(record, &departure, &going, outlook, packs, earlier);
    let asked: Vec<&Name> = names
        .into_iter()
        .filter(|name| only.is_none_or(|only| only == *name))
        .collect();
    let one = |name: &&Name| match going.iter().find(|going| going.own.vehicle.name == **name) {
        Some(going) => convoy.vehicle(going),
        None => unknown_vehicle(name).into(),
    };
    let gates = convoy.gates();
    let mut vehicles = each(is_new, &asked, one);
    vehicles.sort_by(|left, right| {
        right
            .verdict
            .cmp(&left.verdict)
            .then_with(|| left.vehicle.cmp(&right.vehicle))
    });
    let worst_gate = worst_binding(&gates).unwrap_or(Answer::Met);
    let worst_vehicle = vehicles
        .iter()
        .map(|vehicle| vehicle.verdict)
        .max()
        .unwrap_or(Verdict::NoGo);
    Readiness {
        departure: departure.name.clone(),
        verdict: worst_vehicle.max(Verdict::of(worst_gate)),
        vehicles,
        gates: gates.to_vec(),
    }
}

/// What `work` makes of each item, `side_by_side` or one after the other.
fn each<T: Sync, R: Send>(side_by_side: bool, items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    match side_by_side {
        true => items.par_iter().map(&work).collect(),
        false => items.iter().map(work).collect(),
    }
}

fn unknown_vehicle(name: &Name) -> VehicleReadiness {
    let mut finding = Finding::new(
        Answer::NotKnown,
        format!("{name} is not on record"),
        vec![name.clone()],
    );
    finding.missing.push(format!("the vehicle {name}"));
    VehicleReadiness {
        vehicle: name.clone(),
        display_name: String::new(),
        verdict: Verdict::NoGo,
        gates: vec![gates::gate(
            "record",
            "Is the vehicle on record?",
            vec![finding],
            String::new(),
        )],
    }
}

/// The worst answer of the gates that bind.
pub(super) fn worst_binding(gates: &[Gate]) -> Option<Answer> {
    let binding = gates.iter().filter(|gate| !gate.not_binding);
    binding.map(|gate| gate.answer).max()
}
