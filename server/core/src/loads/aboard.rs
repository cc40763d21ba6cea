//! People and cargo.

use std::sync::Arc;

use super::limits::{ZoneSums, any_limited};
use super::result::{LoadGroup, LoadLine};
use super::tally::{Entry, Split, Sum, Tally, usable_wheelbase_mm};
use crate::record::{CargoItem, Departure, Position, Record, Vehicle};

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
                    tally.add(&Entry {
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
    /// Place of its zone among those of the vehicle.
    zone: Option<usize>,
    position: Option<Position>,
    /// What all of it adds, which is what it adds at nearly every moment.
    whole: Counted,
}

/// What an item adds to loads.
#[derive(Debug, Default)]
struct Counted {
    missing: Vec<String>,
    entered: Option<Entered>,
}

#[derive(Debug)]
struct Entered {
    split: Split,
    in_zone: Sum,
    line: Arc<LoadLine>,
}

/// The vehicle that cargo is on, as far as that matters to it.
struct Carrier {
    wheelbase_mm: Option<f64>,
    /// Where zones have limits, an item without one may count against any of them.
    any_limited: bool,
}

impl<'a> Cargo<'a> {
    fn of(item: &'a CargoItem, vehicle: &Vehicle, carrier: &Carrier) -> Self {
        let zones = &vehicle.specification.zones;
        let own = item.zone.as_ref();
        let zone = own.and_then(|own| zones.iter().position(|zone| zone.id == *own));
        let centre = || zones.get(zone?)?.position;
        let mut cargo = Self {
            item,
            title: item.display_name.as_str().into(),
            zone,
            position: item.position.or_else(centre),
            whole: Counted::default(),
        };
        cargo.whole = cargo.counted(1.0, carrier);
        cargo
    }

    /// Whether it is used up under way.
    pub(super) fn is_consumed(&self) -> bool {
        self.item.consumed
    }

    /// What `share` of it adds.
    ///
    /// All pieces of an item share the error of their unit mass, so the item's tolerance is that of one piece times their number.
    /// The tolerance of what is consumed stays whole, for how fast it goes is not known better than that.
    fn counted(&self, share: f64, carrier: &Carrier) -> Counted {
        let item = self.item;
        let mut missing = Vec::new();
        let mut miss = |what: &str| {
            let (name, id) = (&item.display_name, item.name.id());
            missing.push(format!("{what} of {name} ({id}) is not known"));
        };
        if self.zone.is_none() && (item.zone.is_some() || carrier.any_limited) {
            miss("the zone");
        }
        let Some(mass) = item.unit_mass else {
            miss("the mass");
            return Counted {
                missing,
                entered: None,
            };
        };
        let count = f64::from(item.quantity);
        let entry = Entry {
            group: LoadGroup::Cargo,
            title: &|| self.title.clone(),
            record: &item.name,
            mass_kg: mass.mass_kg * count * share,
            provenance: mass.provenance,
            tolerance_kg: mass.tolerance_kg.map(|tolerance_kg| tolerance_kg * count),
            position: self.position,
        };
        if let Some(fault) = entry.fault() {
            missing.push(fault);
            return Counted {
                missing,
                entered: None,
            };
        }
        missing.extend(entry.left_out());
        let mut in_zone = Sum::default();
        in_zone.add(entry.mass_kg, 1.0, entry.tolerance_kg);
        Counted {
            missing,
            entered: Some(Entered {
                split: entry.split(carrier.wheelbase_mm),
                in_zone,
                line: entry.line(carrier.wheelbase_mm).into(),
            }),
        }
    }
}

/// The cargo on the vehicle, in the order of the record.
pub(super) fn cargo_on<'a>(record: &'a Record, vehicle: &Vehicle) -> Vec<Cargo<'a>> {
    cargo_of(record.cargo_items.values(), vehicle)
}

/// The same with an item where it was `moved` to.
pub(super) fn cargo_with<'a>(record: &'a Record, moved: &'a CargoItem, vehicle: &Vehicle) -> Vec<Cargo<'a>> {
    let items = record.cargo_items.values();
    let items = items.map(|item| if item.name == moved.name { moved } else { item });
    cargo_of(items, vehicle)
}

fn cargo_of<'a>(items: impl Iterator<Item = &'a CargoItem>, vehicle: &Vehicle) -> Vec<Cargo<'a>> {
    let carrier = carrier(vehicle);
    items
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name))
        .map(|item| Cargo::of(item, vehicle, &carrier))
        .collect()
}

fn carrier(vehicle: &Vehicle) -> Carrier {
    Carrier {
        wheelbase_mm: usable_wheelbase_mm(vehicle.specification.wheelbase_mm),
        any_limited: any_limited(&vehicle.specification.zones),
    }
}

/// Adds the cargo on a vehicle, to the whole and to its zones. Of what is consumed under way, `share_left` is left.
pub(super) fn add_cargo(
    cargo: &[Cargo<'_>],
    share_left: f64,
    vehicle: &Vehicle,
    zones: &mut ZoneSums<'_>,
    tally: &mut Tally,
) {
    for item in cargo {
        let is_whole = share_left == 1.0 || !item.is_consumed();
        let rest = (!is_whole).then(|| item.counted(share_left, &carrier(vehicle)));
        let Counted { missing, entered } = rest.as_ref().unwrap_or(&item.whole);
        tally.missing.extend_from_slice(missing);
        let Some(entered) = entered else { continue };
        tally.take(LoadGroup::Cargo, entered.line.mass_kg, &entered.split);
        if let Some(lines) = &mut tally.lines {
            lines.push(entered.line.clone());
        }
        if let Some(zone) = item.zone {
            zones.take(zone, entered.in_zone);
        }
    }
}
