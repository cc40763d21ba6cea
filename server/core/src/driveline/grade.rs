//! Grade ability: the steepest climb that torque and grip allow.
//!
//! Force along the slope `m g (sin + Crr cos)` against tractive force `T i eta / r` and against grip
//! `mu` times the load on the driven axles. Textbook statics at walking pace: no air drag, no
//! acceleration, tyres that do not dig in. A result is a ceiling, never a safe slope: tipping, brakes
//! and the way down are not in it.

use super::ratios::OVERALL_RATIO;
use crate::check::{Check, InvalidInput};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// A kind of ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surface {
    /// Concrete or asphalt.
    Sealed,
    /// Gravel, rolled or packed.
    PackedGravel,
    /// Gravel, loose or wet.
    LooseGravel,
    /// Soil of middling hardness.
    MediumSoil,
    /// Sand that bears.
    FirmSand,
    /// Sand, neither firm nor soft.
    Sand,
    /// Soft sand.
    LooseSand,
}

/// Rolling resistance of a kind of ground, as part of the load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollingResistance {
    /// Ground.
    pub surface: Surface,
    /// Lowest published value.
    pub low: f64,
    /// A value to plan with.
    pub typical: f64,
    /// Highest published value.
    pub high: f64,
    /// Where the values come from, and how they were seen.
    pub source: &'static str,
}

/// Published values of rolling resistance, in the order of [`Surface`]. They scatter widely between sources: show the spread, and
/// prefer a measured value.
pub const ROLLING_RESISTANCE: [RollingResistance; 7] = [
    RollingResistance {
        surface: Surface::Sealed,
        low: 0.008,
        typical: 0.015,
        high: 0.02,
        source: "low: Moyer via Marks' handbook, hard road, read; typical: upper value of a car tyre on concrete \
                 or new asphalt, engineering reference page, read; high: worn road, Carvill, read in a secondary copy",
    },
    RollingResistance {
        surface: Surface::PackedGravel,
        low: 0.01,
        typical: 0.015,
        high: 0.02,
        source: "low: rolled new gravel, Carvill, read in a secondary copy; typical: middle, own choice; \
                 high: gravel, engineering reference page, read",
    },
    RollingResistance {
        surface: Surface::LooseGravel,
        low: 0.04,
        typical: 0.06,
        high: 0.08,
        source: "low: loose worn gravel, Carvill, read in a secondary copy; typical: wet loose gravel, Moyer via \
                 Marks' handbook, read; high: loose gravel, engineering reference page, read",
    },
    RollingResistance {
        surface: Surface::MediumSoil,
        low: 0.04,
        typical: 0.06,
        high: 0.08,
        source: "low and high: engineering reference page, read; high also: medium hard soil, Carvill, read in a \
                 secondary copy; typical: middle, own choice",
    },
    RollingResistance {
        surface: Surface::FirmSand,
        low: 0.04,
        typical: 0.06,
        high: 0.08,
        source: "low and high: solid sand, engineering reference page, read; typical: middle, own choice",
    },
    RollingResistance {
        surface: Surface::Sand,
        low: 0.1,
        typical: 0.15,
        high: 0.2,
        source: "low and high: Carvill, read in a secondary copy; typical: middle, own choice",
    },
    RollingResistance {
        surface: Surface::LooseSand,
        low: 0.2,
        typical: 0.3,
        high: 0.4,
        source: "low and high: engineering reference page, read; typical: middle, own choice",
    },
];

/// Axles that drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrivenAxles {
    /// The front one.
    Front,
    /// The rear one.
    Rear,
    /// Both, locked together.
    Both,
}

