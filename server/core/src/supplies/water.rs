//! Water and food of everybody who goes, between confirmed points.
//!
//! All water of the convoy counts together, as far as it can be drawn. At a confirmed point everything is
//! filled. A tank or a set of containers on record is what one leak can empty: sets that are kept in one
//! place and recorded as one are lost as one.

use super::points::points_after;
use crate::answer::Answer;
use crate::record::{
    Departure, FoodPlan, Record, SupplyGate, SupplyKind, SupplyPoint, Tank, Vehicle, WaterLossRule,
};
use crate::water::WaterPolicy;
use crate::water::food::{FoodAmount, FoodCover, FoodError, FoodInput, FoodItem, food_cover};
use crate::water::intervals::{
    WaterInput, WaterInterval, WaterLeg, WaterPoint, WaterQuality, WaterRequirement, water_intervals,
};
use crate::water::loss::{LargestLoss, LossInput, VehiclePeople, WaterContainer, WaterLoss, water_loss};

/// Category of the cargo that is food.
const FOOD: &str = "food";

/// Water and food of a departure.
#[derive(Debug, Clone, PartialEq)]
pub struct DepartureWater {
    /// People who go.
    pub people: u32,
    /// What is missing for the water. Not empty exactly when there are no sums.
    pub missing: Vec<String>,
    /// The water.
    pub sums: Option<WaterSums>,
    /// The food. `None`: not asked about, or not known.
    pub food: Option<FoodCover>,
    /// What is missing for the food.
    pub food_missing: Vec<String>,
}

/// The water of a departure. Nothing is rounded.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterSums {
    /// What the containers hold, litres that can be drawn.
    pub capacity_l: f64,
    /// What each interval asks for against what is carried.
    pub requirement: WaterRequirement,
    /// What losses do, by interval. `None`: nothing is carried.
    pub losses: Vec<Option<WaterLoss>>,
}

/// One thing that stands against the water or the food.
#[derive(Debug, Clone, PartialEq)]
pub enum WaterIssue {
    /// Inputs are missing.
    Missing(Vec<String>),
    /// An interval asks for more than is carried.
    Short(WaterInterval),
    /// The loss of the largest container is not survived, and the policy minds.
    Loss {
        /// The interval.
        interval: WaterInterval,
        /// The loss.
        loss: LargestLoss,
        /// Whether the policy requires that it be survived.
        required: bool,
    },
    /// The food does not last.
    Food(FoodCover),
}

impl WaterIssue {
    /// What it means for the gate.
    pub fn answer(&self) -> Answer {
        match self {
            Self::Missing(_) => Answer::NotKnown,
            Self::Short(_) | Self::Food(_) | Self::Loss { required: true, .. } => Answer::NotMet,
            Self::Loss { required: false, .. } => Answer::MetWithConditions,
        }
    }
}

impl DepartureWater {
    /// What stands against the water and the food. Nothing: both suffice.
    pub fn issues(&self, departure: &Departure) -> Vec<WaterIssue> {
        let mut issues = Vec::new();
        for missing in [&self.missing, &self.food_missing] {
            if !missing.is_empty() {
                issues.push(WaterIssue::Missing(missing.clone()));
            }
        }
        let rule = departure
            .policy
            .water
            .map(|plan| plan.largest_loss)
            .unwrap_or_default();
        if let Some(sums) = &self.sums {
            for (interval, loss) in sums.requirement.intervals.iter().zip(&sums.losses) {
                if interval.balance_l < 0.0 {
                    issues.push(WaterIssue::Short(interval.clone()));
                }
                let lost = loss
                    .as_ref()
                    .map(|loss| &loss.largest)
                    .filter(|loss| !loss.survived);
                if let Some(loss) = lost.filter(|_| rule != WaterLossRule::Shown) {
                    issues.push(WaterIssue::Loss {
                        interval: interval.clone(),
                        loss: loss.clone(),
                        required: rule == WaterLossRule::Required,
                    });
                }
            }
        }
        issues.extend(
            self.food
                .clone()
                .filter(|food| food.balance_person_days < 0.0)
                .map(WaterIssue::Food),
        );
        issues
    }

    /// The answer of the gate `water`.
    pub fn answer(&self, departure: &Departure) -> Answer {
        if departure.policy.gates_not_asked.contains(&SupplyGate::Water) {
            return Answer::Met;
        }
        let issues = self.issues(departure);
        issues.iter().map(WaterIssue::answer).max().unwrap_or(Answer::Met)
    }
}

