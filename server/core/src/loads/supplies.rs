//! Fuel and water over the legs: what goes, what is taken on, what is left in each tank.

use std::collections::BTreeSet;

use crate::check::InvalidInput;
use crate::fuel::consumption::{
    RateProvenance, RouteLeg, SurfaceDistance, SurfaceRate, VehicleConsumption, route_consumption,
};
use crate::fuel::drawdown::{LegDraw, LegState, drawdown};
use crate::fuel::{self as fuel_sums, Feed, FuelError};
use crate::record::{Departure, DepartureVehicle, Fluid, Id, Leg, SupplyKind, Tank, TankMounting, Vehicle};

/// By how much the surfaces of a leg may differ from its distance on the map, as a share of it.
const SURFACE_TOLERANCE: f64 = 0.01;

/// One fluid over all legs.
#[derive(Debug, Default)]
pub(super) struct Course {
    /// The tanks it is in; others are left alone.
    pub(super) tanks: Vec<Id>,
    /// One per leg of the departure.
    pub(super) steps: Vec<Step>,
    /// What it rests on.
    pub(super) note: Option<String>,
}

/// One leg.
#[derive(Debug, Default)]
pub(super) struct Step {
    /// Litres by tank at its end. `None`: not known.
    pub(super) arrival: Option<Vec<(Id, f64)>>,
    /// Litres by tank after the supply at its end. `None`: there is none, or it is not known.
    pub(super) supplied: Option<Vec<(Id, f64)>>,
    /// Why it is not known.
    pub(super) missing: Vec<String>,
    /// What runs out.
    pub(super) notes: Vec<String>,
}

/// What a leg uses, litres; else why that is not known.
type Use = Result<f64, Vec<String>>;

/// The fuel that the engine burns.
pub(super) fn fuel(departure: &Departure, vehicle: &Vehicle, going: &DepartureVehicle) -> Course {
    let burnt = match engine_fuel(vehicle) {
        Ok(burnt) => burnt,
        Err(sentence) => {
            let all = tanks_of(vehicle, going, Fluid::is_fuel);
            let uses = vec![Err(vec![sentence]); departure.legs.len()];
            return course("fuel", &all, going, &uses, departure, &[]);
        }
    };
    let tanks = tanks_of(vehicle, going, |fluid| fluid == burnt);
    let uses: Vec<Use> = departure
        .legs
        .iter()
        .map(|leg| leg_fuel_l(departure, vehicle, going, leg))
        .collect();
    let kinds: &[SupplyKind] = match burnt {
        Fluid::Diesel => &[SupplyKind::Diesel],
        Fluid::Petrol => &[SupplyKind::Petrol],
        Fluid::Water => &[],
    };
    let mut course = course("fuel", &tanks, going, &uses, departure, kinds);
    course.note = Some(match going.consumption_provenance.as_str() {
        "" => "where the consumption comes from is not stated".to_owned(),
        provenance => format!("consumption: {provenance}"),
    });
    course
}

/// The fuel of the tanks that are fixed to the vehicle; what only containers hold may be for something
/// else, for example a generator.
fn engine_fuel(vehicle: &Vehicle) -> Result<Fluid, String> {
    let fixed: BTreeSet<Fluid> = vehicle
        .specification
        .tanks
        .iter()
        .filter(|tank| tank.mounting == TankMounting::Fixed && tank.fluid.is_fuel())
        .map(|tank| tank.fluid)
        .collect();
    match fixed.into_iter().collect::<Vec<_>>().as_slice() {
        [one] => Ok(*one),
        [] => Err(format!(
            "{} has no fixed fuel tank, so what its engine burns is not known",
            vehicle.display_name
        )),
        _ => Err(format!(
            "{} has fixed tanks of several fuels, so what its engine burns is not known",
            vehicle.display_name
        )),
    }
}

