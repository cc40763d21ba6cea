//! Height of the centre of mass from raised-axle readings.
//!
//! One axle is raised in steps while the other stands on a scale. With M the mass, L the wheelbase, x the
//! centre of mass aft of the front axle, h' its height above the line through the axle centres and θ the
//! inclination of that line, the scale under the axle that stays down reads
//!
//! - front raised: `m L / M = x + h' tan θ`
//! - rear raised: `m L / M = (L - x) + h' tan θ`
//!
//! so x and h' follow from all readings together by least squares over tan θ. The height above ground
//! adds the static loaded radius. Formula of ISO 10392 from memory, not verified; it follows from moments
//! about the raised axle (own derivation).

use super::height::{CentreOfMassHeight, HEIGHT_MAX_MM, HeightMethod};
use crate::check::{Check, InvalidInput};

/// Most readings in one measurement.
const READINGS_MAX: usize = 1_000;

/// Steepest inclination accepted, degrees. Beyond it a vehicle on stands is an accident.
const ANGLE_MAX_DEG: f64 = 45.0;

/// What to expect of the method (scope of ISO 10392:2011, read).
pub const ACCURACY: &str = "Axle lift is good to a few per cent of the height; a stable pendulum to 0.5 %.";

/// What to show with the instructions. Common practice, no source.
pub const LIFT_CAUTION: &str = "Lifting hazard: chock the wheels that stay down, lift by rated gear on firm level ground, keep \
     everybody out of and from under the vehicle, and stop before it can roll.";

/// A condition under which the readings mean what the formula takes them for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Precondition {
    /// Fuel tanks completely full (ISO 10392:1992 clause 3, read).
    FuelTanksFull,
    /// Suspension blocked (ISO 10392:1992 clause 3, read).
    SuspensionBlocked,
    /// Deflection of the tyres that stay down allowed for (ISO 10392:2011 clause 6.2, read).
    TyreDeflectionAllowedFor,
    /// Readings taken going up and going down, against hysteresis (ISO 10392:2011 clause 6.2, read).
    BothDirections,
    /// Three or more lift steps (ISO 10392:2011 clause 6.2, read). Judged from the readings.
    ThreeSteps,
    /// Brakes off and transmission free, so that wheels bear no force along the ground (own statement).
    WheelsFree,
}

impl Precondition {
    /// Those that whoever measured must confirm; the number of steps is seen from the readings.
    pub const TO_CONFIRM: [Self; 5] = [
        Self::FuelTanksFull,
        Self::SuspensionBlocked,
        Self::TyreDeflectionAllowedFor,
        Self::BothDirections,
        Self::WheelsFree,
    ];

    /// What must be so, for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::FuelTanksFull => "fuel tanks were completely full",
            Self::SuspensionBlocked => "the suspension was blocked",
            Self::TyreDeflectionAllowedFor => "the deflection of the tyres that stayed down was allowed for",
            Self::BothDirections => "readings were taken going up and going down",
            Self::ThreeSteps => "the axle was raised in three or more steps",
            Self::WheelsFree => "brakes were off and the transmission free",
        }
    }
}

/// Which axle was raised for a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LiftedAxle {
    /// The front axle; the scale stands under the rear.
    Front,
    /// The rear axle; the scale stands under the front.
    Rear,
}

/// One reading of the scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiftReading {
    /// The axle raised. At 0 degrees: the axle that the scale does *not* stand under.
    pub lifted: LiftedAxle,
    /// Inclination of the line through the axle centres, degrees, 0 or more.
    pub angle_deg: f64,
    /// Scale under the axle that stays down, kg.
    pub scale_kg: f64,
}

/// A raised-axle measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct AxleLift {
    /// Mass of the vehicle as measured, kg.
    pub mass_kg: f64,
    /// Wheelbase, mm.
    pub wheelbase_mm: f64,
    /// Static loaded radius of the front tyres, mm.
    pub loaded_radius_front_mm: f64,
    /// Static loaded radius of the rear tyres, mm.
    pub loaded_radius_rear_mm: f64,
    /// Standard uncertainty of the radii, mm.
    pub radius_uncertainty_mm: f64,
    /// Standard uncertainty of a scale reading, kg.
    pub scale_uncertainty_kg: f64,
    /// Standard uncertainty of an angle, degrees.
    pub angle_uncertainty_deg: f64,
    /// Readings, level ones included.
    pub readings: Vec<LiftReading>,
    /// Conditions that whoever measured confirms.
    pub confirmed: Vec<Precondition>,
}

