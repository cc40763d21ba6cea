//! What a vehicle burns over each leg, from the record.

use crate::driveline::recorded::odometer_factor_now;
use crate::fuel::FuelError;
use crate::fuel::consumption::{
    LegConsumption, RateProvenance, RouteLeg, SurfaceDistance, SurfaceRate, VehicleConsumption,
    route_consumption,
};
use crate::loads;
use crate::record::{Departure, DepartureVehicle, Leg, Record, Vehicle};

/// By how much the surfaces of a leg may differ from its distance on the map, as a share of it.
const SURFACE_TOLERANCE: f64 = 0.01;

/// What each leg burns, in order; else what is missing to know it.
///
/// Where a rate follows the mass, the vehicle is taken as heavy as at departure over every leg: it only
/// gets lighter between supplies, so this errs on the side of more fuel.
pub(crate) fn legs_fuel(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
) -> Vec<Result<LegConsumption, Vec<String>>> {
    let consumption = vehicle_consumption(record, vehicle, going);
    let mass_kg = correction_mass_kg(record, departure, vehicle, going);
    let of = |leg| leg_fuel(departure, vehicle, &consumption, mass_kg, leg);
    departure.legs.iter().map(of).collect()
}

/// What is recorded of the consumption. A rate whose origin nobody stated counts as assumed.
pub(crate) fn vehicle_consumption(
    record: &Record,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
) -> VehicleConsumption {
    let rate = |(surface, rate_l_per_100km): (&crate::record::Id, &f64)| {
        let basis = going.basis_on(surface);
        SurfaceRate {
            surface: surface.to_string(),
            rate_l_per_100km: *rate_l_per_100km,
            provenance: basis.map_or(RateProvenance::Assumed, |basis| basis.provenance),
            odometer_factor: basis.and_then(|basis| basis.odometer_factor).unwrap_or(1.0),
            spread_fraction: basis.and_then(|basis| basis.spread_fraction),
            mass_correction: basis.and_then(|basis| basis.mass_correction),
        }
    };
    VehicleConsumption {
        rates: going.consumption_l_per_100km.iter().map(rate).collect(),
        idling_l_per_h: going.idling_l_per_h,
        odometer_factor_now: odometer_factor(record, vehicle, going).unwrap_or(1.0),
    }
}

/// True kilometres per kilometre on the odometer now: as the departure states it, else from the calibration of the
/// speedometer and what is fitted. `None`: not known.
pub(crate) fn odometer_factor(record: &Record, vehicle: &Vehicle, going: &DepartureVehicle) -> Option<f64> {
    going
        .odometer_factor
        .or_else(|| odometer_factor_now(record, vehicle))
}

/// A leg as the vehicle drives it.
pub(crate) fn route_leg(leg: &Leg, mass_kg: Option<f64>) -> RouteLeg {
    let surfaces = leg.surface_km.iter().map(|(surface, km)| SurfaceDistance {
        surface: surface.to_string(),
        map_km: *km,
    });
    RouteLeg {
        leg: leg.id.to_string(),
        surfaces: surfaces.collect(),
        idling_h: leg.idling_h,
        mass_kg,
    }
}

/// Mass that rates are corrected to: that of the vehicle at departure. `None`: no rate follows the mass, or
/// something of the mass is missing, the people among it.
pub(crate) fn correction_mass_kg(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
) -> Option<f64> {
    if !follows_mass(going) {
        return None;
    }
    let loads = loads::compute(record, departure, vehicle);
    // Without its people a vehicle is lighter, and its rates would read better.
    let known = loads.missing.is_empty() && !departure.crew.is_empty();
    known.then_some(loads.total.load_kg)
}

/// Whether a rate of the vehicle follows its mass.
pub(crate) fn follows_mass(going: &DepartureVehicle) -> bool {
    let follows = |surface| {
        going
            .basis_on(surface)
            .is_some_and(|basis| basis.mass_correction.is_some())
    };
    going.consumption_l_per_100km.keys().any(follows)
}

fn leg_fuel(
    departure: &Departure,
    vehicle: &Vehicle,
    consumption: &VehicleConsumption,
    mass_kg: Option<f64>,
    leg: &Leg,
) -> Result<LegConsumption, Vec<String>> {
    let mut missing = Vec::new();
    let by_surface_km: f64 = leg.surface_km.values().sum();
    // Written so that a number that is none counts as a difference.
    let agrees = (by_surface_km - leg.map_distance_km).abs() <= SURFACE_TOLERANCE * leg.map_distance_km;
    if !agrees {
        missing.push(format!(
            "leg {}: its surfaces make {by_surface_km:.1} km of {:.1} km on the map",
            leg.id, leg.map_distance_km
        ));
    }
    let Some(factor) = departure.policy.route_allowance_factor else {
        missing.push("the policy's route_allowance_factor is not known".to_owned());
        return Err(missing);
    };
    match route_consumption(consumption, &[route_leg(leg, mass_kg)], factor) {
        Ok(route) if missing.is_empty() => {
            let only = route.legs.into_iter().next();
            return only.ok_or_else(|| vec![format!("the consumption over leg {}", leg.id)]);
        }
        Ok(_) => {}
        Err(FuelError::NotKnown { missing: unknown }) => missing.extend(
            unknown
                .iter()
                .map(|what| format!("{}: {what} is not known", vehicle.display_name)),
        ),
        Err(refused) => missing.push(format!("the consumption over leg {}: {refused}", leg.id)),
    }
    Err(missing)
}
