//! A unit of work: one transaction with its checks, its history and the answer to its request id.

use std::collections::BTreeMap;

use ostler_core::check::InvalidInput;
use ostler_core::record::integrity::World;
use ostler_core::record::{Name, Vehicle};
use ostler_store::{Change, NewHistory, NewRequest, NewRow, Row, StoreError, Transaction};
use prost::Message;
use prost_types::Timestamp;
use sha2::{Digest, Sha256};

use super::kind_table::Prepared;
use super::kinds::{Fitments, Identity, Kind, Vehicles};
use super::{App, AppError, references};
use crate::contract::{self, Presence};

/// One call that may write.
#[derive(Debug, Clone)]
pub struct Call {
    /// Who calls: the name of the token.
    pub actor: String,
    /// The method, for the idempotency record.
    pub method: &'static str,
    /// The caller's id of the request; empty: none.
    pub request_id: String,
    /// Digest of the request.
    pub digest: [u8; 32],
    /// Check and answer, but write nothing.
    pub validate_only: bool,
}

impl Call {
    /// A call of `method` with `request`.
    pub fn new(
        actor: &str,
        method: &'static str,
        request: &impl Message,
        request_id: &str,
        validate_only: bool,
    ) -> Self {
        let digest = Sha256::digest(request.encode_to_vec()).into();
        let request_id = request_id.to_ascii_lowercase();
        Self {
            actor: actor.to_owned(),
            method,
            request_id,
            digest,
            validate_only,
        }
    }
}

/// A stored resource, decoded.
#[derive(Debug, Clone)]
pub struct Stored<K: Kind> {
    /// Its row.
    pub row: Row,
    /// Its name.
    pub name: Name,
    /// Its message, with its identity.
    pub message: K::Message,
}

/// Decodes a row.
///
/// # Errors
/// When the body is not a message of the kind.
pub fn decode<K: Kind>(row: Row) -> Result<Stored<K>, AppError> {
    let corrupt = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
        name: row.name.clone(),
        source,
    };
    let mut message = K::Message::decode(row.body.as_slice()).map_err(|error| corrupt(Box::new(error)))?;
    let name = Name::new(row.name.clone()).map_err(|error| corrupt(Box::new(error)))?;
    message.set_identity(
        row.name.clone(),
        etag(row.revision, row.update_time),
        Some(timestamp(row.create_time)),
        Some(timestamp(row.update_time)),
    );
    Ok(Stored { row, name, message })
}

/// Encodes a message for storage: without its identity, which the row holds.
pub fn encode<K: Kind>(message: &K::Message) -> Vec<u8> {
    let mut message = message.clone();
    message.set_identity(String::new(), String::new(), None, None);
    message.encode_to_vec()
}

fn etag(revision: i64, update_time: i64) -> String {
    format!("{revision:x}-{update_time:x}")
}

/// A time of the API.
pub fn timestamp(micros: i64) -> Timestamp {
    let nanos = i32::try_from(micros.rem_euclid(1_000_000) * 1_000).unwrap_or_default();
    Timestamp {
        seconds: micros.div_euclid(1_000_000),
        nanos,
    }
}

struct Entry {
    fleet: String,
    resource: String,
    kind: String,
    action: &'static str,
    before: Option<Vec<u8>>,
    after: Option<Vec<u8>>,
}

/// A unit of work.
pub struct Unit {
    transaction: Transaction,
    call: Call,
    time: i64,
    entries: Vec<Entry>,
}

/// Resources to write together.
#[derive(Debug, Default)]
pub struct Batch {
    created: Vec<Prepared>,
    updated: Vec<(Prepared, Row)>,
}

impl Batch {
    /// Adds a new resource.
    pub fn create(&mut self, prepared: Prepared) {
        self.created.push(prepared);
    }

    /// Adds a change of the resource stored as `known`.
    pub fn update(&mut self, prepared: Prepared, known: Row) {
        self.updated.push((prepared, known));
    }
}

/// How a call starts.
pub enum Begun<T> {
    /// It was answered before.
    Repeated(T),
    /// It is new.
    New(Box<Unit>),
}

