//! Chance of running short, in closed form.
//!
//! A leg burns `mean x vehicle factor x leg factor`. The vehicle factor is one draw for the whole
//! route (driver, a wrong base rate, tyre pressures: everything that makes all legs wrong together);
//! leg factors are independent (weather, detours). Treating all of it as independent would hide the
//! risk: errors would cancel that in truth add up.
//!
//! Fuel taken on ends an interval. Chances are of running short **within the interval, by the end of
//! the leg**, whatever happened in earlier intervals. The spreads are declared inputs: no published
//! figure for them was found.

use statrs::function::erf::{erfc, erfc_inv};

use super::consumption::LEGS_MAX;
use crate::check::{Check, InvalidInput, element};

/// Distribution of the factors. Both have mean 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Vehicle and leg deviations add; the sums are normal exactly. Spreads together at most 1/3, so
    /// that negative consumption is beyond three standard deviations.
    Normal,
    /// Vehicle and leg factors multiply. The sum of several uncertain legs is matched by its mean and
    /// variance (Fenton's approximation, from memory); with one uncertain leg, or with the vehicle
    /// factor alone, the result is exact.
    Lognormal,
}

/// Fuel to be had at the end of a leg, confirmed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Refill {
    /// Litres, 0 or more; `None` for as much as fits.
    pub available_l: Option<f64>,
}

/// One leg.
#[derive(Debug, Clone, PartialEq)]
pub struct ChanceLeg {
    /// Identifier of the leg.
    pub leg: String,
    /// Expected litres, 0 or more.
    pub mean_l: f64,
    /// Standard deviation of its own factor, 0 to 1.
    pub spread_fraction: f64,
    /// Confirmed fuel at its end.
    pub refill: Option<Refill>,
}

/// One vehicle over its legs.
#[derive(Debug, Clone, PartialEq)]
pub struct ChanceInput {
    /// Usable litres at the start, from 0 to the usable capacity.
    pub usable_at_start_l: f64,
    /// Usable litres with everything full, greater than 0.
    pub usable_capacity_l: f64,
    /// Standard deviation of the vehicle factor, 0 to 1.
    pub vehicle_spread_fraction: f64,
    /// Distribution of the factors.
    pub shape: Shape,
    /// Legs in order, at least one.
    pub legs: Vec<ChanceLeg>,
}

/// Chance for one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct LegChance {
    /// Identifier of the leg.
    pub leg: String,
    /// Chance, 0 to 1, of being short within the interval by the end of this leg. `None` behind a
    /// point with limited fuel: what is aboard there is itself uncertain; sample it.
    pub chance: Option<f64>,
    /// Whether the closed form is exact for the declared shape.
    pub exact: bool,
}

/// Chances over a route.
#[derive(Debug, Clone, PartialEq)]
pub struct ChanceOfShort {
    /// Every leg in order.
    pub legs: Vec<LegChance>,
    /// Chance over the route is at least this: the worst interval.
    pub route_least: Option<f64>,
    /// Chance over the route is at most this: intervals as if independent. They share the vehicle
    /// factor, which only makes them fail together.
    pub route_most: Option<f64>,
}

/// Sums over the legs of one interval so far.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    mean_l: f64,
    own_variance_l2: f64,
    uncertain_legs: usize,
    certain_l: f64,
}

impl Sums {
    fn add(&mut self, leg: &ChanceLeg) {
        self.mean_l += leg.mean_l;
        self.own_variance_l2 += (leg.mean_l * leg.spread_fraction).powi(2);
        if leg.mean_l > 0.0 && leg.spread_fraction > 0.0 {
            self.uncertain_legs += 1;
        } else {
            self.certain_l += leg.mean_l;
        }
    }

    fn exact(&self, shape: Shape) -> bool {
        shape == Shape::Normal
            || self.uncertain_legs == 0
            || (self.uncertain_legs == 1 && self.certain_l == 0.0)
    }

    /// Mean and standard deviation of the burnt litres (normal) or of their logarithm (lognormal).
    fn parameters(&self, shape: Shape, vehicle_spread_fraction: f64) -> (f64, f64) {
        match shape {
            Shape::Normal => {
                let variance = (vehicle_spread_fraction * self.mean_l).powi(2) + self.own_variance_l2;
                (self.mean_l, variance.sqrt())
            }
            Shape::Lognormal => {
                let variance = log_variance(vehicle_spread_fraction)
                    + log_variance(self.own_variance_l2.sqrt() / self.mean_l);
                (self.mean_l.ln() - variance / 2.0, variance.sqrt())
            }
        }
    }

