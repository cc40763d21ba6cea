//! Rule packs.

use super::{Date, Id, Name};

/// Dated, versioned rules of one jurisdiction or club.
#[derive(Debug, Clone, PartialEq)]
pub struct RulePack {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// Whose rules they are.
    pub jurisdiction: String,
    /// Version of the pack.
    pub version: String,
    /// First day on which it holds.
    pub effective_date: Date,
    /// The facts its expressions may use.
    pub facts: Vec<FactDeclaration>,
    /// What it speaks about.
    pub topics: Vec<RuleTopic>,
    /// What to know about the pack as a whole.
    pub caution: String,
}

/// Type of a fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactType {
    /// Yes or no.
    YesNo,
    /// A number.
    Number,
    /// A text.
    Text,
}

/// A fact that expressions may use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FactDeclaration {
    /// Name in expressions.
    pub id: Id,
    /// Its type.
    pub fact_type: FactType,
    /// The question that finds it out.
    pub question: String,
}

/// Which gate of readiness a topic counts under.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleGate {
    /// What is fitted and carried.
    Rules,
    /// Papers.
    Papers,
}

/// One thing that the rules speak about.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleTopic {
    /// Id, as regulated items name it.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// The gate it counts under.
    pub gate: RuleGate,
    /// Its categories. For any set of facts exactly one holds.
    pub categories: Vec<RuleCategory>,
}

/// What an item can be in the eyes of the rules.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleCategory {
    /// Id within the topic.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// Condition over the facts, in the Common Expression Language.
    pub when: String,
    /// What it demands.
    pub demands: Vec<Demand>,
    /// Where the rule is written.
    pub source: RuleSource,
}

/// Sort of a demand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DemandKind {
    /// Evidence of the topic named by the demand's id.
    Evidence,
    /// Not allowed whatever the evidence.
    NotAllowed,
}

/// What a category demands.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Id: the topic of the evidence that meets it.
    pub id: Id,
    /// What is demanded.
    pub display_name: String,
    /// Sort of demand.
    pub kind: DemandKind,
    /// The evidence must be carried in the vehicle.
    pub carried: bool,
    /// Days that the evidence may be old on the day of departure.
    pub max_age_days: Option<u32>,
    /// The evidence must be valid until the return, not only at departure.
    pub valid_until_return: bool,
}

/// Where a rule is written and how it was seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleSource {
    /// Title, section, date.
    pub text: String,
    /// How it was seen.
    pub seen: String,
}
