//! What a single resource must keep to, beyond the range of each field: ids that are unique, places
//! that exist in the vehicle, dates in order.

mod centre_height;
mod departure;
mod electrical;
pub mod restraint;
mod tank;
mod tyre;
mod work;

use std::collections::{BTreeMap, BTreeSet};

use super::{
    CargoItem, Circles, CompatibilityNote, Evidence, EvidenceResult, Fitment, Fluid, Name, Part,
    RegulatedItem, RulePack, Specification, Substitution, TankFill, Vehicle, Weighing,
};
use crate::check::{Check, Violation};
use crate::fit::Crossing;

pub use departure::departure;
pub use work::{awaited_part, fleet, job, workshop};

/// The resources that a checked one refers to.
#[derive(Debug, Clone, Copy)]
pub struct World<'a> {
    /// Vehicles by name, without their fitments.
    pub vehicles: &'a BTreeMap<Name, Vehicle>,
    /// Which jobs of the fleet would come after themselves, the checked one among them.
    pub circles: &'a Circles,
}

/// A vehicle: ids unique within it, heels within capacities, shares within the whole.
pub fn vehicle(vehicle: &Vehicle) -> Vec<Violation> {
    let mut check = Check::new();
    let specification = &vehicle.specification;
    unique(
        &mut check,
        "specification.slots",
        specification.slots.iter().map(|slot| &*slot.id),
    );
    unique(
        &mut check,
        "specification.zones",
        specification.zones.iter().map(|zone| &*zone.id),
    );
    tank::check(&mut check, specification);
    centre_height::check(&mut check, specification);
    if let Some(driveline) = &specification.driveline {
        check.merge("specification.driveline", driveline.check());
    }
    if let Some(system) = &specification.electrical {
        electrical::check(&mut check, "specification.electrical", system);
    }
    for (index, slot) in specification.slots.iter().enumerate() {
        let kinds = slot
            .requirements
            .iter()
            .map(|requirement| &*requirement.interface.kind);
        unique(
            &mut check,
            &format!("specification.slots[{index}].requirements"),
            kinds,
        );
    }
    if let Some(declared) = &specification.declared_mass {
        if declared
            .front_axle_kg
            .is_some_and(|front_kg| front_kg > declared.mass_kg)
        {
            check.refuse(
                "specification.declared_mass.front_axle_kg",
                format!("must be at most the declared mass of {} kg", declared.mass_kg),
            );
        }
        fills(
            &mut check,
            "specification.declared_mass.fuel",
            &declared.fuel,
            specification,
        );
    }
    finish(check)
}

/// A fitment: its id is a slot of the vehicle.
pub fn fitment(fitment: &Fitment, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    if let Some(vehicle) = fitment.name.parent().and_then(|name| world.vehicles.get(&name))
        && vehicle.specification.slot(fitment.name.id()).is_none()
    {
        check.refuse("name", no_slot(vehicle, fitment.name.id()));
    }
    finish(check)
}

/// A part: each kind of interface once, each crossing of an adapter whole, gears that can be told apart and fall.
pub fn part(part: &Part) -> Vec<Violation> {
    let mut check = Check::new();
    unique(
        &mut check,
        "interfaces",
        part.interfaces.iter().map(|interface| &*interface.kind),
    );
    if let Some(gearing) = &part.gearing {
        check.merge("gearing", gearing.check());
    }
    let crossings = part.adapter.iter().flat_map(|adapter| &adapter.crossings);
    for (index, crossing) in crossings.enumerate() {
        if Crossing::of(crossing).is_none() {
            check.refuse(
                format_args!("adapter.crossings[{index}]"),
                "must have `takes_up` and `offers`, two values of one kind, or `lengthens` with a length alone",
            );
        }
    }
    tyre::marking(&mut check, part.tyre.as_ref());
    finish(check)
}

