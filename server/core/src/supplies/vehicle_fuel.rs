//! The fuel of one vehicle of a departure: what it needs, what it has, what may run short and where.

use super::consumption::{legs_fuel, odometer_factor, route_leg, vehicle_consumption};
use super::points::points_after;
use super::tanks::{engine_fuel, filled, fuel_kind_of, supply_kind_of, tanks_of};
use crate::fuel::chance::{ChanceInput, ChanceLeg, ChanceOfShort, Refill, Shape, chance_of_running_short};
use crate::fuel::consumption::{RouteConsumption, route_consumption};
use crate::fuel::drawdown::{LegDraw, LegState, drawdown};
use crate::fuel::requirement::{FuelPoint, FuelRequirement, LegNeed, RequirementInput, fuel_requirement};
use crate::fuel::tank::{nominal_capacity_l, usable_aboard_l, usable_capacity_l};
use crate::fuel::{Feed, FuelError, FuelKind, Tank};
use crate::record::{Departure, DepartureVehicle, Fluid, Name, Record, SupplyKind, Vehicle};

/// The fuel of one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleFuel {
    /// The vehicle.
    pub vehicle: Name,
    /// Name for people.
    pub display_name: String,
    /// What its engine burns. `None`: not known.
    pub fuel: Option<Fluid>,
    /// What is missing. Not empty exactly when there are no sums.
    pub missing: Vec<String>,
    /// The sums.
    pub sums: Option<FuelSums>,
}

/// What the fuel of a vehicle comes to. Nothing is rounded.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelSums {
    /// The fuel as the sums call it.
    pub kind: FuelKind,
    /// Nominal capacity, litres: only to show what counting it would hide.
    pub nominal_capacity_l: f64,
    /// Usable litres with everything full.
    pub usable_capacity_l: f64,
    /// Usable litres at departure.
    pub usable_at_start_l: f64,
    /// What is burnt, leg by leg.
    pub route: RouteConsumption,
    /// What each interval asks for against what is aboard.
    pub requirement: FuelRequirement,
    /// Every tank after every leg.
    pub states: Vec<LegState>,
    /// Chance of running out on the way. `None`: not known.
    pub chance: Option<ChanceOfShort>,
    /// Why the chance is not known, or what it leaves out.
    pub chance_notes: Vec<String>,
    /// The factor of the odometer now is known, so that indicated distances mean something.
    pub odometer_known: bool,
}

impl FuelSums {
    /// Nominal capacity less what an interval requires, as a share of the latter: what counting capacity
    /// would say. `None`: nothing is required.
    pub fn nominal_balance_fraction(&self, interval: usize) -> Option<f64> {
        let required_l = self.requirement.intervals.get(interval)?.required_l;
        Some((self.nominal_capacity_l - required_l) / required_l).filter(|fraction| fraction.is_finite())
    }
}

/// The fuel of `vehicle` over `departure`.
///
/// Usable litres count, never capacity; points that are not confirmed count as nothing; at a confirmed one
/// the tanks are filled. Never fails: what cannot be computed is missing.
pub fn vehicle_fuel(record: &Record, departure: &Departure, vehicle: &Vehicle) -> VehicleFuel {
    let mut missing = Vec::new();
    let fuel = engine_fuel(vehicle)
        .map_err(|sentence| missing.push(sentence))
        .ok();
    let going = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == vehicle.name);
    if going.is_none() {
        missing.push(format!("{} does not go on this departure", vehicle.name));
    }
    let sums =
        going.zip(fuel).and_then(
            |(going, fuel)| match sums(record, departure, vehicle, going, fuel) {
                Ok(sums) => Some(sums),
                Err(unknown) => {
                    missing.extend(unknown);
                    None
                }
            },
        );
    VehicleFuel {
        vehicle: vehicle.name.clone(),
        display_name: vehicle.display_name.clone(),
        fuel,
        missing,
        sums,
    }
}

/// A fuel and the tanks that hold it.
struct Aboard {
    kind: FuelKind,
    supply: SupplyKind,
    tanks: Vec<Tank>,
}

fn sums(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
    fuel: Fluid,
) -> Result<FuelSums, Vec<String>> {
    let (Some(kind), Some(supply)) = (fuel_kind_of(fuel), supply_kind_of(fuel)) else {
        return Err(vec![format!("{} is no fuel", fuel.word())]);
    };
    let mut missing = Vec::new();
    let (mut tanks, unknown) = filled(&tanks_of(vehicle, going, |fluid| fluid == fuel), going);
    tanks.iter_mut().for_each(keep_expansion_space);
    missing.extend(unknown);
    if departure.legs.is_empty() {
        missing.push("the departure has no legs".to_owned());
    }
    if departure.policy.fuel_reserve.is_none() {
        missing.push("the policy's fuel_reserve is not known".to_owned());
    }
    for sentence in legs_fuel(record, departure, vehicle, going)
        .into_iter()
        .filter_map(Result::err)
        .flatten()
    {
        if !missing.contains(&sentence) {
            missing.push(sentence);
        }
    }
    if !missing.is_empty() {
        return Err(missing);
    }
    let aboard = Aboard { kind, supply, tanks };
    compute(record, departure, vehicle, going, &aboard).map_err(|error| match error {
        FuelError::NotKnown { missing } => missing,
        refused => vec![format!(
            "the fuel of {} cannot be computed: {refused}",
            vehicle.display_name
        )],
    })
}

