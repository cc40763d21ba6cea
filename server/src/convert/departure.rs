//! Departures.

use ostler_core::check::InvalidInput;
use ostler_core::fuel::consumption::{MassCorrection, RateProvenance};
use ostler_core::record::{
    ConsumptionBasis, CrewMember, Departure, DepartureVehicle, ExtraFuelPlaces, FuelContainer, Leg, Name,
    SupplyKind, SupplyPoint,
};
use ostler_proto::v1;

use super::common::{optional_mass, position};
use super::electrical::power_plan;
use super::policy::policy;
use super::vehicle::fills;
use super::{
    Converted, Within, by_id, date, each, id, missing, name as resource_name, names, optional_date,
    optional_name, tyre_data,
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
        fuel_containers,
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
        fuel_containers: each("fuel_containers", fuel_containers, fuel_container)?,
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
        idling_h,
    } = message;
    Ok(Leg {
        id: id("id", leg_id)?,
        start_place,
        end_place,
        planned_days,
        map_distance_km,
        surface_km: by_id("surface_km", surface_km, Ok)?,
        idling_h: idling_h.unwrap_or(0.0),
    })
}

fn departure_vehicle(message: v1::DepartureVehicle) -> Converted<DepartureVehicle> {
    let v1::DepartureVehicle {
        vehicle,
        fills: filled,
        drawdown_order,
        consumption_l_per_100km,
        consumption_provenance,
        consumption_basis,
        consumption_basis_by_surface,
        idling_l_per_h,
        odometer_factor,
        extra_fuel_places,
        power_plan: plan,
        tyre_pressures,
    } = message;
    Ok(DepartureVehicle {
        vehicle: resource_name("vehicle", vehicle)?,
        fills: fills("fills", filled)?,
        drawdown_order: each("drawdown_order", drawdown_order, |tank| id("", tank))?,
        consumption_l_per_100km: by_id("consumption_l_per_100km", consumption_l_per_100km, Ok)?,
        consumption_provenance,
        consumption_basis: consumption_basis
            .map(basis)
            .transpose()
            .within("consumption_basis")?,
        consumption_basis_by_surface: by_id(
            "consumption_basis_by_surface",
            consumption_basis_by_surface,
            basis,
        )?,
        idling_l_per_h,
        odometer_factor,
        extra_fuel_places: extra_fuel_places
            .map(places)
            .transpose()
            .within("extra_fuel_places")?,
        power_plan: plan.map(power_plan).transpose().within("power_plan")?,
        tyre_pressures: each("tyre_pressures", tyre_pressures, tyre_data::pressure)?,
    })
}

fn basis(message: v1::ConsumptionBasis) -> Converted<ConsumptionBasis> {
    let v1::ConsumptionBasis {
        provenance,
        spread_fraction,
        odometer_factor,
        mass_correction,
    } = message;
    Ok(ConsumptionBasis {
        provenance: rate_provenance(provenance)?,
        spread_fraction,
        odometer_factor,
        mass_correction: mass_correction.map(|correction| {
            let v1::MassCorrection {
                measured_at_kg,
                mass_share,
            } = correction;
            MassCorrection {
                measured_at_kg,
                mass_share,
            }
        }),
    })
}

fn rate_provenance(value: i32) -> Converted<RateProvenance> {
    match v1::RateProvenance::try_from(value) {
        Ok(v1::RateProvenance::MeasuredLoaded) => Ok(RateProvenance::MeasuredLoaded),
        Ok(v1::RateProvenance::MeasuredUnloaded) => Ok(RateProvenance::MeasuredUnloaded),
        Ok(v1::RateProvenance::Derived) => Ok(RateProvenance::Derived),
        Ok(v1::RateProvenance::Assumed) => Ok(RateProvenance::Assumed),
        Ok(v1::RateProvenance::Unspecified) | Err(_) => Err(missing("provenance")),
    }
}

fn places(message: v1::ExtraFuelPlaces) -> Converted<ExtraFuelPlaces> {
    let v1::ExtraFuelPlaces {
        count,
        position: centre,
    } = message;
    Ok(ExtraFuelPlaces {
        count: u32::try_from(count).map_err(|_| InvalidInput::one("count", "must be 1 or more"))?,
        position: position(centre.ok_or_else(|| missing("position"))?),
    })
}

fn fuel_container(message: v1::FuelContainer) -> Converted<FuelContainer> {
    let v1::FuelContainer {
        id: container,
        display_name,
        fill_l,
        unusable_l,
        empty_mass_kg,
    } = message;
    Ok(FuelContainer {
        id: id("id", container)?,
        display_name,
        fill_l,
        unusable_l,
        empty_mass_kg,
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
