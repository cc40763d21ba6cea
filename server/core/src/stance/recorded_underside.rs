//! Clearance and angles of the vehicle of the record at rest, and what changed of them from the reference height.

use super::angles::{Angles, LimitingAngle, angles};
use super::heights::{VehiclePoint, height_mm};
use super::result::Stance;
use super::vehicle::SprungVehicle;
use crate::check::InvalidInput;
use crate::record::UndersidePoint;

/// A figure of the underside.
#[derive(Debug, Clone, PartialEq)]
pub struct UndersideFigure {
    /// The figure.
    pub value: f64,
    /// Change from the reference height.
    pub change: f64,
    /// The point that limits it.
    pub point: String,
}

/// Clearance and angles. `None`: no point of the record limits it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Underside {
    /// Least height above ground, mm.
    pub clearance_mm: Option<UndersideFigure>,
    /// Approach angle, tangent form, degrees.
    pub approach_deg: Option<UndersideFigure>,
    /// Departure angle, tangent form, degrees.
    pub departure_deg: Option<UndersideFigure>,
    /// Ramp breakover angle, tangent form, degrees.
    pub breakover_deg: Option<UndersideFigure>,
}

/// Clearance and angles of `vehicle` at rest, over the recorded `points`.
///
/// # Errors
/// More than 1,000 points, or coordinates out of range.
pub fn underside(
    vehicle: &SprungVehicle,
    stance: &Stance,
    points: &[UndersidePoint],
) -> Result<Underside, InvalidInput> {
    let places: Vec<VehiclePoint> = points.iter().map(|point| point.place).collect();
    let reference = stance.in_reference_position();
    let (now, then) = (
        angles(vehicle, stance, &places)?,
        angles(vehicle, &reference, &places)?,
    );
    let name = |index: usize| {
        points
            .get(index)
            .map_or_else(String::new, |point| point.name.clone())
    };
    let angle = |of: fn(&Angles) -> Option<LimitingAngle>| {
        let (now, then) = (of(&now)?, of(&then)?);
        Some(UndersideFigure {
            value: now.tangent_deg,
            change: now.tangent_deg - then.tangent_deg,
            point: name(now.point),
        })
    };
    let lowest = |stance: &Stance| {
        let heights = places.iter().map(|place| height_mm(stance, place)).enumerate();
        heights.min_by(|(_, one), (_, other)| one.total_cmp(other))
    };
    let clearance_mm = lowest(stance)
        .zip(lowest(&reference))
        .map(|((index, now_mm), (_, then_mm))| UndersideFigure {
            value: now_mm,
            change: now_mm - then_mm,
            point: name(index),
        });
    Ok(Underside {
        clearance_mm,
        approach_deg: angle(|angles| angles.approach),
        departure_deg: angle(|angles| angles.departure),
        breakover_deg: angle(|angles| angles.breakover),
    })
}
