//! Weighings.

use ostler_core::loads::{Difference, Reconciliation, UnexplainedCentre};
use ostler_core::record::{AboardMass, HeightReading, Heights, Name, Readings, Weighing};
use ostler_proto::v1;

use super::common::{mass, position};
use super::loads::{baseline_message, line_message};
use super::suspension::{height_kind, wheel_position};
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
        heights: measured,
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
        heights: measured.map(heights).transpose().within("heights")?,
    })
}

pub(crate) fn heights(message: v1::Heights) -> Converted<Heights> {
    let v1::Heights {
        floor_level,
        readings: read,
    } = message;
    Ok(Heights {
        floor_level,
        readings: each("readings", read, height_reading)?,
    })
}

fn height_reading(message: v1::HeightReading) -> Converted<HeightReading> {
    let v1::HeightReading {
        wheel,
        kind,
        height_mm,
        tolerance_mm,
    } = message;
    Ok(HeightReading {
        wheel: wheel_position(wheel).within("wheel")?,
        kind: height_kind(kind).within("kind")?,
        height_mm,
        tolerance_mm,
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

/// A reconciliation as a message.
pub(crate) fn reconciliation_message(reconciliation: Reconciliation) -> v1::Reconciliation {
    let Reconciliation {
        weighing,
        vehicle,
        baseline,
        total,
        front_axle,
        rear_axle,
        centre,
        lines,
        missing,
        formula_version,
    } = reconciliation;
    v1::Reconciliation {
        weighing: weighing.into(),
        vehicle: vehicle.into(),
        baseline: baseline_message(baseline),
        total: total.map(difference_message),
        front_axle: front_axle.map(difference_message),
        rear_axle: rear_axle.map(difference_message),
        centre: centre.map(centre_message),
        lines: lines.iter().map(|line| line_message(line)).collect(),
        missing,
        formula_version: formula_version.to_owned(),
    }
}

fn difference_message(difference: Difference) -> v1::MassDifference {
    let Difference {
        measured_kg,
        computed_kg,
        unexplained_kg,
        uncertainty_kg,
        significant,
        untoleranced_count,
    } = difference;
    v1::MassDifference {
        measured_kg,
        computed_kg,
        unexplained_kg,
        uncertainty_kg,
        significant,
        untoleranced_count: i32::try_from(untoleranced_count).unwrap_or(i32::MAX),
    }
}

fn centre_message(centre: UnexplainedCentre) -> v1::UnexplainedCentre {
    let UnexplainedCentre {
        x_mm,
        x_uncertainty_mm,
        y_mm,
    } = centre;
    v1::UnexplainedCentre {
        x_mm,
        x_uncertainty_mm,
        y_mm,
    }
}
