//! Reduced pressure on soft ground: how far below the needed pressure it is, and the speed that goes
//! with it by the departure's own plan.

use super::pressure::PRESSURE_MAX_KPA;
use crate::check::{Check, InvalidInput};

/// Most steps a plan may have.
const STEPS_MAX: usize = 50;

/// Speeds above this are refused in a plan, km/h.
const SPEED_MAX_KM_PER_H: f64 = 300.0;

/// What to show with every reduced pressure. Common practice, no source.
pub const REDUCED_PRESSURE_CAUTION: &str = "Below the pressure its load needs, a tyre overheats at speed and may leave \
     the rim in a turn: keep to the stated speed, steer gently, and pump up before hard or fast ground.";

/// One step of a departure's pressure plan: at this cold pressure and up, this speed at most.
///
/// No government or standard figure was found for pressures by terrain, so the steps are the
/// departure's policy, never a default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedStep {
    /// Cold pressure, kPa.
    pub pressure_kpa: f64,
    /// Highest speed at that pressure, km/h.
    pub speed_max_km_per_h: f64,
}

/// The speed that goes with a pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpeedAtPressure {
    /// The pressure carries the load; no reduction applies.
    NotReduced,
    /// The pressure is reduced; at most this speed.
    Limited {
        /// Highest speed, km/h.
        speed_max_km_per_h: f64,
        /// Pressure missing to what the load needs, kPa.
        below_needed_kpa: f64,
    },
    /// The pressure is below every step of the plan: no speed is stated for it.
    BelowPlan {
        /// Lowest pressure of the plan, kPa; `None` when the plan has no step.
        lowest_kpa: Option<f64>,
        /// Pressure missing to what the load needs, kPa.
        below_needed_kpa: f64,
    },
}

/// The speed that goes with a cold pressure, given the pressure that the load needs.
///
/// # Errors
/// Pressures out of range, or steps of which a lower pressure allows a higher speed.
pub fn speed_at_pressure(
    pressure_kpa: f64,
    needed_kpa: f64,
    plan: &[SpeedStep],
) -> Result<SpeedAtPressure, InvalidInput> {
    let mut check = Check::new();
    check.between("pressure_kpa", pressure_kpa, 0.0, PRESSURE_MAX_KPA);
    check.between("needed_kpa", needed_kpa, 0.0, PRESSURE_MAX_KPA);
    check_plan(&mut check, plan);
    check.finish()?;
    if pressure_kpa >= needed_kpa {
        return Ok(SpeedAtPressure::NotReduced);
    }
    let below_needed_kpa = needed_kpa - pressure_kpa;
    let step = plan
        .iter()
        .filter(|step| step.pressure_kpa <= pressure_kpa)
        .max_by(|a, b| a.pressure_kpa.total_cmp(&b.pressure_kpa));
    Ok(match step {
        Some(step) => SpeedAtPressure::Limited {
            speed_max_km_per_h: step.speed_max_km_per_h,
            below_needed_kpa,
        },
        None => SpeedAtPressure::BelowPlan {
            lowest_kpa: plan.iter().map(|step| step.pressure_kpa).reduce(f64::min),
            below_needed_kpa,
        },
    })
}

/// Refuses a plan of too many steps, of numbers out of range, or of more speed at less pressure.
pub(crate) fn check_plan(check: &mut Check, plan: &[SpeedStep]) {
    if plan.len() > STEPS_MAX {
        check.refuse(
            "plan",
            format!("must have at most {STEPS_MAX} steps, has {}", plan.len()),
        );
        return;
    }
    for (index, step) in plan.iter().enumerate() {
        check.between(
            format_args!("plan[{index}].pressure_kpa"),
            step.pressure_kpa,
            1.0,
            PRESSURE_MAX_KPA,
        );
        let speed = step.speed_max_km_per_h;
        check.between(
            format_args!("plan[{index}].speed_max_km_per_h"),
            speed,
            1.0,
            SPEED_MAX_KM_PER_H,
        );
        let contradicts = plan
            .iter()
            .any(|other| other.pressure_kpa >= step.pressure_kpa && other.speed_max_km_per_h < speed);
        if contradicts {
            let problem = "must not allow more speed than a step of the same or more pressure";
            check.refuse(format_args!("plan[{index}].speed_max_km_per_h"), problem);
        }
    }
}
