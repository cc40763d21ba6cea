//! A fleet, and its whole record.

use std::collections::BTreeMap;

use super::{
    Acceptance, AwaitedPart, CargoItem, CompatibilityNote, Defect, Departure, Evidence, Fluid, Id, Job, Name,
    Part, RegulatedItem, RulePack, Substitution, Vehicle, Weighing, Workshop,
};

/// Stages of a fleet that sets none of its own. Common practice, no source.
pub const STAGES_DEFAULT: [&str; 8] = [
    "strip-and-inspect",
    "mechanical",
    "fabrication",
    "electrical",
    "fit-out",
    "proving",
    "loading",
    "signed-off",
];

/// The vehicles one team looks after, and what they share.
#[derive(Debug, Clone, PartialEq)]
pub struct Fleet {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// Anything worth knowing.
    pub description: String,
    /// Kilograms per litre by fluid. A fluid that is not listed has no known mass.
    pub fluid_densities_kg_per_l: BTreeMap<Fluid, f64>,
    /// Its own stages of preparation, in order. Empty: [`STAGES_DEFAULT`].
    pub stages: Vec<Id>,
}

impl Fleet {
    /// The stages that hold, in order.
    pub fn stages(&self) -> Vec<&str> {
        match self.stages.as_slice() {
            [] => STAGES_DEFAULT.to_vec(),
            own => own.iter().map(|stage| &**stage).collect(),
        }
    }
}

/// Everything known about a fleet, or the part of it that a computation needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The fleet.
    pub fleet: Fleet,
    /// Vehicles with their fitments.
    pub vehicles: BTreeMap<Name, Vehicle>,
    /// Parts.
    pub parts: BTreeMap<Name, Part>,
    /// Compatibility notes.
    pub compatibility_notes: BTreeMap<Name, CompatibilityNote>,
    /// Substitutions.
    pub substitutions: BTreeMap<Name, Substitution>,
    /// Defects.
    pub defects: BTreeMap<Name, Defect>,
    /// Cargo items.
    pub cargo_items: BTreeMap<Name, CargoItem>,
    /// Weighings.
    pub weighings: BTreeMap<Name, Weighing>,
    /// Evidence.
    pub evidence: BTreeMap<Name, Evidence>,
    /// Regulated items.
    pub regulated_items: BTreeMap<Name, RegulatedItem>,
    /// Rule packs.
    pub rule_packs: BTreeMap<Name, RulePack>,
    /// Workshops.
    pub workshops: BTreeMap<Name, Workshop>,
    /// What jobs wait for.
    pub awaited_parts: BTreeMap<Name, AwaitedPart>,
    /// Jobs.
    pub jobs: BTreeMap<Name, Job>,
    /// Departures.
    pub departures: BTreeMap<Name, Departure>,
    /// Acceptances.
    pub acceptances: BTreeMap<Name, Acceptance>,
}

impl Record {
    /// A record of `fleet` with nothing else in it.
    pub fn new(fleet: Fleet) -> Self {
        Self {
            fleet,
            vehicles: BTreeMap::new(),
            parts: BTreeMap::new(),
            compatibility_notes: BTreeMap::new(),
            substitutions: BTreeMap::new(),
            defects: BTreeMap::new(),
            cargo_items: BTreeMap::new(),
            weighings: BTreeMap::new(),
            evidence: BTreeMap::new(),
            regulated_items: BTreeMap::new(),
            rule_packs: BTreeMap::new(),
            workshops: BTreeMap::new(),
            awaited_parts: BTreeMap::new(),
            jobs: BTreeMap::new(),
            departures: BTreeMap::new(),
            acceptances: BTreeMap::new(),
        }
    }
}
