//! Water left when a container is lost, and when a vehicle is alone.
//!
//! A burst tank or a leak takes a whole container. The largest single one decides how far the supply
//! must be split. A vehicle parted from the others has only its own.

use std::collections::HashSet;

use super::need::{PEOPLE_MAX, WaterPolicy, water_need};
use crate::check::{Check, InvalidInput, element};

/// Most containers accepted.
pub const CONTAINERS_MAX: usize = 1_000;

/// One container: what a single leak can empty.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterContainer {
    /// Identifier, unique in the party.
    pub id: String,
    /// Vehicle that carries it.
    pub vehicle: String,
    /// Litres in it, from 0 to the capacity.
    pub fill_l: f64,
    /// What it holds, litres, greater than 0.
    pub capacity_l: f64,
}

/// The people of one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct VehiclePeople {
    /// The vehicle.
    pub vehicle: String,
    /// People in it.
    pub people: u32,
}

/// A party with its water.
#[derive(Debug, Clone, PartialEq)]
pub struct LossInput {
    /// How much is planned with.
    pub policy: WaterPolicy,
    /// Days planned for the interval in question, 0 or more.
    pub planned_days: f64,
    /// Vehicles and their people, at least one person in all.
    pub vehicles: Vec<VehiclePeople>,
    /// Containers, at least one.
    pub containers: Vec<WaterContainer>,
}

/// What is left after a loss suffices for, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cover {
    /// The whole requirement with buffer and reserve.
    Requirement,
    /// The minimum rate on the planned days: the loss is survived on short supply.
    Minimum,
    /// The reserve rate on the planned days: reached only by resting and turning to the nearest water.
    ReserveRate,
    /// Not even that.
    Nothing,
}

/// Loss of the largest container.
#[derive(Debug, Clone, PartialEq)]
pub struct LargestLoss {
    /// The container lost.
    pub container: String,
    /// Litres lost, full at the start of the interval.
    pub lost_l: f64,
    /// Litres left.
    pub left_l: f64,
    /// What is left suffices for, lost at the start.
    pub cover: Cover,
    /// Whether the minimum rate still holds to the end of the interval when it is lost at the start.
    pub survived: bool,
    /// Litres above (or below) the minimum rate for the rest of the interval at the worst moment to
    /// lose it, if it is the last to be drawn from. Drawing from the largest first avoids this.
    pub worst_moment_balance_l: f64,
    /// Days that what is left lasts everyone at the minimum rate.
    pub days_at_minimum: f64,
}

/// One vehicle alone.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleAlone {
    /// The vehicle.
    pub vehicle: String,
    /// Its people.
    pub people: u32,
    /// Litres it carries.
    pub litres: f64,
    /// Days they last at the minimum rate; `None` without people.
    pub days_at_minimum: Option<f64>,
    /// Whether they last the policy's reserve days at its reserve rate.
    pub covers_reserve: bool,
}

/// What losses do to the water of a party.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterLoss {
    /// Loss of the largest container.
    pub largest: LargestLoss,
    /// Every vehicle parted from the others, in the order given.
    pub alone: Vec<VehicleAlone>,
}

/// Works out the loss of the largest container, and every vehicle alone.
///
/// # Errors
/// Every number out of its range, a repeated identifier, a container on an unknown vehicle, or a
/// party without people or containers.
pub fn water_loss(input: &LossInput) -> Result<WaterLoss, InvalidInput> {
    check_input(input)?;
    let carried_l: f64 = input.containers.iter().map(|container| container.fill_l).sum();
    let Some(largest) = input
        .containers
        .iter()
        .reduce(|a, b| if b.fill_l > a.fill_l { b } else { a })
    else {
        return Err(InvalidInput::one("containers", "must hold at least one"));
    };
    let people = input.vehicles.iter().map(|vehicle| vehicle.people).sum();
    Ok(WaterLoss {
        largest: lose(input, people, largest, carried_l)?,
        alone: alone(input),
    })
}

