//! People and cargo.

use std::cell::OnceCell;
use std::sync::Arc;

use super::before_cargo::Detail;
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

/// The cargo on a vehicle.
#[derive(Debug)]
pub(super) struct Cargo<'a> {
    carrier: Carrier,
    /// What is not used up under way, added up: it is the same at every moment.
    staying: Staying,
    /// What is used up under way, with all of it.
    consumed: Vec<(Item<'a>, Counted)>,
}

/// Items that stay aboard, in the order of the record.
#[derive(Debug, Default)]
struct Staying {
    missing: Vec<String>,
    mass_kg: f64,
    split: Split,
    /// By the place of a zone among those of the vehicle.
    zones: Vec<Sum>,
    lines: Vec<Arc<LoadLine>>,
}

/// An item on the vehicle.
#[derive(Debug)]
struct Item<'a> {
    item: &'a CargoItem,
    /// Its name, shared by all lines about it.
    title: OnceCell<Arc<str>>,
    /// Place of its zone among those of the vehicle.
    zone: Option<usize>,
    position: Option<Position>,
}

/// What an item adds to loads.
#[derive(Debug, Default)]
struct Counted {
    missing: Vec<String>,
    entered: Option<Entered>,
}

#[derive(Debug)]
struct Entered {
    mass_kg: f64,
    split: Split,
    in_zone: Sum,
    /// `None`: only sums are wanted.
    line: Option<Arc<LoadLine>>,
}

/// The vehicle that cargo is on, as far as that matters to it.
#[derive(Debug)]
struct Carrier {
    wheelbase_mm: Option<f64>,
    /// Where zones have limits, an item without one may count against any of them.
    any_limited: bool,
    detail: Detail,
}

impl<'a> Cargo<'a> {
    /// What the record has on the vehicle.
    pub(super) fn on(record: &'a Record, vehicle: &Vehicle, detail: Detail) -> Self {
        Self::of(record.cargo_items.values(), vehicle, detail)
    }

    /// The same with an item where it was `moved` to.
    pub(super) fn with_moved(
        record: &'a Record,
        moved: &'a CargoItem,
        vehicle: &Vehicle,
        detail: Detail,
    ) -> Self {
        let items = record.cargo_items.values();
        let items = items.map(|item| if item.name == moved.name { moved } else { item });
        Self::of(items, vehicle, detail)
    }

    fn of(items: impl Iterator<Item = &'a CargoItem>, vehicle: &Vehicle, detail: Detail) -> Self {
        let carrier = Carrier {
            wheelbase_mm: usable_wheelbase_mm(vehicle.specification.wheelbase_mm),
            any_limited: any_limited(&vehicle.specification.zones),
            detail,
        };
        let mut staying = Staying {
            zones: vec![Sum::default(); vehicle.specification.zones.len()],
            ..Staying::default()
        };
        let mut consumed = Vec::new();
        for item in items.filter(|item| item.vehicle.as_ref() == Some(&vehicle.name)) {
            let item = Item::of(item, vehicle);
            let whole = item.counted(1.0, &carrier);
            match item.item.consumed {
                true => consumed.push((item, whole)),
                false => staying.take(item.zone, whole),
            }
        }
        Self {
            carrier,
            staying,
            consumed,
        }
    }

    /// How much of loads is wanted.
    pub(super) fn detail(&self) -> Detail {
        self.carrier.detail
    }

    /// Whether any of it is used up under way.
    pub(super) fn has_consumed(&self) -> bool {
        !self.consumed.is_empty()
    }

    /// The lines it adds at most.
    pub(super) fn line_count(&self) -> usize {
        self.staying.lines.len() + self.consumed.len()
    }

    /// Adds it to the whole and to its zones. Of what is consumed under way, `share_left` is left.
    pub(super) fn add(&self, share_left: f64, zones: &mut ZoneSums<'_>, tally: &mut Tally) {
        let staying = &self.staying;
        tally.missing.extend_from_slice(&staying.missing);
        tally.take(LoadGroup::Cargo, staying.mass_kg, &staying.split);
        if let Some(lines) = &mut tally.lines {
            lines.extend_from_slice(&staying.lines);
        }
        for (zone, sum) in staying.zones.iter().enumerate() {
            zones.take(zone, *sum);
        }
        for (item, whole) in &self.consumed {
            let rest = (share_left != 1.0).then(|| item.counted(share_left, &self.carrier));
            let Counted { missing, entered } = rest.as_ref().unwrap_or(whole);
            tally.missing.extend_from_slice(missing);
            let Some(entered) = entered else { continue };
            tally.take(LoadGroup::Cargo, entered.mass_kg, &entered.split);
            if let Some(lines) = &mut tally.lines {
                lines.extend(entered.line.clone());
            }
            if let Some(zone) = item.zone {
                zones.take(zone, entered.in_zone);
            }
        }
    }
}

impl Staying {
    fn take(&mut self, zone: Option<usize>, Counted { missing, entered }: Counted) {
        self.missing.extend(missing);
        let Some(entered) = entered else { return };
        self.mass_kg += entered.mass_kg;
        self.split.take_over(&entered.split);
        self.lines.extend(entered.line);
        if let Some(sum) = zone.and_then(|zone| self.zones.get_mut(zone)) {
            sum.take_over(entered.in_zone);
        }
    }
}

impl<'a> Item<'a> {
    fn of(item: &'a CargoItem, vehicle: &Vehicle) -> Self {
        let zones = &vehicle.specification.zones;
        let own = item.zone.as_ref();
        let zone = own.and_then(|own| zones.iter().position(|zone| zone.id == *own));
        let centre = || zones.get(zone?)?.position;
        Self {
            item,
            title: OnceCell::new(),
            zone,
            position: item.position.or_else(centre),
        }
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
            title: &|| {
                self.title
                    .get_or_init(|| item.display_name.as_str().into())
                    .clone()
            },
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
        let lines_wanted = carrier.detail == Detail::Lines;
        Counted {
            missing,
            entered: Some(Entered {
                mass_kg: entry.mass_kg,
                split: entry.split(carrier.wheelbase_mm),
                in_zone,
                line: lines_wanted.then(|| entry.line(carrier.wheelbase_mm).into()),
            }),
        }
    }
}
