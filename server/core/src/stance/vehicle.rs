//! What a vehicle is for the stance computation: plain numbers, each with its unit.
//!
//! All lengths refer to one **reference position** of body and wheels: the one in which the heights
//! of the record were taken (z is millimetres above ground at reference ride height). Displacements
//! are counted from there.

use super::springs::{AirHelper, Spring, positive_up_to};
use crate::check::{Check, InvalidInput};

/// One of the four wheels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Wheel {
    /// Front left.
    FrontLeft,
    /// Front right.
    FrontRight,
    /// Rear left.
    RearLeft,
    /// Rear right.
    RearRight,
}

impl Wheel {
    /// All wheels, in the order of every `[_; 4]` here.
    pub const ALL: [Self; 4] = [Self::FrontLeft, Self::FrontRight, Self::RearLeft, Self::RearRight];

    /// The wheel of an axle on a side.
    pub fn of(axle: AxlePosition, side: Side) -> Self {
        match (axle, side) {
            (AxlePosition::Front, Side::Left) => Self::FrontLeft,
            (AxlePosition::Front, Side::Right) => Self::FrontRight,
            (AxlePosition::Rear, Side::Left) => Self::RearLeft,
            (AxlePosition::Rear, Side::Right) => Self::RearRight,
        }
    }

    /// Place in a `[_; 4]`.
    pub fn index(self) -> usize {
        match self {
            Self::FrontLeft => 0,
            Self::FrontRight => 1,
            Self::RearLeft => 2,
            Self::RearRight => 3,
        }
    }

    /// The axle it belongs to.
    pub fn axle(self) -> AxlePosition {
        match self {
            Self::FrontLeft | Self::FrontRight => AxlePosition::Front,
            Self::RearLeft | Self::RearRight => AxlePosition::Rear,
        }
    }

    /// The side it is on.
    pub fn side(self) -> Side {
        match self {
            Self::FrontLeft | Self::RearLeft => Side::Left,
            Self::FrontRight | Self::RearRight => Side::Right,
        }
    }

    /// For sentences: `rear left`.
    pub fn words(self) -> &'static str {
        match self {
            Self::FrontLeft => "front left",
            Self::FrontRight => "front right",
            Self::RearLeft => "rear left",
            Self::RearRight => "rear right",
        }
    }
}

/// Front or rear axle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum AxlePosition {
    /// At x = 0.
    Front,
    /// At x = wheelbase.
    Rear,
}

impl AxlePosition {
    /// Both axles, in the order of every `[_; 2]` here.
    pub const ALL: [Self; 2] = [Self::Front, Self::Rear];

    /// For sentences.
    pub fn words(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }
}

/// Side of the vehicle, seen in the direction of travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// y below 0.
    Left,
    /// y above 0.
    Right,
}

impl Side {
    /// -1 for left, 1 for right: the sign of y.
    pub fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }

    /// The other side.
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// For sentences.
    pub fn words(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// A two-axle vehicle with a rigid sprung body.
#[derive(Debug, Clone, PartialEq)]
pub struct SprungVehicle {
    /// Distance between the axles, mm, 500 to 20 000.
    pub wheelbase_mm: f64,
    /// Everything carried by the springs, with its load.
    pub sprung: SprungMass,
    /// The front axle, at x = 0.
    pub front: Axle,
    /// The rear axle, at x = wheelbase.
    pub rear: Axle,
}

/// The sprung mass and its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SprungMass {
    /// Mass, kg, 1 to 100 000.
    pub mass_kg: f64,
    /// Centre, mm aft of the front axle.
    pub x_mm: f64,
    /// Centre, mm to the right of the centre plane.
    pub y_mm: f64,
    /// Centre, mm above ground at reference ride height. Only its height above the roll axis matters.
    pub z_mm: f64,
    /// Height of the roll axis below the centre, mm above ground. When known, the moment of the
    /// weight about it in a lean is part of the balance; when `None` it is left out (see the
    /// module's limits) and the computed lean is too small by that share.
    pub roll_axis_height_mm: Option<f64>,
}

