//! What each interval between confirmed fuel points asks for, against what is aboard.
//!
//! A fuel point that is not confirmed, or does not have the vehicle's fuel, counts as nothing and is
//! listed as not counted.

use super::FuelError;
use super::consumption::LEGS_MAX;
use super::reserve::{IntervalNeed, ReservePolicy};
use super::tank::FuelKind;
use crate::check::{Check, element};

/// A place where fuel may be had.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelPoint {
    /// Its name.
    pub place: String,
    /// Whether the fuel is confirmed: ordered and acknowledged, or a working pump.
    pub confirmed: bool,
    /// The fuels it has.
    pub kinds: Vec<FuelKind>,
    /// Litres it has for this vehicle, 0 or more; `None` for as much as fits.
    pub available_l: Option<f64>,
}

/// What one leg needs of one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct LegNeed {
    /// Identifier of the leg.
    pub leg: String,
    /// Litres, 0 or more.
    pub litres: f64,
    /// Driven distance, km, 0 or more.
    pub driven_km: f64,
    /// Days planned, 0 or more.
    pub days: f64,
    /// Fuel point at the end of the leg.
    pub point_at_end: Option<FuelPoint>,
}

/// One vehicle, its fuel and its legs.
#[derive(Debug, Clone, PartialEq)]
pub struct RequirementInput {
    /// Name of the place of departure.
    pub start: String,
    /// Name of the place of arrival.
    pub end: String,
    /// The fuel it burns.
    pub kind: FuelKind,
    /// Usable litres aboard at departure, from 0 to the usable capacity.
    pub usable_at_start_l: f64,
    /// Usable litres aboard with everything full, greater than 0.
    pub usable_capacity_l: f64,
    /// Reserve to arrive with.
    pub policy: ReservePolicy,
    /// Legs in order, at least one.
    pub legs: Vec<LegNeed>,
}

/// One interval between confirmed points.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelInterval {
    /// Where it starts.
    pub start: String,
    /// Where it ends.
    pub end: String,
    /// Its legs, as a range of indices.
    pub legs: std::ops::Range<usize>,
    /// Driven distance, km.
    pub driven_km: f64,
    /// Days planned.
    pub days: f64,
    /// Litres over its legs.
    pub litres: f64,
    /// Litres of reserve.
    pub reserve_l: f64,
    /// Litres with reserve.
    pub required_l: f64,
    /// Usable litres aboard at its start.
    pub usable_at_start_l: f64,
    /// Aboard less required; negative means short.
    pub balance_l: f64,
    /// Balance as a fraction of the requirement; `None` when nothing is required.
    pub balance_fraction: Option<f64>,
    /// Litres per 100 driven km; `None` without distance.
    pub mean_l_per_100km: Option<f64>,
    /// Driven km on everything usable at that mean, to the last drop; `None` without a mean.
    pub range_without_reserve_km: Option<f64>,
}

/// The fuel of a vehicle around one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct LegBalance {
    /// Identifier of the leg.
    pub leg: String,
    /// Usable litres at its start.
    pub usable_before_l: f64,
    /// Usable litres at its end, before anything is taken on.
    pub usable_after_l: f64,
    /// Litres the leg asks for beyond what is aboard: greater than 0 means the vehicle stands.
    pub short_l: f64,
    /// Litres from its end to the next confirmed point, without reserve.
    pub to_next_point_l: f64,
    /// Litres at its end beyond those: what is left of the reserve, negative when not even that.
    pub in_hand_l: f64,
    /// Litres taken on at a confirmed point at its end.
    pub taken_on_l: f64,
}

/// What a vehicle needs over its legs.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelRequirement {
    /// Intervals in order.
    pub intervals: Vec<FuelInterval>,
    /// Legs in order.
    pub legs: Vec<LegBalance>,
    /// Points on the way that count as nothing, each with the reason.
    pub points_not_counted: Vec<String>,
}

impl FuelRequirement {
    /// The interval with the smallest balance.
    pub fn tightest(&self) -> Option<&FuelInterval> {
        self.intervals
            .iter()
            .min_by(|a, b| a.balance_l.total_cmp(&b.balance_l))
    }

    /// Whether every interval is covered with its reserve.
    pub fn covered(&self) -> bool {
        self.intervals.iter().all(|interval| interval.balance_l >= 0.0)
    }
}

