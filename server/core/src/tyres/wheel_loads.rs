//! The loads of one tyre of each axle over a trip, and the largest.

use super::recorded::fitting_at;
use super::service::Fitting;
use crate::loads::{LoadAgainstLimit, LoadResult};
use crate::record::{Record, Vehicle};
use crate::stance::standing::Standing;
use crate::stance::vehicle::{AxlePosition, Side};
use crate::stance::{Stance, Wheel};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// The load of one tyre of an axle at its heavier end: of two side by side, half of what the end carries, which asks for equal
/// diameters and pressures.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelLoad {
    /// The load, kilograms.
    pub load_kg: f64,
    /// Its standard uncertainty: half of the axle's, kilograms.
    pub uncertainty_kg: f64,
    /// The moment.
    pub load_state: String,
    /// It comes from the vehicle on its springs; otherwise it is half of the axle.
    pub from_stance: bool,
}

/// The loads of front and rear, and what they leave out.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelLoads {
    /// The largest over the trip: front, rear. `None`: not known at some moment.
    pub axles: [Option<WheelLoad>; 2],
    /// At every moment: front, rear.
    pub states: Vec<[Option<WheelLoad>; 2]>,
    /// What is missing, in sentences; the loads leave it out.
    pub missing: Vec<String>,
}

/// The tyre loads of each axle over `states`: with springs on record those of the heavier side, else half of the axle.
pub fn wheel_loads(record: &Record, vehicle: &Vehicle, states: &[LoadResult]) -> WheelLoads {
    wheel_loads_at_rest(vehicle, states, &Standing::of(record, vehicle, states))
}

/// The same of a vehicle that was put on its springs before.
pub(crate) fn wheel_loads_at_rest(
    vehicle: &Vehicle,
    states: &[LoadResult],
    standing: &Standing,
) -> WheelLoads {
    let tyres = AxlePosition::ALL.map(|axle| f64::from(tyres_at_an_end(vehicle, axle)));
    let mut missing: Vec<String> = Vec::new();
    let mut worst: [Option<Option<WheelLoad>>; 2] = [None, None];
    let mut all = Vec::new();
    for (state, stands) in states.iter().zip(&standing.states) {
        for sentence in &state.missing {
            if !missing.contains(sentence) {
                missing.push(sentence.clone());
            }
        }
        let stance = stands.as_ref().ok().map(|rest| &rest.stance);
        let now = [
            (AxlePosition::Front, &state.front_axle, tyres[0]),
            (AxlePosition::Rear, &state.rear_axle, tyres[1]),
        ]
        .map(|(axle, load, tyres)| {
            load.as_ref()
                .map(|load| of_axle(&state.load_state, axle, load, stance, tyres))
        });
        all.push(now.clone());
        for (now, worst) in now.into_iter().zip(&mut worst) {
            *worst = Some(match (worst.take(), now) {
                (None, now) => now,
                (Some(Some(before)), Some(now)) if now.load_kg > before.load_kg => Some(now),
                (Some(Some(before)), Some(_)) => Some(before),
                // Unknown at one moment: not known over the trip.
                (Some(_), _) => None,
            });
        }
    }
    let axles = worst.map(Option::flatten);
    if axles.iter().any(Option::is_none) && missing.is_empty() {
        missing.push(format!(
            "the axle loads of {} are not known",
            vehicle.display_name
        ));
    }
    WheelLoads {
        axles,
        states: all,
        missing,
    }
}

/// Tyres that share the load of one end of an axle. Where the two ends differ the single one bears most.
pub fn tyres_at_an_end(vehicle: &Vehicle, axle: AxlePosition) -> u32 {
    let dual =
        [Side::Left, Side::Right].map(|side| fitting_at(vehicle, Wheel::of(axle, side)) == Fitting::Dual);
    if dual == [true, true] { 2 } else { 1 }
}

fn of_axle(
    load_state: &str,
    axle: AxlePosition,
    load: &LoadAgainstLimit,
    stance: Option<&Stance>,
    tyres: f64,
) -> WheelLoad {
    let heavier_kg = stance.map(|stance| {
        let of = |side| stance.wheel(Wheel::of(axle, side)).load_n / STANDARD_GRAVITY_M_PER_S2;
        f64::max(of(Side::Left), of(Side::Right))
    });
    WheelLoad {
        load_kg: heavier_kg.unwrap_or(load.load_kg / 2.0).max(0.0) / tyres,
        uncertainty_kg: load.uncertainty_kg / 2.0 / tyres,
        load_state: load_state.to_owned(),
        from_stance: heavier_kg.is_some(),
    }
}