    /// Chance that more than `usable_l` is burnt.
    fn chance(&self, input: &ChanceInput, usable_l: f64) -> f64 {
        if self.mean_l < f64::MIN_POSITIVE {
            return 0.0;
        }
        let (mean, deviation) = self.parameters(input.shape, input.vehicle_spread_fraction);
        let aboard = match input.shape {
            Shape::Normal => usable_l,
            Shape::Lognormal if usable_l <= 0.0 => return 1.0,
            Shape::Lognormal => usable_l.ln(),
        };
        if deviation == 0.0 {
            return if self.mean_l > usable_l { 1.0 } else { 0.0 };
        }
        0.5 * erfc((aboard - mean) / (deviation * std::f64::consts::SQRT_2))
    }
}

/// Variance of the logarithm of a lognormal factor with mean 1 and the given standard deviation.
pub(super) fn log_variance(spread_fraction: f64) -> f64 {
    spread_fraction.powi(2).ln_1p()
}

/// Chance of running short per leg and over the route.
///
/// # Errors
/// Every number out of its range.
pub fn chance_of_running_short(input: &ChanceInput) -> Result<ChanceOfShort, InvalidInput> {
    check_input(input)?;
    let mut usable_l = Some(input.usable_at_start_l);
    let mut sums = Sums::default();
    let mut legs = Vec::with_capacity(input.legs.len());
    let mut of_intervals = Vec::new();
    for (index, leg) in input.legs.iter().enumerate() {
        sums.add(leg);
        let chance = usable_l.map(|usable_l| sums.chance(input, usable_l));
        legs.push(LegChance {
            leg: leg.leg.clone(),
            chance,
            exact: sums.exact(input.shape),
        });
        if leg.refill.is_none() && index + 1 < input.legs.len() {
            continue;
        }
        of_intervals.push(chance);
        sums = Sums::default();
        usable_l = match leg.refill {
            Some(Refill { available_l: None }) => Some(input.usable_capacity_l),
            // Enough to fill even empty tanks is as good as unlimited.
            Some(Refill {
                available_l: Some(litres),
            }) if litres >= input.usable_capacity_l => Some(input.usable_capacity_l),
            _ => None,
        };
    }
    let known: Option<Vec<f64>> = of_intervals.into_iter().collect();
    let none_short = |chances: &Vec<f64>| chances.iter().map(|chance| 1.0 - chance).product::<f64>();
    Ok(ChanceOfShort {
        legs,
        route_least: known
            .as_ref()
            .map(|chances| chances.iter().copied().fold(0.0, f64::max)),
        route_most: known.as_ref().map(|chances| match chances.as_slice() {
            [only] => *only,
            _ => 1.0 - none_short(chances),
        }),
    })
}

/// Usable litres that hold the chance of running short over `legs`, without fuel taken on, to
/// `chance` (greater than 0, less than 1). The refills and litres aboard of the input are not used.
///
/// # Errors
/// Every number out of its range.
pub fn litres_for_chance(input: &ChanceInput, chance: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.merge("", check_input(input));
    check.between("chance", chance, 1e-9, 1.0 - 1e-9);
    check.finish()?;
    let mut sums = Sums::default();
    input.legs.iter().for_each(|leg| sums.add(leg));
    if sums.mean_l < f64::MIN_POSITIVE {
        return Ok(0.0);
    }
    let (mean, deviation) = sums.parameters(input.shape, input.vehicle_spread_fraction);
    let at = mean + deviation * std::f64::consts::SQRT_2 * erfc_inv(2.0 * chance);
    Ok(match input.shape {
        Shape::Normal => at.max(0.0),
        Shape::Lognormal => at.exp(),
    })
}

/// Checks the input of both the closed form and the sampler.
pub(super) fn check_input(input: &ChanceInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.positive("usable_capacity_l", input.usable_capacity_l);
    check.non_negative("usable_at_start_l", input.usable_at_start_l);
    if input.usable_at_start_l > input.usable_capacity_l {
        check.refuse("usable_at_start_l", "must not be more than usable_capacity_l");
    }
    check.between("vehicle_spread_fraction", input.vehicle_spread_fraction, 0.0, 1.0);
    if input.legs.is_empty() || input.legs.len() > LEGS_MAX {
        check.refuse(
            "legs",
            format!("must be 1 to {LEGS_MAX}, are {}", input.legs.len()),
        );
        return check.finish();
    }
    for (index, leg) in input.legs.iter().enumerate() {
        let path = |field| element("legs", index, field);
        check.between(path("mean_l"), leg.mean_l, 0.0, 1e7);
        check.between(path("spread_fraction"), leg.spread_fraction, 0.0, 1.0);
        let together = input.vehicle_spread_fraction.hypot(leg.spread_fraction);
        if input.shape == Shape::Normal && together > 1.0 / 3.0 {
            check.refuse(
                path("spread_fraction"),
                format!(
                    "gives with the vehicle's a spread of {together}, more than 1/3: use the lognormal shape"
                ),
            );
        }
        if let Some(litres) = leg.refill.and_then(|refill| refill.available_l) {
            check.non_negative(path("refill.available_l"), litres);
        }
    }
    check.finish()
}