fn leg_fuel_l(departure: &Departure, vehicle: &Vehicle, going: &DepartureVehicle, leg: &Leg) -> Use {
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
    // Only the litres are used; where the rates come from is told in words.
    let rates = going
        .consumption_l_per_100km
        .iter()
        .map(|(surface, rate)| SurfaceRate {
            surface: surface.to_string(),
            rate_l_per_100km: *rate,
            provenance: RateProvenance::Assumed,
            odometer_factor: 1.0,
            spread_fraction: None,
            mass_correction: None,
        });
    let consumption = VehicleConsumption {
        rates: rates.collect(),
        idling_l_per_h: None,
        odometer_factor_now: 1.0,
    };
    let surfaces = leg.surface_km.iter().map(|(surface, km)| SurfaceDistance {
        surface: surface.to_string(),
        map_km: *km,
    });
    let route = RouteLeg {
        leg: leg.id.to_string(),
        surfaces: surfaces.collect(),
        idling_h: 0.0,
        mass_kg: None,
    };
    match route_consumption(&consumption, &[route], factor) {
        Ok(route) if missing.is_empty() => return Ok(route.litres),
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

/// Drinking water, by the people who ride in the vehicle.
pub(super) fn water(departure: &Departure, vehicle: &Vehicle, going: &DepartureVehicle) -> Course {
    let tanks = tanks_of(vehicle, going, |fluid| fluid == Fluid::Water);
    let people = departure
        .crew
        .iter()
        .filter(|member| member.vehicle.as_ref() == Some(&vehicle.name))
        .count();
    let carried = going
        .fills
        .iter()
        .any(|fill| fill.volume_l != 0.0 && tanks.iter().any(|tank| tank.id == fill.tank));
    let supplied = departure
        .supply_points
        .iter()
        .any(|point| point.confirmed && point.supplies.contains(&SupplyKind::Water));
    if tanks.is_empty() || people == 0 || !(carried || supplied) {
        // Nothing is drawn, so the tanks stay as the departure fills them.
        return Course {
            steps: departure.legs.iter().map(|_| Step::default()).collect(),
            ..Course::default()
        };
    }
    let plan = departure.policy.water_plan_l_per_person_day;
    let uses: Vec<Use> = departure
        .legs
        .iter()
        .map(|leg| match plan {
            Some(plan_l) => Ok(people_f64(people) * plan_l * leg.planned_days),
            None => Err(vec![
                "the policy's water_plan_l_per_person_day is not known".to_owned(),
            ]),
        })
        .collect();
    let mut course = course("water", &tanks, going, &uses, departure, &[SupplyKind::Water]);
    course.note = plan.map(|plan_l| {
        format!("water: {plan_l} l per day for each of the {people} aboard, out of this vehicle's tanks")
    });
    course
}

fn people_f64(people: usize) -> f64 {
    u32::try_from(people).map_or(f64::from(u32::MAX), f64::from)
}

/// The tanks of some fluids in the order in which they are emptied.
fn tanks_of<'a>(
    vehicle: &'a Vehicle,
    going: &DepartureVehicle,
    wanted: impl Fn(Fluid) -> bool,
) -> Vec<&'a Tank> {
    let specification = &vehicle.specification;
    let mut tanks: Vec<&Tank> = going
        .drawdown_order
        .iter()
        .filter_map(|id| specification.tank(id))
        .collect();
    let listed: BTreeSet<&Id> = tanks.iter().map(|tank| &tank.id).collect();
    let rest: Vec<&Tank> = specification
        .tanks
        .iter()
        .filter(|tank| !listed.contains(&tank.id))
        .collect();
    tanks.extend(rest);
    tanks.retain(|tank| wanted(tank.fluid));
    tanks
}

