//! The position of rest: Newton's method on the energy of springs, stops, tyres and weight.
//!
//! The energy is convex (every characteristic rises with compression), so its only minimum is the
//! position of rest. Each step solves the curvature for a direction and takes a length along it at which
//! the slope has fallen by half or more; on straight pieces that is the full step, and a linear vehicle takes one. Hubs
//! on rigid tyres are held to the floor; one whose ground force would pull is let go, one that would sink
//! in is held again. All loops are bounded and nothing is allocated.

use nalgebra::linalg::Cholesky;

use super::model::{Coordinates, Curvature, Model, Slope, hub};
use super::result::{NoEquilibrium, Stance, StanceError, Validity, WheelContact, WheelStance};
use super::springs::Hold;
use super::vehicle::{SprungVehicle, Wheel};
use crate::check::Check;

const STEPS_MAX: u32 = 200;
const LINE_SEARCH_MAX: u32 = 60;
const CONTACT_CHANGES_MAX: u32 = 32;
/// Out of balance over weight at which a position counts as exact, and as good enough once it stops improving.
const BALANCE_EXACT: f64 = 1e-14;
const BALANCE_GOOD: f64 = 1e-10;
/// Displacement no vehicle has, mm.
const DISPLACEMENT_MAX_MM: f64 = 10_000.0;
const SMALL_ANGLE: f64 = 0.1;

/// The position of rest of a vehicle on a level floor.
///
/// # Errors
/// Fields out of range, or no position of rest.
pub fn solve(vehicle: &SprungVehicle) -> Result<Stance, StanceError> {
    solve_on_floor(vehicle, [0.0; 4])
}

/// The position of rest with each wheel on its own floor height, mm above the level datum, -500 to
/// 500. The small sideways pull of weight on a sloping floor is left out.
///
/// # Errors
/// Fields out of range, or no position of rest.
pub fn solve_on_floor(vehicle: &SprungVehicle, floor_mm: [f64; 4]) -> Result<Stance, StanceError> {
    vehicle.check()?;
    solve_checked(vehicle, floor_mm)
}

/// The same for a vehicle whose fields were checked: a diagnosis solves thousands that differ in one of them.
///
/// # Errors
/// A floor out of range, or no position of rest.
pub(super) fn solve_checked(vehicle: &SprungVehicle, floor_mm: [f64; 4]) -> Result<Stance, StanceError> {
    let mut check = Check::new();
    for (index, height_mm) in floor_mm.iter().enumerate() {
        // The path is only written out for a height that fails.
        if !(-500.0..=500.0).contains(height_mm) {
            check.between(format_args!("floor_mm[{index}]"), *height_mm, -500.0, 500.0);
        }
    }
    check.finish()?;
    let model = Model::new(vehicle, floor_mm);
    let rest = rest(&model)?;
    Ok(stance(vehicle, &model, &rest))
}

struct Rest {
    coordinates: Coordinates,
    held: [bool; 4],
    steps: u32,
}

/// Finds which hubs the floor holds, and the position of rest with them held.
fn rest(model: &Model<'_>) -> Result<Rest, StanceError> {
    let mut held = [0, 1, 2, 3].map(|wheel| model.has_rigid_tyre(wheel));
    let mut coordinates = model.start();
    let mut steps = 0;
    let tolerance_n = BALANCE_GOOD * model.weight_n;
    for _ in 0..CONTACT_CHANGES_MAX {
        steps += balance(model, &held, &mut coordinates)?;
        let slope = model.slope(&coordinates, false).slope;
        let mut worst: Option<(usize, f64)> = None;
        for wheel in 0..4 {
            // Held: the ground force, which must not pull. Free on a rigid tyre: height above the floor.
            let margin = if held[wheel] {
                slope[hub(wheel)] + tolerance_n
            } else if model.has_rigid_tyre(wheel) {
                coordinates[hub(wheel)] - model.floor_mm[wheel] + 1e-9
            } else {
                continue;
            };
            if margin < worst.map_or(0.0, |(_, least)| least) {
                worst = Some((wheel, margin));
            }
        }
        match worst {
            None if is_unstable(model, &held, &coordinates) => {
                return Err(StanceError::NoEquilibrium(NoEquilibrium::RollsOver));
            }
            None => {
                return Ok(Rest {
                    coordinates,
                    held,
                    steps,
                });
            }
            Some((wheel, _)) => {
                held[wheel] = !held[wheel];
                coordinates[hub(wheel)] = model.floor_mm[wheel];
            }
        }
    }
    Err(StanceError::NotConverged {
        residual_n: residual(model, &held, &coordinates),
    })
}

