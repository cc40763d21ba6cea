//! Water between confirmed drinkable points against what is carried.
//!
//! An interval runs from one point that is confirmed and drinkable to the next. A point that is not
//! verified counts as nothing, and so does water fit for washing only. Each interval counts the days
//! planned for its legs, then the policy's buffer days once, then the reserve once.
//!
//! Rest and repair days must be planned on a leg to be counted. Those that nobody has placed yet
//! could fall into any interval, so each interval also states its balance if they all fall there.

use super::need::{WaterNeed, WaterPolicy, water_need};
use crate::check::{Check, InvalidInput};

/// Most legs accepted.
pub const LEGS_MAX: usize = 10_000;

/// What the water of a point is fit for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WaterQuality {
    /// Fit for drinking, as it is or treated with what the party carries.
    Drinkable,
    /// Fit for washing only.
    WashingOnly,
}

/// A place where water may be had.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterPoint {
    /// Its name.
    pub place: String,
    /// What it is fit for; `None` when not known.
    pub quality: Option<WaterQuality>,
    /// Whether somebody confirmed for this departure that there is water.
    pub confirmed: bool,
    /// Litres it has for the party, 0 or more; `None` for as much as fits.
    pub available_l: Option<f64>,
}

/// One leg.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterLeg {
    /// Identifier of the leg.
    pub leg: String,
    /// Days planned for it, rest days placed on it included, 0 or more.
    pub days: f64,
    /// Water at its end.
    pub point_at_end: Option<WaterPoint>,
}

/// A party and its legs.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterInput {
    /// Name of the place of departure.
    pub start: String,
    /// Name of the place of arrival.
    pub end: String,
    /// People, at least one.
    pub people: u32,
    /// How much they plan with.
    pub policy: WaterPolicy,
    /// Drinking water aboard at departure, litres, from 0 to the capacity.
    pub carried_l: f64,
    /// What the containers hold, litres.
    pub capacity_l: f64,
    /// Rest and repair days planned but not placed on a leg, 0 or more.
    pub unplaced_rest_days: f64,
    /// Legs in order, at least one.
    pub legs: Vec<WaterLeg>,
}

/// Water over one interval.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterInterval {
    /// Where it starts.
    pub start: String,
    /// Where it ends.
    pub end: String,
    /// Its legs, as a range of indices.
    pub legs: std::ops::Range<usize>,
    /// Days planned for its legs.
    pub planned_days: f64,
    /// What is needed.
    pub need: WaterNeed,
    /// Litres aboard at its start.
    pub carried_l: f64,
    /// Aboard less required; negative means short.
    pub balance_l: f64,
    /// The same with every unplaced rest day in this interval; `None` when there is none.
    pub balance_with_rest_days_l: Option<f64>,
}

/// Water over a route.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterRequirement {
    /// Intervals in order.
    pub intervals: Vec<WaterInterval>,
    /// Points on the way that count as nothing, each with the reason.
    pub points_not_counted: Vec<String>,
    /// What the reader should know of the policy and the plan.
    pub cautions: Vec<String>,
}

impl WaterRequirement {
    /// The interval with the smallest balance.
    pub fn tightest(&self) -> Option<&WaterInterval> {
        self.intervals
            .iter()
            .min_by(|a, b| a.balance_l.total_cmp(&b.balance_l))
    }

    /// Whether every interval is covered with buffer and reserve.
    pub fn covered(&self) -> bool {
        self.intervals.iter().all(|interval| interval.balance_l >= 0.0)
    }
}