/// How the two wheels of an axle are joined.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AxleKind {
    /// Each wheel moves by itself: springs act at the wheels, their base in roll is the track.
    Independent,
    /// One rigid beam: in roll the base is the spacing of the springs, not the track.
    Beam {
        /// Distance between the left and the right spring, mm, 100 to 4 000.
        spring_spacing_mm: f64,
    },
}

/// An axle with its two wheel stations.
#[derive(Debug, Clone, PartialEq)]
pub struct Axle {
    /// Independent or beam.
    pub kind: AxleKind,
    /// Distance between the tyre contact centres, mm, 300 to 4 000.
    pub track_mm: f64,
    /// Stiffness of the anti-roll bar, newton metres per radian of roll between body and axle; 0 for none.
    pub anti_roll_bar_nm_per_rad: f64,
    /// The tyres of this axle.
    pub tyre: Tyre,
    /// The left wheel station.
    pub left: WheelStation,
    /// The right wheel station.
    pub right: WheelStation,
}

/// The tyres of an axle, at their pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    /// Static loaded radius: hub centre above ground in the reference position, mm, 100 to 2 000.
    pub loaded_radius_mm: f64,
    /// How it yields; `None` takes the loaded radius as fixed.
    pub vertical: Option<TyreRate>,
}

/// A tyre that yields linearly about the load of its stated radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TyreRate {
    /// Vertical rate, N/mm, 10 to 100 000.
    pub rate_n_per_mm: f64,
    /// Wheel load at which the loaded radius was taken, N.
    pub load_at_radius_n: f64,
}

/// Spring, stops and mass at one wheel.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelStation {
    /// The spring that is fitted.
    pub spring: Spring,
    /// Distance between the spring's seats in the reference position, mm (for a leaf pack: its camber
    /// there). With the spring's free length it fixes the preload.
    pub spring_length_at_reference_mm: f64,
    /// Air helper spring beside the main spring.
    pub air_helper: Option<AirHelper>,
    /// Spring travel over wheel travel, 0.05 to 3; 1 where the spring stands on the axle.
    pub motion_ratio: f64,
    /// Angle between spring axis and vertical, degrees, 0 to 80; 0 when the motion ratio already has it.
    pub installation_angle_deg: f64,
    /// Bump stop; `None` when not known, and then no bump travel is reported.
    pub bump_stop: Option<BumpStop>,
    /// Wheel travel from the reference position down to full droop, mm, 0 to 1 000; `None` when not
    /// known, and then the wheel follows the ground without limit.
    pub droop_limit_mm: Option<f64>,
    /// Unsprung mass at this wheel, kg; half the axle for a beam.
    pub unsprung_mass_kg: f64,
}

/// A bump stop, at the wheel (independent) or at the spring (beam).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BumpStop {
    /// Wheel travel from the reference position until it touches, mm, -300 to 1 000.
    pub gap_mm: f64,
    /// Rate once it touches, N/mm, above 0 to 100 000.
    pub rate_n_per_mm: f64,
}

impl SprungVehicle {
    /// The axle at a position.
    pub fn axle(&self, position: AxlePosition) -> &Axle {
        match position {
            AxlePosition::Front => &self.front,
            AxlePosition::Rear => &self.rear,
        }
    }

    /// The axle at a position, to change it.
    pub fn axle_mut(&mut self, position: AxlePosition) -> &mut Axle {
        match position {
            AxlePosition::Front => &mut self.front,
            AxlePosition::Rear => &mut self.rear,
        }
    }

    /// The station of a wheel.
    pub fn station(&self, wheel: Wheel) -> &WheelStation {
        let axle = self.axle(wheel.axle());
        match wheel.side() {
            Side::Left => &axle.left,
            Side::Right => &axle.right,
        }
    }

    /// The station of a wheel, to change it.
    pub fn station_mut(&mut self, wheel: Wheel) -> &mut WheelStation {
        let axle = self.axle_mut(wheel.axle());
        match wheel.side() {
            Side::Left => &mut axle.left,
            Side::Right => &mut axle.right,
        }
    }

