//! The smallest change of facts that brings an item into another category.

use std::collections::BTreeMap;

use super::classify::{Classification, classify_counted, classify_values};
use super::formula::{FactIndex, Formula, Value};
use super::pack::CheckedTopic;
use super::space::number_values;
use crate::check::InvalidInput;
use crate::record::{Fact, FactType, Id};

/// Most sets of facts that are tried.
const TRIES_MAX: usize = 50_000;

/// Most parts of conditions that the tries look at together: about a second.
const PARTS_MAX: usize = 20_000_000;

/// One fact changed.
#[derive(Debug, Clone, PartialEq)]
pub struct FactChange {
    /// The fact.
    pub fact: Id,
    /// What it is now. `None`: not known.
    pub from: Option<Fact>,
    /// What it would be. Of a number, a value that suffices; of a text, `other` stands for any text that
    /// the pack does not name.
    pub to: Fact,
}

/// How a category would be reached.
#[derive(Debug, Clone, PartialEq)]
pub struct CategoryChange {
    /// Id of the category.
    pub category: Id,
    /// The facts to change, in the pack's order. Empty: no change was found.
    pub changes: Vec<FactChange>,
    /// Fewer changes, or any where `changes` is empty, may exist: the search was cut off after 50,000
    /// tries, or 20 million parts of conditions looked at.
    pub cut_off: bool,
}

/// For every category that the item is not in: the fewest facts to change so that it is, whatever the
/// facts that stay unknown are.
///
/// Of equally few, the facts that the pack declares first; of numbers, the value nearest to the
/// present one, the smaller of two that are equally near. Numbers are tried at the limits that the
/// conditions set, and just below, between and above them. Where conditions add several facts up and
/// more than one of them changes, only the last one is solved for, so that a smaller step may exist,
/// though with facts whose limits stand alone none with fewer facts does.
///
/// # Errors
/// Facts that are not finite or not of their declared type, as `facts[id]`.
pub fn smallest_changes(
    topic: &CheckedTopic<'_>,
    facts: &BTreeMap<Id, Fact>,
) -> Result<Vec<CategoryChange>, InvalidInput> {
    let values = topic.pack.values(facts)?;
    let now = match classify_values(topic, &values) {
        Classification::Determined { category } => Some(category),
        Classification::Undetermined { .. } => None,
    };
    let mut search = Search {
        topic,
        now: &values,
        used: used_facts(topic.conditions),
        found: BTreeMap::new(),
        wanted: topic
            .topic
            .categories
            .iter()
            .map(|category| category.id.clone())
            .filter(|id| Some(id) != now.as_ref())
            .collect(),
        tries: 0,
        parts: 0,
        whole: topic.conditions.iter().map(Formula::size).sum(),
    };
    for count in 1..=search.used.len() {
        search.choose(&mut Vec::new(), 0, count);
        if search.found.len() == search.wanted.len() || search.is_spent() {
            break;
        }
    }
    let cut_off = search.is_spent();
    let Search {
        wanted, mut found, ..
    } = search;
    Ok(wanted
        .into_iter()
        .map(|category| {
            let changes = found
                .remove(&category)
                .map_or_else(Vec::new, |(_, changes)| changes);
            CategoryChange {
                cut_off: cut_off && changes.len() != 1,
                category,
                changes,
            }
        })
        .collect())
}

fn used_facts(conditions: &[Formula]) -> Vec<FactIndex> {
    let mut used = std::collections::BTreeSet::new();
    for condition in conditions {
        condition.for_each_atom(&mut |atom| match atom {
            Formula::YesNo(fact) | Formula::TextIn(fact, _) => {
                used.insert(*fact);
            }
            Formula::Compare(sum, ..) => used.extend(sum.coefficients.keys().copied()),
            _ => {}
        });
    }
    used.into_iter().collect()
}

struct Search<'pack> {
    topic: &'pack CheckedTopic<'pack>,
    now: &'pack [Option<Value>],
    used: Vec<FactIndex>,
    wanted: Vec<Id>,
    /// By category: the facts changed and how far numbers move, and the changes.
    found: BTreeMap<Id, (Cost, Vec<FactChange>)>,
    tries: usize,
    /// Parts of conditions looked at.
    parts: usize,
    /// Parts of all conditions.
    whole: usize,
}

/// Fewest facts, then facts declared first, then the shortest way of numbers.
type Cost = (Vec<FactIndex>, f64);