/// Height of the centre of mass from a raised-axle measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct AxleLiftHeight {
    /// Height above ground. Its uncertainty combines instruments, scatter (the larger of the two) and radii.
    pub height: CentreOfMassHeight,
    /// Centre of mass aft of the front axle, mm.
    pub x_mm: f64,
    /// Uncertainty of the slope from the instruments' uncertainties alone, mm.
    pub from_instruments_mm: f64,
    /// Uncertainty of the slope from the scatter of the readings; `None` with only as many readings as
    /// unknowns, when nothing tests the straight line.
    pub from_scatter_mm: Option<f64>,
    /// Residual of each reading, kg on the scale, in the order of the readings: plot them over the angle.
    pub residuals_kg: Vec<f64>,
    /// Conditions neither confirmed nor seen from the readings; any of them leaves the height in doubt.
    pub unconfirmed: Vec<Precondition>,
}

/// Height of the centre of mass by least squares over all readings.
///
/// # Errors
/// Numbers out of range with their field; fewer than two readings, or none above 0.5 degrees, or all at
/// one angle with one axle; a result that no vehicle can have.
pub fn axle_lift_height(measured: &AxleLift) -> Result<AxleLiftHeight, InvalidInput> {
    check_input(measured)?;
    let fit = Fit::new(measured)?;
    let (x_mm, above_axles_mm) = fit.solve();
    let along = (x_mm / measured.wheelbase_mm).clamp(0.0, 1.0);
    let radius_mm = measured.loaded_radius_front_mm
        + along * (measured.loaded_radius_rear_mm - measured.loaded_radius_front_mm);
    let height_mm = radius_mm + above_axles_mm;
    if !(1.0..=HEIGHT_MAX_MM).contains(&height_mm) || !(0.0..=measured.wheelbase_mm).contains(&x_mm) {
        let problem = format!(
            "put the centre of mass at x {x_mm:.0} mm, z {height_mm:.0} mm: check angles, axles and mass"
        );
        return Err(InvalidInput::one("readings", problem));
    }
    let from_instruments_mm = fit.instruments_mm(measured, above_axles_mm);
    let residuals_mm = fit.residuals_mm(x_mm, above_axles_mm);
    let from_scatter_mm = fit.scatter_mm(&residuals_mm);
    let slope_mm = from_instruments_mm.max(from_scatter_mm.unwrap_or(0.0));
    let to_kg = measured.mass_kg / measured.wheelbase_mm;
    Ok(AxleLiftHeight {
        height: CentreOfMassHeight {
            height_mm,
            uncertainty_mm: slope_mm.hypot(measured.radius_uncertainty_mm),
            method: HeightMethod::AxleLift,
        },
        x_mm,
        from_instruments_mm,
        from_scatter_mm,
        residuals_kg: residuals_mm
            .iter()
            .map(|residual_mm| residual_mm * to_kg)
            .collect(),
        unconfirmed: unconfirmed(measured),
    })
}

/// One equation: `value = sign × x + tangent × h'`.
struct Equation {
    sign: f64,
    tangent: f64,
    value_mm: f64,
}

/// Normal equations of the two unknowns x and h'.
struct Fit {
    equations: Vec<Equation>,
    count: f64,
    sum_sign_tangent: f64,
    sum_tangent_squared: f64,
    determinant: f64,
}

impl Fit {
    fn new(measured: &AxleLift) -> Result<Self, InvalidInput> {
        let to_mm = measured.wheelbase_mm / measured.mass_kg;
        let equation = |reading: &LiftReading| {
            let tangent = reading.angle_deg.to_radians().tan();
            let value_mm = reading.scale_kg * to_mm;
            match reading.lifted {
                LiftedAxle::Front => Equation {
                    sign: 1.0,
                    tangent,
                    value_mm,
                },
                LiftedAxle::Rear => Equation {
                    sign: -1.0,
                    tangent,
                    value_mm: value_mm - measured.wheelbase_mm,
                },
            }
        };
        let equations: Vec<Equation> = measured.readings.iter().map(equation).collect();
        let count = equations.len() as f64;
        let sum_sign_tangent: f64 = equations.iter().map(|e| e.sign * e.tangent).sum();
        let sum_tangent_squared: f64 = equations.iter().map(|e| e.tangent.powi(2)).sum();
        let determinant = count * sum_tangent_squared - sum_sign_tangent.powi(2);
        if determinant < 1e-9 * count * sum_tangent_squared.max(1e-12) {
            let problem = "must differ in angle, or raise both axles, to tell height from fore-and-aft place";
            return Err(InvalidInput::one("readings", problem));
        }
        Ok(Self {
            equations,
            count,
            sum_sign_tangent,
            sum_tangent_squared,
            determinant,
        })
    }

