//! What a lead asks for.

use std::collections::BTreeSet;

use ostler_core::fuel::reserve::ReservePolicy;
use ostler_core::record::{
    FactCondition, FactTest, FoodPlan, Policy, ProofRequirement, SupplyGate, UndersidePolicy, WaterLossRule,
    WaterPlan,
};
use ostler_proto::v1;

use super::restraint::{closing_lashing, standard};
use super::spare_data::spares_policy;
use super::tank::tank_policy;
use super::{Converted, Within as _, each, id, missing, names, tyre_data};

pub(crate) fn policy(message: v1::DeparturePolicy) -> Converted<Policy> {
    let v1::DeparturePolicy {
        margin_warn_fraction,
        restraint_forward_g,
        restraint_sideways_g,
        restraint_rearward_g,
        restraint_up_g,
        confidence_deviations,
        route_allowance_factor,
        water_plan_l_per_person_day,
        lean_max_mm,
        rake_change_max_mm,
        bump_travel_min_mm,
        cross_weight_deviation_max,
        fuel_reserve: reserve,
        fuel_chance_max,
        leg_consumption_spread_fraction,
        water,
        food,
        tanks,
        gates_not_asked,
        static_stability_factor_min,
        side_ceiling_min_deg,
        power_autonomy_min_days,
        not_binding_gates,
        // Who may sign is the server's to know, not the core's.
        acceptance_roles: _,
        ready_chance_min,
        order_within_days,
        proof_requirements,
        weighing_mass_change_kg,
        restraint_standard,
        closing_lashing: closing,
        tyres,
        spares,
        underside,
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
        lean_max_mm,
        rake_change_max_mm,
        bump_travel_min_mm,
        cross_weight_deviation_max,
        fuel_reserve: reserve.and_then(fuel_reserve),
        fuel_chance_max,
        leg_consumption_spread_fraction,
        water: water.map(water_plan),
        food: food.map(food_plan),
        tanks: tanks.map(tank_policy),
        gates_not_asked: supply_gates(gates_not_asked)?,
        static_stability_factor_min,
        side_ceiling_min_deg,
        power_autonomy_min_days,
        ready_chance_min,
        order_within_days: order_within_days.map(i32::unsigned_abs),
        not_binding_gates: each("not_binding_gates", not_binding_gates, |gate| id("", gate))?,
        proof_requirements: each("proof_requirements", proof_requirements, proof_requirement)?,
        weighing_mass_change_kg,
        restraint_standard: standard(restraint_standard),
        closing_lashing: closing.map(closing_lashing),
        tyres: tyres.map(tyre_data::policy),
        spares: spares.map(spares_policy).transpose().within("spares")?,
        underside: underside.map(underside_policy),
    })
}

fn underside_policy(message: v1::UndersidePolicy) -> UndersidePolicy {
    let v1::UndersidePolicy {
        clearance_min_mm,
        approach_min_deg,
        departure_min_deg,
        breakover_min_deg,
    } = message;
    UndersidePolicy {
        clearance_min_mm,
        approach_min_deg,
        departure_min_deg,
        breakover_min_deg,
    }
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

fn fuel_reserve(message: v1::FuelReserve) -> Option<ReservePolicy> {
    use v1::fuel_reserve::Way;
    let v1::FuelReserve { way } = message;
    way.map(|way| match way {
        Way::Fraction(fraction) => ReservePolicy::Fraction { fraction },
        Way::DistancePlusFraction(v1::DistanceReserve {
            distance_km,
            fraction,
        }) => ReservePolicy::DistancePlusFraction {
            distance_km,
            fraction,
        },
        Way::Days(days) => ReservePolicy::Days { days },
    })
}

fn supply_gates(values: Vec<i32>) -> Converted<BTreeSet<SupplyGate>> {
    let gates = each("gates_not_asked", values, supply_gate)?;
    Ok(gates.into_iter().collect())
}

fn supply_gate(value: i32) -> Converted<SupplyGate> {
    match v1::SupplyGate::try_from(value) {
        Ok(v1::SupplyGate::Fuel) => Ok(SupplyGate::Fuel),
        Ok(v1::SupplyGate::Water) => Ok(SupplyGate::Water),
        Ok(v1::SupplyGate::Tanks) => Ok(SupplyGate::Tanks),
        Ok(v1::SupplyGate::Power) => Ok(SupplyGate::Power),
        Ok(v1::SupplyGate::Spares) => Ok(SupplyGate::Spares),
        Ok(v1::SupplyGate::Stability) => Ok(SupplyGate::Stability),
        Ok(v1::SupplyGate::Underside) => Ok(SupplyGate::Underside),
        Ok(v1::SupplyGate::Unspecified) | Err(_) => Err(missing("")),
    }
}

fn water_plan(message: v1::WaterPlan) -> WaterPlan {
    let rule = message.largest_loss();
    let v1::WaterPlan {
        minimum_l_per_person_day,
        reserve_days,
        reserve_l_per_person_day,
        buffer_days,
        unplaced_rest_days,
        largest_loss: _,
    } = message;
    WaterPlan {
        minimum_l_per_person_day,
        reserve_days,
        reserve_l_per_person_day,
        buffer_days,
        unplaced_rest_days: unplaced_rest_days.unwrap_or(0.0),
        largest_loss: match rule {
            v1::WaterLossRule::Unspecified => WaterLossRule::Shown,
            v1::WaterLossRule::Condition => WaterLossRule::Condition,
            v1::WaterLossRule::Required => WaterLossRule::Required,
        },
    }
}

fn food_plan(message: v1::FoodPlan) -> FoodPlan {
    let v1::FoodPlan {
        reserve_days,
        mass_kg_per_person_day,
    } = message;
    FoodPlan {
        reserve_days,
        mass_kg_per_person_day,
    }
}