/// Whether a leaning body would leave a balanced position by its own weight: balance alone is not rest.
fn is_unstable(model: &Model<'_>, held: &[bool; 4], coordinates: &Coordinates) -> bool {
    model.overturning_nm_per_rad() > 0.0
        && Cholesky::new(masked(model.slope(coordinates, false), held).curvature).is_none()
}

/// Newton's method with some hubs held; gives the number of steps.
fn balance(model: &Model<'_>, held: &[bool; 4], coordinates: &mut Coordinates) -> Result<u32, StanceError> {
    let mut previous_n = f64::INFINITY;
    for step in 0..STEPS_MAX {
        let here = masked(model.slope(coordinates, false), held);
        let residual_n = here.slope.amax();
        let share = residual_n / model.weight_n;
        if share <= BALANCE_EXACT || (share <= BALANCE_GOOD && residual_n > previous_n / 2.0) {
            return Ok(step);
        }
        previous_n = residual_n;
        let direction = direction(model, held, coordinates, &here);
        let length = length(model, held, coordinates, &direction, here.slope.dot(&direction));
        coordinates.axpy(length, &direction, 1.0);
        if coordinates.amax() > DISPLACEMENT_MAX_MM || !coordinates.iter().all(|value| value.is_finite()) {
            return Err(StanceError::NoEquilibrium(cause(model, coordinates)));
        }
    }
    let residual_n = residual(model, held, coordinates);
    if residual_n <= BALANCE_GOOD * model.weight_n {
        Ok(STEPS_MAX)
    } else {
        Err(StanceError::NotConverged { residual_n })
    }
}

fn residual(model: &Model<'_>, held: &[bool; 4], coordinates: &Coordinates) -> f64 {
    masked(model.slope(coordinates, false), held).slope.amax()
}

/// Takes the held hubs out of the problem.
fn masked(mut state: Slope, held: &[bool; 4]) -> Slope {
    for (wheel, held) in held.iter().enumerate() {
        if *held {
            state.slope[hub(wheel)] = 0.0;
            state.curvature.row_mut(hub(wheel)).fill(0.0);
            state.curvature.column_mut(hub(wheel)).fill(0.0);
            state.curvature[(hub(wheel), hub(wheel))] = 1.0;
        }
    }
    state
}

/// The Newton direction; where the curvature is not positive (a loose spring carries nothing), a damped one.
fn direction(model: &Model<'_>, held: &[bool; 4], coordinates: &Coordinates, here: &Slope) -> Coordinates {
    if let Some(factor) = Cholesky::new(here.curvature) {
        return -factor.solve(&here.slope);
    }
    let convex = masked(model.slope(coordinates, true), held).curvature;
    let mut damping = 1e-6 * convex.diagonal().amax().max(1.0);
    for _ in 0..20 {
        if let Some(factor) = Cholesky::new(convex + Curvature::identity() * damping) {
            return -factor.solve(&here.slope);
        }
        damping *= 10.0;
    }
    -here.slope
}

/// A length along a direction at which the slope along it has fallen to half its start or less. The slope
/// along a line of a convex energy only rises, so its zero can be bracketed; working on the slope keeps full
/// precision where differences of energy have none.
fn length(
    model: &Model<'_>,
    held: &[bool; 4],
    coordinates: &Coordinates,
    direction: &Coordinates,
    start: f64,
) -> f64 {
    let mut low = 0.0;
    let mut high: Option<f64> = None;
    let mut length = 1.0;
    for _ in 0..LINE_SEARCH_MAX {
        let there = masked(model.slope(&(coordinates + direction * length), false), held);
        let along = there.slope.dot(direction);
        if along.abs() <= 0.5 * start.abs() {
            return length;
        }
        if along > 0.0 {
            high = Some(length);
        } else {
            low = length;
            if length * direction.amax() > 2.0 * DISPLACEMENT_MAX_MM {
                return length;
            }
        }
        length = match high {
            Some(high) => (low + high) / 2.0,
            None => 2.0 * length,
        };
    }
    if low > 0.0 { low } else { length }
}

/// Why the search ran away.
fn cause(model: &Model<'_>, coordinates: &Coordinates) -> NoEquilibrium {
    let start = model.start();
    let stiffness: f64 = [0, 1]
        .map(|axle| model.roll_stiffness_nm_per_rad(axle, &start))
        .iter()
        .sum();
    let (heave_mm, _, _) = model.body(coordinates);
    let corners = [0, 1, 2, 3].map(|wheel| model.struts[wheel].travel_mm(coordinates));
    if model.overturning_nm_per_rad() >= stiffness {
        NoEquilibrium::RollsOver
    } else if heave_mm < 0.0 && corners.iter().all(|travel_mm| *travel_mm > 0.0) {
        NoEquilibrium::Sinks
    } else {
        NoEquilibrium::TipsOver
    }
}

