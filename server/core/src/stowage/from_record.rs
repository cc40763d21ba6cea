//! The question as the record puts it: the cargo of a departure's vehicles, and everything else as base load.

use std::collections::BTreeMap;

use super::model::{Ban, BaseLoad, Convoy, ConvoyVehicle, ConvoyZone, Item, OwnPlace, Place};
use super::result::Move;
use super::terms::{Terms, Whereto};
use crate::check::{InvalidInput, MAGNITUDE_MAX};
use crate::loads::{DEPARTURE_STATE, consumed_shares_left, loaded_roof_limit_kg, place_of, states};
use crate::record::{CargoItem, Departure, Name, Record, Vehicle, Zone};

/// The question, and what it leaves out.
#[derive(Debug, Clone, PartialEq)]
pub struct FromRecord {
    /// The question.
    pub convoy: Convoy,
    /// Vehicles onto and off which nothing is moved, because their loads or limits are not known.
    pub left_out: Vec<LeftOut>,
    /// Cargo items that stay where they are.
    pub staying: Vec<LeftOutItem>,
    /// What the loads are missing, in sentences. Not empty: the promised margins leave these out.
    pub missing: Vec<String>,
}

/// A vehicle that is left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The vehicle.
    pub vehicle: Name,
    /// Why, in sentences.
    pub reasons: Vec<String>,
}

/// A cargo item that stays.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOutItem {
    /// The cargo item.
    pub cargo_item: Name,
    /// Why, as a predicate: `is pinned`.
    pub reason: String,
}

impl Move {
    /// The cargo item as the move leaves it.
    pub fn applied_to(&self, item: &CargoItem) -> CargoItem {
        CargoItem {
            vehicle: Some(self.to_vehicle.clone()),
            zone: Some(self.to_zone.clone()),
            position: Some(self.to_position),
            ..item.clone()
        }
    }
}

/// The question of a departure.
///
/// To be placed are the cargo items on its vehicles, and those that `terms` name as to be stowed; pinned
/// ones and those whose mass or place is not known stay. The stowage terms of the items hold beside `terms`. A thing put into a zone is taken to sit at the
/// zone's centre, or, where that is not recorded, where the things in it sit on average; a zone with
/// neither takes nothing.
///
/// # Errors
/// `terms`: a cargo item, vehicle or zone that is not there, a number out of range, an item in two groups.
pub fn from_record(
    record: &Record,
    departure: &Departure,
    terms: &Terms,
) -> Result<FromRecord, InvalidInput> {
    terms.check(record)?;
    let terms = terms.with_items(record.cargo_items.values().filter(|item| {
        to_be_stowed(item, terms)
            || item
                .vehicle
                .as_ref()
                .is_some_and(|vehicle| goes(departure, vehicle))
    }));
    let mut left_out = Vec::new();
    let mut vehicles = Vec::new();
    for going in &departure.vehicles {
        let Some(vehicle) = record.vehicles.get(&going.vehicle) else {
            continue;
        };
        let reasons = unknown(record, departure, vehicle);
        if reasons.is_empty() {
            vehicles.push(vehicle);
        } else {
            left_out.push(LeftOut {
                vehicle: vehicle.name.clone(),
                reasons,
            });
        }
    }
    let zones: Vec<Vec<(&Zone, ConvoyZone)>> =
        vehicles.iter().map(|vehicle| zones_of(record, vehicle)).collect();
    let stowage = Stowing {
        record,
        departure,
        terms: &terms,
        vehicles,
        zones,
    };
    let (placed, staying) = stowage.sort_out();
    let mut missing = Vec::new();
    let convoy = stowage.convoy(&placed, &mut missing);
    Ok(FromRecord {
        convoy,
        left_out,
        staying,
        missing,
    })
}

fn goes(departure: &Departure, vehicle: &Name) -> bool {
    departure.vehicles.iter().any(|going| going.vehicle == *vehicle)
}

fn to_be_stowed(item: &CargoItem, terms: &Terms) -> bool {
    item.vehicle.is_none() && terms.unstowed.contains(&item.name)
}

