//! What a category demands of an item, and whether the evidence at hand meets it.

use super::check::nearest_topic;
use super::classify::{Classification, classify};
use super::evidence::{Held, weigh};
use super::pack::{CheckedPack, CheckedTopic};
use super::used::FactUsed;
use crate::check::InvalidInput;
use crate::record::{Date, Demand, DemandKind, Evidence, Id, Name, RegulatedItem, RuleCategory, RuleSource};

/// How far a demand is met, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DemandAnswer {
    /// It is met.
    Met,
    /// It is met when a condition is kept.
    MetWithConditions,
    /// Something that would decide it is missing.
    NotKnown,
    /// It is not met.
    NotMet,
}

/// The days on which evidence must hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TravelDates {
    /// Day of departure.
    pub departure_date: Date,
    /// Planned day of return, not before the departure.
    pub return_date: Date,
}

/// What a rule pack makes of a regulated item.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemAssessment {
    /// The item.
    pub regulated_item: Name,
    /// The pack that was used.
    pub rule_pack: Name,
    /// Version of the pack.
    pub rule_pack_version: String,
    /// The category. `None`: undetermined.
    pub category: Option<Id>,
    /// The category's name for people. Empty when undetermined.
    pub category_display_name: String,
    /// When undetermined: the categories still possible.
    pub possible_categories: Vec<Id>,
    /// When undetermined: the facts that would decide it.
    pub missing_facts: Vec<MissingFact>,
    /// What the category demands, worst first.
    pub demands: Vec<DemandAssessment>,
    /// The worst of the demands; not known when undetermined.
    pub answer: DemandAnswer,
    /// Why, in one sentence.
    pub reason: String,
    /// What to know about the pack. A computed answer replaces neither the law's text nor an engineer's
    /// approval.
    pub cautions: Vec<String>,
    /// The facts that the topic asks about and where each comes from; see [`facts_used`](super::facts_used).
    pub facts_used: Vec<FactUsed>,
}

/// A fact that would decide a category.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissingFact {
    /// The fact.
    pub fact: Id,
    /// The question that finds it out.
    pub question: String,
}

/// A demand of a category and what meets it.
#[derive(Debug, Clone, PartialEq)]
pub struct DemandAssessment {
    /// Id of the demand.
    pub demand: Id,
    /// What is demanded.
    pub display_name: String,
    /// Whether it is met.
    pub answer: DemandAnswer,
    /// Why, in one sentence.
    pub reason: String,
    /// The evidence that meets it or comes nearest.
    pub evidence: Option<Name>,
    /// Where the rule is written and how it was seen.
    pub source: RuleSource,
}

/// Assesses a regulated item: its category, what that demands, and whether the evidence meets it.
///
/// Evidence counts for a demand when its topic is the demand's id and it names the item or, when it
/// names no item, is about the same vehicle (or both are about the whole convoy). It must have passed,
/// hold on the day of departure (until the return where demanded), be no older than demanded, and not
/// be followed by evidence of the same topic that failed.
///
/// # Errors
/// `topic` when the pack does not speak about the item's topic, `dates.return_date` before the
/// departure, and facts of the wrong type as `facts[id]`.
pub fn assess_item<'evidence>(
    pack: &CheckedPack,
    item: &RegulatedItem,
    evidence: impl IntoIterator<Item = &'evidence Evidence>,
    dates: TravelDates,
) -> Result<ItemAssessment, InvalidInput> {
    let Some(topic) = pack.topic(&item.topic) else {
        let hint = nearest_topic(pack.pack(), &item.topic)
            .map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        let problem = format!("`{}` is not a topic of the rule pack{hint}", item.topic);
        return Err(InvalidInput::one("topic", problem));
    };
    if dates.return_date < dates.departure_date {
        let problem = format!("must not be before the departure on {}", dates.departure_date);
        return Err(InvalidInput::one("dates.return_date", problem));
    }
    let mut assessment = match classify(&topic, &item.facts)? {
        Classification::Determined { category } => match topic.category(&category) {
            Some(category) => determined(&topic, category, item, evidence, dates),
            None => undetermined(&topic, item, Vec::new(), Vec::new()),
        },
        Classification::Undetermined {
            possible,
            missing_facts,
        } => undetermined(&topic, item, possible, missing_facts),
    };
    let in_force = pack.pack().effective_date;
    if in_force > dates.departure_date && assessment.answer < DemandAnswer::NotKnown {
        assessment.answer = DemandAnswer::NotKnown;
        assessment.reason = format!("the rule pack only holds from {in_force}, after the departure");
    }
    Ok(assessment)
}

