//! The kinds of resources: what tells them apart in names, storage, conversion and integrity.

use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::{self, Name, integrity, integrity::World};
use ostler_proto::v1;
use prost::Message;
use prost_reflect::ReflectMessage;
use prost_types::Timestamp;

use super::unit::Unit;
use super::{AppError, weighings};
use crate::convert::{self, Converted};

/// What a kind of resource stands below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Nothing.
    Root,
    /// A fleet.
    Fleet,
    /// A vehicle.
    Vehicle,
    /// A departure.
    Departure,
}

/// The fields that every resource has.
pub trait Identity {
    /// Its name.
    fn name(&self) -> &str;
    /// Its etag.
    fn etag(&self) -> &str;
    /// Sets what the server knows of it.
    fn set_identity(
        &mut self,
        name: String,
        etag: String,
        create_time: Option<Timestamp>,
        update_time: Option<Timestamp>,
    );
}

/// A kind of resource.
pub trait Kind: Send + Sync + 'static {
    /// Its message.
    type Message: Message + Default + ReflectMessage + Identity + Clone + Send + Sync;
    /// Its form in the record.
    type Record: Send;
    /// The word for it, also in storage.
    const WORD: &'static str;
    /// The collection in names.
    const COLLECTION: &'static str;
    /// What it stands below.
    const LEVEL: Level;
    /// Field that holds it in requests.
    const FIELD: &'static str;

    /// Converts it.
    ///
    /// # Errors
    /// When a value is not what the contract says.
    fn record(name: Name, message: Self::Message) -> Converted<Self::Record>;

    /// The vehicle whose record it belongs to; empty: the fleet's.
    fn vehicle(_message: &Self::Message) -> &str {
        ""
    }

    /// Sets the states that a new one starts with.
    fn begin(_message: &mut Self::Message) {}

    /// Adds to a new one what the record knows and its caller left out.
    fn complete(
        _unit: &mut Unit,
        _message: &mut Self::Message,
    ) -> impl Future<Output = Result<(), AppError>> + Send {
        async { Ok(()) }
    }

    /// What a change of it must leave as it is, beyond immutable fields; a violation has the field and why.
    fn guard(_before: &Self::Message, _after: &Self::Message) -> Vec<Violation> {
        Vec::new()
    }

    /// What breaks the record's integrity, with paths relative to the message.
    fn integrity(_record: &Self::Record, _world: &World<'_>) -> Vec<Violation> {
        Vec::new()
    }

    /// The scope that it is read and counted with.
    fn scope(name: &Name, message: &Self::Message) -> String {
        match (Self::LEVEL, Self::vehicle(message)) {
            (Level::Root, _) => name.to_string(),
            (Level::Vehicle | Level::Departure, _) => name
                .parent()
                .map_or_else(|| name.to_string(), |parent| parent.to_string()),
            (Level::Fleet, "") => name.fleet().to_string(),
            (Level::Fleet, vehicle) => vehicle.to_owned(),
        }
    }
}