/// Why nothing can be promised for a vehicle.
fn unknown(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<String> {
    let specification = &vehicle.specification;
    let mut reasons = Vec::new();
    for (limit_kg, what) in [
        (specification.gross_mass_kg, "gross mass"),
        (specification.front_axle_rating_kg, "front axle rating"),
        (specification.rear_axle_rating_kg, "rear axle rating"),
    ] {
        if limit_kg.and_then(usable).is_none() {
            reasons.push(format!("the {what} is not known"));
        }
    }
    let states = states(record, departure, vehicle);
    if states
        .iter()
        .any(|state| state.front_axle.is_none() || state.rear_axle.is_none())
    {
        reasons.push("the axle loads without cargo are not known".to_owned());
    }
    reasons
}

fn usable(number: f64) -> Option<f64> {
    Some(number).filter(|number| (0.0..=MAGNITUDE_MAX).contains(number))
}

/// The zones that can be loaded into or out of.
fn zones_of<'a>(record: &Record, vehicle: &'a Vehicle) -> Vec<(&'a Zone, ConvoyZone)> {
    let roof_limit_kg = loaded_roof_limit_kg(vehicle.specification.roof);
    let mut zones = Vec::new();
    for zone in &vehicle.specification.zones {
        let limit_unknown = zone.limit_kg.is_some_and(|limit_kg| usable(limit_kg).is_none());
        if limit_unknown || (zone.on_roof && roof_limit_kg.is_none()) {
            continue;
        }
        let Some(place) = place_of(record, vehicle, zone) else {
            continue;
        };
        let zone_of_convoy = ConvoyZone {
            id: zone.id.clone(),
            x_mm: place.x_mm,
            y_mm: place.y_mm,
            z_mm: place.z_mm,
            limit_kg: zone.limit_kg,
            on_roof: zone.on_roof,
            occupant_space: zone.occupant_space,
        };
        zones.push((zone, zone_of_convoy));
    }
    zones
}

struct Stowing<'a> {
    record: &'a Record,
    departure: &'a Departure,
    terms: &'a Terms,
    /// Those that take part.
    vehicles: Vec<&'a Vehicle>,
    /// Their zones that take part.
    zones: Vec<Vec<(&'a Zone, ConvoyZone)>>,
}