fn stance(vehicle: &SprungVehicle, model: &Model<'_>, rest: &Rest) -> Stance {
    let (heave_mm, pitch_slope, roll_slope) = model.body(&rest.coordinates);
    let slope = model.slope(&rest.coordinates, false).slope;
    let roll_stiffness_nm_per_rad =
        [0, 1].map(|axle| model.roll_stiffness_nm_per_rad(axle, &rest.coordinates));
    let loads_n = [0, 1, 2, 3].map(|wheel| match model.tyre_force(wheel, &rest.coordinates) {
        Some(force) => force.force_n,
        None if rest.held[wheel] => slope[hub(wheel)].max(0.0),
        None => 0.0,
    });
    let total_n: f64 = loads_n.iter().sum();
    let body_rise_mm = |wheel: Wheel| {
        let y_mm = wheel.side().sign() * vehicle.axle(wheel.axle()).track_mm / 2.0;
        let x_mm = vehicle.axle_x_mm(wheel.axle()) - vehicle.wheelbase_mm / 2.0;
        heave_mm + pitch_slope * x_mm + roll_slope * y_mm
    };
    let wheels = Wheel::ALL.map(|wheel| {
        wheel_stance(
            vehicle,
            model,
            rest,
            wheel,
            loads_n[wheel.index()],
            body_rise_mm(wheel),
        )
    });
    let stiffness: f64 = roll_stiffness_nm_per_rad.iter().sum();
    let overturning_share = match vehicle.sprung.roll_axis_height_mm {
        Some(_) if stiffness > 0.0 => Some(model.overturning_nm_per_rad() / stiffness),
        _ => None,
    };
    Stance {
        heave_mm,
        pitch_slope,
        roll_slope,
        lean_deg: (-roll_slope).atan().to_degrees(),
        rake_deg: pitch_slope.atan().to_degrees(),
        wheelbase_mm: vehicle.wheelbase_mm,
        track_mm: [vehicle.front.track_mm, vehicle.rear.track_mm],
        wheels,
        cross_weight_share: (loads_n[0] + loads_n[3]) / total_n,
        anti_roll_bar_moment_nm: [0, 1].map(|axle| model.bar_moment_nm(axle, &rest.coordinates)),
        roll_stiffness_nm_per_rad,
        validity: Validity {
            small_angles: roll_slope.abs() <= SMALL_ANGLE && pitch_slope.abs() <= SMALL_ANGLE,
            overturning_share,
        },
        steps: rest.steps,
    }
}

fn wheel_stance(
    vehicle: &SprungVehicle,
    model: &Model<'_>,
    rest: &Rest,
    wheel: Wheel,
    load_n: f64,
    body_rise_mm: f64,
) -> WheelStance {
    let station = vehicle.station(wheel);
    let strut = &model.struts[wheel.index()];
    let travel_mm = strut.travel_mm(&rest.coordinates);
    let forces = strut.forces(travel_mm);
    let loose = station.spring.hold == Hold::Loose && forces.spring.rate_n_per_mm == 0.0;
    let contact = if load_n <= 1e-9 * model.weight_n {
        WheelContact::OffGround
    } else if forces.bump_n > 0.0 {
        WheelContact::OnBumpStop
    } else if forces.droop_n < 0.0 {
        WheelContact::AtDroopLimit
    } else if loose {
        WheelContact::SpringLoose
    } else {
        WheelContact::Riding
    };
    WheelStance {
        load_n,
        spring_force_n: forces.spring.force_n,
        air_helper_force_n: forces.helper.force_n,
        bump_stop_force_n: forces.bump_n,
        droop_stop_force_n: forces.droop_n.abs(),
        spring_length_mm: forces.spring_length_mm,
        ride_height_change_mm: body_rise_mm - model.floor_mm[wheel.index()],
        body_rise_mm,
        hub_rise_mm: rest.coordinates[hub(wheel.index())],
        travel_mm,
        bump_travel_left_mm: station.bump_stop.map(|stop| stop.gap_mm - travel_mm),
        droop_travel_left_mm: station.droop_limit_mm.map(|limit_mm| limit_mm + travel_mm),
        coil_bind_left_mm: station
            .spring
            .solid_length_mm
            .map(|solid_length_mm| forces.spring_length_mm - solid_length_mm),
        contact,
    }
}