/// Sets the water carried against the need between confirmed drinkable points.
///
/// At such a point the party takes on what fits and the point has; on the way it uses the counted
/// rate on the planned days. Nothing is rounded.
///
/// # Errors
/// Every number out of its range.
pub fn water_intervals(input: &WaterInput) -> Result<WaterRequirement, InvalidInput> {
    check_input(input)?;
    let mut intervals = Vec::new();
    let mut carried_l = input.carried_l;
    let mut start = input.start.clone();
    let mut first = 0;
    for (index, leg) in input.legs.iter().enumerate() {
        let point = leg
            .point_at_end
            .as_ref()
            .filter(|point| not_counted(point).is_none());
        if point.is_none() && index + 1 < input.legs.len() {
            continue;
        }
        let end = point.map_or(&input.end, |point| &point.place).clone();
        let interval = interval(input, first..index + 1, start, end.clone(), carried_l)?;
        let used_l = f64::from(input.people) * interval.need.rate_l_per_person_day * interval.planned_days;
        carried_l = (carried_l - used_l).max(0.0);
        if let Some(point) = point {
            let room_l = (input.capacity_l - carried_l).max(0.0);
            carried_l += point.available_l.unwrap_or(f64::INFINITY).min(room_l);
        }
        intervals.push(interval);
        start = end;
        first = index + 1;
    }
    let points = input.legs.iter().filter_map(|leg| leg.point_at_end.as_ref());
    let points_not_counted = points
        .filter_map(|point| not_counted(point).map(|reason| format!("{} {reason}", point.place)))
        .collect();
    let cautions = cautions(input, &intervals);
    Ok(WaterRequirement {
        intervals,
        points_not_counted,
        cautions,
    })
}

/// Why a point counts as nothing; `None` if it counts.
fn not_counted(point: &WaterPoint) -> Option<&'static str> {
    match point.quality {
        _ if !point.confirmed => Some("is not confirmed"),
        None => Some("has water of unknown quality"),
        Some(WaterQuality::WashingOnly) => Some("has water for washing only"),
        Some(WaterQuality::Drinkable) => None,
    }
}

fn interval(
    input: &WaterInput,
    range: std::ops::Range<usize>,
    start: String,
    end: String,
    carried_l: f64,
) -> Result<WaterInterval, InvalidInput> {
    let planned_days: f64 = input.legs[range.clone()].iter().map(|leg| leg.days).sum();
    let need = water_need(&input.policy, input.people, planned_days)?;
    let balance_l = carried_l - need.required_l;
    let rest_l = f64::from(input.people) * need.rate_l_per_person_day * input.unplaced_rest_days;
    Ok(WaterInterval {
        start,
        end,
        legs: range,
        planned_days,
        need,
        carried_l,
        balance_l,
        balance_with_rest_days_l: (input.unplaced_rest_days > 0.0).then_some(balance_l - rest_l),
    })
}

fn cautions(input: &WaterInput, intervals: &[WaterInterval]) -> Vec<String> {
    let mut cautions = input.policy.cautions();
    let short = |interval: &&WaterInterval| {
        interval.balance_l >= 0.0
            && interval
                .balance_with_rest_days_l
                .is_some_and(|balance| balance < 0.0)
    };
    for interval in intervals.iter().filter(short) {
        cautions.push(format!(
            "{} to {} is covered only if not all {} unplaced rest days fall there",
            interval.start, interval.end, input.unplaced_rest_days
        ));
    }
    cautions
}

fn check_input(input: &WaterInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.merge("policy", input.policy.check());
    check.between(
        "people",
        f64::from(input.people),
        1.0,
        f64::from(super::need::PEOPLE_MAX),
    );
    check.non_negative("capacity_l", input.capacity_l);
    check.non_negative("carried_l", input.carried_l);
    if input.carried_l > input.capacity_l {
        check.refuse("carried_l", "must not be more than capacity_l");
    }
    check.between("unplaced_rest_days", input.unplaced_rest_days, 0.0, 1_000.0);
    if input.legs.is_empty() || input.legs.len() > LEGS_MAX {
        check.refuse(
            "legs",
            format!("must be 1 to {LEGS_MAX}, are {}", input.legs.len()),
        );
        return check.finish();
    }
    for (index, leg) in input.legs.iter().enumerate() {
        check.between(format_args!("legs[{index}].days"), leg.days, 0.0, 1_000.0);
        if let Some(litres) = leg.point_at_end.as_ref().and_then(|point| point.available_l) {
            check.non_negative(format_args!("legs[{index}].point_at_end.available_l"), litres);
        }
    }
    check.finish()
}
