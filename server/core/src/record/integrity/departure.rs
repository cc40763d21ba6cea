//! What a departure must keep to.

use super::{World, fills, finish, tyre, unique, unknown};
use crate::check::{Check, Violation};
use crate::record::{Departure, DepartureVehicle};

/// A departure: a return after it, each vehicle once, people in vehicles that go, fills of tanks that exist.
pub fn departure(departure: &Departure, world: &World<'_>) -> Vec<Violation> {
    let mut check = Check::new();
    if departure.return_date < departure.departure_date {
        check.refuse(
            "return_date",
            format!("must not be before {}", departure.departure_date),
        );
    }
    unique(
        &mut check,
        "vehicles",
        departure.vehicles.iter().map(|going| &*going.vehicle),
    );
    unique(&mut check, "legs", departure.legs.iter().map(|leg| &*leg.id));
    unique(
        &mut check,
        "crew",
        departure.crew.iter().map(|member| &*member.id),
    );
    unique(
        &mut check,
        "job_order",
        departure.job_order.iter().map(|job| &**job),
    );
    unique(
        &mut check,
        "supply_points",
        departure.supply_points.iter().map(|point| &*point.id),
    );
    spare_needs(&mut check, departure);
    fuel_containers(&mut check, departure);
    tyre::policy(&mut check, departure);
    for (index, going) in departure.vehicles.iter().enumerate() {
        if let Some(vehicle) = world.vehicles.get(&going.vehicle) {
            fills(
                &mut check,
                &format!("vehicles[{index}].fills"),
                &going.fills,
                &vehicle.specification,
            );
        }
        drawdown_and_consumption(&mut check, index, going, world);
        bases(&mut check, index, going);
        duties(&mut check, index, going, world);
        tyre::pressures(&mut check, index, going);
    }
    for (index, member) in departure.crew.iter().enumerate() {
        if let Some(vehicle) = &member.vehicle
            && !departure.vehicles.iter().any(|going| going.vehicle == *vehicle)
        {
            check.refuse(
                format_args!("crew[{index}].vehicle"),
                format!("{vehicle} does not go on this departure"),
            );
        }
    }
    for (index, leg) in departure.legs.iter().enumerate() {
        for (surface, km) in &leg.surface_km {
            if *km < 0.0 {
                check.refuse(
                    format_args!("legs[{index}].surface_km[{:?}]", &**surface),
                    "must be 0 or more",
                );
            }
        }
    }
    finish(check)
}

/// The order names tanks of the vehicle, each once, and what it burns is more than nothing.
fn drawdown_and_consumption(check: &mut Check, index: usize, going: &DepartureVehicle, world: &World<'_>) {
    let path = format!("vehicles[{index}].drawdown_order");
    unique(check, &path, going.drawdown_order.iter().map(|tank| &**tank));
    if let Some(vehicle) = world.vehicles.get(&going.vehicle) {
        for (place, tank) in going.drawdown_order.iter().enumerate() {
            if vehicle.specification.tank(tank).is_none() {
                let known = vehicle.specification.tanks.iter().map(|tank| &*tank.id);
                check.refuse(
                    format_args!("{path}[{place}]"),
                    unknown("tank", vehicle, tank, known),
                );
            }
        }
    }
    for (surface, rate) in &going.consumption_l_per_100km {
        check.positive(
            format_args!("vehicles[{index}].consumption_l_per_100km[{:?}]", &**surface),
            *rate,
        );
    }
}

/// How a consumption was found is said only of surfaces that have one.
fn bases(check: &mut Check, index: usize, going: &DepartureVehicle) {
    for surface in going.consumption_basis_by_surface.keys() {
        if !going.consumption_l_per_100km.contains_key(surface) {
            check.refuse(
                format_args!("vehicles[{index}].consumption_basis_by_surface[{:?}]", &**surface),
                "has no consumption in consumption_l_per_100km",
            );
        }
    }
}

/// Duties are of devices of the vehicle, each once.
fn duties(check: &mut Check, index: usize, going: &DepartureVehicle, world: &World<'_>) {
    let Some(plan) = &going.power_plan else { return };
    if plan
        .generator_question
        .as_ref()
        .is_some_and(|question| question.demands.is_empty())
    {
        let path = format!("vehicles[{index}].power_plan.generator_question.demands");
        check.refuse(&path, "must be set");
    }
    let path = format!("vehicles[{index}].power_plan.duties");
    unique(check, &path, plan.duties.iter().map(|duty| &*duty.device));
    let Some(vehicle) = world.vehicles.get(&going.vehicle) else {
        return;
    };
    let devices = vehicle
        .specification
        .electrical
        .iter()
        .flat_map(|system| &system.devices);
    let known: Vec<&str> = devices.map(|device| &*device.id).collect();
    for (place, duty) in plan.duties.iter().enumerate() {
        if !known.contains(&&*duty.device) {
            check.refuse(
                format_args!("{path}[{place}].device"),
                unknown("device", vehicle, &duty.device, known.iter().copied()),
            );
        }
    }
}

/// What spares are asked about: each kind of slot once.
fn spare_needs(check: &mut Check, departure: &Departure) {
    let needs = departure.policy.spares.iter().flat_map(|spares| &spares.needs);
    unique(check, "policy.spares.needs", needs.map(|need| &*need.slot_kind));
}

/// Kinds of container: each id once, and more goes in than stays in.
fn fuel_containers(check: &mut Check, departure: &Departure) {
    let ids = departure.fuel_containers.iter().map(|container| &*container.id);
    unique(check, "fuel_containers", ids);
    for (index, container) in departure.fuel_containers.iter().enumerate() {
        if container.unusable_l >= container.fill_l {
            check.refuse(
                format_args!("fuel_containers[{index}].unusable_l"),
                format!("must be less than fill_l, {} l", container.fill_l),
            );
        }
    }
}
