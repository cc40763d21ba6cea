//! Suspension, wheels and the kinds of heights.

use ostler_core::record::{
    AxleSuspension, HeightKind, Suspension, SuspensionKind, UndersidePoint, WheelPosition,
};
use ostler_core::stance::heights::{Carrier, VehiclePoint};
use ostler_core::stance::vehicle::AxlePosition;
use ostler_proto::v1;

use super::{Converted, Within, each, missing};

pub(crate) fn suspension(message: v1::Suspension) -> Converted<Suspension> {
    let v1::Suspension {
        front,
        rear,
        bare_centre_y_mm,
        arch_width_mm,
        sprung_centre_z_mm,
        roll_axis_z_mm,
        underside,
    } = message;
    Ok(Suspension {
        front: axle(front.ok_or_else(|| missing("front"))?).within("front")?,
        rear: axle(rear.ok_or_else(|| missing("rear"))?).within("rear")?,
        bare_centre_y_mm,
        arch_width_mm,
        sprung_centre_z_mm,
        roll_axis_z_mm,
        underside: each("underside", underside, underside_point)?,
    })
}

fn underside_point(message: v1::UndersidePoint) -> Converted<UndersidePoint> {
    let v1::UndersidePoint {
        name,
        position,
        carrier,
    } = message;
    let v1::Position { x_mm, y_mm, z_mm } = position.ok_or_else(|| missing("position"))?;
    Ok(UndersidePoint {
        name,
        place: VehiclePoint {
            x_mm,
            y_mm,
            z_mm: z_mm.ok_or_else(|| missing("position.z_mm"))?,
            carried_by: match v1::UndersideCarrier::try_from(carrier) {
                Ok(v1::UndersideCarrier::FrontAxle) => Carrier::Axle(AxlePosition::Front),
                Ok(v1::UndersideCarrier::RearAxle) => Carrier::Axle(AxlePosition::Rear),
                Ok(v1::UndersideCarrier::Unspecified) | Err(_) => Carrier::Body,
            },
        },
    })
}

fn axle(message: v1::AxleSuspension) -> Converted<AxleSuspension> {
    let v1::AxleSuspension {
        kind,
        spring_spacing_mm,
        motion_ratio,
        installation_angle_deg,
        anti_roll_bar_nm_per_rad,
        spring_length_mm,
        unsprung_mass_kg,
        loaded_radius_mm,
        arch_height_mm,
        bump_travel_mm,
        bump_stop_rate_n_per_mm,
        droop_travel_mm,
    } = message;
    let kind = match v1::SuspensionKind::try_from(kind) {
        Ok(v1::SuspensionKind::Independent) => SuspensionKind::Independent,
        Ok(v1::SuspensionKind::Beam) => SuspensionKind::Beam,
        Ok(v1::SuspensionKind::Unspecified) | Err(_) => return Err(missing("kind")),
    };
    Ok(AxleSuspension {
        kind,
        spring_spacing_mm,
        motion_ratio,
        installation_angle_deg,
        anti_roll_bar_nm_per_rad,
        spring_length_mm,
        unsprung_mass_kg,
        loaded_radius_mm,
        arch_height_mm,
        bump_travel_mm,
        bump_stop_rate_n_per_mm,
        droop_travel_mm,
    })
}

pub(crate) fn wheel_position(value: i32) -> Converted<WheelPosition> {
    match v1::WheelPosition::try_from(value) {
        Ok(v1::WheelPosition::FrontLeft) => Ok(WheelPosition::FrontLeft),
        Ok(v1::WheelPosition::FrontRight) => Ok(WheelPosition::FrontRight),
        Ok(v1::WheelPosition::RearLeft) => Ok(WheelPosition::RearLeft),
        Ok(v1::WheelPosition::RearRight) => Ok(WheelPosition::RearRight),
        Ok(v1::WheelPosition::Unspecified) | Err(_) => Err(missing("")),
    }
}

pub(crate) fn height_kind(value: i32) -> Converted<HeightKind> {
    match v1::HeightKind::try_from(value) {
        Ok(v1::HeightKind::ArchToFloor) => Ok(HeightKind::ArchToFloor),
        Ok(v1::HeightKind::ArchToLevelLine) => Ok(HeightKind::ArchToLevelLine),
        Ok(v1::HeightKind::HubToArch) => Ok(HeightKind::HubToArch),
        Ok(v1::HeightKind::Unspecified) | Err(_) => Err(missing("")),
    }
}
