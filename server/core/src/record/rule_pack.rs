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
    /// What of the record answers it. `None`: it is always asked for.
    pub from_record: Option<RecordFigure>,
}

/// A figure of a vehicle that the record may know. Units are in the names; see the API for what each is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RecordFigure {
    /// Largest fitted tyre's diameter less the placard's, millimetres.
    TyreDiameterIncreaseMm,
    /// The same in percent of the placard's.
    TyreDiameterIncreasePercent,
    /// Widest fitted tyre's section width over the placard's.
    TyreWidthRatio,
    /// What the fitted springs raise the unloaded body by, millimetres.
    SuspensionLiftMm,
    /// That and half of the increase in tyre diameter, millimetres.
    LiftMm,
    /// Most that the roof carries, the rack included, kilograms.
    RoofTotalKg,
    /// What the roof may carry, the rack included, kilograms.
    RoofLimitKg,
    /// Most that lies on the rack, kilograms.
    RackLoadKg,
    /// What the rack is rated for, kilograms.
    RackRatingKg,
    /// Largest mass on the way, kilograms.
    TotalMassKg,
    /// What the vehicle may weigh, kilograms.
    GrossMassKg,
    /// What it might weigh as built, kilograms.
    OriginalGrossMassKg,
    /// Whether a seat is out.
    SeatsRemoved,
    /// Petrol in containers at departure, litres.
    PackagedPetrolL,
    /// Diesel in containers at departure, litres.
    PackagedDieselL,
}

impl RecordFigure {
    /// Type of the facts that it answers.
    pub fn fact_type(self) -> FactType {
        match self {
            Self::SeatsRemoved => FactType::YesNo,
            _ => FactType::Number,
        }
    }
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
