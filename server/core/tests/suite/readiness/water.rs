//! The gate of water and food.

use ostler_core::answer::Answer;
use ostler_core::readiness::{Gate, Readiness};
use ostler_core::record::{CargoItem, FoodPlan, SupplyGate, WaterLossRule, WaterPlan};

use super::fixture::{of, ready};
use crate::builder::{add_cargo, cargo, fill, kg};

fn water(readiness: &Readiness) -> &Gate {
    readiness.gates.iter().find(|gate| gate.id == "water").unwrap()
}

/// One person, two legs of two days and one of buffer at 7 l, three days of reserve at 4 l: 47 l (own
/// calculation). 2 l stay in the tank.
#[test]
fn water_is_met_with_just_enough_and_not_met_below() {
    for (litres, expected) in [(49.0, Answer::Met), (48.9, Answer::NotMet)] {
        let (record, mut departure) = ready();
        departure.vehicles[0].fills[1] = fill("water", litres);
        let readiness = of(&record, &departure);
        assert_eq!(water(&readiness).answer, expected, "{litres} l");
    }
}

#[test]
fn a_plan_below_the_minimum_is_raised_to_it() {
    let (record, mut departure) = ready();
    departure.policy.water_plan_l_per_person_day = Some(1.0);
    // Five days at 6 l and 12 l of reserve: 42 l.
    departure.vehicles[0].fills[1] = fill("water", 43.9);
    assert_eq!(water(&of(&record, &departure)).answer, Answer::NotMet);
    departure.vehicles[0].fills[1] = fill("water", 44.1);
    assert_eq!(water(&of(&record, &departure)).answer, Answer::Met);
}

#[test]
fn a_loss_that_is_not_survived_is_what_the_policy_says() {
    for (rule, expected) in [
        (WaterLossRule::Shown, Answer::Met),
        (WaterLossRule::Condition, Answer::MetWithConditions),
        (WaterLossRule::Required, Answer::NotMet),
    ] {
        let (record, mut departure) = ready();
        departure.policy.water.as_mut().unwrap().largest_loss = rule;
        let readiness = of(&record, &departure);
        assert_eq!(water(&readiness).answer, expected);
        let said = |finding: &ostler_core::readiness::Finding| finding.text.contains("largest container");
        assert!(water(&readiness).findings.iter().any(said));
    }
}

#[test]
fn every_number_of_the_plan_that_is_missing_makes_it_not_known() {
    let forgets: [fn(&mut WaterPlan); 4] = [
        |plan| plan.minimum_l_per_person_day = None,
        |plan| plan.reserve_days = None,
        |plan| plan.reserve_l_per_person_day = None,
        |plan| plan.buffer_days = None,
    ];
    for forget in forgets {
        let (record, mut departure) = ready();
        forget(departure.policy.water.as_mut().unwrap());
        let readiness = of(&record, &departure);
        assert_eq!(water(&readiness).answer, Answer::NotKnown);
        assert_eq!(water(&readiness).findings[0].missing.len(), 1);
    }
    let (record, mut departure) = ready();
    departure.policy.water = None;
    assert_eq!(water(&of(&record, &departure)).answer, Answer::NotKnown);
    departure.policy.gates_not_asked.insert(SupplyGate::Water);
    assert_eq!(water(&of(&record, &departure)).answer, Answer::Met);
}

#[test]
fn food_is_asked_about_only_where_the_policy_has_a_plan() {
    let (mut record, mut departure) = ready();
    departure.policy.food = Some(FoodPlan {
        reserve_days: 3.0,
        mass_kg_per_person_day: Some(0.8),
    });
    // Four days and three of reserve for one person at 0.8 kg: 5.6 kg (own calculation).
    assert_eq!(water(&of(&record, &departure)).answer, Answer::NotMet);
    let mut crate_of = |mass_kg| {
        add_cargo(
            &mut record,
            CargoItem {
                category: "food".to_owned(),
                consumed: true,
                restraint: Some(crate::builder::held_by(1_000.0)),
                ..cargo("food", "v1", "rear", kg(mass_kg, 0.1))
            },
        );
        water(&of(&record, &departure)).answer
    };
    assert_eq!(crate_of(5.5), Answer::NotMet);
    assert_eq!(crate_of(5.7), Answer::Met);
    departure.policy.food.as_mut().unwrap().mass_kg_per_person_day = None;
    assert_eq!(water(&of(&record, &departure)).answer, Answer::NotKnown);
}
