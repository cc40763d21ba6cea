//! Parts and how they meet their neighbours.

use std::collections::BTreeMap;

use super::{Gearing, Id, Mass, Name, SpareDemand, TyreMarking, WheelData};

/// A catalogue entry. Variants of one number are different parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// Number on the box or in the list.
    pub number: String,
    /// What tells variants of one number apart.
    pub variant: String,
    /// Kind of slot it goes into.
    pub kind: Id,
    /// Its mass.
    pub mass: Option<Mass>,
    /// How it meets its neighbours.
    pub interfaces: Vec<Interface>,
    /// Its figures; each key ends in its unit.
    pub figures: BTreeMap<Id, f64>,
    /// Side it is made for. `None`: either.
    pub hand: Option<Hand>,
    /// Anything worth knowing.
    pub note: String,
    /// What it bridges when it is put between a part and its neighbours. `None`: it is no adapter.
    pub adapter: Option<Adapter>,
    /// Its ratios. `None`: it has none, or they are not known.
    pub gearing: Option<Gearing>,
    /// Its marking, when it is a tyre. `None`: it is none, or it is not known.
    pub tyre: Option<TyreMarking>,
    /// What a wheel has beside its interfaces. `None`: it is none, or it is not known.
    pub wheel: Option<WheelData>,
    /// How often one that is fitted needs a spare. `None`: not known.
    pub spare_demand: Option<SpareDemand>,
}

/// What a part does as an adapter.
#[derive(Debug, Clone, PartialEq)]
pub struct Adapter {
    /// What it does to interfaces, all at once; at least one.
    pub crossings: Vec<InterfaceCrossing>,
    /// Hours that fitting it takes, 0 or more. `None`: not known.
    pub fitting_hours: Option<f64>,
    /// Days until it is there, 0 or more. `None`: not known.
    pub lead_days: Option<f64>,
}

/// What an adapter does to one interface: it takes up one value and offers another, or it lengthens.
#[derive(Debug, Clone, PartialEq)]
pub struct InterfaceCrossing {
    /// The value that it takes up; together with `offers`, of the same kind.
    pub takes_up: Option<Interface>,
    /// The value that it then offers.
    pub offers: Option<Interface>,
    /// A length and the millimetres that it adds to it; alone.
    pub lengthens: Option<Interface>,
}

impl Part {
    /// Its interface of `kind`.
    pub fn interface(&self, kind: &str) -> Option<&Interface> {
        self.interfaces.iter().find(|interface| &*interface.kind == kind)
    }
}

/// Side of a vehicle that a part is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hand {
    /// The left side.
    Left,
    /// The right side.
    Right,
}

impl Hand {
    /// The trade's word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// Holes or studs on a circle.
#[derive(Debug, Clone, PartialEq)]
pub struct BoltCircle {
    /// Number of holes or studs, 1 or more.
    pub count: u32,
    /// Diameter of the circle, millimetres, positive.
    pub circle_mm: f64,
    /// Thread or size of the holes, for example `M10`. Empty: not stated.
    pub thread: String,
}

/// One way in which a part meets its neighbours.
#[derive(Debug, Clone, PartialEq)]
pub struct Interface {
    /// Kind of interface, for example `input_spline`.
    pub kind: Id,
    /// What is there. `None`: not known.
    pub value: Option<InterfaceValue>,
}

/// What is at an interface.
#[derive(Debug, Clone, PartialEq)]
pub enum InterfaceValue {
    /// Free text, compared without regard to case and spaces.
    Text(String),
    /// A count: splines, ribs, pins.
    Count(i64),
    /// A length, millimetres.
    LengthMm(f64),
    /// A thread designation.
    Thread(String),
    /// A ratio, positive.
    Ratio(f64),
    /// The side it is made for.
    Hand(Hand),
    /// Holes or studs on a circle.
    BoltCircle(BoltCircle),
    /// An electrical or hydraulic connector.
    Connector(String),
    /// A number whose unit is in the kind's name.
    Number(f64),
}

/// How an offered value must stand to a required one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Comparison {
    /// Equal, within the tolerance.
    #[default]
    Equal,
    /// At least the required one, less the tolerance.
    AtLeast,
    /// At most the required one, plus the tolerance.
    AtMost,
}

/// What a slot's neighbours ask of the part in it, at one interface.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirement {
    /// The interface and the value asked for.
    pub interface: Interface,
    /// How an offered value must stand to it.
    pub comparison: Comparison,
    /// Allowed difference for lengths, ratios and numbers, in their unit, 0 or more.
    pub tolerance: f64,
    /// The vehicle cannot be used safely while this does not match or its remedy is not done.
    /// `None`: what the vocabulary says of the kind; of an unknown kind, yes.
    pub essential: Option<bool>,
}
