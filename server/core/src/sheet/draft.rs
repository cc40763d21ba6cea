//! Drafts a load sheet.

use std::cmp::Ordering;

use super::{CAUTIONS, LoadSheet, SheetCondition, SheetCrew, SheetFill, SheetItem, SheetPaper, SheetZone};
use crate::answer::Answer;
use crate::loads::{self, LoadResult};
use crate::plan::outlook::PlanOutlook;
use crate::readiness::{self, Verdict};
use crate::record;
use crate::record::{CargoItem, Departure, Disposition, EvidenceResult, Id, Record, Vehicle};

/// Drafts the load sheet of `vehicle` for `departure`.
///
/// Never fails: what is not known is shown as not known and keeps the verdict at no-go.
pub fn draft(record: &Record, departure: &Departure, vehicle: &Vehicle, outlook: &PlanOutlook) -> LoadSheet {
    let readiness = readiness::assess(record, departure, Some(&vehicle.name), outlook);
    let own = readiness
        .vehicles
        .into_iter()
        .find(|own| own.vehicle == vehicle.name);
    let (verdict, gates) = own.map_or((Verdict::NoGo, Vec::new()), |own| (own.verdict, own.gates));
    let hazards = hazard_cautions(record, vehicle);
    LoadSheet {
        departure: departure.name.clone(),
        departure_display_name: departure.display_name.clone(),
        departure_date: departure.departure_date,
        vehicle: vehicle.name.clone(),
        vehicle_display_name: vehicle.display_name.clone(),
        role: vehicle.role.clone(),
        loads: loads_of(record, departure, vehicle),
        zones: zones(record, vehicle),
        fills: fills(record, departure, vehicle),
        crew: crew(departure, vehicle),
        conditions: conditions(record, vehicle),
        papers: papers(record, vehicle),
        open_gates: gates
            .into_iter()
            .filter(|gate| gate.answer != Answer::Met)
            .collect(),
        verdict,
        cautions: CAUTIONS
            .iter()
            .map(|caution| (*caution).to_owned())
            .chain(hazards)
            .collect(),
    }
}

/// The loads of every moment; the single masses behind them for the departure alone, where they are all aboard.
fn loads_of(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<LoadResult> {
    let mut states = loads::states(record, departure, vehicle);
    for later in states.iter_mut().skip(1) {
        later.lines.clear();
    }
    states
}

fn zones(record: &Record, vehicle: &Vehicle) -> Vec<SheetZone> {
    let aboard: Vec<&CargoItem> = record
        .cargo_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name))
        .collect();
    let zone = |id: Option<&Id>, display_name: &str| {
        let in_zone: Vec<&CargoItem> = aboard
            .iter()
            .copied()
            .filter(|item| known_zone(vehicle, item) == id)
            .collect();
        sheet_zone(id, display_name, &in_zone)
    };
    let mut zones: Vec<SheetZone> = vehicle
        .specification
        .zones
        .iter()
        .map(|own| {
            zone(
                Some(&own.id),
                if own.display_name.is_empty() {
                    &own.id
                } else {
                    &own.display_name
                },
            )
        })
        .collect();
    zones.push(zone(None, "no zone stated"));
    zones.retain(|zone| !zone.items.is_empty());
    zones
}

fn known_zone<'a>(vehicle: &Vehicle, item: &'a CargoItem) -> Option<&'a Id> {
    item.zone
        .as_ref()
        .filter(|zone| vehicle.specification.zone(zone).is_some())
}

fn sheet_zone(id: Option<&Id>, display_name: &str, items: &[&CargoItem]) -> SheetZone {
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
        })
        .collect();
    rows.sort_by(|left, right| heavier_first(left.mass_kg, right.mass_kg));
    let mass_kg = rows.iter().filter_map(|row| row.mass_kg).sum();
    SheetZone {
        zone: id.cloned(),
        display_name: display_name.to_owned(),
        items: rows,
        mass_kg,
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

fn fills(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<SheetFill> {
    let going = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == vehicle.name);
    vehicle
        .specification
        .tanks
        .iter()
        .map(|tank| {
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
            }
        })
        .collect()
}

fn crew(departure: &Departure, vehicle: &Vehicle) -> Vec<SheetCrew> {
    let mut crew: Vec<SheetCrew> = departure
        .crew
        .iter()
        .filter(|member| member.vehicle.as_ref() == Some(&vehicle.name))
        .map(|member| SheetCrew {
            role: member.role.clone(),
            driver: member.driver,
        })
        .collect();
    crew.sort_by_key(|member| !member.driver);
    crew
}

fn conditions(record: &Record, vehicle: &Vehicle) -> Vec<SheetCondition> {
    record
        .defects
        .values()
        .filter(|defect| defect.vehicle == vehicle.name)
        .filter_map(|defect| match &defect.disposition {
            Disposition::Accepted(condition) => Some(SheetCondition {
                record: defect.name.clone(),
                subject: defect.description.clone(),
                condition: condition.clone(),
            }),
            Disposition::Open | Disposition::Fixed { .. } => None,
        })
        .collect()
}

fn papers(record: &Record, vehicle: &Vehicle) -> Vec<SheetPaper> {
    let concerns = |evidence: &record::Evidence| match &evidence.vehicle {
        None => true,
        Some(name) => *name == vehicle.name,
    };
    record
        .evidence
        .values()
        .filter(|evidence| {
            evidence.carried && evidence.result == EvidenceResult::Passed && concerns(evidence)
        })
        .map(|evidence| SheetPaper {
            evidence: evidence.name.clone(),
            display_name: evidence.display_name.clone(),
            reference: evidence.reference.clone(),
            valid_until_date: evidence.valid_until_date,
        })
        .collect()
}

fn hazard_cautions(record: &Record, vehicle: &Vehicle) -> Vec<String> {
    record
        .cargo_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name) && !item.hazard.is_empty())
        .map(|item| format!("{}: {}.", item.display_name, item.hazard))
        .collect()
}
