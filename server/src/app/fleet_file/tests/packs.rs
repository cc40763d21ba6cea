//! The shipped rule packs: each reads, is whole, and makes of facts what its sources say.

use std::collections::BTreeMap;

use ostler_core::record::{Fact, FactType, Id, RulePack};
use ostler_core::rules::{CheckedPack, Classification, check_pack, classify};
use proptest::prelude::*;

use super::demo::record_of;
use super::{file, read_text};

const BEFORE: &str = include_str!("../../../../packs/lift-limits-2018-before.yaml");
const AFTER: &str = include_str!("../../../../packs/lift-limits-2018-after.yaml");
const PRACTICE: &str = include_str!("../../../../packs/common-practice.yaml");

fn pack(text: &str) -> CheckedPack {
    let indented: String = text.lines().map(|line| format!("    {line}\n")).collect();
    let read = read_text(&file(&format!("rule_packs:\n  shipped:\n{indented}")));
    let record = record_of(&read);
    let pack: RulePack = record.rule_packs.values().next().unwrap().clone();
    check_pack(pack).unwrap_or_else(|refused| panic!("{refused}"))
}

fn facts(of: &[(&str, Fact)]) -> BTreeMap<Id, Fact> {
    of.iter()
        .map(|(fact, value)| (Id::new(*fact).unwrap(), value.clone()))
        .collect()
}

/// The category, and the kinds of what it demands.
fn made_of(pack: &CheckedPack, topic: &str, facts: &BTreeMap<Id, Fact>) -> (String, Vec<String>) {
    let topic = pack.topic(topic).unwrap();
    match classify(&topic, facts).unwrap() {
        Classification::Determined { category } => {
            let found = topic.topic().categories.iter().find(|found| found.id == category);
            let demands = found.unwrap().demands.iter().map(|demand| demand.id.to_string());
            (category.to_string(), demands.collect())
        }
        Classification::Undetermined { .. } => ("undetermined".to_owned(), Vec::new()),
    }
}

/// Limits in millimetres before and after the change of 26 October 2018: 50 with and 75 without stability control
/// need no certificate and 125 could be certified; then 75, of which 50 suspension with stability control, and 150
/// (government page and minister's release of 20 September 2018, both read).
#[test]
fn lift_limits_changed_on_their_day() {
    let (before, after) = (pack(BEFORE), pack(AFTER));
    assert!(before.pack().effective_date < after.pack().effective_date);
    assert_eq!(after.pack().effective_date.to_string(), "2018-10-26");
    for (lift_mm, suspension_mm, controlled, was, is) in [
        (50.0, 50.0, true, "uncertified", "uncertified"),
        (75.0, 50.0, true, "certified", "uncertified"),
        (75.0, 60.0, true, "certified", "certified"),
        (75.0, 75.0, false, "uncertified", "uncertified"),
        (76.0, 50.0, false, "certified", "certified"),
        (125.0, 100.0, true, "certified", "certified"),
        (126.0, 100.0, true, "not_certifiable", "certified"),
        (150.0, 120.0, false, "not_certifiable", "certified"),
        (151.0, 120.0, false, "not_certifiable", "not_certifiable"),
    ] {
        let facts = facts(&[
            ("lift_mm", Fact::Number(lift_mm)),
            ("suspension_lift_mm", Fact::Number(suspension_mm)),
            ("stability_control", Fact::YesNo(controlled)),
        ]);
        for (pack, category) in [(&before, was), (&after, is)] {
            let demands: &[&str] = match category {
                "certified" => &["modification_certificate"],
                "not_certifiable" => &["lift_limit"],
                _ => &[],
            };
            let (found, demanded) = made_of(pack, "suspension-lift", &facts);
            assert_eq!(
                (
                    found.as_str(),
                    demanded.iter().map(String::as_str).collect::<Vec<_>>()
                ),
                (category, demands.to_vec()),
                "{facts:?}"
            );
        }
    }
}

#[test]
fn common_practice_is_cautious() {
    let pack = pack(PRACTICE);
    let yes = Fact::YesNo;
    for (topic, of, category) in [
        (
            "suspension-lift",
            facts(&[
                ("lift_mm", Fact::Number(46.0)),
                ("tyre_diameter_increase_mm", Fact::Number(0.0)),
            ]),
            "small",
        ),
        (
            "suspension-lift",
            facts(&[("lift_mm", Fact::Number(51.0))]),
            "large",
        ),
        (
            "suspension-lift",
            facts(&[("lift_mm", Fact::Number(46.0))]),
            "undetermined",
        ),
        ("fuel-tank", facts(&[("plumbed", yes(true))]), "fixed"),
        (
            "fuel-tank",
            facts(&[
                ("plumbed", yes(false)),
                ("removable_without_tools", yes(true)),
                ("restrained", yes(true)),
                ("in_occupant_space", yes(false)),
            ]),
            "container",
        ),
        (
            "fuel-tank",
            facts(&[
                ("plumbed", yes(false)),
                ("removable_without_tools", yes(true)),
                ("restrained", yes(false)),
            ]),
            "unsafe_container",
        ),
        (
            "roof-load",
            facts(&[
                ("roof_total_kg", Fact::Number(151.0)),
                ("roof_limit_kg", Fact::Number(150.0)),
            ]),
            "over",
        ),
        (
            "roof-load",
            facts(&[
                ("roof_total_kg", Fact::Number(150.0)),
                ("roof_limit_kg", Fact::Number(150.0)),
            ]),
            "within",
        ),
    ] {
        assert_eq!(made_of(&pack, topic, &of).0, category, "{topic} {of:?}");
    }
    let seen = pack.pack().topics.iter().flat_map(|topic| &topic.categories);
    assert!(
        seen.into_iter()
            .all(|category| category.source.seen.contains("no source"))
    );
}

proptest! {
    /// Whole sets of facts always have a category; sets with gaps have one or say that they are undetermined.
    #[test]
    fn no_set_of_facts_falls_between(numbers in prop::collection::vec(prop::option::of(-10.0..300.0_f64), 12), flags in prop::collection::vec(prop::option::of(any::<bool>()), 12)) {
        for text in [BEFORE, AFTER, PRACTICE] {
            let pack = pack(text);
            let mut known = BTreeMap::new();
            let declared = &pack.pack().facts;
            for (index, fact) in declared.iter().enumerate() {
                let value = match fact.fact_type {
                    FactType::Number => numbers[index].map(Fact::Number),
                    _ => flags[index].map(Fact::YesNo),
                };
                known.extend(value.map(|value| (fact.id.clone(), value)));
            }
            let whole = known.len() == declared.len();
            for topic in &pack.pack().topics {
                let (category, _) = made_of(&pack, &topic.id, &known);
                prop_assert!(!whole || category != "undetermined", "{} {known:?}", topic.id);
            }
        }
    }
}