    /// x of an axle, mm.
    pub fn axle_x_mm(&self, position: AxlePosition) -> f64 {
        match position {
            AxlePosition::Front => 0.0,
            AxlePosition::Rear => self.wheelbase_mm,
        }
    }

    /// Sprung and unsprung mass, kg.
    pub fn mass_kg(&self) -> f64 {
        self.sprung.mass_kg
            + Wheel::ALL
                .map(|wheel| self.station(wheel).unsprung_mass_kg)
                .iter()
                .sum::<f64>()
    }

    /// Checks every field.
    ///
    /// # Errors
    /// All fields out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("wheelbase_mm", self.wheelbase_mm, 500.0, 20_000.0);
        check.merge("sprung", self.sprung.check());
        check.merge("front", self.front.check());
        check.merge("rear", self.rear.check());
        check.finish()
    }
}

impl SprungMass {
    /// Checks every field.
    ///
    /// # Errors
    /// All fields out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("mass_kg", self.mass_kg, 1.0, 100_000.0);
        check.between("x_mm", self.x_mm, -30_000.0, 30_000.0);
        check.between("y_mm", self.y_mm, -5_000.0, 5_000.0);
        check.between("z_mm", self.z_mm, -1_000.0, 10_000.0);
        if let Some(height_mm) = self.roll_axis_height_mm {
            check.between("roll_axis_height_mm", height_mm, -2_000.0, 10_000.0);
        }
        check.finish()
    }
}

impl Axle {
    /// Half the lateral base of the springs, mm.
    pub fn spring_half_base_mm(&self) -> f64 {
        match self.kind {
            AxleKind::Independent => self.track_mm / 2.0,
            AxleKind::Beam { spring_spacing_mm } => spring_spacing_mm / 2.0,
        }
    }

    fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if let AxleKind::Beam { spring_spacing_mm } = self.kind {
            check.between("spring_spacing_mm", spring_spacing_mm, 100.0, 4_000.0);
        }
        check.between("track_mm", self.track_mm, 300.0, 4_000.0);
        check.between(
            "anti_roll_bar_nm_per_rad",
            self.anti_roll_bar_nm_per_rad,
            0.0,
            1e7,
        );
        check.between(
            "tyre.loaded_radius_mm",
            self.tyre.loaded_radius_mm,
            100.0,
            2_000.0,
        );
        if let Some(vertical) = self.tyre.vertical {
            check.between("tyre.vertical.rate_n_per_mm", vertical.rate_n_per_mm, 10.0, 1e5);
            check.between(
                "tyre.vertical.load_at_radius_n",
                vertical.load_at_radius_n,
                0.0,
                1e6,
            );
        }
        check.merge("left", self.left.check());
        check.merge("right", self.right.check());
        check.finish()
    }
}

impl WheelStation {
    /// Spring travel over wheel travel, with the inclination of the spring.
    pub fn effective_ratio(&self) -> f64 {
        self.motion_ratio * self.installation_angle_deg.to_radians().cos()
    }

    fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.merge("spring", self.spring.check());
        check.between(
            "spring_length_at_reference_mm",
            self.spring_length_at_reference_mm,
            -2_000.0,
            5_000.0,
        );
        if let Some(helper) = self.air_helper {
            check.merge("air_helper", helper.check());
        }
        check.between("motion_ratio", self.motion_ratio, 0.05, 3.0);
        check.between("installation_angle_deg", self.installation_angle_deg, 0.0, 80.0);
        if let Some(stop) = self.bump_stop {
            check.between("bump_stop.gap_mm", stop.gap_mm, -300.0, 1_000.0);
            positive_up_to(&mut check, "bump_stop.rate_n_per_mm", stop.rate_n_per_mm, 1e5);
        }
        if let Some(limit_mm) = self.droop_limit_mm {
            check.between("droop_limit_mm", limit_mm, 0.0, 1_000.0);
        }
        check.between("unsprung_mass_kg", self.unsprung_mass_kg, 0.0, 10_000.0);
        check.finish()
    }
}
