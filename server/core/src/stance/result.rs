//! The state of rest of a vehicle on its springs.

use super::vehicle::Wheel;
use crate::check::InvalidInput;

/// A vehicle at rest. All arrays are in the order of [`Wheel::ALL`] or front, rear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// Rise of the body at mid wheelbase on the centre plane from the reference position, mm.
    pub heave_mm: f64,
    /// Slope of the body along x, mm per mm: positive when the rear stands higher than in the reference position.
    pub pitch_slope: f64,
    /// Slope of the body along y, mm per mm: positive when the right side stands higher.
    pub roll_slope: f64,
    /// Lean in degrees, positive when the right side is lower.
    pub lean_deg: f64,
    /// Change of rake in degrees, positive when the rear is higher than in the reference position.
    pub rake_deg: f64,
    /// Wheelbase, mm, kept for heights.
    pub wheelbase_mm: f64,
    /// Tracks, mm, kept for heights.
    pub track_mm: [f64; 2],
    /// Each wheel.
    pub wheels: [WheelStance; 4],
    /// (front left + rear right) over all wheel loads; 0.5 when the diagonals carry the same.
    pub cross_weight_share: f64,
    /// Moment of each anti-roll bar, N m, positive when it pushes the right side of the body up.
    pub anti_roll_bar_moment_nm: [f64; 2],
    /// Roll stiffness of springs, engaged stops and bar of each axle at rest, about the centre plane,
    /// tyres left out, N m/rad.
    pub roll_stiffness_nm_per_rad: [f64; 2],
    /// Where the result is outside what the model is good for.
    pub validity: Validity,
    /// Newton steps taken.
    pub steps: u32,
}

impl Stance {
    /// The same vehicle in the reference position, for heights only: its loads are left as they are.
    pub(super) fn in_reference_position(&self) -> Self {
        let mut reference = *self;
        reference.heave_mm = 0.0;
        reference.pitch_slope = 0.0;
        reference.roll_slope = 0.0;
        reference.lean_deg = 0.0;
        reference.rake_deg = 0.0;
        for wheel in &mut reference.wheels {
            wheel.hub_rise_mm = 0.0;
            wheel.body_rise_mm = 0.0;
            wheel.ride_height_change_mm = 0.0;
        }
        reference
    }
}

/// One wheel of a vehicle at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelStance {
    /// Load on the ground with the unsprung mass, N.
    pub load_n: f64,
    /// Force of the main spring along its axis, N; negative when a captive spring pulls.
    pub spring_force_n: f64,
    /// Force of the air helper along its axis, N.
    pub air_helper_force_n: f64,
    /// Force of the bump stop, N; 0 when it does not touch.
    pub bump_stop_force_n: f64,
    /// Pull of the droop stop, N, 0 or more.
    pub droop_stop_force_n: f64,
    /// Length of the main spring between its seats, mm.
    pub spring_length_mm: f64,
    /// Change of ride height: rise of the body above the ground below it, at the wheel, from the reference position, mm.
    pub ride_height_change_mm: f64,
    /// Rise of the body at the wheel against the level datum, mm; differs from the above on an uneven floor.
    pub body_rise_mm: f64,
    /// Rise of the hub from the reference position, mm: negative when the tyre yields more.
    pub hub_rise_mm: f64,
    /// Travel from the reference position, bump positive, mm; for a beam axle at the spring.
    pub travel_mm: f64,
    /// Travel left until the bump stop touches, mm, negative when it is pressed; `None` when the stop is not known.
    pub bump_travel_left_mm: Option<f64>,
    /// Travel left until full droop, mm; `None` when the limit is not known.
    pub droop_travel_left_mm: Option<f64>,
    /// Length left until the coils touch, mm; `None` when the solid length is not known. Not above 0: coil bound,
    /// which this model does not stop and no spring survives for long.
    pub coil_bind_left_mm: Option<f64>,
    /// What carries the wheel.
    pub contact: WheelContact,
}

/// What a wheel does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WheelContact {
    /// On its spring.
    Riding,
    /// Pressed into its bump stop.
    OnBumpStop,
    /// On the ground, with its spring loose in the seats.
    SpringLoose,
    /// Held by its droop stop, still on the ground.
    AtDroopLimit,
    /// Lifted off the ground, or on it without load.
    OffGround,
}

/// Where a result lies against the limits of the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Validity {
    /// Lean and pitch both within 0.1 rad of the reference position: linear kinematics err below 0.4 % in angle.
    pub small_angles: bool,
    /// Share of the roll stiffness (tyres left out) taken up by the leaning body's own weight; `None` when the roll axis
    /// is not known and this is left out, which makes the computed lean too small.
    pub overturning_share: Option<f64>,
}

impl Stance {
    /// One wheel.
    pub fn wheel(&self, wheel: Wheel) -> &WheelStance {
        &self.wheels[wheel.index()]
    }

    /// Rise of a body point from the reference position, mm.
    pub fn body_rise_mm(&self, x_mm: f64, y_mm: f64) -> f64 {
        self.heave_mm + self.pitch_slope * (x_mm - self.wheelbase_mm / 2.0) + self.roll_slope * y_mm
    }

    /// How much lower the right side stands than the left over a width, mm; negative when it is the left.
    pub fn lean_mm(&self, width_mm: f64) -> f64 {
        -self.roll_slope * width_mm
    }

    /// How much higher the rear stands than the front over the wheelbase, against the reference position, mm.
    pub fn rake_mm(&self) -> f64 {
        self.pitch_slope * self.wheelbase_mm
    }

    /// All wheel loads together, N: the weight.
    pub fn total_load_n(&self) -> f64 {
        self.wheels.iter().map(|wheel| wheel.load_n).sum()
    }
}

/// Why a stance cannot be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StanceError {
    /// Fields out of range.
    #[error(transparent)]
    Invalid(#[from] InvalidInput),
    /// The vehicle does not come to rest on its wheels.
    #[error("no position of rest: {0}")]
    NoEquilibrium(NoEquilibrium),
    /// The iteration ended above its tolerance.
    #[error("the position of rest was not found: {residual_n} N out of balance")]
    NotConverged {
        /// Largest force out of balance, N.
        residual_n: f64,
    },
}

/// Why there is no position of rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoEquilibrium {
    /// The centre of mass lies outside what the wheels can support, or all springs are at full droop.
    #[error("the body tips over: its weight acts outside the wheels that carry it")]
    TipsOver,
    /// The springs are too soft for any position within 10 m.
    #[error("the springs do not carry the body")]
    Sinks,
    /// The leaning body's weight exceeds the roll stiffness.
    #[error("the roll stiffness does not hold the body upright")]
    RollsOver,
}
