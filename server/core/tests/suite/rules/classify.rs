//! Categories from facts of which some are missing.

use std::collections::BTreeMap;

use ostler_core::record::{Fact, Id};
use ostler_core::rules::{CheckedPack, Classification, check_pack, classify};
use proptest::prelude::*;

use super::jurisdiction::orrin_basin;
use super::{NO, YES, conditions, facts, id};

fn determined(category: &str) -> Classification {
    Classification::Determined {
        category: id(category),
    }
}

fn undetermined(possible: &[&str], missing: &[&str]) -> Classification {
    Classification::Undetermined {
        possible: possible.iter().map(|text| id(text)).collect(),
        missing_facts: missing.iter().map(|text| id(text)).collect(),
    }
}

fn of(pack: &CheckedPack, topic: &str, facts: &BTreeMap<Id, Fact>) -> Classification {
    classify(&pack.topic(topic).unwrap(), facts).unwrap()
}

/// The bolted and plumbed tank of the demonstration fleet.
fn bolted_tank() -> BTreeMap<Id, Fact> {
    facts([
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
    ])
}

#[test]
fn a_bolted_tank_becomes_a_container_when_it_is_removable_and_not_plumbed() {
    let pack = check_pack(orrin_basin()).unwrap();
    let mut tank = bolted_tank();
    assert_eq!(of(&pack, "fuel-tank", &tank), determined("fixed_additional"));
    let demands = |category: &str| {
        let topic = pack.topic("fuel-tank").unwrap();
        let category = topic.category(category).unwrap();
        category
            .demands
            .iter()
            .map(|demand| demand.id.to_string())
            .collect::<Vec<_>>()
    };
    assert_eq!(demands("fixed_additional"), ["engineer_certificate"]);
    tank.insert(id("removable_without_tools"), YES);
    tank.insert(id("plumbed"), NO);
    assert_eq!(of(&pack, "fuel-tank", &tank), determined("container"));
    assert!(!demands("container").contains(&"engineer_certificate".to_owned()));
    for removed in ["removable_without_tools", "plumbed"] {
        let mut fewer = tank.clone();
        fewer.remove(removed);
        assert_eq!(
            of(&pack, "fuel-tank", &fewer),
            undetermined(&["fixed_additional", "container"], &[removed])
        );
    }
}

#[test]
fn a_missing_fact_that_does_not_matter_leaves_it_determined() {
    let pack = check_pack(orrin_basin()).unwrap();
    let mut tank = bolted_tank();
    for fact in [
        "approved_container",
        "restrained",
        "petrol",
        "packaged_diesel_l",
        "removable_without_tools",
    ] {
        tank.remove(fact);
        assert_eq!(
            of(&pack, "fuel-tank", &tank),
            determined("fixed_additional"),
            "{fact}"
        );
    }
    tank.remove("original_position");
    assert_eq!(
        of(&pack, "fuel-tank", &tank),
        undetermined(&["replacement", "fixed_additional"], &["original_position"])
    );
}

/// Facts, category and demands of the invented rules R3 to R9, by their text.
#[test]
fn the_invented_rules_give_the_categories_of_their_text() {
    let pack = check_pack(orrin_basin()).unwrap();
    let lift = |lift_mm, tyres_mm, kept| {
        facts([
            ("lift_mm", Fact::Number(lift_mm)),
            ("tyre_diameter_increase_mm", Fact::Number(tyres_mm)),
            ("travel_kept_fraction", Fact::Number(kept)),
        ])
    };
    let roof = |total, limit, load, rating| {
        facts([
            ("roof_total_kg", Fact::Number(total)),
            ("roof_limit_kg", Fact::Number(limit)),
            ("rack_load_kg", Fact::Number(load)),
            ("rack_rating_kg", Fact::Number(rating)),
        ])
    };
    let gross = |gross_mass_kg| facts([("gross_mass_kg", Fact::Number(gross_mass_kg))]);
    let cases = [
        ("suspension-lift", lift(46.0, 0.0, 0.7), "small"),
        ("suspension-lift", lift(50.0, 50.0, 0.67), "small"),
        ("suspension-lift", lift(50.1, 0.0, 0.9), "large"),
        ("suspension-lift", lift(40.0, 0.0, 0.6), "large"),
        ("suspension-lift", lift(0.0, 51.0, 1.0), "large"),
        ("roof-load", roof(82.5, 150.0, 44.5, 130.0), "within"),
        ("roof-load", roof(136.0, 200.0, 81.0, 150.0), "within"),
        ("roof-load", roof(136.0, 200.0, 101.0, 150.0), "over"),
        ("roof-load", roof(201.0, 200.0, 10.0, 150.0), "over"),
        ("driver-licence", gross(3800.0), "ordinary"),
        ("driver-licence", gross(6500.0), "heavier"),
        ("seats", facts([("seats_removed", NO)]), "complete"),
        (
            "seats",
            facts([
                ("seats_removed", YES),
                ("removed_indefinitely", NO),
                ("quick_release", NO),
            ]),
            "temporary",
        ),
        ("gas-cylinder", facts([("in_occupant_space", YES)]), "not_allowed"),
        ("inspection", facts([("enters_reserve", YES)]), "required"),
    ];
    for (topic, facts, category) in cases {
        assert_eq!(
            of(&pack, topic, &facts),
            determined(category),
            "{topic} {facts:?}"
        );
    }
}

