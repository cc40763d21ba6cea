//! What carries a vehicle: springs, stops, unsprung masses, and what is known of its sides.

use crate::stance::heights::VehiclePoint;

/// The suspension of a vehicle.
///
/// All lengths hold at one reference ride height: the one at which heights above ground are recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspension {
    /// The front axle.
    pub front: AxleSuspension,
    /// The rear axle.
    pub rear: AxleSuspension,
    /// Centre of the bare vehicle, as its baseline holds it, millimetres to the right of the centre plane.
    /// `None`: not known, unless the baseline was weighed wheel by wheel.
    pub bare_centre_y_mm: Option<f64>,
    /// Width between the left and the right arch points, at which a lean is stated in millimetres.
    pub arch_width_mm: Option<f64>,
    /// Height of the centre of the sprung mass, millimetres above ground.
    pub sprung_centre_z_mm: Option<f64>,
    /// Height of the roll axis below that centre, millimetres above ground. Unless both are known, the moment of
    /// the leaning body is left out.
    pub roll_axis_z_mm: Option<f64>,
    /// Points of the underside that limit clearance and angles. Empty: not known.
    pub underside: Vec<UndersidePoint>,
}

/// A low point of a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct UndersidePoint {
    /// What it is.
    pub name: String,
    /// Where it is at the reference height, what it moves with.
    pub place: VehiclePoint,
}

/// How the wheels of an axle are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SuspensionKind {
    /// Each wheel moves by itself.
    Independent,
    /// One rigid beam.
    Beam,
}

/// What carries one axle.
#[derive(Debug, Clone, PartialEq)]
pub struct AxleSuspension {
    /// How its wheels are joined.
    pub kind: SuspensionKind,
    /// Distance between the left and the right spring of a beam, millimetres.
    pub spring_spacing_mm: Option<f64>,
    /// Spring travel over wheel travel.
    pub motion_ratio: Option<f64>,
    /// Angle between spring and vertical, degrees. `None`: 0, the motion ratio has it already.
    pub installation_angle_deg: Option<f64>,
    /// Stiffness of the anti-roll bar, newton metres per radian between body and axle; 0 for none.
    pub anti_roll_bar_nm_per_rad: Option<f64>,
    /// Distance between the seats of a spring, millimetres; of a leaf pack its camber.
    pub spring_length_mm: Option<f64>,
    /// Mass of the axle with wheels and what else is not sprung, both sides, kilograms.
    pub unsprung_mass_kg: Option<f64>,
    /// Hub centre above ground, millimetres.
    pub loaded_radius_mm: Option<f64>,
    /// Wheel arch above ground, millimetres.
    pub arch_height_mm: Option<f64>,
    /// Wheel travel up to the bump stop, millimetres; for a beam at the spring.
    pub bump_travel_mm: Option<f64>,
    /// Rate of the bump stop, newtons per millimetre.
    pub bump_stop_rate_n_per_mm: Option<f64>,
    /// Wheel travel down to full droop, millimetres.
    pub droop_travel_mm: Option<f64>,
}
