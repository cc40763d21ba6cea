//! Parts changed since the baseline.

use std::collections::BTreeSet;

use super::baseline::baseline_weighing;
use super::result::LoadGroup;
use super::tally::{Entry, Tally, is_number};
use crate::record::{Fitment, Id, Mass, MassProvenance, Name, Record, Vehicle, Weighing};

/// Adds the change of mass of every slot against the baseline.
///
/// A slot that the weighing does not list counts as unchanged when its fitment has no date (the record
/// then says: before any weighing) or one not after the weighing. Against a declared mass there is no
/// list at all; a fitment with a date or from a substitution is then missing.
pub(super) fn add_fitment_changes(record: &Record, vehicle: &Vehicle, tally: &mut Tally) {
    match baseline_weighing(record, vehicle) {
        Some(weighing) => since_weighing(record, vehicle, weighing, tally),
        None if vehicle.baseline_weighing.is_none() => since_declared(vehicle, tally),
        // The missing weighing is told already.
        None => {}
    }
}

fn since_weighing(record: &Record, vehicle: &Vehicle, weighing: &Weighing, tally: &mut Tally) {
    let slots: BTreeSet<&Id> = vehicle
        .fitments
        .keys()
        .chain(weighing.fitted_parts.keys())
        .collect();
    for slot in slots {
        let then = weighing.fitted_parts.get(slot);
        match (then, vehicle.fitments.get(slot)) {
            (Some(_), None) => tally.miss(format!(
                "what is in slot {slot} of {} now is not on record",
                vehicle.display_name
            )),
            (Some(then), Some(fitment)) if *then != fitment.part => {
                change(record, vehicle, slot, then.as_ref(), fitment, tally);
            }
            (None, Some(fitment))
                if fitment
                    .fitted_date
                    .is_some_and(|fitted| fitted > weighing.weighed_date) =>
            {
                tally.miss(format!(
                    "the weighing of {} does not say what was in slot {slot}, which was changed after it",
                    weighing.weighed_date
                ));
            }
            _ => {}
        }
    }
}

fn since_declared(vehicle: &Vehicle, tally: &mut Tally) {
    for (slot, fitment) in &vehicle.fitments {
        if fitment.fitted_date.is_some() || fitment.substitution.is_some() {
            tally.miss(format!(
                "the declared mass of {} does not say what was in slot {slot}",
                vehicle.display_name
            ));
        }
    }
}

fn change(
    record: &Record,
    vehicle: &Vehicle,
    slot: &Id,
    then: Option<&Name>,
    fitment: &Fitment,
    tally: &mut Tally,
) {
    let before = part_mass(record, then, tally);
    let after = part_mass(record, fitment.part.as_ref(), tally);
    let (Some(before), Some(after)) = (before, after) else {
        return;
    };
    if before.mass_kg == 0.0 && after.mass_kg == 0.0 {
        return;
    }
    let title = |part: Option<&Name>| {
        part.and_then(|name| record.parts.get(name))
            .map_or("nothing", |part| part.display_name.as_str())
            .to_owned()
    };
    let place = vehicle.specification.slot(slot).and_then(|slot| slot.position);
    tally.add(&Entry {
        group: LoadGroup::Fitment,
        title: &|| {
            let now = title(fitment.part.as_ref());
            format!("{slot}: {now} in place of {}", title(then)).into()
        },
        record: &fitment.name,
        mass_kg: after.mass_kg - before.mass_kg,
        provenance: weaker(before, after),
        tolerance_kg: before
            .tolerance_kg
            .zip(after.tolerance_kg)
            .map(|(before, after)| before.hypot(after)),
        position: place,
    });
}

/// Mass of a part; an empty slot weighs exactly nothing. `None`: not known, and `tally` says so.
fn part_mass(record: &Record, part: Option<&Name>, tally: &mut Tally) -> Option<Mass> {
    let Some(name) = part else {
        return Some(Mass {
            mass_kg: 0.0,
            provenance: MassProvenance::Weighed,
            tolerance_kg: Some(0.0),
        });
    };
    let mass = record
        .parts
        .get(name)
        .and_then(|part| part.mass)
        .filter(|mass| is_number(mass.mass_kg) && mass.mass_kg >= 0.0);
    if mass.is_none() {
        let title = record
            .parts
            .get(name)
            .map_or("a part that is not on record", |part| part.display_name.as_str());
        tally.miss(format!("the mass of {title} ({name}) is not known"));
    }
    mass
}

fn weaker(before: Mass, after: Mass) -> MassProvenance {
    let rank = |provenance: MassProvenance| match provenance {
        MassProvenance::Weighed => 0,
        MassProvenance::Catalogue => 1,
        MassProvenance::Estimated => 2,
    };
    if rank(before.provenance) > rank(after.provenance) {
        before.provenance
    } else {
        after.provenance
    }
}