fn lose(
    input: &LossInput,
    people: u32,
    largest: &WaterContainer,
    carried_l: f64,
) -> Result<LargestLoss, InvalidInput> {
    let policy = &input.policy;
    let required_l = water_need(policy, people, input.planned_days)?.required_l;
    let people = f64::from(people);
    let left_l = (carried_l - largest.fill_l).max(0.0);
    let minimum_l = people * policy.minimum_l_per_person_day * input.planned_days;
    let reserve_rate_l = people * policy.reserve_l_per_person_day * input.planned_days;
    let cover = if left_l >= required_l {
        Cover::Requirement
    } else if left_l >= minimum_l {
        Cover::Minimum
    } else if policy.reserve_l_per_person_day > 0.0 && left_l >= reserve_rate_l {
        Cover::ReserveRate
    } else {
        Cover::Nothing
    };
    // Until the others are empty they are used at the counted rate, which is above the minimum: every
    // such day makes the later loss worse.
    let counted_l_per_day = people * policy.rate_l_per_person_day();
    let until_days = (left_l / counted_l_per_day).min(input.planned_days);
    let used_above_minimum_l =
        people * (policy.rate_l_per_person_day() - policy.minimum_l_per_person_day) * until_days;
    Ok(LargestLoss {
        container: largest.id.clone(),
        lost_l: largest.fill_l,
        left_l,
        cover,
        survived: left_l >= minimum_l,
        worst_moment_balance_l: left_l - minimum_l - used_above_minimum_l,
        days_at_minimum: left_l / (people * policy.minimum_l_per_person_day),
    })
}

fn alone(input: &LossInput) -> Vec<VehicleAlone> {
    let of = |vehicle: &VehiclePeople| {
        let litres: f64 = input
            .containers
            .iter()
            .filter(|container| container.vehicle == vehicle.vehicle)
            .map(|container| container.fill_l)
            .sum();
        let people = f64::from(vehicle.people);
        let reserve_l = people * input.policy.reserve_l_per_person_day * input.policy.reserve_days;
        VehicleAlone {
            vehicle: vehicle.vehicle.clone(),
            people: vehicle.people,
            litres,
            days_at_minimum: (vehicle.people > 0)
                .then(|| litres / (people * input.policy.minimum_l_per_person_day)),
            covers_reserve: litres >= reserve_l,
        }
    };
    input.vehicles.iter().map(of).collect()
}

fn check_input(input: &LossInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.merge("policy", input.policy.check());
    check.between("planned_days", input.planned_days, 0.0, 10_000.0);
    if input.containers.is_empty() || input.containers.len() > CONTAINERS_MAX {
        check.refuse(
            "containers",
            format!("must be 1 to {CONTAINERS_MAX}, are {}", input.containers.len()),
        );
        return check.finish();
    }
    let mut vehicles = HashSet::new();
    for (index, vehicle) in input.vehicles.iter().enumerate() {
        if !vehicles.insert(vehicle.vehicle.as_str()) {
            check.refuse(
                format_args!("vehicles[{index}].vehicle"),
                format!("is given twice: {}", vehicle.vehicle),
            );
        }
    }
    let people: u64 = input
        .vehicles
        .iter()
        .map(|vehicle| u64::from(vehicle.people))
        .sum();
    if people == 0 || people > u64::from(PEOPLE_MAX) {
        check.refuse(
            "vehicles",
            format!("must carry 1 to {PEOPLE_MAX} people, carry {people}"),
        );
    }
    let mut ids = HashSet::new();
    for (index, container) in input.containers.iter().enumerate() {
        let path = |field| element("containers", index, field);
        if !ids.insert(container.id.as_str()) {
            check.refuse(path("id"), format!("is given twice: {}", container.id));
        }
        if !vehicles.contains(container.vehicle.as_str()) {
            check.refuse(
                path("vehicle"),
                format!("is not in the party: {}", container.vehicle),
            );
        }
        check.positive(path("capacity_l"), container.capacity_l);
        check.non_negative(path("fill_l"), container.fill_l);
        if container.fill_l > container.capacity_l {
            check.refuse(path("fill_l"), "must not be more than capacity_l");
        }
    }
    check.finish()
}