macro_rules! kinds {
    ($(
        $(#[$documentation:meta])*
        $kind:ident : $message:ident => $record:ty {
            word: $word:literal, collection: $collection:literal, level: $level:ident, field: $field:literal,
            record: $convert:path, $($rest:tt)*
        }
    )*) => {
        $(
            $(#[$documentation])*
            #[derive(Debug, Clone, Copy)]
            pub struct $kind;

            impl Identity for v1::$message {
                fn name(&self) -> &str {
                    &self.name
                }
                fn etag(&self) -> &str {
                    &self.etag
                }
                fn set_identity(
                    &mut self,
                    name: String,
                    etag: String,
                    create_time: Option<Timestamp>,
                    update_time: Option<Timestamp>,
                ) {
                    self.name = name;
                    self.etag = etag;
                    self.create_time = create_time;
                    self.update_time = update_time;
                }
            }

            impl Kind for $kind {
                type Message = v1::$message;
                type Record = $record;
                const WORD: &'static str = $word;
                const COLLECTION: &'static str = $collection;
                const LEVEL: Level = Level::$level;
                const FIELD: &'static str = $field;
                fn record(name: Name, message: Self::Message) -> Converted<Self::Record> {
                    $convert(name, message)
                }
                $($rest)*
            }
        )*

        /// Each kind's word with the full name of its message.
        pub const MESSAGES: &[(&str, &str)] = &[$(($word, concat!("ostler.v1.", stringify!($message)))),*];
    };
}

kinds! {
    /// Fleets.
    Fleets: Fleet => record::Fleet {
        word: "fleet", collection: "fleets", level: Root, field: "fleet", record: convert::fleet::fleet,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::fleet(record) }
    }
    /// Vehicles.
    Vehicles: Vehicle => record::Vehicle {
        word: "vehicle", collection: "vehicles", level: Fleet, field: "vehicle", record: convert::vehicle::vehicle,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::vehicle(record) }
        fn scope(name: &Name, _message: &Self::Message) -> String { name.to_string() }
    }
    /// Fitments.
    Fitments: Fitment => record::Fitment {
        word: "fitment", collection: "fitments", level: Vehicle, field: "fitment", record: convert::vehicle::fitment,
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> { integrity::fitment(record, world) }
    }
    /// Parts.
    Parts: Part => record::Part {
        word: "part", collection: "parts", level: Fleet, field: "part", record: convert::part::part,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::part(record) }
    }
    /// Compatibility notes.
    CompatibilityNotes: CompatibilityNote => record::CompatibilityNote {
        word: "compatibility note", collection: "compatibilityNotes", level: Fleet, field: "compatibility_note",
        record: convert::note::compatibility_note,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> {
            integrity::compatibility_note(record)
        }
    }
    /// Substitutions.
    Substitutions: Substitution => record::Substitution {
        word: "substitution", collection: "substitutions", level: Fleet, field: "substitution",
        record: convert::substitution::substitution,
        fn vehicle(message: &Self::Message) -> &str { &message.vehicle }
        fn begin(message: &mut Self::Message) {
            message.state = v1::SubstitutionState::Proposed.into();
        }
        fn guard(before: &Self::Message, after: &Self::Message) -> Vec<Violation> {
            guard_substitution(before, after)
        }
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> {
            integrity::substitution(record, world)
        }
    }
    /// Defects.
    Defects: Defect => record::Defect {
        word: "defect", collection: "defects", level: Fleet, field: "defect", record: convert::defect::defect,
        fn vehicle(message: &Self::Message) -> &str { &message.vehicle }
        fn begin(message: &mut Self::Message) {
            message.disposition = v1::DefectDisposition::Open.into();
        }
    }
    /// Cargo items.
    CargoItems: CargoItem => record::CargoItem {
        word: "cargo item", collection: "cargoItems", level: Fleet, field: "cargo_item",
        record: convert::cargo::cargo_item,
        fn vehicle(message: &Self::Message) -> &str { &message.vehicle }
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> {
            integrity::cargo_item(record, world)
        }
    }
    /// Weighings.
    Weighings: Weighing => record::Weighing {
        word: "weighing", collection: "weighings", level: Fleet, field: "weighing", record: convert::weighing::weighing,
        fn vehicle(message: &Self::Message) -> &str { &message.vehicle }
        async fn complete(unit: &mut Unit, message: &mut Self::Message) -> Result<(), AppError> {
            weighings::complete(unit, message).await
        }
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> {
            integrity::weighing(record, world)
        }
    }
    /// Evidence.
    EvidenceRecords: Evidence => record::Evidence {
        word: "evidence", collection: "evidence", level: Fleet, field: "evidence", record: convert::evidence::evidence,
        fn vehicle(message: &Self::Message) -> &str { &message.vehicle }
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::evidence(record) }
    }
    /// Regulated items.
    RegulatedItems: RegulatedItem => record::RegulatedItem {
        word: "regulated item", collection: "regulatedItems", level: Fleet, field: "regulated_item",
        record: convert::regulated_item::regulated_item,
        fn vehicle(message: &Self::Message) -> &str { &message.vehicle }
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> {
            integrity::regulated_item(record, world)
        }
    }
    /// Rule packs.
    RulePacks: RulePack => record::RulePack {
        word: "rule pack", collection: "rulePacks", level: Fleet, field: "rule_pack",
        record: convert::rule_pack::rule_pack,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::rule_pack(record) }
    }
    /// Acceptances.
    Acceptances: Acceptance => record::Acceptance {
        word: "acceptance", collection: "acceptances", level: Fleet, field: "acceptance",
        record: convert::acceptance::acceptance,
        fn scope(_name: &Name, message: &Self::Message) -> String { message.departure.clone() }
    }
    /// Workshops.
    Workshops: Workshop => record::Workshop {
        word: "workshop", collection: "workshops", level: Fleet, field: "workshop", record: convert::workshop::workshop,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::workshop(record) }
    }
    /// Awaited parts.
    AwaitedParts: AwaitedPart => record::AwaitedPart {
        word: "awaited part", collection: "awaitedParts", level: Fleet, field: "awaited_part",
        record: convert::workshop::awaited_part,
        fn integrity(record: &Self::Record, _world: &World<'_>) -> Vec<Violation> { integrity::awaited_part(record) }
    }
    /// Jobs. They are the fleet's, whatever vehicles they are on: what comes before what crosses vehicles.
    Jobs: Job => record::Job {
        word: "job", collection: "jobs", level: Fleet, field: "job", record: convert::job::job,
        fn begin(message: &mut Self::Message) {
            message.state = v1::JobState::ToDo.into();
        }
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> { integrity::job(record, world) }
    }
    /// Departures.
    Departures: Departure => record::Departure {
        word: "departure", collection: "departures", level: Fleet, field: "departure",
        record: convert::departure::departure,
        fn integrity(record: &Self::Record, world: &World<'_>) -> Vec<Violation> {
            integrity::departure(record, world)
        }
        fn scope(name: &Name, _message: &Self::Message) -> String { name.to_string() }
    }
    /// Issued load sheets. They are no part of the record: nothing is computed from them, so they have a scope of their
    /// own, which is never read with the departure.
    LoadSheets: IssuedLoadSheet => () {
        word: "load sheet", collection: "loadSheets", level: Departure, field: "load_sheet",
        record: convert::sheet::no_record,
        fn scope(name: &Name, _message: &Self::Message) -> String {
            name.parent().map_or_else(|| name.to_string(), |departure| format!("{departure}/loadSheets"))
        }
    }
}

