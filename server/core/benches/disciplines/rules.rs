//! Benchmarks of `ostler_core::rules`.

#![expect(clippy::expect_used, reason = "a benchmark without its input cannot go on")]

use std::collections::BTreeMap;

use divan::{Bencher, black_box};
use ostler_core::record::{
    Date, Fact, FactDeclaration, FactType, Id, Name, RuleCategory, RuleGate, RulePack, RuleSource, RuleTopic,
};
use ostler_core::rules::{check_pack, classify, smallest_changes};

fn id(text: &str) -> Id {
    Id::new(text).expect("an id")
}

fn pack() -> RulePack {
    let yes_no = [
        "maker_fitted",
        "original_position",
        "removable",
        "plumbed",
        "approved",
        "restrained",
    ];
    let facts = yes_no
        .map(|fact| (fact, FactType::YesNo))
        .into_iter()
        .chain([("petrol_l", FactType::Number)]);
    let fixed = "(plumbed || !removable)";
    let kept = "approved && restrained && petrol_l <= 250";
    let conditions = [
        ("original", "maker_fitted".to_owned()),
        (
            "replacement",
            format!("!maker_fitted && original_position && {fixed}"),
        ),
        (
            "additional",
            format!("!maker_fitted && !original_position && {fixed}"),
        ),
        ("container", format!("!maker_fitted && !{fixed} && {kept}")),
        ("refused", format!("!maker_fitted && !{fixed} && !({kept})")),
    ];
    let category = |(category, when): (&str, String)| RuleCategory {
        id: id(category),
        display_name: category.to_owned(),
        when,
        demands: Vec::new(),
        source: RuleSource {
            text: "bench".to_owned(),
            seen: "invented".to_owned(),
        },
    };
    RulePack {
        name: Name::new("fleets/bench/rulePacks/bench").expect("a name"),
        display_name: String::new(),
        jurisdiction: String::new(),
        version: "1".to_owned(),
        effective_date: Date::constant(2027, 1, 1),
        facts: facts
            .map(|(fact, fact_type)| FactDeclaration {
                id: id(fact),
                fact_type,
                question: "Which?".to_owned(),
                from_record: None,
            })
            .collect(),
        topics: vec![RuleTopic {
            id: id("tank"),
            display_name: String::new(),
            gate: RuleGate::Rules,
            categories: conditions.into_iter().map(category).collect(),
        }],
        caution: String::new(),
    }
}

/// Reading and proving a topic of five categories over seven facts.
#[divan::bench]
fn check_a_topic(bencher: Bencher) {
    let pack = pack();
    bencher.bench_local(|| check_pack(black_box(pack.clone())));
}

/// Classifying with three of seven facts known.
#[divan::bench]
fn classify_with_missing_facts(bencher: Bencher) {
    let pack = check_pack(pack()).expect("a sound pack");
    let facts = ["approved", "restrained", "removable"].map(|fact| (id(fact), Fact::YesNo(true)));
    let facts = BTreeMap::from(facts);
    let topic = pack.topic("tank").expect("the topic");
    bencher.bench_local(|| classify(&topic, black_box(&facts)));
}

/// The smallest changes to four categories.
#[divan::bench]
fn find_smallest_changes(bencher: Bencher) {
    let pack = check_pack(pack()).expect("a sound pack");
    let facts = ["approved", "restrained", "plumbed"].map(|fact| (id(fact), Fact::YesNo(true)));
    let mut facts = BTreeMap::from(facts);
    facts.extend(
        ["maker_fitted", "original_position", "removable"].map(|fact| (id(fact), Fact::YesNo(false))),
    );
    facts.insert(id("petrol_l"), Fact::Number(0.0));
    let topic = pack.topic("tank").expect("the topic");
    bencher.bench_local(|| smallest_changes(&topic, black_box(&facts)));
}

/// The dearest pack that is refused for the steps of its proof: what a hostile pack can cost.
#[divan::bench(sample_count = 5)]
fn refuse_a_pack_of_too_many_steps(bencher: Bencher) {
    let mut hostile = pack();
    hostile.facts = (0..17)
        .map(|index| FactDeclaration {
            id: id(&format!("f{index}")),
            fact_type: FactType::YesNo,
            question: "Which?".to_owned(),
            from_record: None,
        })
        .collect();
    let any: Vec<String> = (0..17).map(|index| format!("f{index}")).collect();
    let (when, otherwise) = (any.join(" || "), format!("!({})", any.join(" || ")));
    if let Some(topic) = hostile.topics.first_mut() {
        topic.categories.truncate(2);
        for (category, when) in topic.categories.iter_mut().zip([when, otherwise]) {
            category.when = when;
        }
        let topics = (0..200).map(|index| RuleTopic {
            id: id(&format!("t{index}")),
            ..topic.clone()
        });
        hostile.topics = topics.collect();
    }
    bencher.bench_local(|| check_pack(black_box(hostile.clone())));
}
