//! What is known about kinds of interfaces, and which interfaces each kind of slot must have answered.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::{checklists::CHECKLISTS, kinds::kinds};
use crate::record::{Id, InterfaceValue};

/// Type of the value at an interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ValueType {
    /// Free text.
    Text,
    /// A count.
    Count,
    /// A length, millimetres.
    Length,
    /// A thread designation.
    Thread,
    /// A ratio.
    Ratio,
    /// Left or right.
    Hand,
    /// Holes or studs on a circle.
    BoltCircle,
    /// A connector.
    Connector,
    /// A number whose unit is in the kind's name.
    Number,
}

impl ValueType {
    /// The type of a value.
    pub fn of(value: &InterfaceValue) -> Self {
        match value {
            InterfaceValue::Text(_) => Self::Text,
            InterfaceValue::Count(_) => Self::Count,
            InterfaceValue::LengthMm(_) => Self::Length,
            InterfaceValue::Thread(_) => Self::Thread,
            InterfaceValue::Ratio(_) => Self::Ratio,
            InterfaceValue::Hand(_) => Self::Hand,
            InterfaceValue::BoltCircle(_) => Self::BoltCircle,
            InterfaceValue::Connector(_) => Self::Connector,
            InterfaceValue::Number(_) => Self::Number,
        }
    }

    /// The trade's word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Text => "a text",
            Self::Count => "a count",
            Self::Length => "a length",
            Self::Thread => "a thread",
            Self::Ratio => "a ratio",
            Self::Hand => "a side",
            Self::BoltCircle => "a bolt circle",
            Self::Connector => "a connector",
            Self::Number => "a number",
        }
    }
}

/// What is known about a kind of interface.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InterfaceKind {
    /// Name for people.
    pub display_name: String,
    /// Type that its values usually have. Other types are allowed.
    pub value_type: ValueType,
    /// What to ask when a value is not known.
    pub question: String,
    /// The vehicle cannot be used safely while it does not match or its remedy is not done. A
    /// requirement can say otherwise for its slot. Common practice, no source.
    pub essential: bool,
    /// How to measure it.
    pub measuring: String,
}

/// What a kind of slot must have answered.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Checklist {
    /// Kinds of interfaces; each counts as not known while it is stated nowhere.
    pub interface_kinds: Vec<Id>,
    /// Parts of this kind are made for one side: a part that does not say which is not known to fit a
    /// slot whose id ends in `.left` or `.right`.
    pub handed: bool,
}

/// Kinds of interfaces and checklists of kinds of slots. Extend it with [`Vocabulary::with_kind`] and
/// [`Vocabulary::with_checklist`]; kinds that are not in it are allowed everywhere.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Vocabulary {
    kinds: BTreeMap<Id, InterfaceKind>,
    checklists: BTreeMap<Id, Checklist>,
}

static STANDARD: LazyLock<Vocabulary> = LazyLock::new(|| {
    let mut vocabulary = Vocabulary::default();
    for (kind, display_name, value_type, essential, question, measuring) in kinds() {
        if let Ok(id) = Id::new(*kind) {
            let kind = InterfaceKind {
                display_name: (*display_name).to_owned(),
                value_type: *value_type,
                question: (*question).to_owned(),
                essential: *essential,
                measuring: (*measuring).to_owned(),
            };
            vocabulary.kinds.insert(id, kind);
        }
    }
    for (slot_kind, handed, interface_kinds) in CHECKLISTS {
        if let Ok(id) = Id::new(slot_kind) {
            let checklist = Checklist {
                interface_kinds: interface_kinds
                    .iter()
                    .filter_map(|kind| Id::new(*kind).ok())
                    .collect(),
                handed,
            };
            vocabulary.checklists.insert(id, checklist);
        }
    }
    vocabulary
});

impl Vocabulary {
    /// The vocabulary that comes with the product.
    pub fn standard() -> &'static Self {
        &STANDARD
    }

    /// This vocabulary with one more kind of interface, or with that kind replaced.
    #[must_use]
    pub fn with_kind(mut self, id: Id, kind: InterfaceKind) -> Self {
        self.kinds.insert(id, kind);
        self
    }

    /// This vocabulary with one more checklist, or with that checklist replaced.
    #[must_use]
    pub fn with_checklist(mut self, slot_kind: Id, checklist: Checklist) -> Self {
        self.checklists.insert(slot_kind, checklist);
        self
    }

    /// What is known about the kind of interface `id`.
    pub fn kind(&self, id: &str) -> Option<&InterfaceKind> {
        self.kinds.get(id)
    }

    /// What a slot of kind `id` must have answered.
    pub fn checklist(&self, id: &str) -> Option<&Checklist> {
        self.checklists.get(id)
    }

    /// All kinds of interfaces, in order of their ids.
    pub fn kinds(&self) -> impl Iterator<Item = (&Id, &InterfaceKind)> {
        self.kinds.iter()
    }

    /// All checklists, in order of their slot kinds.
    pub fn checklists(&self) -> impl Iterator<Item = (&Id, &Checklist)> {
        self.checklists.iter()
    }

    /// Name of a kind for people: that of the vocabulary, else the id with spaces.
    pub fn display_name(&self, id: &str) -> String {
        self.kind(id).map_or_else(
            || id.replace(['_', '.', '-'], " "),
            |kind| kind.display_name.clone(),
        )
    }

    /// Whether an interface of kind `id` is essential where its requirement does not say. Of a kind
    /// that the vocabulary does not have, yes.
    pub fn essential(&self, id: &str) -> bool {
        self.kind(id).is_none_or(|kind| kind.essential)
    }
}