fn blank(topic: &CheckedTopic<'_>, item: &RegulatedItem) -> ItemAssessment {
    let pack = topic.pack.pack();
    ItemAssessment {
        regulated_item: item.name.clone(),
        rule_pack: pack.name.clone(),
        rule_pack_version: pack.version.clone(),
        category: None,
        category_display_name: String::new(),
        possible_categories: Vec::new(),
        missing_facts: Vec::new(),
        demands: Vec::new(),
        answer: DemandAnswer::NotKnown,
        reason: String::new(),
        cautions: Some(pack.caution.clone())
            .filter(|caution| !caution.is_empty())
            .into_iter()
            .collect(),
        facts_used: Vec::new(),
    }
}

fn undetermined(
    topic: &CheckedTopic<'_>,
    item: &RegulatedItem,
    possible: Vec<Id>,
    missing: Vec<Id>,
) -> ItemAssessment {
    let missing_facts: Vec<MissingFact> = missing
        .into_iter()
        .map(|fact| MissingFact {
            question: topic.pack.question(&fact).unwrap_or_default().to_owned(),
            fact,
        })
        .collect();
    let names: Vec<&str> = possible
        .iter()
        .filter_map(|id| topic.category(id))
        .map(|category| category.display_name.as_str())
        .collect();
    let asked: Vec<String> = missing_facts
        .iter()
        .map(|missing| format!("`{}` ({})", missing.fact, missing.question))
        .collect();
    ItemAssessment {
        reason: if asked.is_empty() {
            "the category is undetermined: the pack does not decide it from these facts".to_owned()
        } else {
            format!(
                "undetermined between {}; not known: {}",
                names.join(", "),
                asked.join(", ")
            )
        },
        possible_categories: possible,
        missing_facts,
        ..blank(topic, item)
    }
}

fn determined<'evidence>(
    topic: &CheckedTopic<'_>,
    category: &RuleCategory,
    item: &RegulatedItem,
    evidence: impl IntoIterator<Item = &'evidence Evidence>,
    dates: TravelDates,
) -> ItemAssessment {
    let evidence: Vec<&Evidence> = evidence.into_iter().collect();
    let mut demands: Vec<DemandAssessment> = category
        .demands
        .iter()
        .map(|demand| assess_demand(demand, category, item, &evidence, dates))
        .collect();
    demands.sort_by_key(|demand| std::cmp::Reverse(demand.answer));
    let answer = demands.first().map_or(DemandAnswer::Met, |worst| worst.answer);
    let reason = match demands.first() {
        None => format!("{}: nothing is demanded", category.display_name),
        Some(worst) => format!("{}: {}", category.display_name, worst.reason),
    };
    ItemAssessment {
        category: Some(category.id.clone()),
        category_display_name: category.display_name.clone(),
        demands,
        answer,
        reason,
        ..blank(topic, item)
    }
}

fn assess_demand(
    demand: &Demand,
    category: &RuleCategory,
    item: &RegulatedItem,
    evidence: &[&Evidence],
    dates: TravelDates,
) -> DemandAssessment {
    let (answer, reason, used) = match demand.kind {
        DemandKind::NotAllowed => (
            DemandAnswer::NotMet,
            format!("not allowed: {}", demand.display_name),
            None,
        ),
        DemandKind::Evidence => {
            let about: Vec<&Evidence> = evidence
                .iter()
                .copied()
                .filter(|piece| speaks(piece, demand, item))
                .collect();
            match weigh(demand, &about, dates) {
                Some(Held {
                    evidence,
                    answer,
                    reason,
                }) => (answer, reason, Some(evidence.name.clone())),
                None => (
                    DemandAnswer::NotMet,
                    format!(
                        "{} is missing: no evidence of `{}`",
                        demand.display_name, demand.id
                    ),
                    None,
                ),
            }
        }
    };
    DemandAssessment {
        demand: demand.id.clone(),
        display_name: demand.display_name.clone(),
        answer,
        reason,
        evidence: used,
        source: category.source.clone(),
    }
}

/// Whether a piece of evidence is about this demand of this item.
fn speaks(evidence: &Evidence, demand: &Demand, item: &RegulatedItem) -> bool {
    let about_item = if evidence.regulated_items.is_empty() {
        evidence.vehicle == item.vehicle
    } else {
        evidence.regulated_items.contains(&item.name)
    };
    evidence.topic == demand.id && about_item
}