/// A vehicle on a climb, front uphill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradeInput {
    /// Loaded mass.
    pub mass_kg: f64,
    /// Torque at the engine, or at the converter's output.
    pub torque_nm: f64,
    /// Engine turns per wheel turn.
    pub overall_ratio: f64,
    /// Part of the torque that reaches the wheels, over 0 up to 1.
    pub efficiency: f64,
    /// Distance from wheel centre to ground under load.
    pub rolling_radius_mm: f64,
    /// Rolling resistance as part of the load, from 0 to 1; see [`ROLLING_RESISTANCE`].
    pub rolling_resistance: f64,
    /// Friction between tyre and ground, over 0 up to 1.5.
    pub friction_coefficient: f64,
    /// Axles that drive.
    pub driven: DrivenAxles,
    /// Part of the weight on the front axle on level ground, over 0 and below 1.
    pub front_load_share: f64,
    /// Height of the centre of mass, from 0.
    pub centre_height_mm: f64,
    /// Wheelbase.
    pub wheelbase_mm: f64,
}

/// What ends a climb.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GradeLimit {
    /// The engine cannot pull more.
    Torque,
    /// The tyres cannot hold more.
    Traction,
}

/// The steepest climb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradeAbility {
    /// Tractive force at the wheels.
    pub tractive_force_n: f64,
    /// Angle up to which torque suffices: 90 when it would lift the vehicle; negative when it only
    /// suffices downhill.
    pub torque_angle_deg: f64,
    /// Angle up to which grip suffices; negative when it only suffices downhill.
    pub traction_angle_deg: f64,
    /// The smaller of both.
    pub angle_deg: f64,
    /// The same in percent, rise over run; `None` when it is 90 degrees.
    pub grade_percent: Option<f64>,
    /// Which of them ends the climb.
    pub limit: GradeLimit,
}

impl Surface {
    /// The published rolling resistance of this ground.
    pub const fn rolling_resistance(self) -> &'static RollingResistance {
        // Rows stand in the order of the variants.
        &ROLLING_RESISTANCE[self as usize]
    }
}

/// Tractive force in newtons at the wheels: torque times ratio times efficiency over radius.
///
/// # Errors
/// Numbers out of range.
pub fn tractive_force_n(
    torque_nm: f64,
    overall_ratio: f64,
    efficiency: f64,
    rolling_radius_mm: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_pull(
        &mut check,
        torque_nm,
        overall_ratio,
        efficiency,
        rolling_radius_mm,
    );
    check.finish()?;
    Ok(torque_nm * overall_ratio * efficiency / (rolling_radius_mm / 1e3))
}

/// Force in newtons that a vehicle needs along a slope, rolling resistance included; negative where it
/// rolls by itself.
///
/// # Errors
/// A mass that is not greater than 0, an angle outside -90 to 90 degrees, a resistance outside 0 to 1.
pub fn slope_force_n(mass_kg: f64, angle_deg: f64, rolling_resistance: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_mass(&mut check, mass_kg);
    check.between("angle_deg", angle_deg, -90.0, 90.0);
    check.between("rolling_resistance", rolling_resistance, 0.0, 1.0);
    check.finish()?;
    let (sine, cosine) = angle_deg.to_radians().sin_cos();
    Ok(mass_kg * STANDARD_GRAVITY_M_PER_S2 * (sine + rolling_resistance * cosine))
}

/// Angle in degrees up to which torque suffices: 90 when it would lift the vehicle; negative when it only
/// suffices downhill.
///
/// # Errors
/// Numbers out of range.
pub fn torque_angle_deg(
    mass_kg: f64,
    tractive_force_n: f64,
    rolling_resistance: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check_mass(&mut check, mass_kg);
    check.non_negative("tractive_force_n", tractive_force_n);
    check.between("rolling_resistance", rolling_resistance, 0.0, 1.0);
    check.finish()?;
    // sin a + c cos a = pull is one sine, of amplitude sqrt(1 + c^2) and lead atan c.
    let pull = tractive_force_n / (mass_kg * STANDARD_GRAVITY_M_PER_S2);
    let amplitude = rolling_resistance.hypot(1.0);
    if pull >= amplitude {
        return Ok(90.0);
    }
    let torque_rad = (pull / amplitude).asin() - rolling_resistance.atan();
    Ok(torque_rad.to_degrees().min(90.0))
}