impl App {
    /// Begins a call that writes.
    ///
    /// # Errors
    /// When the request id was used for another request or the database fails.
    pub async fn begin<T: Message + Default>(&self, call: &Call) -> Result<Begun<T>, AppError> {
        if let Some(answer) = self.answered(call).await? {
            return Ok(Begun::Repeated(answer));
        }
        let mut transaction = self.store.begin().await?;
        let time = self.now_micros();
        // Claimed before anything is read: of several calls with one id at once, the others wait here for the first, and
        // none of them takes what the first has written for somebody else's.
        if !call.request_id.is_empty() && !call.validate_only {
            let claim = NewRequest {
                actor: &call.actor,
                request_id: &call.request_id,
                method: call.method,
                digest: &call.digest,
                response: &[],
                time,
            };
            match transaction.record_request(&claim).await {
                Err(StoreError::RequestRepeated) => {
                    drop(transaction);
                    let answered = self.answered(call).await?;
                    let repeated = AppError::Storage(StoreError::RequestRepeated);
                    return answered.map(Begun::Repeated).ok_or(repeated);
                }
                outcome => outcome?,
            }
        }
        Ok(Begun::New(Box::new(Unit {
            transaction,
            call: call.clone(),
            time,
            entries: Vec::new(),
        })))
    }

    async fn answered<T: Message + Default>(&self, call: &Call) -> Result<Option<T>, AppError> {
        if call.request_id.is_empty() {
            return Ok(None);
        }
        let Some(stored) = self.store.request(&call.actor, &call.request_id).await? else {
            return Ok(None);
        };
        if stored.method != call.method || stored.digest != call.digest {
            return Err(AppError::RequestIdReused {
                request_id: call.request_id.clone(),
            });
        }
        let answer = T::decode(stored.response.as_slice()).map_err(|error| AppError::Corrupt {
            name: format!("request {}", call.request_id),
            source: Box::new(error),
        })?;
        Ok(Some(answer))
    }
}

impl Unit {
    /// Microseconds since 1970, UTC: the one time of this unit.
    pub fn time(&self) -> i64 {
        self.time
    }

    /// The transaction, for reads that fit no other method.
    pub fn transaction(&mut self) -> &mut Transaction {
        &mut self.transaction
    }

    /// Reads a resource.
    ///
    /// # Errors
    /// When it does not exist or cannot be read.
    pub async fn get<K: Kind>(&mut self, name: &Name) -> Result<Stored<K>, AppError> {
        let row = self.transaction.get(name).await?;
        decode(row.ok_or_else(|| AppError::NotFound {
            name: name.to_string(),
        })?)
    }

    /// Creates a resource and returns it with its identity.
    ///
    /// # Errors
    /// When it exists, its parent does not, or it breaks the record's integrity.
    pub async fn create<K: Kind>(
        &mut self,
        name: &Name,
        message: K::Message,
        action: &'static str,
    ) -> Result<K::Message, AppError> {
        let parent = name.parent();
        if let Some(parent) = &parent
            && self.transaction.get(parent).await?.is_none()
        {
            return Err(AppError::NotFound {
                name: parent.to_string(),
            });
        }
        let targets = self.check::<K>(name, &message).await?;
        let body = encode::<K>(&message);
        let row = NewRow {
            name,
            kind: K::WORD,
            parent: parent.as_deref(),
            scope: &K::scope(name, &message),
            body: &body,
            time: self.time,
        };
        let revision = match self.transaction.insert(&row).await {
            Err(StoreError::AlreadyExists { name }) => return Err(AppError::Exists { name }),
            outcome => outcome?,
        };
        self.transaction.set_references(name, &targets).await?;
        self.note::<K>(name, action, None, Some(body));
        Ok(identified::<K>(message, name, revision, self.time, self.time))
    }