/// A compatibility note: about another part or a kind of vehicle, and with a remedy where it says there is work.
pub fn compatibility_note(note: &CompatibilityNote) -> Vec<Violation> {
    let mut check = Check::new();
    if note.other_part.is_none() && note.vehicle_kind.is_none() {
        check.refuse("other_part", "or `vehicle_kind` must be set");
    }
    if note.other_part.as_ref() == Some(&note.part) {
        check.refuse("other_part", "must be another part");
    }
    if note.finding == super::NoteFinding::FitsWithWork && note.remedy.is_empty() {
        check.refuse("remedy", "must say what work makes it fit");
    }
    finish(check)
}

/// A substitution: slots of the vehicle, each once, and a different part in each.
pub fn substitution(substitution: &Substitution, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    unique(
        &mut check,
        "replacements",
        substitution
            .replacements
            .iter()
            .map(|replacement| &*replacement.slot),
    );
    for (index, replacement) in substitution.replacements.iter().enumerate() {
        if let Some(vehicle) = world.vehicles.get(&substitution.vehicle)
            && vehicle.specification.slot(&replacement.slot).is_none()
        {
            check.refuse(
                format_args!("replacements[{index}].slot"),
                no_slot(vehicle, &replacement.slot),
            );
        }
        if replacement.outgoing_part.as_ref() == Some(&replacement.incoming_part) {
            check.refuse(
                format_args!("replacements[{index}].incoming_part"),
                "must differ from the outgoing part",
            );
        }
    }
    for (index, settlement) in substitution.settlements.iter().enumerate() {
        if !substitution
            .replacements
            .iter()
            .any(|replacement| replacement.slot == settlement.slot)
        {
            check.refuse(
                format_args!("settlements[{index}].slot"),
                "must be a slot of the substitution",
            );
        }
        for (field, measured) in [
            ("measured_on_vehicle", &settlement.measured_on_vehicle),
            ("measured_on_part", &settlement.measured_on_part),
        ] {
            let Some(measured) = measured else { continue };
            if measured.kind != settlement.interface_kind || measured.value.is_none() {
                check.refuse(
                    format_args!("settlements[{index}].{field}"),
                    format!("must be a value of `{}`", settlement.interface_kind),
                );
            }
        }
    }
    if substitution.supersedes.as_ref() == Some(&substitution.name) {
        check.refuse("supersedes", "must be another substitution");
    }
    finish(check)
}

/// A cargo item: its zone is one of its vehicle's.
pub fn cargo_item(item: &CargoItem, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    match (&item.vehicle, &item.zone) {
        (Some(name), Some(zone)) => {
            if let Some(vehicle) = world.vehicles.get(name)
                && vehicle.specification.zone(zone).is_none()
            {
                let zones = vehicle.specification.zones.iter().map(|zone| &*zone.id);
                check.refuse("zone", unknown("zone", vehicle, zone, zones));
            }
        }
        (None, Some(_)) => check.refuse("zone", "needs the vehicle it is in"),
        (_, None) => {}
    }
    for (index, (name, zone)) in item.stowage_terms.not_in_zones.iter().enumerate() {
        if let Some(vehicle) = world.vehicles.get(name)
            && vehicle.specification.zone(zone).is_none()
        {
            let zones = vehicle.specification.zones.iter().map(|zone| &*zone.id);
            let field = format!("stowage_terms.not_in_zones[{index}].zone");
            check.refuse(field, unknown("zone", vehicle, zone, zones));
        }
    }
    restraint::check(&mut check, "restraint", item.restraint.as_ref());
    tyre::spare(&mut check, item.spare_wheel.as_ref());
    finish(check)
}

/// A weighing: it has readings that are more than nothing or heights, and fills of the vehicle's tanks.
pub fn weighing(weighing: &Weighing, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    match weighing.readings {
        None if weighing.heights.is_some() => {}
        None => check.refuse("axles", "or `wheels` or `heights` must be set"),
        Some(super::Readings::Axles { front_kg, rear_kg }) if front_kg + rear_kg <= 0.0 => {
            check.refuse("axles", "must not both be 0");
        }
        Some(_) => {}
    }
    if let Some(vehicle) = world.vehicles.get(&weighing.vehicle) {
        fills(&mut check, "fills", &weighing.fills, &vehicle.specification);
        for slot in weighing.fitted_parts.keys() {
            if vehicle.specification.slot(slot).is_none() {
                check.refuse(
                    format_args!("fitted_parts[{:?}]", &**slot),
                    no_slot(vehicle, slot),
                );
            }
        }
    }
    finish(check)
}

