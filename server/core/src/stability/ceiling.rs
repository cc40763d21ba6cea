//! Static stability factor and the angles at which a rigid body would tip over.

use std::fmt;

use super::height::CentreOfMassHeight;
use crate::check::{Check, InvalidInput};

/// What to show with every static stability factor.
pub const STABILITY_FACTOR_CAUTION: &str = "The static stability factor compares vehicles; it says nothing about a given slope or \
     speed. Most cars lie at 1.30 to 1.50, sport utilities, pick-ups and vans at 1.00 to 1.30 (read in a secondary copy).";

/// What to show with every ceiling.
pub const CEILING_CAUTION: &str = "A ceiling of a rigid body, never a safe slope: suspension, tyres, ground that gives way, bumps, \
     moving load and speed all bring a vehicle over at smaller angles.";

/// Static stability factor: half the track over the height of the centre of mass (US road-safety agency's
/// rule text, read).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StabilityFactor {
    /// The factor.
    pub factor: f64,
    /// Its uncertainty from track and height, combined by root-sum-square.
    pub uncertainty: f64,
}

/// Static stability factor from the mean track.
///
/// # Errors
/// Track or height out of range.
pub fn static_stability_factor(
    track_mm: f64,
    track_uncertainty_mm: f64,
    height: &CentreOfMassHeight,
) -> Result<StabilityFactor, InvalidInput> {
    let mut check = Check::new();
    check.between("track_mm", track_mm, 300.0, 5_000.0);
    check.between("track_uncertainty_mm", track_uncertainty_mm, 0.0, 1_000.0);
    height.check(&mut check);
    check.finish()?;
    let factor = track_mm / (2.0 * height.height_mm);
    let relative = (track_uncertainty_mm / track_mm).hypot(height.uncertainty_mm / height.height_mm);
    Ok(StabilityFactor {
        factor,
        uncertainty: factor * relative,
    })
}

/// The angle at which a rigid body on rigid ground would tip. **Not a safe slope.**
///
/// There is no conversion to a plain number and printing says what it is, so that the label stays with
/// the figure.
///
/// ```
/// use ostler_core::stability::{Stance, ceilings, height_by_estimate};
///
/// let stance = Stance {
///     wheelbase_mm: 2850.0,
///     track_front_mm: 1545.0,
///     track_rear_mm: 1545.0,
///     x_mm: 1500.0,
///     y_mm: 0.0,
///     height: height_by_estimate(800.0, 40.0).unwrap(),
/// };
/// let shown = ceilings(&stance).unwrap().to_the_left.to_string();
/// assert!(shown.starts_with("rigid-body ceiling 44.0 degrees (42.6 at the upper height), not a safe slope"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct RigidBodyCeiling {
    ceiling_deg: f64,
    ceiling_at_upper_height_deg: f64,
}

impl RigidBodyCeiling {
    fn new(lever_mm: f64, height: &CentreOfMassHeight) -> Self {
        let at = |height_mm: f64| lever_mm.atan2(height_mm).to_degrees();
        Self {
            ceiling_deg: at(height.height_mm),
            ceiling_at_upper_height_deg: at(height.height_mm + height.uncertainty_mm),
        }
    }

    /// The ceiling, degrees. Show it with [`CEILING_CAUTION`].
    pub fn ceiling_deg(&self) -> f64 {
        self.ceiling_deg
    }

    /// The ceiling with the centre of mass higher by its uncertainty, degrees.
    pub fn ceiling_at_upper_height_deg(&self) -> f64 {
        self.ceiling_at_upper_height_deg
    }
}

impl fmt::Display for RigidBodyCeiling {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            formatter,
            "rigid-body ceiling {:.1} degrees ({:.1} at the upper height), not a safe slope",
            self.ceiling_deg, self.ceiling_at_upper_height_deg
        )
    }
}

/// Where the wheels and the centre of mass are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// Wheelbase, mm.
    pub wheelbase_mm: f64,
    /// Front track, mm.
    pub track_front_mm: f64,
    /// Rear track, mm.
    pub track_rear_mm: f64,
    /// Centre of mass aft of the front axle, mm; between the axles.
    pub x_mm: f64,
    /// Centre of mass to the right of the centre plane, mm; between the wheels.
    pub y_mm: f64,
    /// Its height.
    pub height: CentreOfMassHeight,
}

/// Rigid-body ceilings in the four directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ceilings {
    /// Tipping over the left wheels, left side downhill.
    pub to_the_left: RigidBodyCeiling,
    /// Tipping over the right wheels, right side downhill.
    pub to_the_right: RigidBodyCeiling,
    /// Tipping backwards, nose uphill.
    pub uphill: RigidBodyCeiling,
    /// Tipping forwards, nose downhill.
    pub downhill: RigidBodyCeiling,
}

impl Ceilings {
    /// The lower of the two sideways ceilings.
    pub fn sideways(&self) -> RigidBodyCeiling {
        let left_is_lower = self.to_the_left.ceiling_deg <= self.to_the_right.ceiling_deg;
        if left_is_lower {
            self.to_the_left
        } else {
            self.to_the_right
        }
    }
}

/// Rigid-body ceilings: tan(angle) = distance from the centre of mass to the downhill wheels over its
/// height (textbook). Sideways, the line of the downhill wheels is taken at the centre of mass.
///
/// # Errors
/// Numbers out of range, or a centre of mass outside the wheels.
pub fn ceilings(stance: &Stance) -> Result<Ceilings, InvalidInput> {
    let mut check = Check::new();
    check.between("wheelbase_mm", stance.wheelbase_mm, 500.0, 20_000.0);
    check.between("track_front_mm", stance.track_front_mm, 300.0, 5_000.0);
    check.between("track_rear_mm", stance.track_rear_mm, 300.0, 5_000.0);
    if check.passes() {
        check.between("x_mm", stance.x_mm, 0.0, stance.wheelbase_mm);
    }
    check.finite("y_mm", stance.y_mm);
    stance.height.check(&mut check);
    check.finish()?;
    let along = stance.x_mm / stance.wheelbase_mm;
    let half_track_mm =
        (stance.track_front_mm + along * (stance.track_rear_mm - stance.track_front_mm)) / 2.0;
    if stance.y_mm.abs() > half_track_mm {
        let problem = format!(
            "must lie between the wheels, within {half_track_mm} mm, is {}",
            stance.y_mm
        );
        return Err(InvalidInput::one("y_mm", problem));
    }
    let ceiling = |lever_mm: f64| RigidBodyCeiling::new(lever_mm, &stance.height);
    Ok(Ceilings {
        to_the_left: ceiling(half_track_mm + stance.y_mm),
        to_the_right: ceiling(half_track_mm - stance.y_mm),
        uphill: ceiling(stance.wheelbase_mm - stance.x_mm),
        downhill: ceiling(stance.x_mm),
    })
}