/// The water and food of `departure`. Never fails: what cannot be computed is missing.
pub fn departure_water(record: &Record, departure: &Departure) -> DepartureWater {
    let people = u32::try_from(departure.crew.len()).unwrap_or(u32::MAX);
    let mut missing = Vec::new();
    let policy = policy(departure, &mut missing);
    let containers = containers(record, departure, &mut missing);
    if people == 0 {
        missing.push("the departure has no people".to_owned());
    }
    if departure.legs.is_empty() {
        missing.push("the departure has no legs".to_owned());
    }
    let sums = policy.filter(|_| missing.is_empty()).and_then(|policy| {
        sums(departure, people, policy, &containers)
            .map_err(|refused| missing.push(format!("the water cannot be computed: {refused}")))
            .ok()
    });
    let (food, food_missing) = match departure
        .policy
        .food
        .map(|plan| food(record, departure, people, plan))
    {
        None => (None, Vec::new()),
        Some(Ok(food)) => (Some(food), Vec::new()),
        Some(Err(missing)) => (None, missing),
    };
    DepartureWater {
        people,
        missing,
        sums,
        food,
        food_missing,
    }
}

fn policy(departure: &Departure, missing: &mut Vec<String>) -> Option<WaterPolicy> {
    let plan = departure.policy.water.unwrap_or_default();
    let mut known = |value: Option<f64>, name: &str| {
        if value.is_none() {
            missing.push(format!("the policy's {name} is not known"));
        }
        value
    };
    let per_day = known(
        departure.policy.water_plan_l_per_person_day,
        "water_plan_l_per_person_day",
    );
    let minimum = known(plan.minimum_l_per_person_day, "water.minimum_l_per_person_day");
    let reserve_days = known(plan.reserve_days, "water.reserve_days");
    let reserve = known(plan.reserve_l_per_person_day, "water.reserve_l_per_person_day");
    let buffer_days = known(plan.buffer_days, "water.buffer_days");
    Some(WaterPolicy {
        plan_l_per_person_day: per_day?,
        minimum_l_per_person_day: minimum?,
        reserve_days: reserve_days?,
        reserve_l_per_person_day: reserve?,
        buffer_days: buffer_days?,
    })
}

/// Every water container that goes, with the litres that can be drawn from it.
fn containers(record: &Record, departure: &Departure, missing: &mut Vec<String>) -> Vec<WaterContainer> {
    let mut containers = Vec::new();
    for going in &departure.vehicles {
        let Some(vehicle) = record.vehicles.get(&going.vehicle) else {
            missing.push(format!("{} is not on record", going.vehicle));
            continue;
        };
        let tanks = vehicle.specification.tanks.iter();
        for tank in tanks.filter(|tank| tank.fluid == crate::record::Fluid::Water) {
            let fill = going.fills.iter().find(|fill| fill.tank == tank.id);
            match (fill, tank.unusable_l) {
                (None, _) => missing.push(format!(
                    "the departure does not say what is in {} ({})",
                    tank.display_name, tank.id
                )),
                (_, None) => missing.push(format!(
                    "how much of {} ({}) cannot be drawn is not known",
                    tank.display_name, tank.id
                )),
                (Some(fill), Some(unusable_l)) => {
                    containers.push(container(vehicle, tank, fill.volume_l, unusable_l));
                }
            }
        }
    }
    // One of which nothing can be drawn holds no water for anybody.
    containers.retain(|container| container.capacity_l != 0.0);
    containers
}

fn container(vehicle: &Vehicle, tank: &Tank, fill_l: f64, unusable_l: f64) -> WaterContainer {
    WaterContainer {
        id: format!("{}/{}", vehicle.name.id(), tank.id),
        vehicle: vehicle.name.to_string(),
        fill_l: (fill_l - unusable_l).max(0.0),
        capacity_l: (tank.capacity_l - unusable_l).max(0.0),
    }
}

