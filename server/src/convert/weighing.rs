//! Weighings.

use ostler_core::record::{AboardMass, Name, Readings, Weighing};
use ostler_proto::v1;

use super::common::{mass, position};
use super::vehicle::fills;
use super::{Converted, Within, by_id, date, each, missing, name as resource_name, optional_name};

pub(crate) fn weighing(name: Name, message: v1::Weighing) -> Converted<Weighing> {
    let v1::Weighing {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        vehicle,
        weighed_date,
        ticket,
        readings: read,
        tolerance_kg,
        fills: filled,
        people,
        other,
        fitted_parts,
        includes,
    } = message;
    Ok(Weighing {
        name,
        vehicle: resource_name("vehicle", vehicle)?,
        weighed_date: date("weighed_date", &weighed_date)?,
        ticket,
        readings: read.map(readings),
        tolerance_kg,
        fills: fills("fills", filled)?,
        people: each("people", people, aboard)?,
        other: each("other", other, aboard)?,
        fitted_parts: by_id("fitted_parts", fitted_parts, |part| optional_name("", part))?,
        includes,
    })
}

fn readings(message: v1::weighing::Readings) -> Readings {
    match message {
        v1::weighing::Readings::Axles(v1::AxleReadings { front_kg, rear_kg }) => {
            Readings::Axles { front_kg, rear_kg }
        }
        v1::weighing::Readings::Wheels(v1::WheelReadings {
            front_left_kg,
            front_right_kg,
            rear_left_kg,
            rear_right_kg,
        }) => Readings::Wheels {
            front_left_kg,
            front_right_kg,
            rear_left_kg,
            rear_right_kg,
        },
    }
}

fn aboard(message: v1::AboardMass) -> Converted<AboardMass> {
    let v1::AboardMass {
        display_name,
        mass: weight,
        position: place,
    } = message;
    Ok(AboardMass {
        display_name,
        mass: mass(weight.ok_or_else(|| missing("mass"))?).within("mass")?,
        position: place.map(position).ok_or_else(|| missing("position"))?,
    })
}
