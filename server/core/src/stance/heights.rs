//! Heights of body points, ground clearance, lean and rake of a vehicle at rest, and what changed.

use super::angles::{Angles, angles};
use super::result::Stance;
use super::springs::positive_up_to;
use super::vehicle::{AxlePosition, Side, SprungVehicle, Wheel};
use crate::check::{Check, InvalidInput};

/// A point of the vehicle in the reference position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VehiclePoint {
    /// mm aft of the front axle.
    pub x_mm: f64,
    /// mm to the right of the centre plane.
    pub y_mm: f64,
    /// mm above ground.
    pub z_mm: f64,
    /// What it moves with.
    pub carried_by: Carrier,
}

/// What a point moves with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// The sprung body.
    Body,
    /// The hubs of an axle: a differential housing, a spring plate.
    Axle(AxlePosition),
}

/// Points whose heights matter.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Wheel arches above the hubs, in the order of [`Wheel::ALL`].
    pub arches: [VehiclePoint; 4],
    /// Width at which a lean is stated in mm, usually between the arches, mm.
    pub lean_width_mm: f64,
    /// Lowest points of the underside. Those before the front axle limit the approach, those behind the rear
    /// axle the departure, those between the ramp breakover; all of them the clearance. At most 1 000.
    pub underside: Vec<VehiclePoint>,
}

/// How a vehicle stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Attitude {
    /// Arch above the ground below its wheel, mm.
    pub arch_height_mm: [f64; 4],
    /// Arch above the hub, mm: free of tyre pressure and of an uneven floor.
    pub hub_to_arch_mm: [f64; 4],
    /// Lean, degrees, positive when the right side is lower.
    pub lean_deg: f64,
    /// The same over the outline's width, mm.
    pub lean_mm: f64,
    /// Change of rake from the reference position, degrees, positive when the rear is higher.
    pub rake_deg: f64,
    /// The same over the wheelbase, mm.
    pub rake_mm: f64,
    /// Least height of the underside and the point that has it (index into the outline's underside);
    /// `None` when the outline names no point.
    pub clearance: Option<Clearance>,
    /// Approach, departure and breakover.
    pub angles: Angles,
}

/// The lowest point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// Height above the level datum, mm: above ground on a level floor.
    pub height_mm: f64,
    /// Index into the outline's underside.
    pub point: usize,
}

/// Attitude after minus attitude before. An angle or clearance is `None` when either side lacks it.
#[derive(Debug, Clone, PartialEq)]
pub struct AttitudeChange {
    /// mm per arch.
    pub arch_height_mm: [f64; 4],
    /// Degrees.
    pub lean_deg: f64,
    /// mm over the outline's width.
    pub lean_mm: f64,
    /// Degrees.
    pub rake_deg: f64,
    /// mm over the wheelbase.
    pub rake_mm: f64,
    /// mm.
    pub clearance_mm: Option<f64>,
    /// Tangent form, degrees.
    pub approach_deg: Option<f64>,
    /// Tangent form, degrees.
    pub departure_deg: Option<f64>,
    /// Tangent form, degrees.
    pub breakover_deg: Option<f64>,
}

impl VehiclePoint {
    /// Checks the coordinates.
    ///
    /// # Errors
    /// Coordinates out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("x_mm", self.x_mm, -30_000.0, 50_000.0);
        check.between("y_mm", self.y_mm, -5_000.0, 5_000.0);
        check.between("z_mm", self.z_mm, -1_000.0, 10_000.0);
        check.finish()
    }
}

impl Outline {
    /// Checks all points.
    ///
    /// # Errors
    /// Fields out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check_points(&mut check, "arches", &self.arches);
        positive_up_to(&mut check, "lean_width_mm", self.lean_width_mm, 10_000.0);
        if self.underside.len() > 1_000 {
            check.refuse(
                "underside",
                format!("must be at most 1000 points, are {}", self.underside.len()),
            );
        } else {
            check_points(&mut check, "underside", &self.underside);
        }
        check.finish()
    }
}

