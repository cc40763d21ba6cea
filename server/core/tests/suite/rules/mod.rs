//! Rule packs: what is refused, what is classified, what is demanded, what would change it.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "functions shared by tests stop a test that cannot go on"
)]

mod change;
mod classify;
mod demand;
mod expression;
mod jurisdiction;
mod pack;

use std::collections::BTreeMap;

use ostler_core::record::{
    Date, Demand, DemandKind, Fact, FactDeclaration, FactType, Id, Name, RuleCategory, RuleGate, RulePack,
    RuleSource, RuleTopic,
};

pub(crate) fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

pub(crate) fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

pub(crate) fn date(text: &str) -> Date {
    text.parse().unwrap()
}

pub(crate) fn facts<const N: usize>(known: [(&str, Fact); N]) -> BTreeMap<Id, Fact> {
    known.into_iter().map(|(fact, value)| (id(fact), value)).collect()
}

pub(crate) const YES: Fact = Fact::YesNo(true);
pub(crate) const NO: Fact = Fact::YesNo(false);

fn fact(fact_id: &str, fact_type: FactType) -> FactDeclaration {
    FactDeclaration {
        id: id(fact_id),
        fact_type,
        question: format!("What is {fact_id}?"),
        from_record: None,
    }
}

fn category(category_id: &str, when: &str, demands: Vec<Demand>) -> RuleCategory {
    RuleCategory {
        id: id(category_id),
        display_name: category_id.replace(['_', '-'], " "),
        when: when.to_owned(),
        demands,
        source: RuleSource {
            text: "rule of the test".to_owned(),
            seen: "invented".to_owned(),
        },
    }
}

fn evidence_of(demand_id: &str) -> Demand {
    Demand {
        id: id(demand_id),
        display_name: demand_id.replace('_', " "),
        kind: DemandKind::Evidence,
        carried: false,
        max_age_days: None,
        valid_until_return: false,
    }
}

fn topic(topic_id: &str, categories: Vec<RuleCategory>) -> RuleTopic {
    RuleTopic {
        id: id(topic_id),
        display_name: topic_id.to_owned(),
        gate: RuleGate::Rules,
        categories,
    }
}

fn pack(facts: Vec<FactDeclaration>, topics: Vec<RuleTopic>) -> RulePack {
    RulePack {
        name: name("fleets/test/rulePacks/test"),
        display_name: "Test".to_owned(),
        jurisdiction: "Nowhere".to_owned(),
        version: "1".to_owned(),
        effective_date: date("2026-01-01"),
        facts,
        topics,
        caution: String::new(),
    }
}

/// The facts that the small packs of these tests declare.
fn small_facts() -> Vec<FactDeclaration> {
    vec![
        fact("bolted", FactType::YesNo),
        fact("plumbed", FactType::YesNo),
        fact("lift_mm", FactType::Number),
        fact("load_kg", FactType::Number),
        fact("rating_kg", FactType::Number),
        fact("fuel", FactType::Text),
    ]
}

/// A pack of one topic with one category per condition: `c0`, `c1`, …
fn conditions(when: &[&str]) -> RulePack {
    let categories = when
        .iter()
        .enumerate()
        .map(|(index, when)| category(&format!("c{index}"), when, Vec::new()))
        .collect();
    pack(small_facts(), vec![topic("topic", categories)])
}
