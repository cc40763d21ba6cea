//! Departures.

use ostler_core::record::{
    CrewMember, Departure, DepartureVehicle, FactCondition, FactTest, Leg, Name, Policy, ProofRequirement,
    SupplyKind, SupplyPoint,
};
use ostler_proto::v1;

use super::common::{optional_mass, position};
use super::restraint::{closing_lashing, standard};
use super::vehicle::fills;
use super::{
    Converted, Within, by_id, date, each, id, missing, name as resource_name, names, optional_date,
    optional_name,
};

pub(crate) fn departure(name: Name, message: v1::Departure) -> Converted<Departure> {
    let v1::Departure {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        departure_date,
        departure_time_of_day,
        return_date,
        legs,
        vehicles,
        crew,
        policy: asked,
        rule_packs,
        supply_points,
        status_date,
        job_order,
    } = message;
    Ok(Departure {
        name,
        display_name,
        departure_date: date("departure_date", &departure_date)?,
        departure_time_of_day,
        return_date: date("return_date", &return_date)?,
        legs: each("legs", legs, leg)?,
        vehicles: each("vehicles", vehicles, departure_vehicle)?,
        crew: each("crew", crew, crew_member)?,
        policy: policy(asked.unwrap_or_default()).within("policy")?,
        rule_packs: names("rule_packs", rule_packs)?,
        supply_points: each("supply_points", supply_points, supply_point)?,
        status_date: optional_date("status_date", &status_date)?,
        job_order: each("job_order", job_order, |job| id("", job))?,
    })
}

fn leg(message: v1::Leg) -> Converted<Leg> {
    let v1::Leg {
        id: leg_id,
        start_place,
        end_place,
        planned_days,
        map_distance_km,
        surface_km,
    } = message;
    Ok(Leg {
        id: id("id", leg_id)?,
        start_place,
        end_place,
        planned_days,
        map_distance_km,
        surface_km: by_id("surface_km", surface_km, Ok)?,
    })
}

fn departure_vehicle(message: v1::DepartureVehicle) -> Converted<DepartureVehicle> {
    let v1::DepartureVehicle {
        vehicle,
        fills: filled,
        drawdown_order,
        consumption_l_per_100km,
        consumption_provenance,
    } = message;
    Ok(DepartureVehicle {
        vehicle: resource_name("vehicle", vehicle)?,
        fills: fills("fills", filled)?,
        drawdown_order: each("drawdown_order", drawdown_order, |tank| id("", tank))?,
        consumption_l_per_100km: by_id("consumption_l_per_100km", consumption_l_per_100km, Ok)?,
        consumption_provenance,
    })
}

fn crew_member(message: v1::CrewMember) -> Converted<CrewMember> {
    let v1::CrewMember {
        id: crew_id,
        role,
        vehicle,
        mass,
        position: seat,
        driver,
    } = message;
    Ok(CrewMember {
        id: id("id", crew_id)?,
        role,
        vehicle: optional_name("vehicle", vehicle)?,
        mass: optional_mass("mass", mass)?,
        position: seat.map(position),
        driver,
    })
}

fn policy(message: v1::DeparturePolicy) -> Converted<Policy> {
    let v1::DeparturePolicy {
        margin_warn_fraction,
        restraint_forward_g,
        restraint_sideways_g,
        restraint_rearward_g,
        restraint_up_g,
        confidence_deviations,
        route_allowance_factor,
        water_plan_l_per_person_day,
        not_binding_gates,
        // Who may sign is the server's to know, not the core's.
        acceptance_roles: _,
        ready_chance_min,
        order_within_days,
        proof_requirements,
        weighing_mass_change_kg,
        restraint_standard,
        closing_lashing: closing,
    } = message;
    Ok(Policy {
        margin_warn_fraction,
        restraint_forward_g,
        restraint_sideways_g,
        restraint_rearward_g,
        restraint_up_g,
        confidence_deviations,
        route_allowance_factor,
        water_plan_l_per_person_day,
        ready_chance_min,
        order_within_days: order_within_days.map(i32::unsigned_abs),
        not_binding_gates: each("not_binding_gates", not_binding_gates, |gate| id("", gate))?,
        proof_requirements: each("proof_requirements", proof_requirements, proof_requirement)?,
        weighing_mass_change_kg,
        restraint_standard: standard(restraint_standard),
        closing_lashing: closing.map(closing_lashing),
    })
}

fn proof_requirement(message: v1::ProofRequirement) -> Converted<ProofRequirement> {
    let v1::ProofRequirement {
        topic,
        vehicles,
        conditions,
        days_before_departure,
    } = message;
    Ok(ProofRequirement {
        topic: id("topic", topic)?,
        vehicles: names("vehicles", vehicles)?,
        conditions: each("conditions", conditions, fact_condition)?,
        days_before_departure: days_before_departure.and_then(|days| u32::try_from(days).ok()),
    })
}

fn fact_condition(message: v1::FactCondition) -> Converted<FactCondition> {
    use v1::fact_condition::Test;
    let v1::FactCondition { fact, test } = message;
    let test = match test {
        None => FactTest::IsYes,
        Some(Test::AtLeast(least)) => FactTest::AtLeast(least),
        Some(Test::AtMost(most)) => FactTest::AtMost(most),
        Some(Test::Text(text)) => FactTest::Is(text),
        Some(Test::TotalAtLeast(least)) => FactTest::TotalAtLeast(least),
    };
    Ok(FactCondition {
        fact: id("fact", fact)?,
        test,
    })
}

fn supply_point(message: v1::SupplyPoint) -> Converted<SupplyPoint> {
    let v1::SupplyPoint {
        id: point,
        place,
        supplies,
        confirmed,
        order_by_date,
        note,
    } = message;
    Ok(SupplyPoint {
        id: id("id", point)?,
        place,
        supplies: each("supplies", supplies, supply_kind)?,
        confirmed,
        order_by_date: optional_date("order_by_date", &order_by_date)?,
        note,
    })
}

fn supply_kind(value: i32) -> Converted<SupplyKind> {
    match v1::SupplyKind::try_from(value) {
        Ok(v1::SupplyKind::Diesel) => Ok(SupplyKind::Diesel),
        Ok(v1::SupplyKind::Petrol) => Ok(SupplyKind::Petrol),
        Ok(v1::SupplyKind::Water) => Ok(SupplyKind::Water),
        Ok(v1::SupplyKind::WashingWater) => Ok(SupplyKind::WashingWater),
        Ok(v1::SupplyKind::Unspecified) | Err(_) => Err(missing("")),
    }
}
