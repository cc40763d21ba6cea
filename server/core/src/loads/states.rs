//! Every moment of a departure: its start, the end of each leg, and after each supply.
//!
//! The model, which every state names in its notes:
//! - Fuel goes by the recorded consumption per surface, times the policy's route allowance; tanks are
//!   emptied in the recorded order, containers by pouring into a plumbed tank.
//! - Drinking water goes by the policy's plan per person and day, for the people who ride in the vehicle
//!   and out of its own tanks. A vehicle that runs dry is not helped by another one here, so the others
//!   are not computed lighter than they may be.
//! - Cargo that is consumed shrinks evenly over the planned days of all legs, container and all.
//! - At a confirmed supply point between two legs the tanks of what it gives are filled to capacity: the
//!   heaviest they can be. What is not confirmed counts as nothing.
//!
//! Days of rest that belong to no leg are not counted.

use std::collections::BTreeMap;

use super::moment::{Fills, Moment};
use super::supplies::{Course, fuel, water};
use super::{Constant, Detail, LoadResult};
use crate::record::{Departure, DepartureVehicle, Id, Leg, Record, TankFill, Vehicle};

/// Loads of `vehicle` at departure, at the end of each leg, and after each supply under way.
///
/// What is missing for the way leaves the state at departure as it is and makes the later ones not known:
/// they say what is missing, and their numbers leave out the fluids that cannot be known.
pub fn states(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<LoadResult> {
    in_detail(record, departure, vehicle, Detail::Lines)
}

/// The same without the lines, for what only holds them against limits.
pub(crate) fn states_in_sums(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<LoadResult> {
    in_detail(record, departure, vehicle, Detail::Sums)
}

fn in_detail(record: &Record, departure: &Departure, vehicle: &Vehicle, detail: Detail) -> Vec<LoadResult> {
    let going = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == vehicle.name);
    let mut moments = vec![Moment::departure()];
    if let Some(going) = going {
        moments.extend(under_way(record, departure, vehicle, going));
    }
    let constant = Constant::of(record, departure, vehicle, detail);
    moments.iter().map(|moment| constant.at(moment)).collect()
}

fn under_way(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
) -> Vec<Moment> {
    let courses = [
        fuel(record, departure, vehicle, going),
        water(departure, vehicle, going),
    ];
    let consumed = Consumed::of(record, departure, vehicle);
    let mut moments = Vec::new();
    for (index, leg) in departure.legs.iter().enumerate() {
        let supplied = courses
            .iter()
            .any(|course| course.steps[index].supplied.is_some());
        moments.push(moment(going, &courses, &consumed, index, leg, false));
        if supplied {
            moments.push(moment(going, &courses, &consumed, index, leg, true));
        }
    }
    moments
}

fn moment(
    going: &DepartureVehicle,
    courses: &[Course],
    consumed: &Consumed,
    index: usize,
    leg: &Leg,
    after_supply: bool,
) -> Moment {
    let mut fills: BTreeMap<Id, f64> = going
        .fills
        .iter()
        .map(|TankFill { tank, volume_l }| (tank.clone(), *volume_l))
        .collect();
    let mut missing = Vec::new();
    let mut notes = Vec::new();
    for course in courses {
        let step = &course.steps[index];
        for tank in &course.tanks {
            fills.remove(tank);
        }
        let known = if after_supply {
            step.supplied.as_ref().or(step.arrival.as_ref())
        } else {
            step.arrival.as_ref()
        };
        if let Some(known) = known {
            fills.extend(known.iter().map(|(tank, volume_l)| (tank.clone(), *volume_l)));
        }
        missing.extend(step.missing.iter().cloned());
        notes.extend(course.note.iter().cloned());
        notes.extend(step.notes.iter().cloned());
    }
    missing.extend(consumed.missing.iter().cloned());
    notes.extend(consumed.note(index));
    Moment {
        load_state: if after_supply {
            format!("supply after {}", leg.id)
        } else {
            format!("end of {}", leg.id)
        },
        fills: Fills::UnderWay(fills),
        consumed_share_left: consumed.shares_left.get(index).copied().unwrap_or(1.0),
        missing,
        notes,
    }
}

/// How consumed cargo goes.
struct Consumed {
    /// Share left at the end of each leg. Empty: nothing aboard is consumed, or it is not known.
    shares_left: Vec<f64>,
    missing: Vec<String>,
}

impl Consumed {
    fn of(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Self {
        let none = |missing| Self {
            shares_left: Vec::new(),
            missing,
        };
        let aboard = record
            .cargo_items
            .values()
            .any(|item| item.consumed && item.vehicle.as_ref() == Some(&vehicle.name));
        if !aboard {
            return none(Vec::new());
        }
        let Some(shares_left) = consumed_shares_left(departure) else {
            return none(vec![
                "the legs have no planned days, so how fast consumed cargo goes is not known".to_owned(),
            ]);
        };
        Self {
            shares_left,
            missing: Vec::new(),
        }
    }

    fn note(&self, index: usize) -> Option<String> {
        self.shares_left.get(index).map(|share| {
            format!(
                "consumed cargo is taken to go evenly over the planned days: {:.0} % is left",
                share * 100.0
            )
        })
    }
}

/// Share of consumed cargo left at the end of each leg. `None`: the legs have no usable planned days.
pub(crate) fn consumed_shares_left(departure: &Departure) -> Option<Vec<f64>> {
    let all_days: f64 = departure.legs.iter().map(|leg| leg.planned_days).sum();
    let usable = departure.legs.iter().all(|leg| leg.planned_days >= 0.0);
    if !(usable && all_days.is_finite() && all_days > 0.0) {
        return None;
    }
    let mut days = 0.0;
    let left = departure.legs.iter().map(|leg| {
        days += leg.planned_days;
        (1.0 - days / all_days).clamp(0.0, 1.0)
    });
    Some(left.collect())
}
