//! People and cargo.

use std::sync::Arc;

use super::limits::ZoneSums;
use super::moment::Moment;
use super::result::LoadGroup;
use super::tally::{Entry, Tally};
use crate::record::{CargoItem, Departure, Position, Record, Vehicle, Zone};

/// Adds the people who sit in the vehicle. Somebody without a seat may sit in any vehicle, so each
/// vehicle misses him.
pub(super) fn add_crew(departure: &Departure, vehicle: &Vehicle, tally: &mut Tally) {
    for member in &departure.crew {
        match &member.vehicle {
            None => tally.miss(format!(
                "which vehicle {} ({}) sits in is not known",
                member.role, member.id
            )),
            Some(name) if *name == vehicle.name => match member.mass {
                None => tally.miss(format!(
                    "the mass of {} ({}) is not known",
                    member.role, member.id
                )),
                Some(mass) => {
                    tally.add(Entry {
                        group: LoadGroup::Crew,
                        title: &|| member.role.as_str().into(),
                        record: &departure.name,
                        mass_kg: mass.mass_kg,
                        provenance: mass.provenance,
                        tolerance_kg: mass.tolerance_kg,
                        position: member.position,
                    });
                }
            },
            Some(_) => {}
        }
    }
}

/// An item on the vehicle.
#[derive(Debug)]
pub(super) struct Cargo<'a> {
    item: &'a CargoItem,
    title: Arc<str>,
}

/// The cargo on the vehicle, in the order of the record.
pub(super) fn cargo_on<'a>(record: &'a Record, vehicle: &Vehicle) -> Vec<Cargo<'a>> {
    record
        .cargo_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name))
        .map(|item| Cargo {
            item,
            title: item.display_name.as_str().into(),
        })
        .collect()
}

/// Adds the cargo on the vehicle, to the whole and to its zones.
///
/// All pieces of an item share the error of their unit mass, so the item's tolerance is that of one
/// piece times their number. Of what is consumed under way, the moment's share is left; its tolerance
/// stays whole, for how fast it goes is not known better than that.
pub(super) fn add_cargo<'a>(
    cargo: &[Cargo<'a>],
    vehicle: &'a Vehicle,
    moment: &Moment,
    zones: &mut ZoneSums<'a>,
    tally: &mut Tally,
) {
    for Cargo { item, title } in cargo {
        let zone = zone_of(item, vehicle, zones, tally);
        let Some(mass) = item.unit_mass else {
            tally.miss(format!(
                "the mass of {} ({}) is not known",
                item.display_name,
                item.name.id()
            ));
            continue;
        };
        let count = f64::from(item.quantity);
        let share = if item.consumed {
            moment.consumed_share_left
        } else {
            1.0
        };
        let mass_kg = mass.mass_kg * count * share;
        let tolerance_kg = mass.tolerance_kg.map(|tolerance_kg| tolerance_kg * count);
        let entered = tally.add(Entry {
            group: LoadGroup::Cargo,
            title: &|| title.clone(),
            record: &item.name,
            mass_kg,
            provenance: mass.provenance,
            tolerance_kg,
            position: place(item, zone),
        });
        if let Some(zone) = zone
            && entered
        {
            zones.add(zone, mass_kg, tolerance_kg);
        }
    }
}

fn place(item: &CargoItem, zone: Option<&Zone>) -> Option<Position> {
    item.position.or_else(|| zone.and_then(|zone| zone.position))
}

/// The zone of an item. Where zones have limits, an item without one may count against any of them.
fn zone_of<'a>(
    item: &CargoItem,
    vehicle: &'a Vehicle,
    zones: &ZoneSums<'_>,
    tally: &mut Tally,
) -> Option<&'a Zone> {
    let zone = item
        .zone
        .as_ref()
        .and_then(|zone| vehicle.specification.zone(zone));
    if zone.is_none() && (item.zone.is_some() || zones.any_limited()) {
        tally.miss(format!(
            "the zone of {} ({}) is not known",
            item.display_name,
            item.name.id()
        ));
    }
    zone
}