    /// Changes a resource and returns it with its identity. What is as it was stays untouched.
    ///
    /// # Errors
    /// When somebody changed it in between, or it breaks the record's integrity.
    pub async fn update<K: Kind>(
        &mut self,
        stored: &Stored<K>,
        message: K::Message,
        action: &'static str,
    ) -> Result<K::Message, AppError> {
        let name = &stored.name;
        let body = encode::<K>(&message);
        if body == stored.row.body {
            return Ok(stored.message.clone());
        }
        let targets = self.check::<K>(name, &message).await?;
        let change = Change {
            name,
            expected_revision: stored.row.revision,
            scope: &K::scope(name, &message),
            body: &body,
            time: self.time,
        };
        let revision = match self.transaction.update(&change).await {
            Err(StoreError::Stale { name }) => return Err(AppError::Stale { name }),
            outcome => outcome?,
        };
        self.transaction.set_references(name, &targets).await?;
        self.note::<K>(name, action, Some(stored.row.body.clone()), Some(body));
        Ok(identified::<K>(
            message,
            name,
            revision,
            stored.row.create_time,
            self.time,
        ))
    }

    /// Deletes a resource and, when `force` is set, everything below it.
    ///
    /// # Errors
    /// When something refers to it or stands below it, or somebody changed it in between.
    pub async fn delete<K: Kind>(&mut self, stored: &Stored<K>, force: bool) -> Result<(), AppError> {
        let below = self.transaction.descendants(&stored.name).await?;
        if !force && !below.is_empty() {
            let by = below.iter().take(5).map(|row| row.name.clone()).collect();
            return Err(AppError::InUse {
                name: stored.name.to_string(),
                by,
            });
        }
        let doomed: Vec<&Row> = below.iter().chain([&stored.row]).collect();
        for row in &doomed {
            let outside: Vec<String> = self
                .transaction
                .referrers(&row.name, 100)
                .await?
                .into_iter()
                .filter(|source| !doomed.iter().any(|row| row.name == *source))
                .collect();
            if !outside.is_empty() {
                return Err(AppError::InUse {
                    name: row.name.clone(),
                    by: outside.into_iter().take(5).collect(),
                });
            }
        }
        for row in doomed {
            match self.transaction.delete(&row.name, row.revision).await {
                Err(StoreError::Stale { name }) => return Err(AppError::Stale { name }),
                outcome => outcome?,
            }
            self.entries.push(Entry {
                fleet: stored.name.fleet().to_string(),
                resource: row.name.clone(),
                kind: row.kind.clone(),
                action: "delete",
                before: Some(row.body.clone()),
                after: None,
            });
        }
        Ok(())
    }

    /// Checks a resource whole: contract, references, integrity. Returns what it refers to.
    ///
    /// # Errors
    /// All violations of the first of these that has any.
    pub async fn check<K: Kind>(
        &mut self,
        name: &Name,
        message: &K::Message,
    ) -> Result<Vec<String>, AppError> {
        contract::check_within(K::FIELD, message, Presence::Full)?;
        let found = contract::references(message);
        let targets = references::targets(&found);
        let mut wanted = targets.clone();
        if K::WORD == Fitments::WORD {
            wanted.extend(name.parent().map(String::from));
        }
        let rows = self.transaction.many(&wanted).await?;
        references::check::<K>(name, &found, &rows)?;
        let mut vehicles = BTreeMap::new();
        for row in rows.into_iter().filter(|row| row.kind == Vehicles::WORD) {
            let vehicle = decode::<Vehicles>(row)?;
            let record: Vehicle = Vehicles::record(vehicle.name.clone(), vehicle.message)?;
            vehicles.insert(vehicle.name, record);
        }
        integrity_within::<K>(name, message.clone(), &World { vehicles: &vehicles })?;
        Ok(targets)
    }