/// Runs `tanks` through the legs. From the first leg whose use is not known, nothing is.
fn course(
    what: &str,
    tanks: &[&Tank],
    going: &DepartureVehicle,
    uses: &[Use],
    departure: &Departure,
    kinds: &[SupplyKind],
) -> Course {
    let (filled, mut missing) = filled(tanks, going);
    let known: Vec<f64> = uses
        .iter()
        .map_while(|litres| litres.as_ref().ok().copied())
        .collect();
    let supplied: Vec<bool> = (0..uses.len())
        .map(|index| is_supplied(departure, index, kinds))
        .collect();
    let run = if missing.is_empty() {
        run(&filled, &known, &supplied).unwrap_or_else(|refused| {
            missing.extend(
                refused
                    .violations
                    .iter()
                    .map(|violation| format!("the tanks of {}: {violation}", going.vehicle.id())),
            );
            Vec::new()
        })
    } else {
        Vec::new()
    };
    let mut runs = run.into_iter();
    let mut steps = Vec::with_capacity(uses.len());
    for (litres, supplied) in uses.iter().zip(&supplied) {
        if let Err(unknown) = litres {
            for sentence in unknown {
                if !missing.contains(sentence) {
                    missing.push(sentence.clone());
                }
            }
        }
        let (arrival, after) = (runs.next(), runs.next());
        steps.push(Step {
            notes: arrival
                .as_ref()
                .and_then(|state| short(what, state))
                .into_iter()
                .collect(),
            arrival: arrival.map(|state| fills_of(tanks, &state)),
            supplied: after.filter(|_| *supplied).map(|state| fills_of(tanks, &state)),
            missing: missing.clone(),
        });
    }
    Course {
        tanks: tanks.iter().map(|tank| tank.id.clone()).collect(),
        steps,
        note: None,
    }
}

/// Two states for each leg: on arrival and after the supply.
fn run(tanks: &[fuel_sums::Tank], uses: &[f64], supplied: &[bool]) -> Result<Vec<LegState>, InvalidInput> {
    let room_l: f64 = tanks.iter().map(|tank| tank.capacity_l).sum();
    let draws: Vec<LegDraw> = uses
        .iter()
        .zip(supplied)
        .flat_map(|(litres, supplied)| [(*litres, 0.0), (0.0, if *supplied { room_l } else { 0.0 })])
        .map(|(litres, taken_on_l)| LegDraw {
            leg: String::new(),
            litres,
            taken_on_l,
        })
        .collect();
    drawdown(tanks, &draws)
}

/// The tanks as the sums of fuel take them; else what is missing.
fn filled(tanks: &[&Tank], going: &DepartureVehicle) -> (Vec<fuel_sums::Tank>, Vec<String>) {
    let mut missing = Vec::new();
    let mut filled = Vec::with_capacity(tanks.len());
    for tank in tanks {
        let fill = going.fills.iter().find(|fill| fill.tank == tank.id);
        let Some(fill) = fill else {
            missing.push(format!(
                "the departure does not say what is in {} ({})",
                tank.display_name, tank.id
            ));
            continue;
        };
        let Some(unusable_l) = tank.unusable_l else {
            missing.push(format!(
                "how much of {} ({}) cannot be drawn is not known",
                tank.display_name, tank.id
            ));
            continue;
        };
        let plumbed = tank.mounting == TankMounting::Fixed || tank.fluid == Fluid::Water;
        filled.push(fuel_sums::Tank {
            id: tank.id.to_string(),
            feed: if plumbed { Feed::Engine } else { Feed::Decanted },
            capacity_l: tank.capacity_l,
            unusable_l,
            fill_limit_l: tank.capacity_l,
            fill_l: fill.volume_l,
        });
    }
    (filled, missing)
}

/// Whether something of `kinds` is taken on between leg `index` and the next one.
fn is_supplied(departure: &Departure, index: usize, kinds: &[SupplyKind]) -> bool {
    let (Some(leg), Some(next)) = (departure.legs.get(index), departure.legs.get(index + 1)) else {
        return false;
    };
    departure.supply_points.iter().any(|point| {
        point.confirmed
            && (point.place == leg.end_place || point.place == next.start_place)
            && point.supplies.iter().any(|supply| kinds.contains(supply))
    })
}

fn fills_of(tanks: &[&Tank], state: &LegState) -> Vec<(Id, f64)> {
    // The sums keep the order of the tanks.
    tanks
        .iter()
        .zip(&state.fills)
        .map(|(tank, fill)| (tank.id.clone(), fill.fill_l))
        .collect()
}

fn short(what: &str, state: &LegState) -> Option<String> {
    // Less than a millilitre is a rounding error.
    (state.short_l > 1e-3).then(|| {
        format!(
            "the {what} aboard ends before this leg does: {:.1} l short",
            state.short_l
        )
    })
}
