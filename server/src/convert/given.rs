//! A vehicle whose data are given with a request, put into a record of its own, so that every computation treats it as any
//! other. What is made up for that (names, days) appears in no answer.

use std::collections::BTreeMap;

use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::{CargoItem, Departure, Fitment, Id, Name, Record, Vehicle, Weighing, integrity};
use ostler_proto::v1;

use super::cargo::cargo_item;
use super::departure::departure;
use super::fleet::fleet;
use super::part::part;
use super::vehicle::vehicle;
use super::weighing::weighing;
use super::{Converted, Within, id};

/// The moment that given data speak of.
pub(crate) const AS_GIVEN: &str = "as given";

/// Where what is given lives.
const FLEET: &str = "fleets/bench";
/// Nothing that is given has a day.
const DAY: &str = "2000-01-01";

/// A record that holds nothing but what was given.
#[derive(Debug)]
pub(crate) struct Given {
    /// The record, with the vehicle and what it carries.
    pub(crate) record: Record,
    /// The vehicle.
    pub(crate) vehicle: Vehicle,
    /// A departure of the vehicle, without a way.
    pub(crate) departure: Departure,
    /// The same state on a scale.
    pub(crate) weighing: Weighing,
}

/// What stood on a scale.
#[derive(Debug, Default)]
pub(crate) struct Scale {
    pub(crate) readings: Option<v1::weighing::Readings>,
    pub(crate) tolerance_kg: Option<f64>,
}

/// Puts given data into a record.
pub(crate) fn given(
    one: Option<v1::GivenVehicle>,
    load: Option<v1::GivenLoad>,
    scale: Scale,
) -> Converted<Given> {
    let v1::GivenVehicle {
        display_name,
        specification,
        fitted,
        fluid_densities,
    } = one.unwrap_or_default();
    let own = v1::Fleet {
        fluid_densities,
        ..Default::default()
    };
    let mut record = Record::new(fleet(Name::new(FLEET)?, own).within("vehicle")?);
    let message = v1::Vehicle {
        display_name: if display_name.is_empty() {
            "the vehicle".to_owned()
        } else {
            display_name
        },
        specification,
        ..Default::default()
    };
    let mut one = vehicle(name("vehicles", "given")?, message).within("vehicle")?;
    refuse("vehicle", integrity::vehicle(&one))?;
    fit(fitted, &mut one, &mut record)?;
    let v1::GivenLoad { mut fills, masses } = load.unwrap_or_default();
    fill_the_rest(&one, &mut fills)?;
    let mut other = Vec::new();
    for (index, mass) in masses.into_iter().enumerate() {
        let path = format!("load.masses[{index}]");
        other.extend(aboard(&mass, &one).within(&path)?);
        let item = item(index, mass, &one).within(&path)?;
        record.cargo_items.insert(item.name.clone(), item);
    }
    let going = v1::DepartureVehicle {
        vehicle: one.name.to_string(),
        fills: fills.clone(),
        ..Default::default()
    };
    let trip = v1::Departure {
        departure_date: DAY.to_owned(),
        return_date: DAY.to_owned(),
        vehicles: vec![going],
        ..Default::default()
    };
    let weighed = v1::Weighing {
        vehicle: one.name.to_string(),
        weighed_date: DAY.to_owned(),
        ticket: AS_GIVEN.to_owned(),
        readings: scale.readings,
        tolerance_kg: scale.tolerance_kg,
        fills,
        other,
        ..Default::default()
    };
    record.vehicles.insert(one.name.clone(), one.clone());
    Ok(Given {
        departure: departure(name("departures", "given")?, trip)?,
        weighing: weighing(name("weighings", "given")?, weighed)?,
        record,
        vehicle: one,
    })
}

fn name(collection: &str, id: &str) -> Converted<Name> {
    Ok(Name::new(FLEET)?.child(collection, &Id::new(id)?))
}

fn refuse(path: &str, violations: Vec<Violation>) -> Converted<()> {
    if violations.is_empty() {
        return Ok(());
    }
    Err(InvalidInput { violations }.within(path))
}

/// Puts the parts into their slots.
fn fit(fitted: BTreeMap<String, v1::Part>, one: &mut Vehicle, record: &mut Record) -> Converted<()> {
    for (slot, message) in fitted {
        let path = format!("vehicle.fitted[{slot:?}]");
        let slot = id(&path, slot)?;
        let part = part(name("parts", &slot)?, message).within(&path)?;
        refuse(&path, integrity::part(&part))?;
        let fitment = Fitment {
            name: one.name.child("fitments", &slot),
            part: Some(part.name.clone()),
            fitted_date: None,
            facts: BTreeMap::new(),
            substitution: None,
            note: String::new(),
        };
        record.parts.insert(part.name.clone(), part);
        one.fitments.insert(slot, fitment);
    }
    Ok(())
}

/// Tanks that are not listed are empty.
fn fill_the_rest(one: &Vehicle, fills: &mut Vec<v1::TankFill>) -> Converted<()> {
    for (index, fill) in fills.iter().enumerate() {
        if one.specification.tank(&fill.tank).is_none() {
            let problem = format!("{} is no tank of the vehicle", fill.tank);
            return Err(InvalidInput::one(format!("load.fills[{index}].tank"), problem));
        }
    }
    for tank in &one.specification.tanks {
        if !fills.iter().any(|fill| fill.tank == *tank.id) {
            fills.push(v1::TankFill {
                tank: tank.id.to_string(),
                volume_l: 0.0,
            });
        }
    }
    Ok(())
}

fn item(index: usize, mass: v1::GivenMass, one: &Vehicle) -> Converted<CargoItem> {
    let v1::GivenMass {
        display_name,
        mass,
        position,
        zone,
    } = mass;
    let message = v1::CargoItem {
        display_name,
        vehicle: one.name.to_string(),
        zone,
        quantity: 1,
        unit_mass: mass,
        position,
        ..Default::default()
    };
    cargo_item(name("cargoItems", &format!("m{index}"))?, message)
}

/// A mass as it stood on a scale. `None`: its place is not known, which the loads say.
fn aboard(mass: &v1::GivenMass, one: &Vehicle) -> Converted<Option<v1::AboardMass>> {
    let zone = match mass.zone.as_str() {
        "" => None,
        zone => match one.specification.zone(zone) {
            Some(zone) => Some(zone),
            None => {
                return Err(InvalidInput::one(
                    "zone",
                    format!("{zone} is no zone of the vehicle"),
                ));
            }
        },
    };
    let position = mass
        .position
        .or_else(|| zone?.position.map(super::common::position_message));
    Ok(position.map(|position| v1::AboardMass {
        display_name: mass.display_name.clone(),
        mass: mass.mass,
        position: Some(position),
    }))
}
