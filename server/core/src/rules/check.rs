//! Checking a rule pack whole.

use std::collections::BTreeSet;

use super::fault::{InvalidPack, PackFault, nearest};
use super::formula::{Formula, Value};
use super::lower::lower;
use super::pack::{CheckedPack, type_word};
use super::space::{Space, realise, space};
use crate::record::{DemandKind, FactDeclaration, Id, RecordFigure, RuleCategory, RulePack, RuleTopic};

/// Most categories of a topic.
const CATEGORIES_MAX: usize = 50;

/// Most facts, topics and, of a category, demands.
const ITEMS_MAX: usize = 200;

/// Most cases that the proof of a topic's completeness looks at.
const CASES_MAX: usize = 200_000;

/// Most parts of conditions that the proof of a whole pack looks at: cases times parts, over all topics. It takes about a
/// second; without it a pack within every other bound could keep a server busy for hours.
const PROOF_PARTS_MAX: usize = 50_000_000;

/// Most parts that all conditions of a pack have together when their loops and choices are written out: what is kept of it.
const CONDITION_PARTS_MAX: usize = 100_000;

/// Most cases without exactly one category for which facts that show it are looked for.
const EXAMPLES_MAX: usize = 1_000;

/// Most faults that are kept.
const FAULTS_MAX: usize = 200;

/// Words that the expression language keeps for itself.
const RESERVED_WORDS: [&str; 23] = [
    "true",
    "false",
    "null",
    "in",
    "as",
    "break",
    "const",
    "continue",
    "else",
    "for",
    "function",
    "if",
    "import",
    "let",
    "loop",
    "package",
    "namespace",
    "return",
    "var",
    "void",
    "while",
    "all",
    "exists",
];

/// Checks a pack: every expression is read and its types are checked against the declared facts;
/// every topic must give exactly one category for every set of facts, and every category must be
/// reachable.
///
/// Numbers are taken as real: `count <= 2` and `count >= 3` leave a gap at 2.5. Where conditions compare
/// several sums that share facts, a gap or an overlap is only told when facts that show it are found;
/// one that goes unfound makes [`classify`](super::classify()) answer undetermined.
///
/// # Errors
/// All faults of the pack, each with its path and, in an expression, its line and column. Overlaps and
/// gaps come with a set of facts that shows them. A topic whose conditions tell more than 200,000
/// cases apart is refused, because it cannot be proven complete; so is a pack whose proof would take more than
/// 50 million steps.
pub fn check_pack(pack: RulePack) -> Result<CheckedPack, InvalidPack> {
    let mut faults = Faults::default();
    check_facts(&pack.facts, &mut faults);
    if pack.topics.is_empty() || pack.topics.len() > ITEMS_MAX {
        faults.add(
            "topics",
            format!("must have 1 to {ITEMS_MAX} topics, has {}", pack.topics.len()),
        );
    }
    let topic_ids = pack.topics.iter().map(|topic| &topic.id);
    unique("topics", topic_ids, &mut faults);
    let mut left = Left {
        condition_parts: CONDITION_PARTS_MAX,
        proof_parts: PROOF_PARTS_MAX,
    };
    let conditions = pack
        .topics
        .iter()
        .take(ITEMS_MAX)
        .enumerate()
        .map(|(index, topic)| {
            let field = format!("topics[{index}]");
            check_topic(&field, topic, &pack.facts, &mut left, &mut faults)
        })
        .collect();
    if faults.0.is_empty() {
        Ok(CheckedPack { pack, conditions })
    } else {
        Err(InvalidPack { faults: faults.0 })
    }
}

/// What is left of the bounds of a whole pack.
struct Left {
    condition_parts: usize,
    proof_parts: usize,
}

#[derive(Default)]
struct Faults(Vec<PackFault>);

impl Faults {
    fn add(&mut self, field: impl Into<String>, problem: impl Into<String>) {
        self.add_at(field, None, problem);
    }

