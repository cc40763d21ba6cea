//! Litres of water for people over days.
//!
//! `required = people x (rate x (planned days + buffer days) + reserve rate x reserve days)`, the rate
//! being the plan's, or the stated minimum where the plan is below it.
//!
//! Published rates, for judging a policy:
//! - desert parks of South Australia, remote area travel information: at least 6 litres per person
//!   and day, plus a reserve for 3 to 4 days (read);
//! - Sphere handbook 2011, basic needs: drinking 2.5 to 3, hygiene 2 to 6, cooking 3 to 6, together
//!   7.5 to 15 litres per person and day (read in course material that quotes it).

use crate::check::{Check, InvalidInput};

/// Least litres per person and day asked for by the desert parks of South Australia (read).
pub const DESERT_PARKS_LEAST_L_PER_PERSON_DAY: f64 = 6.0;

/// Fewest reserve days asked for by the desert parks of South Australia (read).
pub const DESERT_PARKS_RESERVE_DAYS: f64 = 3.0;

/// Least litres per person and day for drinking, hygiene and cooking, Sphere handbook 2011 (read in
/// course material that quotes it).
pub const SPHERE_LEAST_L_PER_PERSON_DAY: f64 = 7.5;

/// Most people accepted.
pub const PEOPLE_MAX: u32 = 10_000;

/// How much water a party plans with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterPolicy {
    /// Litres per person and day planned, 0 to 200.
    pub plan_l_per_person_day: f64,
    /// Litres per person and day below which no plan may go, 0.1 to 200.
    pub minimum_l_per_person_day: f64,
    /// Days of reserve, 0 to 100.
    pub reserve_days: f64,
    /// Litres per person and day of the reserve, 0 to 200: may be below the minimum, as water for
    /// survival while waiting.
    pub reserve_l_per_person_day: f64,
    /// Days added to every interval for delay, 0 to 100, at the full rate.
    pub buffer_days: f64,
}

/// Water for people over days.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterNeed {
    /// Days counted: planned and buffer.
    pub days_counted: f64,
    /// Litres per person and day used.
    pub rate_l_per_person_day: f64,
    /// Whether the plan was below the minimum and was raised to it.
    pub raised_to_minimum: bool,
    /// Litres for the days counted.
    pub consumption_l: f64,
    /// Litres of reserve.
    pub reserve_l: f64,
    /// Litres in all.
    pub required_l: f64,
}

impl WaterPolicy {
    /// Litres per person and day that are counted: the plan, never below the minimum.
    pub fn rate_l_per_person_day(&self) -> f64 {
        self.plan_l_per_person_day.max(self.minimum_l_per_person_day)
    }

    /// Where the policy stays below its own minimum or published rates.
    pub fn cautions(&self) -> Vec<String> {
        let mut cautions = Vec::new();
        if self.plan_l_per_person_day < self.minimum_l_per_person_day {
            cautions.push(format!(
                "the plan of {} l per person and day is below the minimum; {} is counted",
                self.plan_l_per_person_day, self.minimum_l_per_person_day
            ));
        }
        if self.minimum_l_per_person_day < DESERT_PARKS_LEAST_L_PER_PERSON_DAY {
            cautions.push(format!(
                "the minimum is below the {DESERT_PARKS_LEAST_L_PER_PERSON_DAY} l per person and day that desert park authorities ask for"
            ));
        }
        if self.reserve_days < DESERT_PARKS_RESERVE_DAYS {
            cautions.push(format!(
                "the reserve is for fewer than the {DESERT_PARKS_RESERVE_DAYS} days that desert park authorities ask for"
            ));
        }
        if self.reserve_days > 0.0 && self.reserve_l_per_person_day < self.minimum_l_per_person_day {
            cautions.push(format!(
                "the reserve of {} l per person and day is below the minimum: enough for waiting in shade, not for work",
                self.reserve_l_per_person_day
            ));
        }
        cautions
    }

    /// Checks the numbers of the policy.
    ///
    /// # Errors
    /// Every number out of its range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("plan_l_per_person_day", self.plan_l_per_person_day, 0.0, 200.0);
        check.between(
            "minimum_l_per_person_day",
            self.minimum_l_per_person_day,
            0.1,
            200.0,
        );
        check.between("reserve_days", self.reserve_days, 0.0, 100.0);
        check.between(
            "reserve_l_per_person_day",
            self.reserve_l_per_person_day,
            0.0,
            200.0,
        );
        check.between("buffer_days", self.buffer_days, 0.0, 100.0);
        check.finish()
    }
}

/// Water that `people` need over `planned_days` and the policy's buffer and reserve.
///
/// Nothing is rounded: half a day counts half.
///
/// # Errors
/// Every number out of its range; nobody to drink it, or more than [`PEOPLE_MAX`].
pub fn water_need(policy: &WaterPolicy, people: u32, planned_days: f64) -> Result<WaterNeed, InvalidInput> {
    let mut check = Check::new();
    check.merge("policy", policy.check());
    check.between("people", f64::from(people), 1.0, f64::from(PEOPLE_MAX));
    check.between("planned_days", planned_days, 0.0, 10_000.0);
    check.finish()?;
    let people = f64::from(people);
    let days_counted = planned_days + policy.buffer_days;
    let rate_l_per_person_day = policy.rate_l_per_person_day();
    let consumption_l = people * rate_l_per_person_day * days_counted;
    let reserve_l = people * policy.reserve_l_per_person_day * policy.reserve_days;
    Ok(WaterNeed {
        days_counted,
        rate_l_per_person_day,
        raised_to_minimum: policy.plan_l_per_person_day < policy.minimum_l_per_person_day,
        consumption_l,
        reserve_l,
        required_l: consumption_l + reserve_l,
    })
}
