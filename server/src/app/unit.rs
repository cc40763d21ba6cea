//! A unit of work: one transaction with its checks, its history and the answer to its request id.

use std::collections::BTreeMap;

use ostler_core::check::InvalidInput;
use ostler_core::record::integrity::World;
use ostler_core::record::{Name, Vehicle};
use ostler_store::{Change, NewHistory, NewRequest, NewRow, Row, StoreError, Transaction};
use prost::Message;
use sha2::{Digest, Sha256};

use super::kinds::{Fitments, Kind, Vehicles};
use super::stored::{Stored, decode, encode, identified};
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

/// A change, for the history.
pub(super) struct Entry {
    pub(super) fleet: String,
    pub(super) resource: String,
    pub(super) kind: String,
    pub(super) action: &'static str,
    pub(super) before: Option<Vec<u8>>,
    pub(super) after: Option<Vec<u8>>,
}

/// A unit of work.
pub struct Unit {
    pub(super) transaction: Transaction,
    call: Call,
    pub(super) time: i64,
    pub(super) entries: Vec<Entry>,
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