/// Takes `text` as the name of a `K`.
///
/// # Errors
/// When it is not one; the violation is at `field`.
pub fn name_of<K: Kind>(field: &str, text: &str) -> Result<Name, InvalidInput> {
    let name = Name::new(text).map_err(|refused| refused.within(field))?;
    let levels = name.split('/').count() / 2;
    let expected = match K::LEVEL {
        Level::Root => 1,
        Level::Fleet => 2,
        Level::Vehicle | Level::Departure => 3,
    };
    let below = match K::LEVEL {
        Level::Vehicle => Some(Vehicles::COLLECTION),
        Level::Departure => Some(Departures::COLLECTION),
        Level::Root | Level::Fleet => None,
    };
    let below_its_own = below.is_none_or(|collection| {
        name.parent()
            .is_some_and(|parent| parent.collection() == collection)
    });
    if levels == expected
        && name.collection() == K::COLLECTION
        && name.starts_with("fleets/")
        && below_its_own
    {
        Ok(name)
    } else {
        Err(InvalidInput::one(
            field,
            format!("must be the name of a {}, is {text:?}", K::WORD),
        ))
    }
}

/// Takes `text` as the name of what a `K` stands below. `None` for a kind that stands below nothing.
///
/// # Errors
/// When it is not one; the violation is at `field`.
pub fn parent_of<K: Kind>(field: &str, text: &str) -> Result<Option<Name>, InvalidInput> {
    match K::LEVEL {
        Level::Root => Ok(None),
        Level::Fleet => name_of::<Fleets>(field, text).map(Some),
        Level::Vehicle => name_of::<Vehicles>(field, text).map(Some),
        Level::Departure => name_of::<Departures>(field, text).map(Some),
    }
}

/// The parts of a substitution change only while it is proposed or assessed, and it is fitted only by `FitSubstitution`.
fn guard_substitution(before: &v1::Substitution, after: &v1::Substitution) -> Vec<Violation> {
    let refuse = |field: &str, problem: &str| Violation {
        field: field.to_owned(),
        problem: problem.to_owned(),
    };
    let mut violations = Vec::new();
    if before.fitted_date != after.fitted_date {
        violations.push(refuse("fitted_date", "is set by fitting the substitution"));
    }
    let open = [v1::SubstitutionState::Proposed, v1::SubstitutionState::Assessed].contains(&before.state());
    if !open && before.replacements != after.replacements {
        violations.push(refuse(
            "replacements",
            "cannot change once the substitution is approved, fitted or withdrawn",
        ));
    }
    violations
}
