//! What is on record of tyres and wheels.

use ostler_core::check::InvalidInput;
use ostler_core::record::{SpareWheel, TyreMarking, TyrePlacard, TyrePolicy, TyrePressure, WheelData};
use ostler_core::tyres::maker_table::PressureRow;
use ostler_core::tyres::wheel_fit::Tube;
use ostler_core::tyres::{Designation, MakerTable};
use ostler_proto::v1;

use super::{Converted, each, id, optional_name};

/// A designation that can be read.
pub(crate) fn designation(text: &str) -> Converted<Designation> {
    text.parse::<Designation>()
        .map_err(|error| InvalidInput::one("designation", format!("cannot be read: {error}")))
}

pub(crate) fn marking(message: v1::Tyre) -> Converted<TyreMarking> {
    let tube = match message.tube() {
        v1::TyreTube::Unspecified => None,
        v1::TyreTube::None => Some(Tube::None),
        v1::TyreTube::Radial => Some(Tube::Fitted {
            radial_rated: Some(true),
        }),
        v1::TyreTube::NotRadial => Some(Tube::Fitted {
            radial_rated: Some(false),
        }),
        v1::TyreTube::Fitted => Some(Tube::Fitted { radial_rated: None }),
    };
    let v1::Tyre {
        designation: text,
        rated_pressure_kpa,
        tube: _,
        pressure_table: table,
    } = message;
    Ok(TyreMarking {
        designation: designation(&text)?,
        rated_pressure_kpa,
        tube,
        pressure_table: table.map(pressure_table),
    })
}

pub(crate) fn pressure_table(message: v1::PressureTable) -> MakerTable {
    let v1::PressureTable { rows, source } = message;
    let rows = rows.into_iter().map(|row| {
        let v1::PressureRow {
            pressure_kpa,
            capacity_kg,
        } = row;
        PressureRow {
            pressure_kpa,
            capacity_kg,
        }
    });
    MakerTable {
        rows: rows.collect(),
        source,
    }
}

pub(crate) fn wheel(message: v1::Wheel) -> WheelData {
    let v1::Wheel { airtight, offset_mm } = message;
    WheelData { airtight, offset_mm }
}

pub(crate) fn placard(message: v1::TyrePlacard) -> Converted<TyrePlacard> {
    let v1::TyrePlacard {
        designation: text,
        diameter_mm,
        front_kpa,
        rear_kpa,
    } = message;
    Ok(TyrePlacard {
        designation: designation(&text)?,
        diameter_mm,
        front_kpa,
        rear_kpa,
    })
}

pub(crate) fn pressure(message: v1::TyrePressure) -> Converted<TyrePressure> {
    let v1::TyrePressure {
        surfaces,
        front_kpa,
        rear_kpa,
        speed_max_km_per_h,
        reduced,
    } = message;
    Ok(TyrePressure {
        surfaces: each("surfaces", surfaces, |surface| id("", surface))?,
        front_kpa,
        rear_kpa,
        speed_max_km_per_h,
        reduced,
    })
}

pub(crate) fn policy(message: v1::TyrePolicy) -> TyrePolicy {
    let v1::TyrePolicy {
        load_exponent,
        diameter_change_max_percent,
        diameter_difference_max_percent,
        diameter_difference_emergency_percent,
        hub_clearance_max_mm,
        stud_engagement_min_diameters,
        offset_difference_max_mm,
    } = message;
    TyrePolicy {
        load_exponent,
        diameter_change_max_percent,
        diameter_difference_max_percent,
        diameter_difference_emergency_percent,
        hub_clearance_max_mm,
        stud_engagement_min_diameters,
        offset_difference_max_mm,
    }
}

pub(crate) fn spare(message: v1::SpareWheel) -> Converted<SpareWheel> {
    let v1::SpareWheel {
        wheel_part,
        tyre_part,
    } = message;
    Ok(SpareWheel {
        wheel_part: optional_name("wheel_part", wheel_part)?,
        tyre_part: optional_name("tyre_part", tyre_part)?,
    })
}
