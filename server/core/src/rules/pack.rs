//! A rule pack that was checked whole.

use crate::record::{Fact, FactDeclaration, FactType, Id, RuleCategory, RulePack, RuleTopic};
use std::collections::BTreeMap;

use super::formula::{Formula, Value};
use crate::check::{Check, InvalidInput};

/// A rule pack whose expressions are known to be sound, and in which for every set of facts exactly
/// one category of each topic holds, as far as [`check_pack`](super::check_pack), which makes it, proves.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedPack {
    pub(super) pack: RulePack,
    /// Conditions by topic and category, in the order of the pack.
    pub(super) conditions: Vec<Vec<Formula>>,
}

impl CheckedPack {
    /// The pack as it was given.
    pub fn pack(&self) -> &RulePack {
        &self.pack
    }

    /// The topic `id`.
    pub fn topic(&self, id: &str) -> Option<CheckedTopic<'_>> {
        let index = self.pack.topics.iter().position(|topic| &*topic.id == id)?;
        Some(CheckedTopic {
            pack: self,
            topic: self.pack.topics.get(index)?,
            conditions: self.conditions.get(index)?,
        })
    }

    /// Its topics, in order.
    pub fn topics(&self) -> impl Iterator<Item = CheckedTopic<'_>> {
        self.pack
            .topics
            .iter()
            .zip(&self.conditions)
            .map(|(topic, conditions)| CheckedTopic {
                pack: self,
                topic,
                conditions,
            })
    }

    /// The question that finds out the fact `id`. `None`: the pack does not declare it.
    pub fn question(&self, id: &str) -> Option<&str> {
        let fact = self.pack.facts.iter().find(|fact| &*fact.id == id)?;
        Some(&fact.question)
    }

    /// Facts by the pack's index; facts that it does not declare are left out.
    pub(super) fn values(&self, facts: &BTreeMap<Id, Fact>) -> Result<Vec<Option<Value>>, InvalidInput> {
        let mut check = Check::new();
        let values = self
            .pack
            .facts
            .iter()
            .map(|declared| {
                let field = format!("facts[{}]", declared.id);
                match (facts.get(&declared.id)?, declared.fact_type) {
                    (Fact::YesNo(value), FactType::YesNo) => Some(Value::YesNo(*value)),
                    (Fact::Number(value), FactType::Number) => {
                        check.finite(&field, *value).then_some(Value::Number(*value))
                    }
                    (Fact::Text(value), FactType::Text) => Some(Value::Text(value.clone())),
                    (_, wanted) => {
                        check.refuse(field, format!("must be {}", type_word(wanted)));
                        None
                    }
                }
            })
            .collect();
        check.finish()?;
        Ok(values)
    }
}

/// What a fact of a type is called.
pub(super) fn type_word(fact_type: FactType) -> &'static str {
    match fact_type {
        FactType::YesNo => "yes or no",
        FactType::Number => "a number",
        FactType::Text => "a text",
    }
}

/// A topic of a checked pack.
#[derive(Debug, Clone, Copy)]
pub struct CheckedTopic<'pack> {
    pub(super) pack: &'pack CheckedPack,
    pub(super) topic: &'pack RuleTopic,
    pub(super) conditions: &'pack [Formula],
}

impl<'pack> CheckedTopic<'pack> {
    /// The topic as the pack has it.
    pub fn topic(&self) -> &'pack RuleTopic {
        self.topic
    }

    /// The declared facts that its conditions ask about, in the pack's order.
    pub fn facts(&self) -> impl Iterator<Item = &'pack FactDeclaration> {
        let mut asked = std::collections::BTreeSet::new();
        for condition in self.conditions {
            condition.for_each_atom(&mut |atom| match atom {
                Formula::YesNo(fact) | Formula::TextIn(fact, _) => {
                    asked.insert(*fact);
                }
                Formula::Compare(sum, ..) => asked.extend(sum.coefficients.keys().copied()),
                _ => {}
            });
        }
        let declared = &self.pack.pack.facts;
        asked.into_iter().filter_map(move |fact| declared.get(fact))
    }

    /// Its category `id`.
    pub fn category(&self, id: &str) -> Option<&'pack RuleCategory> {
        self.topic.categories.iter().find(|category| &*category.id == id)
    }
}