/// The items to place, by name, and where they are.
type Placed<'a> = BTreeMap<&'a Name, (&'a CargoItem, Option<Place>)>;

impl<'a> Stowing<'a> {
    fn vehicle(&self, name: Option<&Name>) -> Option<usize> {
        self.vehicles
            .iter()
            .position(|vehicle| Some(&vehicle.name) == name)
    }

    /// The items to place, and those that stay.
    fn sort_out(&self) -> (Placed<'a>, Vec<LeftOutItem>) {
        let mut placed = Placed::new();
        let mut staying = Vec::new();
        for item in self.record.cargo_items.values() {
            let aboard = item
                .vehicle
                .as_ref()
                .is_some_and(|vehicle| goes(self.departure, vehicle));
            if !aboard && !to_be_stowed(item, self.terms) {
                continue;
            }
            match self.now(item) {
                Ok(now) => {
                    placed.insert(&item.name, (item, now));
                }
                Err(reason) => staying.push(LeftOutItem {
                    cargo_item: item.name.clone(),
                    reason: reason.to_owned(),
                }),
            }
        }
        // A group of which something is where nothing is moved stays as a whole.
        for group in &self.terms.together {
            let reachable = |name: &Name| {
                let item = self.record.cargo_items.get(name);
                placed.contains_key(name)
                    || self
                        .vehicle(item.and_then(|item| item.vehicle.as_ref()))
                        .is_some()
            };
            if !group.iter().all(reachable) {
                for name in group.iter().filter(|name| placed.remove(*name).is_some()) {
                    staying.push(LeftOutItem {
                        cargo_item: name.clone(),
                        reason: "is kept together with an item on no vehicle that takes part".to_owned(),
                    });
                }
            }
        }
        (placed, staying)
    }

    /// Where an item is; `None` when it is to be stowed. Else why it stays.
    fn now(&self, item: &CargoItem) -> Result<Option<Place>, &'static str> {
        if item.pinned || self.terms.pinned.contains(&item.name) {
            return Err("is pinned");
        }
        if item.mass_kg().and_then(usable).is_none() {
            return Err("has no known mass");
        }
        if item.vehicle.is_none() {
            return Ok(None);
        }
        let vehicle = self
            .vehicle(item.vehicle.as_ref())
            .ok_or("is on a vehicle that is left out")?;
        let mut zones = self.zones[vehicle].iter();
        let zone = zones
            .position(|(zone, _)| Some(&zone.id) == item.zone.as_ref())
            .ok_or("is in a zone that is not known, has no known place or a roof without a known limit")?;
        if item.position.or(self.zones[vehicle][zone].0.position).is_none() {
            return Err("has no known place");
        }
        let own = item.position.map(|position| OwnPlace {
            x_mm: position.x_mm,
            y_mm: position.y_mm,
        });
        if own.is_some_and(|own| !own.x_mm.is_finite() || !own.y_mm.is_finite()) {
            return Err("has no usable place");
        }
        Ok(Some(Place { vehicle, zone, own }))
    }

    fn convoy(&self, placed: &Placed<'a>, missing: &mut Vec<String>) -> Convoy {
        let mut base = self.record.clone();
        base.cargo_items.retain(|name, _| !placed.contains_key(name));
        let shares = consumed_shares_left(self.departure);
        if shares.is_none()
            && !self.departure.legs.is_empty()
            && placed.values().any(|(item, _)| item.consumed)
        {
            missing
                .push("how fast consumed cargo goes is not known, so all of it counts throughout".to_owned());
        }
        let vehicles = (0..self.vehicles.len())
            .map(|vehicle| self.convoy_vehicle(vehicle, &base, shares.as_deref(), missing))
            .collect();
        let index: BTreeMap<&Name, usize> = placed.keys().enumerate().map(|(at, name)| (*name, at)).collect();
        let groups = self.terms.together.iter().map(|group| {
            let placed = group.iter().filter_map(|name| index.get(name).copied());
            placed.collect()
        });
        Convoy {
            vehicles,
            items: placed
                .values()
                .map(|(item, now)| self.item(item, *now, placed))
                .collect(),
            groups: groups.collect(),
        }
    }

    fn convoy_vehicle(
        &self,
        index: usize,
        base: &Record,
        shares: Option<&[f64]>,
        missing: &mut Vec<String>,
    ) -> ConvoyVehicle {
        let vehicle = self.vehicles[index];
        let specification = &vehicle.specification;
        let states = states(base, self.departure, vehicle).into_iter().map(|state| {
            for sentence in &state.missing {
                let sentence = format!("{}: {sentence}", vehicle.display_name);
                if !missing.contains(&sentence) {
                    missing.push(sentence);
                }
            }
            let in_zone = |zone: &Zone| {
                let mut zones = state.zones.iter();
                zones
                    .find(|load| load.zone == zone.id)
                    .map_or(0.0, |load| load.load.load_kg)
            };
            BaseLoad {
                total_kg: state.total.load_kg,
                front_axle_kg: state.front_axle.as_ref().map_or(0.0, |axle| axle.load_kg),
                rear_axle_kg: state.rear_axle.as_ref().map_or(0.0, |axle| axle.load_kg),
                roof_kg: state.roof.load_kg,
                lateral_moment_kgm: state.lateral_moment_kgm,
                zones_kg: self.zones[index].iter().map(|(zone, _)| in_zone(zone)).collect(),
                consumed_share_left: share_left(self.departure, &state.load_state, shares),
                load_state: state.load_state,
            }
        });
        ConvoyVehicle {
            name: vehicle.name.clone(),
            wheelbase_mm: specification.wheelbase_mm.unwrap_or_default(),
            gross_mass_kg: specification.gross_mass_kg.unwrap_or_default(),
            front_axle_rating_kg: specification.front_axle_rating_kg.unwrap_or_default(),
            rear_axle_rating_kg: specification.rear_axle_rating_kg.unwrap_or_default(),
            roof_limit_kg: loaded_roof_limit_kg(specification.roof),
            lateral_limit_kgm: self.terms.lateral_limits_kgm.get(&vehicle.name).copied(),
            states: states.collect(),
            zones: self.zones[index].iter().map(|(_, zone)| zone.clone()).collect(),
        }
    }

    fn item(&self, item: &CargoItem, now: Option<Place>, placed: &Placed<'a>) -> Item {
        let about = self
            .terms
            .bans
            .iter()
            .filter(|(subject, _)| subject.is_about(item));
        let mut bans: Vec<Ban> = about.filter_map(|(_, whereto)| self.ban(whereto)).collect();
        // Whatever it is kept together with and stays keeps it in that vehicle.
        for group in self
            .terms
            .together
            .iter()
            .filter(|group| group.contains(&item.name))
        {
            for name in group.iter().filter(|name| !placed.contains_key(*name)) {
                let stays = self
                    .record
                    .cargo_items
                    .get(name)
                    .and_then(|item| item.vehicle.as_ref());
                let only = self.vehicle(stays);
                let others = (0..self.vehicles.len()).filter(|vehicle| Some(*vehicle) != only);
                bans.extend(others.map(Ban::Vehicle));
            }
        }
        Item {
            name: item.name.clone(),
            mass_kg: item.mass_kg().unwrap_or_default(),
            consumed: item.consumed,
            now,
            pinned: false,
            bans,
        }
    }

    fn ban(&self, whereto: &Whereto) -> Option<Ban> {
        match whereto {
            Whereto::Roof => Some(Ban::Roof),
            Whereto::OccupantSpace => Some(Ban::OccupantSpace),
            Whereto::Vehicle(name) => self.vehicle(Some(name)).map(Ban::Vehicle),
            Whereto::Zone(name, id) => {
                let vehicle = self.vehicle(Some(name))?;
                let zone = self.zones[vehicle].iter().position(|(zone, _)| zone.id == *id)?;
                Some(Ban::Zone(vehicle, zone))
            }
        }
    }
}

/// Share of consumed cargo left in a load state, as the loads have it.
fn share_left(departure: &Departure, load_state: &str, shares: Option<&[f64]>) -> f64 {
    if load_state == DEPARTURE_STATE {
        return 1.0;
    }
    let leg = departure.legs.iter().position(|leg| {
        load_state == format!("end of {}", leg.id) || load_state == format!("supply after {}", leg.id)
    });
    leg.zip(shares)
        .and_then(|(leg, shares)| shares.get(leg).copied())
        .unwrap_or(1.0)
}
