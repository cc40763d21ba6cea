//! Results about water and food.

use ostler_core::record::Departure;
use ostler_core::supplies::{DepartureWater, WATER_CAUTION, WATER_FORMULA_VERSION};
use ostler_core::water::food::FoodCover;
use ostler_core::water::intervals::WaterInterval;
use ostler_core::water::loss::{Cover, LargestLoss, VehicleAlone};
use ostler_proto::v1;

use super::readiness::answer_message;

/// The water and food of a departure as a message.
pub(crate) fn water_message(departure: &Departure, water: DepartureWater) -> v1::WaterResult {
    let answer = answer_message(water.answer(departure));
    let DepartureWater {
        people,
        missing,
        sums,
        food,
        food_missing,
    } = water;
    let mut message = v1::WaterResult {
        departure: departure.name.to_string(),
        answer: answer.into(),
        missing,
        people_count: count(people),
        food: food.map(food_message),
        food_missing,
        caution: WATER_CAUTION.to_owned(),
        formula_version: WATER_FORMULA_VERSION.to_owned(),
        ..Default::default()
    };
    if let Some(sums) = sums {
        message.capacity_l = Some(sums.capacity_l);
        message.intervals = sums
            .requirement
            .intervals
            .into_iter()
            .enumerate()
            .map(|(index, interval)| {
                let loss = sums.losses.get(index).and_then(Option::as_ref);
                interval_message(departure, interval, loss.map(|loss| loss.largest.clone()))
            })
            .collect();
        message.points_not_counted = sums.requirement.points_not_counted;
        message.cautions = sums.requirement.cautions;
        let first = sums.losses.into_iter().next().flatten();
        message.alone = first.map_or_else(Vec::new, |loss| {
            loss.alone.into_iter().map(alone_message).collect()
        });
    }
    message
}

fn count(people: u32) -> i32 {
    i32::try_from(people).unwrap_or(i32::MAX)
}

fn interval_message(
    departure: &Departure,
    interval: WaterInterval,
    loss: Option<LargestLoss>,
) -> v1::WaterInterval {
    let leg = |index: usize| {
        departure
            .legs
            .get(index)
            .map(|leg| leg.id.to_string())
            .unwrap_or_default()
    };
    let WaterInterval {
        start,
        end,
        legs,
        planned_days,
        need,
        carried_l,
        balance_l,
        balance_with_rest_days_l,
    } = interval;
    v1::WaterInterval {
        start_place: start,
        end_place: end,
        first_leg: leg(legs.start),
        last_leg: leg(legs.end.saturating_sub(1)),
        planned_days,
        days_counted: need.days_counted,
        rate_l_per_person_day: need.rate_l_per_person_day,
        raised_to_minimum: need.raised_to_minimum,
        reserve_l: need.reserve_l,
        required_l: need.required_l,
        carried_l,
        balance_l,
        balance_with_rest_days_l,
        largest_loss: loss.map(loss_message),
    }
}

fn loss_message(loss: LargestLoss) -> v1::WaterLoss {
    let LargestLoss {
        container,
        lost_l,
        left_l,
        cover,
        survived,
        worst_moment_balance_l,
        days_at_minimum,
    } = loss;
    let cover = match cover {
        Cover::Requirement => v1::WaterCover::Requirement,
        Cover::Minimum => v1::WaterCover::Minimum,
        Cover::ReserveRate => v1::WaterCover::ReserveRate,
        Cover::Nothing => v1::WaterCover::Nothing,
    };
    v1::WaterLoss {
        container,
        lost_l,
        left_l,
        cover: cover.into(),
        survived,
        worst_moment_balance_l,
        days_at_minimum,
    }
}

fn alone_message(alone: VehicleAlone) -> v1::WaterAlone {
    let VehicleAlone {
        vehicle,
        people,
        litres,
        days_at_minimum,
        covers_reserve,
    } = alone;
    v1::WaterAlone {
        vehicle,
        people_count: count(people),
        litres,
        days_at_minimum,
        covers_reserve,
    }
}

fn food_message(food: FoodCover) -> v1::FoodCover {
    let FoodCover {
        required_person_days,
        aboard_person_days,
        balance_person_days,
        days,
    } = food;
    v1::FoodCover {
        required_person_days,
        aboard_person_days,
        balance_person_days,
        days,
    }
}
