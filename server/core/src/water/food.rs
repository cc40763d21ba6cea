//! Food aboard against days and reserve.
//!
//! Desert parks of South Australia ask for food for the trip plus 3 to 4 days (remote area travel
//! information, read). How much a person-day weighs is for the quartermaster to state: no published
//! figure was read.

use crate::check::{Check, InvalidInput};
use crate::water::need::PEOPLE_MAX;

/// Most items accepted.
pub const ITEMS_MAX: usize = 10_000;

/// How much food an item is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FoodAmount {
    /// Packed for so many person-days, 0 or more.
    PersonDays(f64),
    /// Net mass, kg, 0 or more.
    MassKg(f64),
}

/// One item of food.
#[derive(Debug, Clone, PartialEq)]
pub struct FoodItem {
    /// Its name.
    pub name: String,
    /// How much it is.
    pub amount: FoodAmount,
}

/// A party with its food.
#[derive(Debug, Clone, PartialEq)]
pub struct FoodInput {
    /// People, at least one.
    pub people: u32,
    /// Days planned until food can be bought, 0 or more.
    pub planned_days: f64,
    /// Days of reserve, 0 or more.
    pub reserve_days: f64,
    /// Kg that feed one person for one day, 0.05 to 10; `None` when nobody stated it.
    pub mass_kg_per_person_day: Option<f64>,
    /// What is aboard.
    pub items: Vec<FoodItem>,
}

/// Food against need.
#[derive(Debug, Clone, PartialEq)]
pub struct FoodCover {
    /// Person-days required, reserve included.
    pub required_person_days: f64,
    /// Person-days aboard.
    pub aboard_person_days: f64,
    /// Aboard less required; negative means short.
    pub balance_person_days: f64,
    /// Days everybody can eat.
    pub days: f64,
}

/// Why food gives no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FoodError {
    /// An input is out of its range.
    #[error(transparent)]
    Invalid(#[from] InvalidInput),
    /// Items are given by mass, and nobody stated what a person-day weighs.
    #[error("not known, missing: mass of a person-day, for {}", .items.join(", "))]
    NotKnown {
        /// The items given by mass.
        items: Vec<String>,
    },
}

/// Sets the food aboard against days and reserve.
///
/// # Errors
/// [`FoodError::Invalid`] with every violation; [`FoodError::NotKnown`] naming the items whose mass
/// cannot be turned into person-days.
pub fn food_cover(input: &FoodInput) -> Result<FoodCover, FoodError> {
    check_input(input)?;
    let mut aboard_person_days = 0.0;
    let mut unknown = Vec::new();
    for item in &input.items {
        match (item.amount, input.mass_kg_per_person_day) {
            (FoodAmount::PersonDays(person_days), _) => aboard_person_days += person_days,
            (FoodAmount::MassKg(mass_kg), Some(per_person_day)) => {
                aboard_person_days += mass_kg / per_person_day
            }
            (FoodAmount::MassKg(_), None) => unknown.push(item.name.clone()),
        }
    }
    if !unknown.is_empty() {
        return Err(FoodError::NotKnown { items: unknown });
    }
    let people = f64::from(input.people);
    let required_person_days = people * (input.planned_days + input.reserve_days);
    Ok(FoodCover {
        required_person_days,
        aboard_person_days,
        balance_person_days: aboard_person_days - required_person_days,
        days: aboard_person_days / people,
    })
}

fn check_input(input: &FoodInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("people", f64::from(input.people), 1.0, f64::from(PEOPLE_MAX));
    check.between("planned_days", input.planned_days, 0.0, 10_000.0);
    check.between("reserve_days", input.reserve_days, 0.0, 1_000.0);
    if let Some(per_person_day) = input.mass_kg_per_person_day {
        check.between("mass_kg_per_person_day", per_person_day, 0.05, 10.0);
    }
    if input.items.len() > ITEMS_MAX {
        check.refuse(
            "items",
            format!("must be at most {ITEMS_MAX}, are {}", input.items.len()),
        );
        return check.finish();
    }
    for (index, item) in input.items.iter().enumerate() {
        match item.amount {
            FoodAmount::PersonDays(days) => {
                check.non_negative(format_args!("items[{index}].person_days"), days)
            }
            FoodAmount::MassKg(mass) => check.non_negative(format_args!("items[{index}].mass_kg"), mass),
        }
    }
    check.finish()
}
