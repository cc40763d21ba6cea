//! A fleet, and its whole record.

use std::collections::BTreeMap;

use super::{
    Acceptance, AwaitedPart, CargoItem, CompatibilityNote, Defect, Departure, Evidence, Fluid, Id, Items,
    Job, Name, Part, RegulatedItem, RulePack, Shared, Substitution, Vehicle, Weighing, Workshop,
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

/// Records of one kind by their names.
pub type Table<T> = Shared<Items<T>>;

/// Everything known about a fleet, or the part of it that a computation needs. Copies share what neither of them changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The fleet.
    pub fleet: Shared<Fleet>,
    /// Vehicles with their fitments.
    pub vehicles: Table<Vehicle>,
    /// Parts.
    pub parts: Table<Part>,
    /// Compatibility notes.
    pub compatibility_notes: Table<CompatibilityNote>,
    /// Substitutions.
    pub substitutions: Table<Substitution>,
    /// Defects.
    pub defects: Table<Defect>,
    /// Cargo items.
    pub cargo_items: Table<CargoItem>,
    /// Weighings.
    pub weighings: Table<Weighing>,
    /// Evidence.
    pub evidence: Table<Evidence>,
    /// Regulated items.
    pub regulated_items: Table<RegulatedItem>,
    /// Rule packs.
    pub rule_packs: Table<RulePack>,
    /// Workshops.
    pub workshops: Table<Workshop>,
    /// What jobs wait for.
    pub awaited_parts: Table<AwaitedPart>,
    /// Jobs.
    pub jobs: Table<Job>,
    /// Departures.
    pub departures: Table<Departure>,
    /// Acceptances.
    pub acceptances: Table<Acceptance>,
}

impl Record {
    /// A copy of which, and for which, nothing is noted as read ([`Shared`]).
    pub(crate) fn share(&self) -> Self {
        self.shared_with(self)
    }

    /// This record, made of the parts of `before` as far as these are equal. Nothing is noted.
    pub(crate) fn shared_with(&self, before: &Self) -> Self {
        Self {
            fleet: self.fleet.shared_with(&before.fleet),
            vehicles: self.vehicles.shared_with(&before.vehicles),
            parts: self.parts.shared_with(&before.parts),
            compatibility_notes: self.compatibility_notes.shared_with(&before.compatibility_notes),
            substitutions: self.substitutions.shared_with(&before.substitutions),
            defects: self.defects.shared_with(&before.defects),
            cargo_items: self.cargo_items.shared_with(&before.cargo_items),
            weighings: self.weighings.shared_with(&before.weighings),
            evidence: self.evidence.shared_with(&before.evidence),
            regulated_items: self.regulated_items.shared_with(&before.regulated_items),
            rule_packs: self.rule_packs.shared_with(&before.rule_packs),
            workshops: self.workshops.shared_with(&before.workshops),
            awaited_parts: self.awaited_parts.shared_with(&before.awaited_parts),
            jobs: self.jobs.shared_with(&before.jobs),
            departures: self.departures.shared_with(&before.departures),
            acceptances: self.acceptances.shared_with(&before.acceptances),
        }
    }

    /// A record of `fleet` with nothing else in it.
    pub fn new(fleet: Fleet) -> Self {
        Self {
            fleet: fleet.into(),
            vehicles: Table::default(),
            parts: Table::default(),
            compatibility_notes: Table::default(),
            substitutions: Table::default(),
            defects: Table::default(),
            cargo_items: Table::default(),
            weighings: Table::default(),
            evidence: Table::default(),
            regulated_items: Table::default(),
            rule_packs: Table::default(),
            workshops: Table::default(),
            awaited_parts: Table::default(),
            jobs: Table::default(),
            departures: Table::default(),
            acceptances: Table::default(),
        }
    }
}