/// A rule over two numbers becomes a rule over one as soon as the other is known.
#[test]
fn sums_are_decided_as_far_as_they_are_known() {
    let pack = check_pack(conditions(&[
        "load_kg <= 0.5 * rating_kg && rating_kg <= 100",
        "load_kg > 0.5 * rating_kg && rating_kg <= 100",
        "rating_kg > 100",
    ]))
    .unwrap();
    let load = |load_kg| facts([("load_kg", Fact::Number(load_kg))]);
    assert_eq!(
        of(&pack, "topic", &load(51.0)),
        undetermined(&["c1", "c2"], &["rating_kg"])
    );
    assert_eq!(
        of(&pack, "topic", &load(50.0)),
        undetermined(&["c0", "c1", "c2"], &["rating_kg"])
    );
    let rating = facts([("rating_kg", Fact::Number(101.0))]);
    assert_eq!(of(&pack, "topic", &rating), determined("c2"));
}

/// A fact that conditions mention but that changes nothing is not asked for.
#[test]
fn only_facts_that_decide_are_asked_for() {
    let pack = check_pack(conditions(&[
        "(bolted && plumbed) || (bolted && !plumbed && lift_mm < 5) || (bolted && !plumbed && lift_mm >= 5)",
        "!bolted",
    ]))
    .unwrap();
    assert_eq!(
        of(&pack, "topic", &BTreeMap::new()),
        undetermined(&["c0", "c1"], &["bolted"])
    );
    assert_eq!(of(&pack, "topic", &facts([("bolted", YES)])), determined("c0"));
}

#[test]
fn too_many_cases_are_undetermined() {
    let all: Vec<String> = (0..9)
        .map(|limit| format!("[lift_mm, load_kg, rating_kg].all(x, x != {limit})"))
        .collect();
    let when = all.join(" && ");
    let negation = format!("!({when})");
    let pack = check_pack(conditions(&[
        &format!("({when}) && bolted"),
        &format!("({negation}) || !bolted"),
    ]))
    .unwrap();
    // 19 cases of each number: 6,859, times two.
    assert_eq!(
        of(&pack, "topic", &BTreeMap::new()),
        undetermined(&["c0", "c1"], &["bolted", "lift_mm", "load_kg", "rating_kg"])
    );
    assert_eq!(of(&pack, "topic", &facts([("bolted", NO)])), determined("c1"));
}

#[test]
fn facts_of_the_wrong_type_are_refused() {
    let pack = check_pack(conditions(&["lift_mm > 1", "lift_mm <= 1"])).unwrap();
    for wrong in [
        YES,
        Fact::Number(f64::NAN),
        Fact::Number(f64::INFINITY),
        Fact::Text("1".to_owned()),
    ] {
        let refused = classify(&pack.topic("topic").unwrap(), &facts([("lift_mm", wrong)])).unwrap_err();
        assert_eq!(refused.violations[0].field, "facts[lift_mm]");
    }
}

/// Facts of one topic, some of them missing.
fn tank_facts() -> impl Strategy<Value = BTreeMap<Id, Fact>> {
    let yes_no = || prop::option::of(any::<bool>());
    let litres = || {
        prop::option::of(prop::sample::select(vec![
            0.0, 249.0, 250.0, 250.5, 499.0, 500.0, 501.0,
        ]))
    };
    (prop::collection::vec(yes_no(), 8), litres(), litres()).prop_map(|(flags, petrol, diesel)| {
        let names = [
            "maker_fitted",
            "original_position",
            "removable_without_tools",
            "plumbed",
            "approved_container",
            "restrained",
            "petrol",
            "in_occupant_space",
        ];
        let flags = names
            .iter()
            .zip(flags)
            .filter_map(|(fact, value)| Some((id(fact), Fact::YesNo(value?))));
        let petrol = petrol.map(|litres| (id("packaged_petrol_l"), Fact::Number(litres)));
        let diesel = diesel.map(|litres| (id("packaged_diesel_l"), Fact::Number(litres)));
        flags.chain(petrol).chain(diesel).collect()
    })
}

proptest! {
    /// With every fact known there is exactly one category; with some missing there is one, or the
    /// answer is undetermined with at least two still possible and a missing fact that decides.
    #[test]
    fn one_category_or_an_honest_undetermined(known in tank_facts()) {
        let pack = check_pack(orrin_basin()).unwrap();
        match of(&pack, "fuel-tank", &known) {
            Classification::Determined { .. } => {}
            Classification::Undetermined { possible, missing_facts } => {
                prop_assert!(possible.len() >= 2);
                prop_assert!(!missing_facts.is_empty());
                prop_assert!(missing_facts.iter().all(|fact| !known.contains_key(fact)));
                prop_assert!(known.len() < 10);
            }
        }
    }

    /// One more fact never moves a determined item to another category, and never makes an impossible
    /// category possible.
    #[test]
    fn more_facts_never_overturn_an_answer(all in tank_facts(), kept in prop::collection::vec(any::<bool>(), 10)) {
        let pack = check_pack(orrin_basin()).unwrap();
        let fewer: BTreeMap<_, _> =
            all.iter().zip(kept).filter(|(_, kept)| *kept).map(|((fact, value), _)| (fact.clone(), value.clone())).collect();
        match (of(&pack, "fuel-tank", &fewer), of(&pack, "fuel-tank", &all)) {
            (before @ Classification::Determined { .. }, after) => prop_assert_eq!(before, after),
            (Classification::Undetermined { possible, .. }, Classification::Determined { category }) => {
                prop_assert!(possible.contains(&category));
            }
            (Classification::Undetermined { possible: before, .. }, Classification::Undetermined { possible, .. }) => {
                prop_assert!(possible.iter().all(|category| before.contains(category)));
            }
        }
    }
}