fn sums(
    departure: &Departure,
    people: u32,
    policy: WaterPolicy,
    containers: &[WaterContainer],
) -> Result<WaterSums, crate::check::InvalidInput> {
    let capacity_l: f64 = containers.iter().map(|container| container.capacity_l).sum();
    let legs = departure.legs.iter().enumerate().map(|(index, leg)| WaterLeg {
        leg: leg.id.to_string(),
        days: leg.planned_days,
        point_at_end: point_after(departure, index),
    });
    let plan = departure.policy.water.unwrap_or_default();
    let requirement = water_intervals(&WaterInput {
        start: departure
            .legs
            .first()
            .map(|leg| leg.start_place.clone())
            .unwrap_or_default(),
        end: departure
            .legs
            .last()
            .map(|leg| leg.end_place.clone())
            .unwrap_or_default(),
        people,
        policy,
        carried_l: containers.iter().map(|container| container.fill_l).sum(),
        capacity_l,
        unplaced_rest_days: plan.unplaced_rest_days,
        legs: legs.collect(),
    })?;
    let vehicles: Vec<VehiclePeople> = departure
        .vehicles
        .iter()
        .map(|going| VehiclePeople {
            vehicle: going.vehicle.to_string(),
            people: people_in(departure, &going.vehicle),
        })
        .collect();
    let losses = requirement
        .intervals
        .iter()
        .enumerate()
        .map(|(index, interval)| loss(policy, interval, index > 0, &vehicles, containers))
        .collect::<Result<_, _>>()?;
    Ok(WaterSums {
        capacity_l,
        requirement,
        losses,
    })
}

fn people_in(departure: &Departure, vehicle: &str) -> u32 {
    let aboard = departure
        .crew
        .iter()
        .filter(|member| member.vehicle.as_ref().is_some_and(|name| **name == *vehicle));
    u32::try_from(aboard.count()).unwrap_or(u32::MAX)
}

/// What a container lost at the start of an interval does. Behind a point every container is full.
fn loss(
    policy: WaterPolicy,
    interval: &WaterInterval,
    filled: bool,
    vehicles: &[VehiclePeople],
    containers: &[WaterContainer],
) -> Result<Option<WaterLoss>, crate::check::InvalidInput> {
    let nobody = vehicles.iter().all(|vehicle| vehicle.people == 0);
    if containers.is_empty() || nobody {
        return Ok(None);
    }
    let at_start = containers.iter().cloned().map(|container| WaterContainer {
        fill_l: if filled {
            container.capacity_l
        } else {
            container.fill_l
        },
        ..container
    });
    let input = LossInput {
        policy,
        planned_days: interval.planned_days,
        vehicles: vehicles.to_vec(),
        containers: at_start.collect(),
    };
    water_loss(&input).map(Some)
}

/// The point after a leg: a confirmed one with drinking water before any other.
fn point_after(departure: &Departure, index: usize) -> Option<WaterPoint> {
    let drinkable = |point: &SupplyPoint| point.supplies.contains(&SupplyKind::Water);
    let kinds = [SupplyKind::Water, SupplyKind::WashingWater];
    let best = points_after(departure, index, &kinds)
        .max_by_key(|point| (point.confirmed && drinkable(point), drinkable(point)))?;
    Some(WaterPoint {
        place: best.place.clone(),
        quality: Some(if drinkable(best) {
            WaterQuality::Drinkable
        } else {
            WaterQuality::WashingOnly
        }),
        confirmed: best.confirmed,
        available_l: None,
    })
}

/// The food aboard any vehicle that goes, over the planned days of all legs and the rest days.
fn food(
    record: &Record,
    departure: &Departure,
    people: u32,
    plan: FoodPlan,
) -> Result<FoodCover, Vec<String>> {
    let mut missing = Vec::new();
    let aboard = record.cargo_items.values().filter(|item| {
        let goes = departure
            .vehicles
            .iter()
            .any(|going| item.vehicle.as_ref() == Some(&going.vehicle));
        goes && item.consumed && item.category == FOOD
    });
    let mut items = Vec::new();
    for item in aboard {
        match item.mass_kg() {
            Some(mass_kg) => items.push(FoodItem {
                name: item.display_name.clone(),
                amount: FoodAmount::MassKg(mass_kg),
            }),
            None => missing.push(format!(
                "the mass of {} ({}) is not known",
                item.display_name,
                item.name.id()
            )),
        }
    }
    if departure.legs.is_empty() {
        missing.push("the departure has no legs".to_owned());
    }
    if !missing.is_empty() {
        return Err(missing);
    }
    let on_legs: f64 = departure.legs.iter().map(|leg| leg.planned_days).sum();
    let input = FoodInput {
        people,
        planned_days: on_legs + departure.policy.water.unwrap_or_default().unplaced_rest_days,
        reserve_days: plan.reserve_days,
        mass_kg_per_person_day: plan.mass_kg_per_person_day,
        items,
    };
    food_cover(&input).map_err(|error| match error {
        FoodError::NotKnown { .. } => {
            vec!["the policy's food.mass_kg_per_person_day is not known".to_owned()]
        }
        FoodError::Invalid(refused) => vec![format!("the food cannot be computed: {refused}")],
    })
}