impl Search<'_> {
    fn is_spent(&self) -> bool {
        self.tries >= TRIES_MAX || self.parts >= PARTS_MAX
    }

    /// Tries every set of `count` facts that extends `chosen` by facts from `next` on.
    fn choose(&mut self, chosen: &mut Vec<FactIndex>, next: usize, count: usize) {
        if chosen.len() == count {
            let mut values = self.now.to_vec();
            for fact in chosen.iter() {
                values[*fact] = None;
            }
            self.assign(chosen, 0, &mut values);
            return;
        }
        for at in next..self.used.len() {
            if self.is_spent() {
                return;
            }
            chosen.push(self.used[at]);
            self.choose(chosen, at + 1, count);
            chosen.pop();
        }
    }

    /// Tries every value of the chosen facts from `depth` on.
    fn assign(&mut self, chosen: &[FactIndex], depth: usize, values: &mut Vec<Option<Value>>) {
        let Some(fact) = chosen.get(depth) else {
            self.tries += 1;
            self.note(chosen, values);
            return;
        };
        self.parts = self.parts.saturating_add(self.whole);
        for candidate in self.candidates(*fact, values) {
            if self.is_spent() {
                break;
            }
            values[*fact] = Some(candidate);
            self.assign(chosen, depth + 1, values);
        }
        values[*fact] = None;
    }

    fn note(&mut self, chosen: &[FactIndex], values: &[Option<Value>]) {
        let (classification, parts) = classify_counted(self.topic, values);
        self.parts = self.parts.saturating_add(parts);
        let Classification::Determined { category } = classification else {
            return;
        };
        if !self.wanted.contains(&category) {
            return;
        }
        let cost = (chosen.to_vec(), self.way(chosen, values));
        let better = self.found.get(&category).is_none_or(|(best, _)| {
            (cost.0.len(), &cost.0) < (best.0.len(), &best.0) || (cost.0 == best.0 && cost.1 < best.1)
        });
        if better {
            let declared = &self.topic.pack.pack.facts;
            let changes = chosen
                .iter()
                .filter_map(|fact| {
                    Some(FactChange {
                        fact: declared.get(*fact)?.id.clone(),
                        from: self.now[*fact].clone().map(fact_of),
                        to: fact_of(values[*fact].clone()?),
                    })
                })
                .collect();
            self.found.insert(category, (cost, changes));
        }
    }

    /// How far the numbers move together.
    fn way(&self, chosen: &[FactIndex], values: &[Option<Value>]) -> f64 {
        chosen
            .iter()
            .map(|fact| match (&self.now[*fact], &values[*fact]) {
                (Some(Value::Number(from)), Some(Value::Number(to))) => (to - from).abs(),
                _ => 0.0,
            })
            .sum()
    }

    /// Values of a fact that conditions can tell apart from each other, other than the present one.
    fn candidates(&self, fact: FactIndex, values: &[Option<Value>]) -> Vec<Value> {
        let mut thresholds = Vec::new();
        let mut texts = std::collections::BTreeSet::new();
        let mut yes_no = false;
        for condition in self.topic.conditions {
            condition.with(values).for_each_atom(&mut |atom| match atom {
                Formula::Compare(sum, _, threshold)
                    if sum.coefficients.len() == 1 && sum.coefficients.contains_key(&fact) =>
                {
                    thresholds.push(*threshold);
                }
                Formula::TextIn(asked, named) if *asked == fact => texts.extend(named.iter().cloned()),
                Formula::YesNo(asked) if *asked == fact => yes_no = true,
                _ => {}
            });
        }
        let is_number = self
            .topic
            .pack
            .pack
            .facts
            .get(fact)
            .is_some_and(|fact| fact.fact_type == FactType::Number);
        if is_number && thresholds.is_empty() {
            // A fact that only counts in sums: start from 0, and let the next fact of the sum be solved for.
            return vec![Value::Number(0.0)];
        }
        let mut candidates: Vec<Value> = number_values(thresholds).into_iter().map(Value::Number).collect();
        if yes_no {
            candidates.extend([Value::YesNo(true), Value::YesNo(false)]);
        }
        if !texts.is_empty() {
            let mut other = "other".to_owned();
            while texts.contains(&other) {
                other.push('_');
            }
            candidates.extend(texts.into_iter().map(Value::Text));
            candidates.push(Value::Text(other));
        }
        candidates.retain(|candidate| self.now[fact].as_ref() != Some(candidate));
        candidates
    }
}

fn fact_of(value: Value) -> Fact {
    match value {
        Value::YesNo(value) => Fact::YesNo(value),
        Value::Number(value) => Fact::Number(value),
        Value::Text(value) => Fact::Text(value),
    }
}