/// Sets the fuel aboard against what each interval between confirmed points requires.
///
/// At a confirmed point the vehicle takes on what fits and the point has. Nothing is rounded.
///
/// # Errors
/// [`FuelError::Invalid`] with every violation; [`FuelError::NotKnown`] when the reserve policy needs
/// days or a rate that an interval does not have.
pub fn fuel_requirement(input: &RequirementInput) -> Result<FuelRequirement, FuelError> {
    check_input(input)?;
    let mut intervals = Vec::new();
    let mut legs = Vec::with_capacity(input.legs.len());
    let mut aboard_l = input.usable_at_start_l;
    let mut start = input.start.clone();
    let mut first = 0;
    for (index, leg) in input.legs.iter().enumerate() {
        let last = index + 1 == input.legs.len();
        let point = leg
            .point_at_end
            .as_ref()
            .filter(|point| counts(point, input.kind));
        if point.is_none() && !last {
            continue;
        }
        let end = point.map_or(&input.end, |point| &point.place).clone();
        intervals.push(interval(input, first..index + 1, start, end.clone(), aboard_l)?);
        drive_interval(&input.legs[first..=index], &mut aboard_l, &mut legs);
        if let (Some(point), Some(balance)) = (point, legs.last_mut()) {
            let room_l = (input.usable_capacity_l - aboard_l).max(0.0);
            balance.taken_on_l = point.available_l.unwrap_or(f64::INFINITY).min(room_l);
            aboard_l += balance.taken_on_l;
        }
        start = end;
        first = index + 1;
    }
    Ok(FuelRequirement {
        intervals,
        legs,
        points_not_counted: points_not_counted(input),
    })
}

fn counts(point: &FuelPoint, kind: FuelKind) -> bool {
    point.confirmed && point.kinds.contains(&kind)
}

fn points_not_counted(input: &RequirementInput) -> Vec<String> {
    let points = input.legs.iter().filter_map(|leg| leg.point_at_end.as_ref());
    points
        .filter(|point| !counts(point, input.kind))
        .map(|point| {
            let reason = if point.confirmed {
                "does not have the vehicle's fuel"
            } else {
                "is not confirmed"
            };
            format!("{} {reason}", point.place)
        })
        .collect()
}

fn interval(
    input: &RequirementInput,
    range: std::ops::Range<usize>,
    start: String,
    end: String,
    usable_at_start_l: f64,
) -> Result<FuelInterval, FuelError> {
    let legs = &input.legs[range.clone()];
    let litres: f64 = legs.iter().map(|leg| leg.litres).sum();
    let driven_km: f64 = legs.iter().map(|leg| leg.driven_km).sum();
    let days: f64 = legs.iter().map(|leg| leg.days).sum();
    let worst_leg_l_per_100km = legs
        .iter()
        .filter(|leg| leg.driven_km > 0.0)
        .map(|leg| 100.0 * leg.litres / leg.driven_km)
        .reduce(f64::max);
    let reserve_l = input.policy.reserve_l(&IntervalNeed {
        litres,
        days,
        worst_leg_l_per_100km,
    })?;
    let required_l = litres + reserve_l;
    let balance_l = usable_at_start_l - required_l;
    let mean_l_per_100km = (driven_km > 0.0)
        .then(|| 100.0 * litres / driven_km)
        .filter(|mean| mean.is_finite());
    Ok(FuelInterval {
        start,
        end,
        legs: range,
        driven_km,
        days,
        litres,
        reserve_l,
        required_l,
        usable_at_start_l,
        balance_l,
        balance_fraction: Some(balance_l / required_l).filter(|fraction| fraction.is_finite()),
        mean_l_per_100km,
        range_without_reserve_km: mean_l_per_100km
            .map(|mean| 100.0 * usable_at_start_l / mean)
            .filter(|range| range.is_finite()),
    })
}

fn drive_interval(legs: &[LegNeed], aboard_l: &mut f64, balances: &mut Vec<LegBalance>) {
    let mut open_l: f64 = legs.iter().map(|leg| leg.litres).sum();
    for leg in legs {
        let usable_before_l = *aboard_l;
        open_l = (open_l - leg.litres).max(0.0);
        *aboard_l = (usable_before_l - leg.litres).max(0.0);
        let short_l = (leg.litres - usable_before_l).max(0.0);
        balances.push(LegBalance {
            leg: leg.leg.clone(),
            usable_before_l,
            usable_after_l: *aboard_l,
            short_l,
            to_next_point_l: open_l,
            in_hand_l: *aboard_l - open_l - short_l,
            taken_on_l: 0.0,
        });
    }
}

fn check_input(input: &RequirementInput) -> Result<(), FuelError> {
    let mut check = Check::new();
    check.positive("usable_capacity_l", input.usable_capacity_l);
    check.non_negative("usable_at_start_l", input.usable_at_start_l);
    if input.usable_at_start_l > input.usable_capacity_l {
        check.refuse("usable_at_start_l", "must not be more than usable_capacity_l");
    }
    check.merge("policy", input.policy.check());
    if input.legs.is_empty() || input.legs.len() > LEGS_MAX {
        check.refuse(
            "legs",
            format!("must be 1 to {LEGS_MAX}, are {}", input.legs.len()),
        );
        return Ok(check.finish()?);
    }
    for (index, leg) in input.legs.iter().enumerate() {
        let path = |field| element("legs", index, field);
        check.between(path("litres"), leg.litres, 0.0, 1e7);
        check.between(path("driven_km"), leg.driven_km, 0.0, 1e6);
        check.between(path("days"), leg.days, 0.0, 1e4);
        if let Some(litres) = leg.point_at_end.as_ref().and_then(|point| point.available_l) {
            check.non_negative(path("point_at_end.available_l"), litres);
        }
    }
    Ok(check.finish()?)
}