/// Checks a list of points, writing out a path only for one that fails.
fn check_points(check: &mut Check, field: &str, points: &[VehiclePoint]) {
    for (index, point) in points.iter().enumerate() {
        if let Err(refused) = point.check() {
            check.merge(format_args!("{field}[{index}]"), Err::<(), _>(refused));
        }
    }
}

/// Height of a point above the level datum, mm.
pub fn height_mm(stance: &Stance, point: &VehiclePoint) -> f64 {
    let rise_mm = match point.carried_by {
        Carrier::Body => stance.body_rise_mm(point.x_mm, point.y_mm),
        Carrier::Axle(position) => {
            let left = stance.wheel(Wheel::of(position, Side::Left)).hub_rise_mm;
            let right = stance.wheel(Wheel::of(position, Side::Right)).hub_rise_mm;
            let track_mm = match position {
                AxlePosition::Front => stance.track_mm[0],
                AxlePosition::Rear => stance.track_mm[1],
            };
            (left + right) / 2.0 + (right - left) * point.y_mm / track_mm
        }
    };
    point.z_mm + rise_mm
}

/// How a vehicle stands, for a stance computed from the same vehicle.
///
/// # Errors
/// An outline with points out of range.
pub fn attitude(
    vehicle: &SprungVehicle,
    stance: &Stance,
    outline: &Outline,
) -> Result<Attitude, InvalidInput> {
    outline.check()?;
    let clearance = outline
        .underside
        .iter()
        .enumerate()
        .map(|(point, place)| Clearance {
            height_mm: height_mm(stance, place),
            point,
        })
        .min_by(|a, b| a.height_mm.total_cmp(&b.height_mm));
    Ok(Attitude {
        arch_height_mm: Wheel::ALL.map(|wheel| arch_height_mm(stance, outline, wheel)),
        hub_to_arch_mm: Wheel::ALL.map(|wheel| hub_to_arch_mm(vehicle, stance, outline, wheel)),
        lean_deg: stance.lean_deg,
        lean_mm: stance.lean_mm(outline.lean_width_mm),
        rake_deg: stance.rake_deg,
        rake_mm: stance.rake_mm(),
        clearance,
        angles: angles(vehicle, stance, &outline.underside)?,
    })
}

fn arch_height_mm(stance: &Stance, outline: &Outline, wheel: Wheel) -> f64 {
    let floor_mm = stance.wheel(wheel).body_rise_mm - stance.wheel(wheel).ride_height_change_mm;
    height_mm(stance, &outline.arches[wheel.index()]) - floor_mm
}

fn hub_to_arch_mm(vehicle: &SprungVehicle, stance: &Stance, outline: &Outline, wheel: Wheel) -> f64 {
    let radius_mm = vehicle.axle(wheel.axle()).tyre.loaded_radius_mm;
    height_mm(stance, &outline.arches[wheel.index()]) - radius_mm - stance.wheel(wheel).hub_rise_mm
}

impl Attitude {
    /// What changed from `before` to this.
    pub fn since(&self, before: &Self) -> AttitudeChange {
        let difference = |after: Option<f64>, before: Option<f64>| Some(after? - before?);
        let clearance = |attitude: &Self| attitude.clearance.map(|clearance| clearance.height_mm);
        let (now, then) = (&self.angles, &before.angles);
        AttitudeChange {
            arch_height_mm: [0, 1, 2, 3]
                .map(|wheel| self.arch_height_mm[wheel] - before.arch_height_mm[wheel]),
            lean_deg: self.lean_deg - before.lean_deg,
            lean_mm: self.lean_mm - before.lean_mm,
            rake_deg: self.rake_deg - before.rake_deg,
            rake_mm: self.rake_mm - before.rake_mm,
            clearance_mm: difference(clearance(self), clearance(before)),
            approach_deg: difference(
                now.approach.map(|a| a.tangent_deg),
                then.approach.map(|a| a.tangent_deg),
            ),
            departure_deg: difference(
                now.departure.map(|a| a.tangent_deg),
                then.departure.map(|a| a.tangent_deg),
            ),
            breakover_deg: difference(
                now.breakover.map(|a| a.tangent_deg),
                then.breakover.map(|a| a.tangent_deg),
            ),
        }
    }
}