    fn add_at(
        &mut self,
        field: impl Into<String>,
        position: Option<super::fault::Position>,
        problem: impl Into<String>,
    ) {
        if self.0.len() < FAULTS_MAX {
            self.0.push(PackFault {
                field: field.into(),
                position,
                problem: problem.into(),
            });
        }
    }
}

fn unique<'id>(field: &str, ids: impl Iterator<Item = &'id Id>, faults: &mut Faults) {
    let mut seen = BTreeSet::new();
    for (index, id) in ids.enumerate() {
        if !seen.insert(id) {
            faults.add(format!("{field}[{index}].id"), format!("`{id}` is there twice"));
        }
    }
}

fn check_facts(facts: &[FactDeclaration], faults: &mut Faults) {
    if facts.len() > ITEMS_MAX {
        faults.add(
            "facts",
            format!("must be at most {ITEMS_MAX}, are {}", facts.len()),
        );
    }
    unique("facts", facts.iter().map(|fact| &fact.id), faults);
    for (index, fact) in facts.iter().enumerate() {
        let well_formed = fact
            .id
            .bytes()
            .next()
            .is_some_and(|byte| byte.is_ascii_lowercase())
            && fact
                .id
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric() || byte == b'_')
            && !RESERVED_WORDS.contains(&&*fact.id);
        if !well_formed {
            faults.add(
                format!("facts[{index}].id"),
                format!(
                    "`{}` cannot be used in expressions: it must be letters, digits and `_`, begin with a letter, \
                     and be no word of the expression language",
                    fact.id
                ),
            );
        }
        if fact.question.trim().is_empty() {
            faults.add(
                format!("facts[{index}].question"),
                "must ask what finds the fact out",
            );
        }
        let answered = fact.from_record.map(RecordFigure::fact_type);
        if let Some(answered) = answered.filter(|answered| *answered != fact.fact_type) {
            faults.add(
                format!("facts[{index}].from_record"),
                format!(
                    "answers with {}, but the fact is {}",
                    type_word(answered),
                    type_word(fact.fact_type)
                ),
            );
        }
    }
}

/// The topic's conditions; those that are refused stand as `false`.
fn check_topic(
    field: &str,
    topic: &RuleTopic,
    facts: &[FactDeclaration],
    left: &mut Left,
    faults: &mut Faults,
) -> Vec<Formula> {
    let categories = &topic.categories;
    if categories.is_empty() || categories.len() > CATEGORIES_MAX {
        faults.add(
            format!("{field}.categories"),
            format!("must be 1 to {CATEGORIES_MAX}, are {}", categories.len()),
        );
        return Vec::new();
    }
    unique(
        &format!("{field}.categories"),
        categories.iter().map(|category| &category.id),
        faults,
    );
    let before = faults.0.len();
    let mut conditions = Vec::with_capacity(categories.len());
    for (index, category) in categories.iter().enumerate() {
        let path = format!("{field}.categories[{index}]");
        check_category(&path, category, faults);
        conditions.push(condition(&path, category, facts, left, faults));
    }
    // Gaps and overlaps of conditions that could not be read would only distract.
    if faults.0.len() == before {
        let cases = space(&conditions);
        let parts = cases.parts(&conditions);
        if cases.size <= CASES_MAX && parts > left.proof_parts {
            faults.add(
                format!("{field}.categories"),
                "cannot be proven complete with the steps that a pack may take; split the topic, or the pack",
            );
        } else {
            left.proof_parts = left.proof_parts.saturating_sub(parts);
            prove(field, topic, facts, &conditions, &cases, faults);
        }
    }
    conditions
}

/// Everything about a category but its condition.
fn check_category(path: &str, category: &RuleCategory, faults: &mut Faults) {
    unique(
        &format!("{path}.demands"),
        category.demands.iter().map(|demand| &demand.id),
        faults,
    );
    if category.demands.len() > ITEMS_MAX {
        faults.add(format!("{path}.demands"), format!("must be at most {ITEMS_MAX}"));
    }
    for (index, demand) in category.demands.iter().enumerate() {
        let restricted = demand.carried || demand.max_age_days.is_some() || demand.valid_until_return;
        if demand.kind == DemandKind::NotAllowed && restricted {
            faults.add(
                format!("{path}.demands[{index}]"),
                "is not allowed whatever the evidence, so it cannot ask for how evidence is",
            );
        }
    }
    if category.source.text.trim().is_empty() || category.source.seen.trim().is_empty() {
        faults.add(
            format!("{path}.source"),
            "must say where the rule is written and how it was seen",
        );
    }
}

