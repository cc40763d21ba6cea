//! What is aboard: cargo zone by zone, fluids in the order in which they are drawn.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::{SheetFill, SheetItem, SheetZone};
use crate::answer::Answer;
use crate::record::{CargoItem, Departure, Id, Name, Record, Vehicle, Zone};
use crate::restraint::assess_vehicle;
use crate::supplies::tanks::drawn_in_order;

/// The cargo of `vehicle` zone by zone; things without a zone come last.
pub(super) fn zones(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<SheetZone> {
    let held: BTreeMap<Name, Answer> = assess_vehicle(record, departure, vehicle)
        .held
        .iter()
        .filter(|held| held.tank.is_none())
        .filter_map(|held| Some((held.record.clone()?, held.answer())))
        .collect();
    let aboard: Vec<&CargoItem> = record
        .cargo_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name))
        .collect();
    let in_zone = |zone: Option<&Zone>| {
        let things: Vec<&CargoItem> = aboard
            .iter()
            .copied()
            .filter(|item| known_zone(vehicle, item) == zone.map(|zone| &zone.id))
            .collect();
        sheet_zone(zone, &things, &held)
    };
    let mut zones: Vec<SheetZone> = vehicle
        .specification
        .zones
        .iter()
        .map(|own| in_zone(Some(own)))
        .collect();
    zones.push(in_zone(None));
    zones.retain(|zone| !zone.items.is_empty());
    zones
}

fn known_zone<'a>(vehicle: &Vehicle, item: &'a CargoItem) -> Option<&'a Id> {
    item.zone
        .as_ref()
        .filter(|zone| vehicle.specification.zone(zone).is_some())
}

fn sheet_zone(zone: Option<&Zone>, items: &[&CargoItem], held: &BTreeMap<Name, Answer>) -> SheetZone {
    let mut rows: Vec<SheetItem> = items
        .iter()
        .map(|item| SheetItem {
            cargo_item: item.name.clone(),
            display_name: item.display_name.clone(),
            quantity: item.quantity,
            mass_kg: item.mass_kg(),
            restraint: item
                .restraint
                .as_ref()
                .map(|held| held.method.clone())
                .unwrap_or_default(),
            hazard: item.hazard.clone(),
            critical: item.critical,
            held: held.get(&item.name).copied().unwrap_or(Answer::NotKnown),
            consumed: item.consumed,
        })
        .collect();
    rows.sort_by(|left, right| heavier_first(left.mass_kg, right.mass_kg));
    let mass_kg = rows.iter().filter_map(|row| row.mass_kg).sum();
    let display_name = match zone {
        None => "no zone stated",
        Some(zone) if zone.display_name.is_empty() => &zone.id,
        Some(zone) => &zone.display_name,
    };
    SheetZone {
        zone: zone.map(|zone| zone.id.clone()),
        display_name: display_name.to_owned(),
        items: rows,
        mass_kg,
        position: zone.and_then(|zone| zone.position),
        limit_kg: zone.and_then(|zone| zone.limit_kg),
        on_roof: zone.is_some_and(|zone| zone.on_roof),
    }
}

fn heavier_first(left: Option<f64>, right: Option<f64>) -> Ordering {
    match (left, right) {
        (None, None) => Ordering::Equal,
        (None, Some(_)) => Ordering::Less,
        (Some(_), None) => Ordering::Greater,
        (Some(left), Some(right)) => right.total_cmp(&left),
    }
}

/// The tanks of `vehicle` in the order in which they are emptied, fluid by fluid.
pub(super) fn fills(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<SheetFill> {
    let going = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == vehicle.name);
    let mut turns: BTreeMap<_, u32> = BTreeMap::new();
    drawn_in_order(vehicle, going)
        .into_iter()
        .map(|tank| {
            let turn = turns.entry(tank.fluid).or_default();
            *turn += 1;
            let volume_l = going
                .and_then(|going| going.fills.iter().find(|fill| fill.tank == tank.id))
                .map(|fill| fill.volume_l);
            let density = record.fleet.fluid_densities_kg_per_l.get(&tank.fluid).copied();
            let empty_kg = tank.empty_mass.map_or(0.0, |mass| mass.mass_kg);
            SheetFill {
                tank: tank.id.clone(),
                display_name: tank.display_name.clone(),
                fluid: tank.fluid,
                volume_l,
                usable_l: volume_l
                    .zip(tank.unusable_l)
                    .map(|(volume_l, heel_l)| (volume_l - heel_l).max(0.0)),
                mass_kg: volume_l
                    .zip(density)
                    .map(|(volume_l, density)| volume_l * density + empty_kg),
                drawdown: *turn,
                capacity_l: tank.capacity_l,
                position: tank.position,
            }
        })
        .collect()
}
