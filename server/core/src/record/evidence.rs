//! Evidence and regulated items.

use std::collections::BTreeMap;

use super::{Date, Id, Name};

/// What is known about one property of a thing.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// Yes or no.
    YesNo(bool),
    /// A number whose unit is in the fact's name.
    Number(f64),
    /// A text.
    Text(String),
}

impl std::fmt::Display for Fact {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::YesNo(true) => formatter.write_str("yes"),
            Self::YesNo(false) => formatter.write_str("no"),
            Self::Number(number) => write!(formatter, "{number}"),
            Self::Text(text) => formatter.write_str(text),
        }
    }
}

/// A certificate, test, measurement, inspection or document.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Its name.
    pub name: Name,
    /// What it is called.
    pub display_name: String,
    /// What sort of evidence it is.
    pub kind: EvidenceKind,
    /// The vehicle it is about. `None`: the whole fleet.
    pub vehicle: Option<Name>,
    /// What it proves.
    pub topic: Id,
    /// The regulated items it is for.
    pub regulated_items: Vec<Name>,
    /// How it came out.
    pub result: EvidenceResult,
    /// Its number or where it is kept.
    pub reference: String,
    /// Date of the document or test.
    pub issued_date: Option<Date>,
    /// Last day on which it is valid. `None`: it does not expire.
    pub valid_until_date: Option<Date>,
    /// Facts about it.
    pub facts: BTreeMap<Id, Fact>,
    /// It is, or will be, carried in the vehicle.
    pub carried: bool,
    /// Anything worth knowing.
    pub note: String,
}

/// What sort of evidence it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EvidenceKind {
    /// An engineer's or supplier's certificate or plate.
    Certificate,
    /// A test.
    Test,
    /// A measurement.
    Measurement,
    /// An inspection.
    Inspection,
    /// A permit, letter, licence or other paper.
    Document,
    /// A note of the shop's own.
    ShopRecord,
}

/// How a piece of evidence came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EvidenceResult {
    /// It proves what it should.
    Passed,
    /// It came out against the vehicle.
    Failed,
    /// Booked, applied for or sent, but not in hand.
    Pending,
}

/// A fitted or carried thing, or a circumstance, that rules speak about.
#[derive(Debug, Clone, PartialEq)]
pub struct RegulatedItem {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub display_name: String,
    /// The vehicle. `None`: the whole convoy.
    pub vehicle: Option<Name>,
    /// Topic of the rule packs.
    pub topic: Id,
    /// What is known about it. A fact that is not listed is not known.
    pub facts: BTreeMap<Id, Fact>,
    /// Slots of the vehicle it has to do with.
    pub slots: Vec<Id>,
    /// Anything worth knowing.
    pub note: String,
}
