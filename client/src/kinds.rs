//! The kinds of records: their words, and their methods as the descriptors of the API state them.

use clap::ValueEnum;
use ostler_proto::DESCRIPTOR_POOL;
use prost_reflect::{FieldDescriptor, MessageDescriptor, MethodDescriptor};

/// A kind of record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// The vehicles one team looks after
    #[value(alias = "fleets")]
    Fleet,
    /// A vehicle and what it was built with
    #[value(alias = "vehicles")]
    Vehicle,
    /// Which part is in a slot of a vehicle
    #[value(alias = "fitments")]
    Fitment,
    /// What can be fitted
    #[value(alias = "parts")]
    Part,
    /// A finding about parts meeting parts and vehicles
    #[value(alias = "notes", alias = "compatibility-note", alias = "compatibility-notes")]
    Note,
    /// Other parts for slots of a vehicle
    #[value(alias = "substitutions")]
    Substitution,
    /// A fault found
    #[value(alias = "defects")]
    Defect,
    /// A thing carried
    #[value(alias = "cargo-item", alias = "cargo-items")]
    Cargo,
    /// Scale readings
    #[value(alias = "weighings")]
    Weighing,
    /// A certificate, test, measurement or inspection
    Evidence,
    /// A thing that rules speak about
    #[value(alias = "regulated-items")]
    RegulatedItem,
    /// Rules of one jurisdiction or club
    #[value(alias = "rule-packs")]
    RulePack,
    /// A place with bays and people
    #[value(alias = "workshops")]
    Workshop,
    /// What jobs wait for
    #[value(alias = "awaited-parts")]
    AwaitedPart,
    /// A piece of work
    #[value(alias = "jobs")]
    Job,
    /// A planned trip
    #[value(alias = "departures")]
    Departure,
    /// A condition that somebody has signed for
    #[value(alias = "acceptances")]
    Acceptance,
}

impl Kind {
    /// The word for it in sentences.
    pub fn word(self) -> &'static str {
        match self {
            Self::Fleet => "fleet",
            Self::Vehicle => "vehicle",
            Self::Fitment => "fitment",
            Self::Part => "part",
            Self::Note => "compatibility note",
            Self::Substitution => "substitution",
            Self::Defect => "defect",
            Self::Cargo => "cargo item",
            Self::Weighing => "weighing",
            Self::Evidence => "evidence",
            Self::RegulatedItem => "regulated item",
            Self::RulePack => "rule pack",
            Self::Workshop => "workshop",
            Self::AwaitedPart => "awaited part",
            Self::Job => "job",
            Self::Departure => "departure",
            Self::Acceptance => "acceptance",
        }
    }

    /// The collection in names.
    pub fn collection(self) -> &'static str {
        match self {
            Self::Fleet => "fleets",
            Self::Vehicle => "vehicles",
            Self::Fitment => "fitments",
            Self::Part => "parts",
            Self::Note => "compatibilityNotes",
            Self::Substitution => "substitutions",
            Self::Defect => "defects",
            Self::Cargo => "cargoItems",
            Self::Weighing => "weighings",
            Self::Evidence => "evidence",
            Self::RegulatedItem => "regulatedItems",
            Self::RulePack => "rulePacks",
            Self::Workshop => "workshops",
            Self::AwaitedPart => "awaitedParts",
            Self::Job => "jobs",
            Self::Departure => "departures",
            Self::Acceptance => "acceptances",
        }
    }

    /// Name of its message in `ostler.v1`.
    fn message_name(self) -> &'static str {
        match self {
            Self::Fleet => "Fleet",
            Self::Vehicle => "Vehicle",
            Self::Fitment => "Fitment",
            Self::Part => "Part",
            Self::Note => "CompatibilityNote",
            Self::Substitution => "Substitution",
            Self::Defect => "Defect",
            Self::Cargo => "CargoItem",
            Self::Weighing => "Weighing",
            Self::Evidence => "Evidence",
            Self::RegulatedItem => "RegulatedItem",
            Self::RulePack => "RulePack",
            Self::Workshop => "Workshop",
            Self::AwaitedPart => "AwaitedPart",
            Self::Job => "Job",
            Self::Departure => "Departure",
            Self::Acceptance => "Acceptance",
        }
    }

    /// Fields that a list for people shows beside the id.
    pub fn columns(self) -> &'static [&'static str] {
        match self {
            Self::Fleet => &["display_name", "description"],
            Self::Vehicle => &["display_name", "role", "kind"],
            Self::Fitment => &["part", "fitted_date", "substitution"],
            Self::Part => &["display_name", "number", "variant", "mass.mass_kg"],
            Self::Note => &["part", "interface_kind", "finding", "remedy"],
            Self::Substitution => &["vehicle", "state", "fitted_date", "reason"],
            Self::Defect => &["vehicle", "severity", "disposition", "description"],
            Self::Cargo => &["display_name", "vehicle", "zone", "quantity", "unit_mass.mass_kg"],
            Self::Weighing => &["vehicle", "weighed_date", "ticket"],
            Self::Evidence => &["display_name", "vehicle", "topic", "result", "valid_until_date"],
            Self::RegulatedItem => &["display_name", "vehicle", "topic"],
            Self::RulePack => &["display_name", "jurisdiction", "version", "effective_date"],
            Self::Workshop => &["display_name", "bay_count"],
            Self::AwaitedPart => &["display_name", "ordered_date", "arrived_date"],
            Self::Job => &["display_name", "vehicles", "stage", "state", "done_date"],
            Self::Departure => &["display_name", "departure_date", "return_date"],
            Self::Acceptance => &["vehicle", "gate", "finding", "condition.condition", "signed_by"],
        }
    }

    /// The kind whose names hold `word`: a collection, or a word that the command line takes.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::value_variants()
            .iter()
            .copied()
            .find(|kind| kind.collection() == word)
            .or_else(|| Self::from_str(word, true).ok())
    }

    /// Its methods. `None`: this program and the API it was built with disagree about the kind.
    pub fn methods(self) -> Option<Methods> {
        Methods::of(self)
    }
}

