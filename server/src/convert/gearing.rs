//! Ratios, and what a driveline was built with.

use ostler_core::check::InvalidInput;
use ostler_core::driveline::{DrivenAxles, Gear, TransferRange};
use ostler_core::record::{DrivelineSpecification, Gearing, SpeedometerCalibration, SpeedometerDrive};
use ostler_proto::v1;

use super::{Converted, Within, missing};

pub(crate) fn gearing(message: v1::Gearing) -> Gearing {
    let v1::Gearing {
        gears,
        ranges,
        axle_ratio,
        hub_ratio,
    } = message;
    let gear = |v1::Gear { name, ratio, reverse }| Gear {
        name,
        ratio,
        is_reverse: reverse,
    };
    let range = |v1::TransferRange { name, ratio }| TransferRange { name, ratio };
    Gearing {
        gears: gears.into_iter().map(gear).collect(),
        ranges: ranges.into_iter().map(range).collect(),
        axle_ratio,
        hub_ratio,
    }
}

/// `None` where it is not stated.
pub(crate) fn driven(value: i32) -> Option<DrivenAxles> {
    match v1::DrivenAxles::try_from(value) {
        Ok(v1::DrivenAxles::Front) => Some(DrivenAxles::Front),
        Ok(v1::DrivenAxles::Rear) => Some(DrivenAxles::Rear),
        Ok(v1::DrivenAxles::Both) => Some(DrivenAxles::Both),
        Ok(v1::DrivenAxles::Unspecified) | Err(_) => None,
    }
}

pub(crate) fn driveline(message: v1::DrivelineSpecification) -> Converted<DrivelineSpecification> {
    let v1::DrivelineSpecification {
        built,
        driven: axles,
        idle_rpm,
        engine_max_rpm,
        torque_nm,
        efficiency,
        cruise_km_per_h,
        circumference_factor,
        speedometer,
    } = message;
    Ok(DrivelineSpecification {
        built: gearing(built.unwrap_or_default()),
        driven: driven(axles),
        idle_rpm,
        engine_max_rpm,
        torque_nm,
        efficiency,
        cruise_km_per_h,
        circumference_factor,
        speedometer: speedometer.map(calibration).transpose().within("speedometer")?,
    })
}

pub(crate) fn calibration(
    message: v1::SpeedometerCalibration,
) -> Result<SpeedometerCalibration, InvalidInput> {
    let v1::SpeedometerCalibration {
        drive,
        tyre_diameter_mm,
        wheel_ratio,
        drive_ratio,
        over_reading_percent,
        odometer_factor,
    } = message;
    let drive = match v1::SpeedometerDrive::try_from(drive) {
        Ok(v1::SpeedometerDrive::TransferOutput) => SpeedometerDrive::TransferOutput,
        Ok(v1::SpeedometerDrive::Wheel) => SpeedometerDrive::Wheel,
        Ok(v1::SpeedometerDrive::Unspecified) | Err(_) => return Err(missing("drive")),
    };
    Ok(SpeedometerCalibration {
        drive,
        tyre_diameter_mm,
        wheel_ratio,
        drive_ratio,
        over_reading_percent,
        odometer_factor,
    })
}
