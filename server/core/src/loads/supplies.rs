//! Fuel and water over the legs: what goes, what is taken on, what is left in each tank.

use crate::check::InvalidInput;
use crate::fuel as fuel_sums;
use crate::fuel::drawdown::{LegDraw, LegState, drawdown};
use crate::record::{Departure, DepartureVehicle, Fluid, Id, Record, SupplyKind, Tank, Vehicle};
use crate::supplies::consumption::legs_fuel;
use crate::supplies::points::is_supplied;
use crate::supplies::tanks::{engine_fuel, filled, supply_kind_of, tanks_of};

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
pub(super) fn fuel(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    going: &DepartureVehicle,
) -> Course {
    let burnt = match engine_fuel(vehicle) {
        Ok(burnt) => burnt,
        Err(sentence) => {
            let all = tanks_of(vehicle, going, Fluid::is_fuel);
            let uses = vec![Err(vec![sentence]); departure.legs.len()];
            return course("fuel", &all, going, &uses, departure, &[]);
        }
    };
    let tanks = tanks_of(vehicle, going, |fluid| fluid == burnt);
    let uses: Vec<Use> = legs_fuel(record, departure, vehicle, going)
        .into_iter()
        .map(|leg| leg.map(|leg| leg.litres))
        .collect();
    let kinds: Vec<SupplyKind> = supply_kind_of(burnt).into_iter().collect();
    let mut course = course("fuel", &tanks, going, &uses, departure, &kinds);
    course.note = Some(match going.consumption_provenance.as_str() {
        "" => "where the consumption comes from is not stated".to_owned(),
        provenance => format!("consumption: {provenance}"),
    });
    course
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
