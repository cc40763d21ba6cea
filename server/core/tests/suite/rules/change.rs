//! The smallest change of facts to each other category.

use std::collections::BTreeMap;

use ostler_core::record::{Fact, Id};
use ostler_core::rules::{
    CategoryChange, CheckedPack, Classification, check_pack, classify, smallest_changes,
};
use proptest::prelude::*;

use super::jurisdiction::orrin_basin;
use super::{NO, YES, conditions, facts, id};

fn changes(pack: &CheckedPack, topic: &str, known: &BTreeMap<Id, Fact>) -> Vec<CategoryChange> {
    smallest_changes(&pack.topic(topic).unwrap(), known).unwrap()
}

fn applied(known: &BTreeMap<Id, Fact>, change: &CategoryChange) -> BTreeMap<Id, Fact> {
    let mut changed = known.clone();
    for step in &change.changes {
        changed.insert(step.fact.clone(), step.to.clone());
    }
    changed
}

#[test]
fn a_bolted_tank_is_two_facts_away_from_a_container() {
    let pack = check_pack(orrin_basin()).unwrap();
    let tank = facts([
        ("maker_fitted", NO),
        ("original_position", NO),
        ("removable_without_tools", NO),
        ("plumbed", YES),
        ("approved_container", YES),
        ("restrained", YES),
        ("petrol", NO),
        ("in_occupant_space", YES),
        ("packaged_petrol_l", Fact::Number(0.0)),
        ("packaged_diesel_l", Fact::Number(210.0)),
    ]);
    let found = changes(&pack, "fuel-tank", &tank);
    let container = found
        .iter()
        .find(|change| &*change.category == "container")
        .unwrap();
    let steps: Vec<_> = container
        .changes
        .iter()
        .map(|step| (&*step.fact, step.to.clone()))
        .collect();
    assert_eq!(steps, [("removable_without_tools", YES), ("plumbed", NO)]);
    let original = found
        .iter()
        .find(|change| &*change.category == "original")
        .unwrap();
    assert_eq!(original.changes.len(), 1);
    for change in &found {
        let reached = classify(&pack.topic("fuel-tank").unwrap(), &applied(&tank, change)).unwrap();
        assert_eq!(
            reached,
            Classification::Determined {
                category: change.category.clone()
            }
        );
    }
}

#[test]
fn numbers_move_no_further_than_to_the_limit() {
    let pack = check_pack(orrin_basin()).unwrap();
    let lifted = facts([
        ("lift_mm", Fact::Number(75.0)),
        ("tyre_diameter_increase_mm", Fact::Number(0.0)),
        ("travel_kept_fraction", Fact::Number(0.8)),
    ]);
    let found = changes(&pack, "suspension-lift", &lifted);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].changes[0].to, Fact::Number(50.0));
    assert_eq!(found[0].changes[0].from, Some(Fact::Number(75.0)));
    let loaded = facts([
        ("roof_total_kg", Fact::Number(180.0)),
        ("roof_limit_kg", Fact::Number(200.0)),
        ("rack_load_kg", Fact::Number(125.0)),
        ("rack_rating_kg", Fact::Number(150.0)),
    ]);
    let found = changes(&pack, "roof-load", &loaded);
    assert_eq!(&*found[0].changes[0].fact, "rack_load_kg");
    assert_eq!(found[0].changes[0].to, Fact::Number(100.0));
}

#[test]
fn facts_that_are_missing_are_part_of_the_change() {
    let pack = check_pack(conditions(&[
        "load_kg + rating_kg > 10",
        "load_kg + rating_kg <= 10",
    ]))
    .unwrap();
    let found = changes(&pack, "topic", &BTreeMap::new());
    assert_eq!(found.len(), 2);
    for change in found {
        assert_eq!(change.changes.len(), 2);
        assert!(change.changes.iter().all(|step| step.from.is_none()));
    }
}

/// Values that stand for all values of the small packs' facts in the conditions below.
fn values_of(fact: &str) -> Vec<Fact> {
    match fact {
        "bolted" | "plumbed" => vec![NO, YES],
        "fuel" => ["diesel", "petrol", "gas"]
            .map(|text| Fact::Text(text.to_owned()))
            .to_vec(),
        _ => [-1.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0]
            .map(Fact::Number)
            .to_vec(),
    }
}

const SMALL: [&str; 4] = ["bolted", "plumbed", "lift_mm", "fuel"];

fn every_fact_set() -> Vec<BTreeMap<Id, Fact>> {
    SMALL.iter().fold(vec![BTreeMap::new()], |sets, fact| {
        sets.iter()
            .flat_map(|set| {
                values_of(fact).into_iter().map(|value| {
                    let mut set = set.clone();
                    set.insert(id(fact), value);
                    set
                })
            })
            .collect()
    })
}

fn atom() -> impl Strategy<Value = String> {
    prop::sample::select(vec![
        "bolted",
        "!bolted",
        "plumbed",
        "lift_mm <= 10",
        "lift_mm > 10",
        "lift_mm < 20",
        "lift_mm == 0",
        "fuel == 'diesel'",
        "fuel in ['diesel', 'petrol']",
    ])
    .prop_map(str::to_owned)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Against every set of facts there is: no other set in the category changes fewer facts.
    #[test]
    fn no_smaller_change_exists(
        first in prop::collection::vec(atom(), 1..4),
        second in prop::collection::vec(atom(), 1..4),
        start in 0_usize..84,
    ) {
        let (a, b) = (first.join(" && "), second.join(" || "));
        let made = conditions(&[&a, &format!("!({a}) && ({b})"), &format!("!({a}) && !({b})")]);
        // A category that no facts reach is refused; nothing to compare then.
        let Ok(pack) = check_pack(made) else { return Ok(()) };
        let topic = pack.topic("topic").unwrap();
        let every = every_fact_set();
        let now = &every[start];
        let category = |set: &BTreeMap<Id, Fact>| match classify(&topic, set).unwrap() {
            Classification::Determined { category } => category,
            undetermined => panic!("{undetermined:?}"),
        };
        for change in changes(&pack, "topic", now) {
            let fewest = every
                .iter()
                .filter(|set| category(set) == change.category)
                .map(|set| set.iter().filter(|(fact, value)| now.get(*fact) != Some(value)).count())
                .min();
            prop_assert_eq!(category(&applied(now, &change)), change.category.clone());
            prop_assert_eq!(Some(change.changes.len()), fewest, "{} to {}", a, change.category);
            prop_assert!(!change.cut_off);
        }
    }
}