    /// Writes many resources in few statements. They were checked before.
    ///
    /// # Errors
    /// When somebody changed one in between or the database fails.
    pub async fn write_batch(&mut self, batch: Batch, action: &'static str) -> Result<(), AppError> {
        let Batch { created, updated } = batch;
        let time = self.time;
        let parents: Vec<Option<String>> = created
            .iter()
            .map(|prepared| prepared.name.parent().map(String::from))
            .collect();
        let rows: Vec<NewRow<'_>> = created
            .iter()
            .zip(&parents)
            .map(|(prepared, parent)| NewRow {
                name: &prepared.name,
                kind: prepared.word,
                parent: parent.as_deref(),
                scope: &prepared.scope,
                body: &prepared.body,
                time,
            })
            .collect();
        match self.transaction.insert_all(&rows).await {
            Err(StoreError::AlreadyExists { name }) => return Err(AppError::Exists { name }),
            outcome => outcome?,
        }
        for (prepared, known) in &updated {
            let change = Change {
                name: &prepared.name,
                expected_revision: known.revision,
                scope: &prepared.scope,
                body: &prepared.body,
                time,
            };
            match self.transaction.update(&change).await {
                Err(StoreError::Stale { name }) => return Err(AppError::Stale { name }),
                outcome => drop(outcome?),
            }
        }
        let changed = created.iter().chain(updated.iter().map(|(prepared, _)| prepared));
        let references: Vec<(&str, &[String])> = changed
            .map(|prepared| (&*prepared.name, prepared.targets.as_slice()))
            .collect();
        self.transaction.set_all_references(&references).await?;
        let entry = |prepared: Prepared, before: Option<Vec<u8>>| Entry {
            fleet: prepared.name.fleet().to_string(),
            resource: prepared.name.to_string(),
            kind: prepared.word.to_owned(),
            action,
            before,
            after: Some(prepared.body),
        };
        self.entries
            .extend(created.into_iter().map(|prepared| entry(prepared, None)));
        self.entries.extend(
            updated
                .into_iter()
                .map(|(prepared, known)| entry(prepared, Some(known.body))),
        );
        Ok(())
    }

    fn note<K: Kind>(
        &mut self,
        name: &Name,
        action: &'static str,
        before: Option<Vec<u8>>,
        after: Option<Vec<u8>>,
    ) {
        self.entries.push(Entry {
            fleet: name.fleet().to_string(),
            resource: name.to_string(),
            kind: K::WORD.to_owned(),
            action,
            before,
            after,
        });
    }

    /// Ends the unit: history, the answer for the request id, commit. With `validate_only` nothing is written.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn finish<T: Message + Default>(mut self, answer: T) -> Result<T, AppError> {
        if self.call.validate_only {
            return Ok(answer);
        }
        let request_id = (!self.call.request_id.is_empty()).then_some(self.call.request_id.as_str());
        let history: Vec<NewHistory<'_>> = self
            .entries
            .iter()
            .map(|entry| NewHistory {
                fleet: &entry.fleet,
                resource: &entry.resource,
                kind: &entry.kind,
                time: self.time,
                actor: &self.call.actor,
                action: entry.action,
                request_id,
                before: entry.before.as_deref(),
                after: entry.after.as_deref(),
            })
            .collect();
        self.transaction.append_history(&history).await?;
        if let Some(request_id) = request_id {
            let response = answer.encode_to_vec();
            self.transaction
                .answer_request(&self.call.actor, request_id, &response)
                .await?;
        }
        self.transaction.commit().await?;
        Ok(answer)
    }
}

/// Checks the integrity of a resource, its violations below the field that holds it in requests.
///
/// # Errors
/// All violations.
pub fn integrity_within<K: Kind>(
    name: &Name,
    message: K::Message,
    world: &World<'_>,
) -> Result<(), InvalidInput> {
    let record = K::record(name.clone(), message).map_err(|refused| refused.within(K::FIELD))?;
    let violations = K::integrity(&record, world);
    if violations.is_empty() {
        Ok(())
    } else {
        Err(InvalidInput { violations }.within(K::FIELD))
    }
}

fn identified<K: Kind>(
    mut message: K::Message,
    name: &Name,
    revision: i64,
    create_time: i64,
    update_time: i64,
) -> K::Message {
    message.set_identity(
        name.to_string(),
        etag(revision, update_time),
        Some(timestamp(create_time)),
        Some(timestamp(update_time)),
    );
    message
}