/// Evidence: dates in order, and a date when it came out.
pub fn evidence(evidence: &Evidence) -> Vec<Violation> {
    let mut check = Check::new();
    if evidence.result != EvidenceResult::Pending && evidence.issued_date.is_none() {
        check.refuse("issued_date", "must be set unless the evidence is pending");
    }
    if let (Some(issued), Some(valid_until)) = (evidence.issued_date, evidence.valid_until_date)
        && valid_until < issued
    {
        check.refuse("valid_until_date", format!("must not be before {issued}"));
    }
    finish(check)
}

/// A regulated item: its slots are its vehicle's.
pub fn regulated_item(item: &RegulatedItem, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    match &item.vehicle {
        None if !item.slots.is_empty() => check.refuse("slots", "need the vehicle they are in"),
        None => {}
        Some(name) => {
            if let Some(vehicle) = world.vehicles.get(name) {
                for (index, slot) in item.slots.iter().enumerate() {
                    if vehicle.specification.slot(slot).is_none() {
                        check.refuse(format_args!("slots[{index}]"), no_slot(vehicle, slot));
                    }
                }
            }
        }
    }
    finish(check)
}

/// A rule pack: its ids, facts, expressions, and that for any facts exactly one category holds.
pub fn rule_pack(pack: &RulePack) -> Vec<Violation> {
    match crate::rules::check_pack(pack.clone()) {
        Ok(_) => Vec::new(),
        Err(refused) => crate::check::InvalidInput::from(refused).violations,
    }
}

/// Published bounds of a fuel's density at 15 degrees Celsius, kilograms per litre: EN 590 for diesel
/// (0.820 to 0.845) and EN 228:2012 for petrol (0.720 to 0.775), both read in a secondary copy. Water
/// has none here.
pub fn density_bounds_kg_per_l(fluid: Fluid) -> Option<(f64, f64)> {
    match fluid {
        Fluid::Diesel => Some((0.820, 0.845)),
        Fluid::Petrol => Some((0.720, 0.775)),
        Fluid::Water => None,
    }
}

fn fills(check: &mut Check, path: &str, fills: &[TankFill], specification: &Specification) {
    unique(check, path, fills.iter().map(|fill| &*fill.tank));
    for (index, fill) in fills.iter().enumerate() {
        match specification.tank(&fill.tank) {
            None => {
                let known: Vec<&str> = specification.tanks.iter().map(|tank| &*tank.id).collect();
                check.refuse(
                    format_args!("{path}[{index}].tank"),
                    format!(
                        "{} is no tank of the vehicle; it has {}",
                        fill.tank,
                        known.join(", ")
                    ),
                );
            }
            Some(tank) if fill.volume_l > tank.capacity_l => check.refuse(
                format_args!("{path}[{index}].volume_l"),
                format!(
                    "must be at most the capacity of {} l, is {}",
                    tank.capacity_l, fill.volume_l
                ),
            ),
            Some(_) => {}
        }
    }
}

fn no_slot(vehicle: &Vehicle, slot: &str) -> String {
    unknown(
        "slot",
        vehicle,
        slot,
        vehicle.specification.slots.iter().map(|slot| &*slot.id),
    )
}

fn unknown<'a>(what: &str, vehicle: &Vehicle, id: &str, known: impl Iterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.take(12).collect();
    let list = if known.is_empty() {
        "none".to_owned()
    } else {
        known.join(", ")
    };
    format!("{id} is no {what} of {}; it has {list}", vehicle.name)
}

fn unique<'a>(check: &mut Check, path: &str, ids: impl Iterator<Item = &'a str>) {
    let mut seen = BTreeSet::new();
    for (index, id) in ids.enumerate() {
        if !seen.insert(id) {
            check.refuse(format_args!("{path}[{index}]"), format!("has {id} a second time"));
        }
    }
}

fn finish(check: Check) -> Vec<Violation> {
    match check.finish() {
        Ok(()) => Vec::new(),
        Err(refused) => refused.violations,
    }
}
