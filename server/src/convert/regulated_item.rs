//! Regulated items.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::record::{Fact, Id, Name, RegulatedItem};
use ostler_core::rules::{
    CategoryChange, DemandAnswer, DemandAssessment, FactChange, FactOrigin, FactUsed, ItemAssessment,
    MissingFact,
};
use ostler_proto::v1;

use super::common::facts;
use super::{Converted, each, id, optional_name};

pub(crate) fn regulated_item(name: Name, message: v1::RegulatedItem) -> Converted<RegulatedItem> {
    let v1::RegulatedItem {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        vehicle,
        topic,
        facts: known,
        slots,
        note,
    } = message;
    Ok(RegulatedItem {
        name,
        display_name,
        vehicle: optional_name("vehicle", vehicle)?,
        topic: id("topic", topic)?,
        facts: facts("facts", known)?,
        slots: each("slots", slots, |slot| id("", slot))?,
        note,
    })
}

/// Puts assumed facts in place of the recorded ones; one without a value is then not known. Returns which they are.
///
/// # Errors
/// When a key is no id.
pub(crate) fn assume(
    item: &mut RegulatedItem,
    assumed: BTreeMap<String, v1::Fact>,
) -> Converted<BTreeSet<Id>> {
    let mut keys = BTreeSet::new();
    for (key, message) in super::by_id("assumed_facts", assumed, |message| {
        Ok(super::common::fact(message))
    })? {
        match message {
            Some(fact) => item.facts.insert(key.clone(), fact),
            None => item.facts.remove(&key),
        };
        keys.insert(key);
    }
    Ok(keys)
}

/// An assessment as a message.
pub(crate) fn assessment_message(
    assessment: ItemAssessment,
    category_changes: Vec<CategoryChange>,
) -> v1::RegulatedItemAssessment {
    let ItemAssessment {
        regulated_item,
        rule_pack,
        rule_pack_version,
        category,
        category_display_name,
        possible_categories,
        missing_facts,
        demands,
        answer,
        reason,
        cautions,
        facts_used,
    } = assessment;
    v1::RegulatedItemAssessment {
        regulated_item: regulated_item.into(),
        rule_pack: rule_pack.into(),
        rule_pack_version,
        category: category.map(String::from).unwrap_or_default(),
        category_display_name,
        possible_categories: possible_categories.into_iter().map(String::from).collect(),
        missing_facts: missing_facts.into_iter().map(missing_fact_message).collect(),
        demands: demands.into_iter().map(demand_message).collect(),
        answer: demand_answer_message(answer).into(),
        reason,
        cautions,
        category_changes: category_changes
            .into_iter()
            .map(category_change_message)
            .collect(),
        facts_used: facts_used.into_iter().map(fact_used_message).collect(),
    }
}

fn fact_used_message(used: FactUsed) -> v1::FactUsed {
    let FactUsed {
        fact,
        value,
        origin,
        description,
        stated,
    } = used;
    let origin = match origin {
        FactOrigin::Record => v1::FactOrigin::Record,
        FactOrigin::Stated => v1::FactOrigin::Stated,
        FactOrigin::Assumed => v1::FactOrigin::Assumed,
        FactOrigin::NotKnown => v1::FactOrigin::Unspecified,
    };
    v1::FactUsed {
        fact: fact.into(),
        value: Some(value.map_or_else(v1::Fact::default, fact_message)),
        origin: origin.into(),
        description,
        stated: stated.map(fact_message),
    }
}

fn category_change_message(change: CategoryChange) -> v1::CategoryChange {
    let CategoryChange {
        category,
        changes,
        cut_off,
    } = change;
    v1::CategoryChange {
        category: category.into(),
        changes: changes.into_iter().map(fact_change_message).collect(),
        cut_off,
    }
}

fn fact_change_message(change: FactChange) -> v1::FactChange {
    let FactChange { fact, from, to } = change;
    v1::FactChange {
        fact: fact.into(),
        from: Some(from.map_or_else(v1::Fact::default, fact_message)),
        to: Some(fact_message(to)),
    }
}

fn fact_message(fact: Fact) -> v1::Fact {
    use v1::fact::Value;
    let value = match fact {
        Fact::YesNo(yes) => Value::Yes(yes),
        Fact::Number(number) => Value::Number(number),
        Fact::Text(text) => Value::Text(text),
    };
    v1::Fact { value: Some(value) }
}

fn missing_fact_message(missing: MissingFact) -> v1::MissingFact {
    let MissingFact { fact, question } = missing;
    v1::MissingFact {
        fact: fact.into(),
        question,
    }
}

fn demand_message(demand: DemandAssessment) -> v1::DemandAssessment {
    let DemandAssessment {
        demand,
        display_name,
        answer,
        reason,
        evidence,
        source,
    } = demand;
    v1::DemandAssessment {
        demand: demand.into(),
        display_name,
        answer: demand_answer_message(answer).into(),
        reason,
        evidence: evidence.map(String::from).unwrap_or_default(),
        source: format!("{} ({})", source.text, source.seen),
    }
}

fn demand_answer_message(answer: DemandAnswer) -> v1::Answer {
    match answer {
        DemandAnswer::Met => v1::Answer::Met,
        DemandAnswer::MetWithConditions => v1::Answer::MetWithConditions,
        DemandAnswer::NotKnown => v1::Answer::NotKnown,
        DemandAnswer::NotMet => v1::Answer::NotMet,
    }
}
