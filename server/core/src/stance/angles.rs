//! Approach, departure and ramp breakover angles.
//!
//! The defining text for the approach angle (49 CFR 523.2, read in a secondary copy): the smallest angle,
//! in a plane side view, between the level surface and a line tangent to the front tyre's static loaded
//! radius arc and touching the underside forward of the front tyre. The **tangent form** follows it; the
//! **conservative form** draws the line from the ground point below the axle and is never larger for a point
//! below the tyre's tangent. The usual approximation for breakover, `2 atan(2 h / L)` for a point at mid
//! wheelbase (read on public calculator pages), is the conservative form here.
//!
//! Computed angles are for a vehicle at rest on firm ground: on the move springs yield and the ground gives.

use super::heights::{VehiclePoint, height_mm};
use super::result::Stance;
use super::vehicle::{AxlePosition, Side, SprungVehicle, Wheel};
use crate::check::{Check, InvalidInput};

/// An angle and the point that limits it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitingAngle {
    /// Line tangent to the tyre, degrees, 0 when the point is on or below the ground.
    pub tangent_deg: f64,
    /// Line from the ground below the axle, degrees.
    pub conservative_deg: f64,
    /// Index of the point that limits the tangent form.
    pub point: usize,
}

/// The three angles; `None` where no point lies in that part of the vehicle, or only such that a tyre protects.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Angles {
    /// Over the points before the front axle.
    pub approach: Option<LimitingAngle>,
    /// Over the points behind the rear axle.
    pub departure: Option<LimitingAngle>,
    /// Over the points between the axles.
    pub breakover: Option<LimitingAngle>,
}

/// Angle from the ground to the line through a point, tangent to a tyre, degrees: `atan2(h - R, e) +
/// asin(R / sqrt(e^2 + (h - R)^2))`, with the distance `e` from the axle and the height `h` of the point
/// above ground and the static loaded radius `R`, all mm. 0 for a point on or below the ground; `None` for a
/// point inside the tyre's outline or above it, which the tyre protects.
///
/// # Errors
/// A distance or radius that is not above 0, or a height that is not finite.
pub fn tangent_angle_deg(
    distance_mm: f64,
    height_mm: f64,
    radius_mm: f64,
) -> Result<Option<f64>, InvalidInput> {
    check_place(distance_mm, height_mm, radius_mm)?;
    Ok(tangent(distance_mm, height_mm, radius_mm).map(f64::to_degrees))
}

/// Angle from the ground below the axle to a point, degrees: `atan(h / e)`, 0 for a point on or below the ground.
///
/// # Errors
/// A distance that is not above 0, or a height that is not finite.
pub fn conservative_angle_deg(distance_mm: f64, height_mm: f64) -> Result<f64, InvalidInput> {
    check_place(distance_mm, height_mm, 1.0)?;
    Ok(conservative(distance_mm, height_mm).to_degrees())
}

/// The angles of a vehicle over points of its underside.
///
/// Heights are those of the stance; small shifts of x in pitch are left out. The lower hub of an axle is taken.
///
/// # Errors
/// More than 1 000 points, or coordinates out of range.
pub fn angles(
    vehicle: &SprungVehicle,
    stance: &Stance,
    underside: &[VehiclePoint],
) -> Result<Angles, InvalidInput> {
    if underside.len() > 1_000 {
        return Err(InvalidInput::one("underside", "must be at most 1000 points"));
    }
    let radius_mm = AxlePosition::ALL.map(|position| {
        let rise = |side| stance.wheel(Wheel::of(position, side)).hub_rise_mm;
        // Never below a tenth: a tyre pressed flatter than that is outside the linear tyre anyway.
        let loaded_mm = vehicle.axle(position).tyre.loaded_radius_mm;
        (loaded_mm + rise(Side::Left).min(rise(Side::Right))).max(loaded_mm / 10.0)
    });
    let mut found = Angles {
        approach: None,
        departure: None,
        breakover: None,
    };
    for (index, point) in underside.iter().enumerate() {
        if let Err(refused) = point.check() {
            return Err(refused.within(&format!("underside[{index}]")));
        }
        let height_mm = height_mm(stance, point);
        let behind_front_mm = point.x_mm;
        let behind_rear_mm = point.x_mm - vehicle.wheelbase_mm;
        if behind_front_mm < 0.0 {
            let tangent = tangent(-behind_front_mm, height_mm, radius_mm[0]);
            keep(
                &mut found.approach,
                index,
                tangent,
                conservative(-behind_front_mm, height_mm),
            );
        } else if behind_rear_mm > 0.0 {
            let tangent = tangent(behind_rear_mm, height_mm, radius_mm[1]);
            keep(
                &mut found.departure,
                index,
                tangent,
                conservative(behind_rear_mm, height_mm),
            );
        } else if behind_front_mm > 0.0 && behind_rear_mm < 0.0 {
            let front = tangent(behind_front_mm, height_mm, radius_mm[0]);
            let rear = tangent(-behind_rear_mm, height_mm, radius_mm[1]);
            let both = front.zip(rear).map(|(front, rear)| front + rear);
            let conservative =
                conservative(behind_front_mm, height_mm) + conservative(-behind_rear_mm, height_mm);
            keep(&mut found.breakover, index, both, conservative);
        }
    }
    Ok(found)
}

/// Keeps the smallest tangent angle with its point, and the smallest conservative one.
fn keep(kept: &mut Option<LimitingAngle>, point: usize, tangent: Option<f64>, conservative: f64) {
    let Some(tangent) = tangent else { return };
    let (tangent_deg, conservative_deg) = (tangent.to_degrees(), conservative.to_degrees());
    match kept {
        None => {
            *kept = Some(LimitingAngle {
                tangent_deg,
                conservative_deg,
                point,
            })
        }
        Some(kept) => {
            if tangent_deg < kept.tangent_deg {
                kept.tangent_deg = tangent_deg;
                kept.point = point;
            }
            kept.conservative_deg = kept.conservative_deg.min(conservative_deg);
        }
    }
}

fn tangent(distance_mm: f64, height_mm: f64, radius_mm: f64) -> Option<f64> {
    if height_mm <= 0.0 {
        return Some(0.0);
    }
    let above_hub_mm = height_mm - radius_mm;
    if above_hub_mm > 0.0 && distance_mm <= radius_mm {
        return None;
    }
    let to_hub_mm = distance_mm.hypot(above_hub_mm);
    (to_hub_mm > radius_mm)
        .then(|| above_hub_mm.atan2(distance_mm) + (radius_mm / to_hub_mm).clamp(-1.0, 1.0).asin())
        .map(|angle| angle.max(0.0))
}

fn conservative(distance_mm: f64, height_mm: f64) -> f64 {
    if height_mm <= 0.0 {
        0.0
    } else {
        (height_mm / distance_mm).atan()
    }
}

fn check_place(distance_mm: f64, height_mm: f64, radius_mm: f64) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.positive("distance_mm", distance_mm);
    check.finite("height_mm", height_mm);
    check.positive("radius_mm", radius_mm);
    check.finish()
}