    fn solve(&self) -> (f64, f64) {
        let by_sign: f64 = self.equations.iter().map(|e| e.sign * e.value_mm).sum();
        let by_tangent: f64 = self.equations.iter().map(|e| e.tangent * e.value_mm).sum();
        let x_mm =
            (self.sum_tangent_squared * by_sign - self.sum_sign_tangent * by_tangent) / self.determinant;
        let slope_mm = (self.count * by_tangent - self.sum_sign_tangent * by_sign) / self.determinant;
        (x_mm, slope_mm)
    }

    fn residuals_mm(&self, x_mm: f64, slope_mm: f64) -> Vec<f64> {
        self.equations
            .iter()
            .map(|e| e.value_mm - e.sign * x_mm - e.tangent * slope_mm)
            .collect()
    }

    /// Propagates the uncertainty of scale and angle, taken as independent from reading to reading.
    fn instruments_mm(&self, measured: &AxleLift, slope_mm: f64) -> f64 {
        let scale_mm = measured.scale_uncertainty_kg * measured.wheelbase_mm / measured.mass_kg;
        let angle_rad = measured.angle_uncertainty_deg.to_radians();
        let variance_mm2: f64 = self
            .equations
            .iter()
            .map(|e| {
                let weight = (self.count * e.tangent - self.sum_sign_tangent * e.sign) / self.determinant;
                let angle_mm = slope_mm * (1.0 + e.tangent.powi(2)) * angle_rad;
                weight.powi(2) * (scale_mm.powi(2) + angle_mm.powi(2))
            })
            .sum();
        variance_mm2.sqrt()
    }

    fn scatter_mm(&self, residuals_mm: &[f64]) -> Option<f64> {
        let degrees_of_freedom = self.count - 2.0;
        let sum_mm2: f64 = residuals_mm.iter().map(|residual_mm| residual_mm.powi(2)).sum();
        let variance_mm2 = sum_mm2 / degrees_of_freedom * self.count / self.determinant;
        (degrees_of_freedom > 0.0).then(|| variance_mm2.sqrt())
    }
}

fn unconfirmed(measured: &AxleLift) -> Vec<Precondition> {
    // Angles within a quarter of a degree are the same step.
    let mut angles_deg: Vec<f64> = measured
        .readings
        .iter()
        .map(|reading| reading.angle_deg)
        .collect();
    angles_deg.retain(|angle_deg| *angle_deg > 0.25);
    angles_deg.sort_by(f64::total_cmp);
    angles_deg.dedup_by(|next, kept| *next - *kept <= 0.25);
    let few_steps = (angles_deg.len() < 3).then_some(Precondition::ThreeSteps);
    let open = Precondition::TO_CONFIRM
        .into_iter()
        .filter(|condition| !measured.confirmed.contains(condition));
    open.chain(few_steps).collect()
}

fn check_input(measured: &AxleLift) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("mass_kg", measured.mass_kg, 100.0, 1e6);
    check.between("wheelbase_mm", measured.wheelbase_mm, 500.0, 20_000.0);
    check.between(
        "loaded_radius_front_mm",
        measured.loaded_radius_front_mm,
        50.0,
        2_000.0,
    );
    check.between(
        "loaded_radius_rear_mm",
        measured.loaded_radius_rear_mm,
        50.0,
        2_000.0,
    );
    check.between(
        "radius_uncertainty_mm",
        measured.radius_uncertainty_mm,
        0.0,
        1_000.0,
    );
    check.between("scale_uncertainty_kg", measured.scale_uncertainty_kg, 0.0, 1e5);
    check.between("angle_uncertainty_deg", measured.angle_uncertainty_deg, 0.0, 45.0);
    let count = measured.readings.len();
    if !(2..=READINGS_MAX).contains(&count) {
        check.refuse("readings", format!("must be 2 to {READINGS_MAX}, are {count}"));
    }
    for (index, reading) in measured.readings.iter().enumerate().take(READINGS_MAX) {
        check.between(
            format_args!("readings[{index}].angle_deg"),
            reading.angle_deg,
            0.0,
            ANGLE_MAX_DEG,
        );
        check.between(
            format_args!("readings[{index}].scale_kg"),
            reading.scale_kg,
            0.0,
            1e6,
        );
    }
    if check.passes() && measured.readings.iter().all(|reading| reading.angle_deg < 0.5) {
        check.refuse(
            "readings",
            "must hold at least one with the axle raised by 0.5 degrees or more",
        );
    }
    check.finish()
}