/// The condition of a category; `false` when it is refused.
fn condition(
    path: &str,
    category: &RuleCategory,
    facts: &[FactDeclaration],
    left: &mut Left,
    faults: &mut Faults,
) -> Formula {
    match lower(&category.when, facts) {
        Ok(formula) if formula.size() <= left.condition_parts => {
            left.condition_parts -= formula.size();
            return formula;
        }
        Ok(_) => {
            left.condition_parts = 0;
            let problem = format!(
                "has one part too many: all conditions of a pack may have {CONDITION_PARTS_MAX} together"
            );
            faults.add(format!("{path}.when"), problem);
        }
        Err(refused) => {
            for fault in refused {
                faults.add_at(format!("{path}.when"), Some(fault.position), fault.problem);
            }
        }
    }
    Formula::Constant(false)
}

/// Proves that exactly one condition holds in every case, and each in some.
fn prove(
    field: &str,
    topic: &RuleTopic,
    facts: &[FactDeclaration],
    conditions: &[Formula],
    cases: &Space,
    faults: &mut Faults,
) {
    if cases.size > CASES_MAX {
        faults.add(
            format!("{field}.categories"),
            format!(
                "tell {} cases apart, more than the {CASES_MAX} that can be proven complete; split the topic",
                cases.size
            ),
        );
        return;
    }
    let outcomes = cases.outcomes(conditions);
    let reached = outcomes.iter().fold(0_u64, |reached, outcome| reached | outcome);
    for (index, _) in conditions
        .iter()
        .enumerate()
        .filter(|(index, _)| reached & (1 << index) == 0)
    {
        faults.add(
            format!("{field}.categories[{index}].when"),
            "never holds, whatever the facts",
        );
    }
    let mut told = BTreeSet::new();
    let doubtful = outcomes
        .iter()
        .enumerate()
        .filter(|(_, outcome)| outcome.count_ones() != 1);
    for (index, outcome) in doubtful.take(EXAMPLES_MAX) {
        if told.contains(outcome) {
            continue;
        }
        if let Some(values) = realise(cases, conditions, index, facts.len(), *outcome) {
            told.insert(*outcome);
            let example = describe(&values, facts);
            if *outcome == 0 {
                faults.add(format!("{field}.categories"), format!("none holds for {example}"));
            } else {
                let ids: Vec<String> = topic
                    .categories
                    .iter()
                    .enumerate()
                    .filter(|(bit, _)| outcome & (1 << bit) != 0)
                    .map(|(_, category)| format!("`{}`", category.id))
                    .collect();
                faults.add(
                    format!("{field}.categories"),
                    format!("{} all hold for {example}", ids.join(", ")),
                );
            }
        }
    }
}

/// A set of facts in words.
fn describe(values: &[Option<Value>], facts: &[FactDeclaration]) -> String {
    let known: Vec<String> = facts
        .iter()
        .zip(values)
        .filter_map(|(fact, value)| match value.as_ref()? {
            Value::YesNo(true) => Some(format!("{} = yes", fact.id)),
            Value::YesNo(false) => Some(format!("{} = no", fact.id)),
            Value::Number(number) => Some(format!("{} = {number}", fact.id)),
            Value::Text(text) => Some(format!("{} = {text:?}", fact.id)),
        })
        .collect();
    if known.is_empty() {
        "any facts".to_owned()
    } else {
        known.join(", ")
    }
}

/// The topic of `pack` that `topic` was most likely meant to be.
pub(super) fn nearest_topic<'pack>(pack: &'pack RulePack, topic: &str) -> Option<&'pack str> {
    nearest(topic, pack.topics.iter().map(|topic| &*topic.id))
}