/// The steepest climb that torque and grip allow.
///
/// # Errors
/// Numbers out of range; a rear-driven vehicle so tall and short that weight transfer grows without
/// bound, which the statics here do not cover.
pub fn grade_ability(input: &GradeInput) -> Result<GradeAbility, InvalidInput> {
    check_input(input)?;
    let tractive_force_n = tractive_force_n(
        input.torque_nm,
        input.overall_ratio,
        input.efficiency,
        input.rolling_radius_mm,
    )?;
    let torque_angle_deg = torque_angle_deg(input.mass_kg, tractive_force_n, input.rolling_resistance)?;
    let traction_angle_deg = traction_tangent(input).atan().to_degrees();
    let angle_deg = torque_angle_deg.min(traction_angle_deg);
    let limit = if torque_angle_deg <= traction_angle_deg {
        GradeLimit::Torque
    } else {
        GradeLimit::Traction
    };
    Ok(GradeAbility {
        tractive_force_n,
        torque_angle_deg,
        traction_angle_deg,
        angle_deg,
        grade_percent: (angle_deg < 90.0).then(|| 100.0 * angle_deg.to_radians().tan()),
        limit,
    })
}

/// Tangent of the angle at which grip is used up: with load share s, transfer k = height / wheelbase,
/// friction mu and resistance c, `mu (s +- k tan) = tan + c`.
fn traction_tangent(input: &GradeInput) -> f64 {
    let (share, transfer) = match input.driven {
        DrivenAxles::Both => (1.0, 0.0),
        DrivenAxles::Front => (
            input.front_load_share,
            -input.centre_height_mm / input.wheelbase_mm,
        ),
        DrivenAxles::Rear => (
            1.0 - input.front_load_share,
            input.centre_height_mm / input.wheelbase_mm,
        ),
    };
    let tangent = (input.friction_coefficient * share - input.rolling_resistance)
        / (1.0 - input.friction_coefficient * transfer);
    // An axle carries at most the whole weight, when the other is about to lift.
    tangent.min(input.friction_coefficient - input.rolling_resistance)
}

fn check_input(input: &GradeInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check_mass(&mut check, input.mass_kg);
    check_pull(
        &mut check,
        input.torque_nm,
        input.overall_ratio,
        input.efficiency,
        input.rolling_radius_mm,
    );
    check.between("rolling_resistance", input.rolling_resistance, 0.0, 1.0);
    check.up_to("friction_coefficient", input.friction_coefficient, 1.5);
    check.up_to("front_load_share", input.front_load_share, 1.0);
    if input.front_load_share == 1.0 {
        check.refuse("front_load_share", "must be below 1");
    }
    check.between("centre_height_mm", input.centre_height_mm, 0.0, 5_000.0);
    check.between("wheelbase_mm", input.wheelbase_mm, 500.0, 20_000.0);
    if check.passes() && input.driven == DrivenAxles::Rear {
        let growth = input.friction_coefficient * input.centre_height_mm / input.wheelbase_mm;
        if growth >= 0.9 {
            check.refuse("centre_height_mm", "is too great for this wheelbase and friction");
        }
    }
    check.finish()
}

fn check_mass(check: &mut Check, mass_kg: f64) {
    check.between("mass_kg", mass_kg, 1.0, 1e6);
}

fn check_pull(
    check: &mut Check,
    torque_nm: f64,
    overall_ratio: f64,
    efficiency: f64,
    rolling_radius_mm: f64,
) {
    check.between("torque_nm", torque_nm, 0.0, 1e5);
    check.between("overall_ratio", overall_ratio, OVERALL_RATIO.0, OVERALL_RATIO.1);
    check.up_to("efficiency", efficiency, 1.0);
    check.between("rolling_radius_mm", rolling_radius_mm, 100.0, 1_500.0);
}
