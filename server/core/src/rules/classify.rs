//! Which category an item is, from facts of which some may be missing.

use std::collections::{BTreeMap, BTreeSet};

use super::formula::{Formula, Value};
use super::pack::CheckedTopic;
use super::space::space;
use crate::check::InvalidInput;
use crate::record::{Fact, Id};

/// Most cases of missing facts that are looked through.
const CASES_MAX: usize = 20_000;

/// What a topic makes of some facts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Classification {
    /// Whatever the missing facts are, it is this category.
    Determined {
        /// Id of the category.
        category: Id,
    },
    /// It depends on facts that are missing.
    Undetermined {
        /// Ids of the categories that are still possible, in the pack's order.
        possible: Vec<Id>,
        /// The missing facts that it depends on, in the pack's order.
        missing_facts: Vec<Id>,
    },
}

/// Classifies an item by its facts. Facts that the pack does not declare are ignored.
///
/// The answer is determined only when every possible set of the missing facts gives the same
/// category. Where a condition compares sums of several missing numbers, or where more than 20,000
/// cases would have to be told apart, the answer may be undetermined although the missing facts
/// would not change it; it is never determined when they could.
///
/// # Errors
/// Facts that are not finite or not of their declared type, as `facts[id]`.
pub fn classify(
    topic: &CheckedTopic<'_>,
    facts: &BTreeMap<Id, Fact>,
) -> Result<Classification, InvalidInput> {
    let values = topic.pack.values(facts)?;
    Ok(classify_values(topic, &values))
}

/// Classifies by values of facts.
pub(super) fn classify_values(topic: &CheckedTopic<'_>, values: &[Option<Value>]) -> Classification {
    classify_counted(topic, values).0
}

/// The same, and how many parts of conditions were looked at. No more than the proof of the pack did: fewer facts are
/// missing here.
pub(super) fn classify_counted(
    topic: &CheckedTopic<'_>,
    values: &[Option<Value>],
) -> (Classification, usize) {
    let whole: usize = topic.conditions.iter().map(Formula::size).sum();
    let residual: Vec<Formula> = topic
        .conditions
        .iter()
        .map(|condition| condition.with(values))
        .collect();
    let cases = space(&residual);
    let parts = match cases.size {
        size if size > CASES_MAX => whole,
        _ => cases.parts(&residual).saturating_add(whole),
    };
    let (reached, deciding) = if cases.size > CASES_MAX {
        let open = residual
            .iter()
            .enumerate()
            .filter(|(_, formula)| **formula != Formula::Constant(false));
        let reached = open.fold(0_u64, |reached, (bit, _)| reached | (1 << bit));
        (
            reached,
            cases.axes.iter().flat_map(|axis| axis.quantity.facts()).collect(),
        )
    } else {
        let outcomes = cases.outcomes(&residual);
        let first = outcomes.first().copied().unwrap_or(0);
        if first.count_ones() == 1 && outcomes.iter().all(|outcome| *outcome == first) {
            let category = topic.topic.categories.get(first.trailing_zeros() as usize);
            if let Some(category) = category {
                let category = category.id.clone();
                return (Classification::Determined { category }, parts);
            }
        }
        let mut deciding = BTreeSet::new();
        for (index, axis) in cases.axes.iter().enumerate() {
            let stride = cases.stride(index);
            let steps = axis.values.len();
            let decides = outcomes.iter().enumerate().any(|(at, outcome)| {
                let last = (at / stride) % steps + 1 == steps;
                !last && outcomes.get(at + stride) != Some(outcome)
            });
            if decides {
                deciding.extend(axis.quantity.facts());
            }
        }
        (
            outcomes.iter().fold(0, |reached, outcome| reached | outcome),
            deciding,
        )
    };
    let possible = topic
        .topic
        .categories
        .iter()
        .enumerate()
        .filter(|(bit, _)| reached & (1_u64 << bit) != 0)
        .map(|(_, category)| category.id.clone())
        .collect();
    let declared = &topic.pack.pack.facts;
    let missing_facts = deciding
        .into_iter()
        .filter_map(|fact| declared.get(fact).map(|fact| fact.id.clone()))
        .collect();
    let undetermined = Classification::Undetermined {
        possible,
        missing_facts,
    };
    (undetermined, parts)
}