/// The standard methods of a kind.
#[derive(Debug, Clone)]
pub struct Methods {
    /// The message of a record.
    pub resource: MessageDescriptor,
    /// Field of requests that holds the record, for example `cargo_item`.
    pub field: String,
    /// Returns one.
    pub get: MethodDescriptor,
    /// Lists them.
    pub list: MethodDescriptor,
    /// Field of the list's response that holds the page.
    pub page: FieldDescriptor,
    /// Creates one. For substitutions, this is the method that records one; acceptances have a command of their own.
    pub create: Option<MethodDescriptor>,
    /// Changes one. Unset: the kind does not change.
    pub update: Option<MethodDescriptor>,
    /// Deletes one.
    pub delete: Option<MethodDescriptor>,
}

impl Methods {
    fn of(kind: Kind) -> Option<Self> {
        let message_name = kind.message_name();
        let resource = DESCRIPTOR_POOL.get_message_by_name(&format!("ostler.v1.{message_name}"))?;
        let get_name = format!("Get{message_name}");
        let service = DESCRIPTOR_POOL
            .services()
            .find(|service| service.methods().any(|method| method.name() == get_name))?;
        let method = |verb: &str| {
            let name = format!("{verb}{message_name}");
            service.methods().find(|method| method.name() == name)
        };
        let page_of = |method: &MethodDescriptor| {
            let holds =
                |field: &FieldDescriptor| field.is_list() && field.kind().as_message() == Some(&resource);
            method.output().fields().find(holds)
        };
        let (list, page) = service
            .methods()
            .filter(|method| method.name().starts_with("List"))
            .find_map(|method| page_of(&method).map(|page| (method, page)))?;
        let create = method("Create").or_else(|| method("Record"));
        let update = method("Update");
        let holds =
            |field: &FieldDescriptor| field.kind().as_message() == Some(&resource) && !field.is_list();
        let field = service
            .methods()
            .flat_map(|method| method.input().fields().collect::<Vec<_>>())
            .find(holds)?
            .name()
            .to_owned();
        Some(Self {
            get: method("Get")?,
            delete: method("Delete"),
            resource,
            field,
            list,
            page,
            create,
            update,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flatten;

    #[test]
    fn every_kind_has_its_methods() {
        for kind in Kind::value_variants() {
            let methods = kind
                .methods()
                .unwrap_or_else(|| panic!("{kind:?} has no methods"));
            assert_eq!(methods.create.is_none(), *kind == Kind::Acceptance, "{kind:?}");
            assert!(methods.delete.is_some(), "{kind:?}");
            let fixed = [Kind::RulePack, Kind::Acceptance].contains(kind);
            assert_eq!(methods.update.is_none(), fixed, "{kind:?}");
        }
    }

    #[test]
    fn columns_of_lists_are_fields() {
        for kind in Kind::value_variants() {
            let headers = flatten::headers(&kind.methods().unwrap().resource);
            for column in kind.columns() {
                assert!(
                    headers.iter().any(|header| header == column),
                    "{kind:?} has no {column}"
                );
            }
        }
    }

    #[test]
    fn words_and_collections_name_kinds() {
        assert_eq!(Kind::of_word("cargoItems"), Some(Kind::Cargo));
        assert_eq!(Kind::of_word("rule-packs"), Some(Kind::RulePack));
        assert_eq!(Kind::of_word("vehicle"), Some(Kind::Vehicle));
        assert_eq!(Kind::of_word("wheelbarrow"), None);
    }
}
