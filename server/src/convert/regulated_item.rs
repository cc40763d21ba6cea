//! Regulated items.

use std::collections::BTreeMap;

use ostler_core::record::{Name, RegulatedItem};
use ostler_core::rules::{DemandAnswer, DemandAssessment, ItemAssessment, MissingFact};
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

/// Puts assumed facts in place of the recorded ones; one without a value is then not known.
///
/// # Errors
/// When a key is no id.
pub(crate) fn assume(item: &mut RegulatedItem, assumed: BTreeMap<String, v1::Fact>) -> Converted<()> {
    for (key, message) in super::by_id("assumed_facts", assumed, |message| {
        Ok(super::common::fact(message))
    })? {
        match message {
            Some(fact) => item.facts.insert(key, fact),
            None => item.facts.remove(&key),
        };
    }
    Ok(())
}

/// An assessment as a message.
pub(crate) fn assessment_message(assessment: ItemAssessment) -> v1::RegulatedItemAssessment {
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
    }
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
