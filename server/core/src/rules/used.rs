//! Which facts an assessment goes by: those of the record before those that an item states.

use std::collections::{BTreeMap, BTreeSet};

use super::pack::CheckedTopic;
use super::recorded::RecordFigures;
use crate::record::{Fact, Id, RegulatedItem};

/// Numbers this near to each other are one value, written down with other digits: half a unit, or this share of it.
const SAME_WITHIN: f64 = 0.5;

/// See [`SAME_WITHIN`].
const SAME_WITHIN_SHARE: f64 = 0.01;

/// Where a fact comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactOrigin {
    /// Computed from the record of the vehicle.
    Record,
    /// Stated by the regulated item.
    Stated,
    /// Assumed by the caller.
    Assumed,
    /// Not known.
    NotKnown,
}

/// A fact of a topic, and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct FactUsed {
    /// The fact.
    pub fact: Id,
    /// What it is taken to be. `None`: not known.
    pub value: Option<Fact>,
    /// Where it comes from.
    pub origin: FactOrigin,
    /// What it is by the record, for people. Empty where it does not come from there.
    pub description: String,
    /// What the item states, where the record says something else.
    pub stated: Option<Fact>,
}

/// The facts that a topic asks about: by the record where the pack says that the record answers and the record knows,
/// else as the item states. The facts named in `assumed` are the item's, whatever the record says.
pub fn facts_used(
    topic: &CheckedTopic<'_>,
    item: &RegulatedItem,
    figures: &RecordFigures<'_>,
    assumed: &BTreeSet<Id>,
) -> Vec<FactUsed> {
    topic
        .facts()
        .map(|declared| {
            let stated = item.facts.get(&declared.id).cloned();
            if assumed.contains(&declared.id) {
                return used(&declared.id, stated, FactOrigin::Assumed);
            }
            let known = declared.from_record.and_then(|figure| figures.get(figure));
            match (known, stated) {
                (None, stated) => used(&declared.id, stated, FactOrigin::Stated),
                (Some(known), stated) => FactUsed {
                    stated: stated.filter(|stated| !same(stated, &known.value)),
                    description: known.description,
                    ..used(&declared.id, Some(known.value), FactOrigin::Record)
                },
            }
        })
        .collect()
}

fn used(fact: &Id, value: Option<Fact>, origin: FactOrigin) -> FactUsed {
    FactUsed {
        fact: fact.clone(),
        origin: if value.is_some() {
            origin
        } else {
            FactOrigin::NotKnown
        },
        value,
        description: String::new(),
        stated: None,
    }
}

fn same(stated: &Fact, known: &Fact) -> bool {
    match (stated, known) {
        (Fact::Number(stated), Fact::Number(known)) => {
            (stated - known).abs() <= SAME_WITHIN.max(SAME_WITHIN_SHARE * known.abs())
        }
        _ => stated == known,
    }
}

/// The item with the facts that are used in place of its own.
pub(crate) fn item_by(item: &RegulatedItem, facts: &[FactUsed]) -> RegulatedItem {
    let mut by: BTreeMap<Id, Fact> = item.facts.clone();
    for used in facts {
        match &used.value {
            Some(value) => by.insert(used.fact.clone(), value.clone()),
            None => by.remove(&used.fact),
        };
    }
    RegulatedItem {
        facts: by,
        ..item.clone()
    }
}
