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

use super::aboard::Cargo;
use super::before_cargo::{BeforeCargo, Detail};
use super::moment::{Fills, Moment};
use super::result::LoadResult;
use super::supplies::{Course, fuel, water};
use crate::record::{Departure, DepartureVehicle, Id, Leg, Record, TankFill, Vehicle};

/// Loads of `vehicle` at departure, at the end of each leg, and after each supply under way.
///
/// What is missing for the way leaves the state at departure as it is and makes the later ones not known:
/// they say what is missing, and their numbers leave out the fluids that cannot be known.
pub fn states(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<LoadResult> {
    states_of(
        &BeforeCargo::of(record, departure, vehicle),
        record,
        departure,
        vehicle,
    )
}

/// The same without the lines, for what only holds them against limits.
pub(crate) fn states_in_sums(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<LoadResult> {
    let cargo = Cargo::on(record, vehicle, Detail::Sums);
    BeforeCargo::in_sums(record, departure, vehicle).laden(&cargo, departure, vehicle)
}

/// The same of a vehicle `before` its cargo is on it, made of this record and departure.
pub(crate) fn states_of(
    before: &BeforeCargo,
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
) -> Vec<LoadResult> {
    let cargo = Cargo::on(record, vehicle, Detail::Lines);
    before.laden(&cargo, departure, vehicle)
}

/// The moments after the departure, as far as they do not hang on what cargo is aboard. None of a vehicle that stays.
pub(super) fn under_way(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Vec<Moment> {
    let mut going = departure.vehicles.iter();
    let Some(going) = going.find(|going| going.vehicle == vehicle.name) else {
        return Vec::new();
    };
    let courses = [
        fuel(record, departure, vehicle, going),
        water(departure, vehicle, going),
    ];
    let mut moments = Vec::new();
    for (index, leg) in departure.legs.iter().enumerate() {
        let supplied = courses
            .iter()
            .any(|course| course.steps[index].supplied.is_some());
        moments.push(moment(going, &courses, index, leg, false));
        if supplied {
            moments.push(moment(going, &courses, index, leg, true));
        }
    }
    moments
}

fn moment(
    going: &DepartureVehicle,
    courses: &[Course],
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
    Moment {
        load_state: if after_supply {
            format!("supply after {}", leg.id)
        } else {
            format!("end of {}", leg.id)
        },
        fills: Fills::UnderWay(fills),
        leg: Some(index),
        missing,
        notes,
    }
}

/// How consumed cargo goes.
#[derive(Debug, PartialEq)]
pub(super) struct Consumed {
    /// Share left at the end of each leg. `None`: not known.
    shares_left: Option<Vec<f64>>,
}

impl Consumed {
    pub(super) fn of(departure: &Departure) -> Self {
        Self {
            shares_left: consumed_shares_left(departure),
        }
    }

    /// Share left at the end of a leg, 0 to 1; 1 where it is not known.
    pub(super) fn share_left(&self, leg: usize) -> f64 {
        self.known(leg).unwrap_or(1.0)
    }

    fn known(&self, leg: usize) -> Option<f64> {
        self.shares_left.as_ref()?.get(leg).copied()
    }

    /// What is missing to know it.
    pub(super) fn missing(&self) -> Option<&'static str> {
        let missing = "the legs have no planned days, so how fast consumed cargo goes is not known";
        self.shares_left.is_none().then_some(missing)
    }

    pub(super) fn note(&self, leg: usize) -> Option<String> {
        self.known(leg).map(|share| {
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
