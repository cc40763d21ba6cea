//! Vehicles and fitments.

use std::collections::BTreeMap;

use ostler_core::record::{
    DeclaredMass, Fitment, Name, Roof, Slot, Specification, Tank, TankFill, TankMounting, Vehicle,
    VehicleSystem, Zone,
};
use ostler_proto::v1;

use super::common::{facts, hand, optional_mass, position, requirement};
use super::electrical::electrical_system;
use super::fleet::fluid;
use super::gearing::driveline;
use super::restraint::optional_restraint;
use super::stability::centre_height;
use super::suspension::suspension;
use super::tank::build;
use super::{Converted, Within, each, id, missing, optional_date, optional_id, optional_name, tyre_data};

/// A vehicle without its fitments, which are resources of their own.
pub(crate) fn vehicle(name: Name, message: v1::Vehicle) -> Converted<Vehicle> {
    let v1::Vehicle {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        role,
        kind,
        specification: built,
        baseline_weighing,
    } = message;
    Ok(Vehicle {
        name,
        display_name,
        role,
        kind: optional_id("kind", kind)?,
        specification: specification(built.unwrap_or_default()).within("specification")?,
        baseline_weighing: optional_name("baseline_weighing", baseline_weighing)?,
        fitments: BTreeMap::new(),
    })
}

pub(crate) fn specification(message: v1::Specification) -> Converted<Specification> {
    let v1::Specification {
        wheelbase_mm,
        front_track_mm,
        rear_track_mm,
        gross_mass_kg,
        original_gross_mass_kg,
        front_axle_rating_kg,
        rear_axle_rating_kg,
        declared_mass: declared,
        roof: limits,
        tanks,
        slots,
        zones,
        driver_side,
        suspension: carried,
        driveline: drives,
        electrical,
        tyre_placard,
        centre_height: height,
    } = message;
    Ok(Specification {
        wheelbase_mm,
        front_track_mm,
        rear_track_mm,
        gross_mass_kg,
        original_gross_mass_kg,
        front_axle_rating_kg,
        rear_axle_rating_kg,
        declared_mass: declared.map(declared_mass).transpose().within("declared_mass")?,
        roof: limits.map(roof),
        tanks: each("tanks", tanks, tank)?,
        slots: each("slots", slots, slot)?,
        zones: each("zones", zones, zone)?,
        driver_side: hand(driver_side),
        suspension: carried.map(suspension).transpose().within("suspension")?,
        driveline: drives.map(driveline).transpose().within("driveline")?,
        electrical: electrical
            .map(electrical_system)
            .transpose()
            .within("electrical")?,
        tyre_placard: tyre_placard
            .map(tyre_data::placard)
            .transpose()
            .within("tyre_placard")?,
        centre_height: height.map(centre_height).transpose().within("centre_height")?,
    })
}

fn declared_mass(message: v1::DeclaredMass) -> Converted<DeclaredMass> {
    let v1::DeclaredMass {
        mass_kg,
        front_axle_kg,
        fuel,
        driver_kg,
        state,
        tolerance_kg,
    } = message;
    Ok(DeclaredMass {
        mass_kg,
        front_axle_kg,
        fuel: fills("fuel", fuel)?,
        driver_kg,
        state,
        tolerance_kg,
    })
}

fn roof(message: v1::Roof) -> Roof {
    let v1::Roof {
        limit_kg,
        rack_mass_kg,
        rack_rating_kg,
        rack_offroad_factor,
    } = message;
    Roof {
        limit_kg,
        rack_mass_kg,
        rack_rating_kg,
        rack_offroad_factor,
    }
}

fn tank(message: v1::Tank) -> Converted<Tank> {
    let v1::Tank {
        id: tank_id,
        display_name,
        fluid: held,
        mounting,
        capacity_l,
        unusable_l,
        empty_mass,
        position: place,
        note,
        restraint: held_by,
        brimful_l,
        inside,
        pump,
        walls,
    } = message;
    let mounting = match v1::TankMounting::try_from(mounting) {
        Ok(v1::TankMounting::Fixed) => TankMounting::Fixed,
        Ok(v1::TankMounting::Container) => TankMounting::Container,
        Ok(v1::TankMounting::Unspecified) | Err(_) => return Err(missing("mounting")),
    };
    Ok(Tank {
        id: id("id", tank_id)?,
        display_name,
        fluid: fluid(held).within("fluid")?,
        mounting,
        capacity_l,
        unusable_l,
        empty_mass: optional_mass("empty_mass", empty_mass)?,
        position: place.map(position).ok_or_else(|| missing("position"))?,
        note,
        restraint: optional_restraint("restraint", held_by)?,
        build: build(brimful_l, inside, pump, walls)?,
    })
}

/// Litres in tanks.
pub(crate) fn fills(field: &str, messages: Vec<v1::TankFill>) -> Converted<Vec<TankFill>> {
    each(field, messages, |message| {
        let v1::TankFill { tank, volume_l } = message;
        Ok(TankFill {
            tank: id("tank", tank)?,
            volume_l,
        })
    })
}

fn system(value: i32) -> Converted<VehicleSystem> {
    use v1::VehicleSystem as Message;
    Ok(match Message::try_from(value) {
        Ok(Message::Engine) => VehicleSystem::Engine,
        Ok(Message::Driveline) => VehicleSystem::Driveline,
        Ok(Message::Suspension) => VehicleSystem::Suspension,
        Ok(Message::Wheels) => VehicleSystem::Wheels,
        Ok(Message::Brakes) => VehicleSystem::Brakes,
        Ok(Message::Fuel) => VehicleSystem::Fuel,
        Ok(Message::Electrical) => VehicleSystem::Electrical,
        Ok(Message::Body) => VehicleSystem::Body,
        Ok(Message::Unspecified) | Err(_) => return Err(missing("system")),
    })
}

fn slot(message: v1::Slot) -> Converted<Slot> {
    let v1::Slot {
        id: slot_id,
        kind,
        system: of,
        position: place,
        requirements,
    } = message;
    let slot_id = id("id", slot_id)?;
    let kind = match optional_id("kind", kind)? {
        Some(kind) => kind,
        None => id("id", slot_id.head().to_owned())?,
    };
    Ok(Slot {
        id: slot_id,
        kind,
        system: system(of)?,
        position: place.map(position),
        requirements: each("requirements", requirements, requirement)?,
    })
}

fn zone(message: v1::Zone) -> Converted<Zone> {
    let v1::Zone {
        id: zone_id,
        display_name,
        position: place,
        limit_kg,
        on_roof,
        occupant_space,
    } = message;
    Ok(Zone {
        id: id("id", zone_id)?,
        display_name,
        position: place.map(position),
        limit_kg,
        on_roof,
        occupant_space,
    })
}

pub(crate) fn fitment(name: Name, message: v1::Fitment) -> Converted<Fitment> {
    let v1::Fitment {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        part,
        fitted_date,
        facts: known,
        substitution,
        note,
    } = message;
    Ok(Fitment {
        name,
        part: optional_name("part", part)?,
        fitted_date: optional_date("fitted_date", &fitted_date)?,
        facts: facts("facts", known)?,
        substitution: optional_name("substitution", substitution)?,
        note,
    })
}