/// A container is never filled further than the departure fills it: what is left free is for the fuel to
/// swell in the heat.
fn keep_expansion_space(tank: &mut Tank) {
    if tank.feed == Feed::Decanted && tank.fill_l > tank.unusable_l {
        tank.fill_limit_l = tank.fill_l;
    }
}

fn compute(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
    aboard: &Aboard,
) -> Result<FuelSums, FuelError> {
    let not_known = |what: &str| FuelError::NotKnown {
        missing: vec![what.to_owned()],
    };
    let policy = &departure.policy;
    let reserve = policy.fuel_reserve.ok_or_else(|| not_known("fuel_reserve"))?;
    let factor = policy
        .route_allowance_factor
        .ok_or_else(|| not_known("route_allowance_factor"))?;
    let mass_kg = super::consumption::correction_mass_kg(record, departure, vehicle, going);
    let legs: Vec<_> = departure.legs.iter().map(|leg| route_leg(leg, mass_kg)).collect();
    let route = route_consumption(&vehicle_consumption(record, vehicle, going), &legs, factor)?;
    let usable_at_start_l = usable_aboard_l(&aboard.tanks)?;
    let usable_capacity_l = usable_capacity_l(&aboard.tanks)?;
    let needs = needs(departure, &route, aboard);
    let place = |leg: Option<&crate::record::Leg>, of: fn(&crate::record::Leg) -> &String| {
        leg.map(of).cloned().unwrap_or_default()
    };
    let requirement = fuel_requirement(&RequirementInput {
        start: place(departure.legs.first(), |leg| &leg.start_place),
        end: place(departure.legs.last(), |leg| &leg.end_place),
        kind: aboard.kind,
        usable_at_start_l,
        usable_capacity_l,
        policy: reserve,
        legs: needs.clone(),
    })?;
    let draws: Vec<LegDraw> = requirement
        .legs
        .iter()
        .zip(&needs)
        .map(|(balance, need)| LegDraw {
            leg: balance.leg.clone(),
            litres: need.litres,
            taken_on_l: balance.taken_on_l,
        })
        .collect();
    let (chance, chance_notes) = chance(departure, &route, &needs, usable_at_start_l, usable_capacity_l)?;
    Ok(FuelSums {
        kind: aboard.kind,
        nominal_capacity_l: nominal_capacity_l(&aboard.tanks)?,
        usable_capacity_l,
        usable_at_start_l,
        states: drawdown(&aboard.tanks, &draws)?,
        route,
        requirement,
        chance,
        chance_notes,
        odometer_known: odometer_factor(record, vehicle, going).is_some(),
    })
}

/// What each leg needs, and the fuel point at its end.
fn needs(departure: &Departure, route: &RouteConsumption, aboard: &Aboard) -> Vec<LegNeed> {
    let kinds = [aboard.supply];
    departure
        .legs
        .iter()
        .zip(&route.legs)
        .enumerate()
        .map(|(index, (leg, burnt))| {
            let points: Vec<_> = points_after(departure, index, &kinds).collect();
            // One that is confirmed decides; else the first one stands for all that count as nothing.
            let point = points.iter().find(|point| point.confirmed).or(points.first());
            LegNeed {
                leg: leg.id.to_string(),
                litres: burnt.litres,
                driven_km: burnt.driven_km,
                days: leg.planned_days,
                point_at_end: point.map(|point| FuelPoint {
                    place: point.place.clone(),
                    confirmed: point.confirmed,
                    kinds: vec![aboard.kind],
                    available_l: None,
                }),
            }
        })
        .collect()
}

/// The chance of running out, with its reservations. The errors of the rates move together on all legs.
fn chance(
    departure: &Departure,
    route: &RouteConsumption,
    needs: &[LegNeed],
    usable_at_start_l: f64,
    usable_capacity_l: f64,
) -> Result<(Option<ChanceOfShort>, Vec<String>), FuelError> {
    let spread_l: Option<f64> = route.legs.iter().map(|leg| leg.spread_l).sum();
    let Some(spread_l) = spread_l else {
        let note =
            "how well the consumption is known is not stated, so the chance of running short is not known";
        return Ok((None, vec![note.to_owned()]));
    };
    let mut notes = Vec::new();
    let of_leg = departure.policy.leg_consumption_spread_fraction;
    if of_leg.is_none() {
        notes.push(
            "what single legs differ by is not stated: the chance of running short leaves it out".to_owned(),
        );
    }
    let legs = needs.iter().map(|need| ChanceLeg {
        leg: need.leg.clone(),
        mean_l: need.litres,
        spread_fraction: of_leg.unwrap_or(0.0),
        refill: need
            .point_at_end
            .as_ref()
            .filter(|point| point.confirmed)
            .map(|point| Refill {
                available_l: point.available_l,
            }),
    });
    let vehicle_spread_fraction = if route.litres > 0.0 {
        spread_l / route.litres
    } else {
        0.0
    };
    let chance = chance_of_running_short(&ChanceInput {
        usable_at_start_l,
        usable_capacity_l,
        vehicle_spread_fraction,
        shape: Shape::Lognormal,
        legs: legs.collect(),
    })?;
    Ok((Some(chance), notes))
}
