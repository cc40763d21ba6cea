//! A unit of work: one transaction with its checks, its history and the answer to its request id.

use std::collections::BTreeMap;

use ostler_core::check::InvalidInput;
use ostler_core::readiness::{self, Readiness};
use ostler_core::record::integrity::World;
use ostler_core::record::{Circles, Departure, Name, Record, Vehicle};
use ostler_store::{Change, NewHistory, NewRequest, NewRow, Row};
use prost::Message;
use prost_reflect::ReflectMessage as _;
use tracing::Instrument as _;

use super::backing::{Backing, Writing};
use super::kinds::{Departures, Fitments, Jobs, Kind, Vehicles};
use super::plans::{self, Outlooks};
use super::readiness::{CheckedPacks, EarlierOf, packs_by};
use super::record::{Read, assemble, scopes_of};
use super::stored::{Stored, decode, encode, identified};
use super::{Actor, App, AppError, Call, jobs, references, scope};
use crate::contract::{self, Presence};
use crate::traces;

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
    pub(super) backing: Backing,
    actor: Actor,
    pub(super) time: i64,
    pub(super) entries: Vec<Entry>,
    /// Rows that were read ahead; none: there is none of that name. Empty after everything that writes.
    pub(super) looked_up: BTreeMap<String, Option<Row>>,
    outlooks: Outlooks,
    checked_packs: CheckedPacks,
    earlier: EarlierOf,
}

impl App {
    /// Carries out a call that writes: all that `work` does to its unit, or nothing. A repeat of a call that
    /// was carried out changes nothing and gets its answer.
    ///
    /// # Errors
    /// When `work` fails, the request id was used for another request, or the database fails.
    pub async fn write<T, Work>(&self, call: &Call, work: Work) -> Result<T, AppError>
    where
        T: Message + Default,
        Work: AsyncFnOnce(&mut Unit) -> Result<T, AppError>,
    {
        // A repeat is found out by its request id at the end: nearly every call is none, and is spared the question. Only what ends
        // before that asks first.
        if call.validate_only
            && let Some(answer) = self.answered(call).await?
        {
            return Ok(answer);
        }
        // On the heap: what a transaction holds on its way is larger than all that surrounds it.
        let attempt = Box::pin(self.attempt(call, work));
        match attempt.instrument(traces::part("transaction")).await {
            Ok(answer) => Ok(answer),
            // Of several equal calls at once the first is carried out; the others fail on what it changed, or
            // on its request id, and are answered as it was.
            Err(error) => Ok(self.answered(call).await?.ok_or(error)?),
        }
    }

    async fn attempt<T, Work>(&self, call: &Call, work: Work) -> Result<T, AppError>
    where
        T: Message + Default,
        Work: AsyncFnOnce(&mut Unit) -> Result<T, AppError>,
    {
        let writing = Writing::in_transaction(self.store.begin().await?);
        let mut unit = Unit::on(Backing::Database(Box::new(writing)), call.actor.clone(), self);
        let answer = work(&mut unit).await?;
        if !unit.write_all(call, &answer).await? {
            return Ok(answer);
        }
        // While it is committed.
        let expected = self.expect_of(&unit);
        let brings_departures = unit.brings_departures();
        unit.commit().await?;
        self.compute_ahead(expected);
        if brings_departures {
            self.new_departures.notify_one();
        }
        Ok(answer)
    }

    async fn answered<T: Message + Default>(&self, call: &Call) -> Result<Option<T>, AppError> {
        if call.request_id.is_empty() {
            return Ok(None);
        }
        let Some(stored) = self.store.request(&call.actor.id, &call.request_id).await? else {
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
    /// A unit that stands on `backing`, with the time of `app` and what it keeps of earlier work.
    pub(super) fn on(backing: Backing, actor: Actor, app: &App) -> Self {
        Self {
            backing,
            actor,
            time: app.now_micros(),
            entries: Vec::new(),
            looked_up: BTreeMap::new(),
            outlooks: app.outlooks.clone(),
            checked_packs: app.checked_packs.clone(),
            earlier: app.earlier.clone(),
        }
    }

    /// The readiness of a departure as this unit sees it. What [`App::foresee`] left is taken where it still holds, so that no
    /// plan is searched and no rule pack proven while the database is held.
    pub(super) fn readiness(&self, record: &Record, departure: &Departure, only: Option<&Name>) -> Readiness {
        let earlier = self.earlier.of(&departure.name);
        let outlook = plans::outlook_at(&self.outlooks, &earlier, record, departure, self.time);
        let packs = packs_by(&self.checked_packs, record, departure);
        readiness::assess_by(record, departure, only, &outlook, &packs, &earlier)
    }

    /// Who works.
    pub fn actor(&self) -> &Actor {
        &self.actor
    }

    /// The departure and everything about it, as this unit sees it.
    ///
    /// # Errors
    /// When it does not exist or a body cannot be read.
    pub async fn read_departure(&mut self, name: &Name) -> Result<(Record, Departure), AppError> {
        let stored = self.get::<Departures>(name).await?;
        let departure = Departures::record(stored.name, stored.message)?;
        let loaded = self.backing.load(&scopes_of(&departure)).await?;
        Ok((assemble(&name.fleet(), loaded.rows)?, departure))
    }

    /// Reads what a vehicle needs, as it is in this unit: the fleet's shared records and the vehicle.
    ///
    /// # Errors
    /// When the fleet does not exist or a body cannot be read.
    pub async fn read_vehicle(&mut self, vehicle: &Name) -> Result<Read, AppError> {
        let fleet = vehicle.fleet();
        let scopes = [fleet.to_string(), vehicle.to_string()];
        let loaded = self.backing.load(&scopes).await?;
        Ok(Read {
            record: assemble(&fleet, loaded.rows)?,
            revisions: loaded.revisions,
        })
    }

    /// Microseconds since 1970, UTC: the one time of this unit.
    pub fn time(&self) -> i64 {
        self.time
    }

    /// What it stands on, for reads that fit no other method.
    pub fn backing(&mut self) -> &mut Backing {
        &mut self.backing
    }

    /// Reads a resource.
    ///
    /// # Errors
    /// When it does not exist or cannot be read.
    pub async fn get<K: Kind>(&mut self, name: &Name) -> Result<Stored<K>, AppError> {
        let row = self.backing.get(name).await?;
        decode(row.ok_or_else(|| AppError::NotFound {
            name: name.to_string(),
        })?)
    }

    /// Reads what the work is going to ask for, in one question: `names`, and what those of `sources` refer to.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub(super) async fn look_ahead(&mut self, names: &[String], sources: &[String]) -> Result<(), AppError> {
        let rows = self.backing.many_with_targets(names, sources).await?;
        self.looked_up
            .extend(names.iter().map(|name| (name.clone(), None)));
        let found = rows.into_iter().map(|row| (row.name.clone(), Some(row)));
        self.looked_up.extend(found);
        Ok(())
    }

    /// Those of `names` that exist.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub(super) async fn rows(&mut self, names: &[String]) -> Result<Vec<Row>, AppError> {
        let known: Option<Vec<&Option<Row>>> = names.iter().map(|name| self.looked_up.get(name)).collect();
        match known {
            Some(known) => Ok(known.into_iter().flatten().cloned().collect()),
            None => Ok(self.backing.many(names).await?),
        }
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
        if !self.actor.scope.is_everything() {
            let owners = scope::owners(name, &message.transcode_to_dynamic());
            self.actor.scope.check_change(name, &owners)?;
        }
        let parent = name.parent();
        let targets = self.check_below::<K>(name, parent.as_ref(), &message).await?;
        let body = encode::<K>(&message);
        let row = NewRow {
            name,
            kind: K::WORD,
            parent: parent.as_deref(),
            scope: &K::scope(name, &message),
            body: &body,
            time: self.time,
        };
        self.looked_up.clear();
        self.backing.create(&row, &targets).await?;
        self.note::<K>(name, action, None, Some(body));
        Ok(identified::<K>(message, name, 1, self.time, self.time))
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
            seen: stored.row.seen(),
            scope: &K::scope(name, &message),
            body: &body,
            time: self.time,
        };
        self.looked_up.clear();
        let revision = self.backing.update(&change).await?;
        if targets != references::targets(&contract::references(&stored.message)) {
            self.backing.set_all_references(&[(name, &targets)]).await?;
        }
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
        let below = self.backing.descendants(&stored.name).await?;
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
                .backing
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
            self.looked_up.clear();
            self.backing.delete(&row.name, row.seen()).await?;
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
        self.check_below::<K>(name, None, message).await
    }

    /// [`Unit::check`], and that `parent` exists.
    async fn check_below<K: Kind>(
        &mut self,
        name: &Name,
        parent: Option<&Name>,
        message: &K::Message,
    ) -> Result<Vec<String>, AppError> {
        let checked = contract::check_within(K::FIELD, message, Presence::Full);
        let found = contract::references(message);
        let targets = references::targets(&found);
        let mut wanted = targets.clone();
        wanted.extend(parent.map(|parent| parent.to_string()));
        if K::WORD == Fitments::WORD {
            wanted.extend(name.parent().map(String::from));
        }
        let rows = self.rows(&wanted).await?;
        if let Some(parent) = parent
            && !rows.iter().any(|row| row.name == **parent)
        {
            return Err(AppError::NotFound {
                name: parent.to_string(),
            });
        }
        checked?;
        references::check::<K>(name, &found, &rows)?;
        let mut vehicles = BTreeMap::new();
        for row in rows.into_iter().filter(|row| row.kind == Vehicles::WORD) {
            let vehicle = decode::<Vehicles>(row)?;
            let record: Vehicle = Vehicles::record(vehicle.name.clone(), vehicle.message)?;
            vehicles.insert(vehicle.name, record);
        }
        let circles = match K::WORD == Jobs::WORD {
            true => jobs::circles_with(self, name, message).await?,
            false => Circles::default(),
        };
        let world = World {
            vehicles: &vehicles,
            circles: &circles,
        };
        integrity_within::<K>(name, message.clone(), &world)?;
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

    /// Writes the history and the answer for the request id, and says whether that is to be committed: with `validate_only`, and on a
    /// copy of the record, nothing is written.
    pub(super) async fn write_all(&mut self, call: &Call, answer: &impl Message) -> Result<bool, AppError> {
        self.check_scope()?;
        let Backing::Database(writing) = &mut self.backing else {
            return Ok(false);
        };
        if call.validate_only {
            writing.transaction.write_out().await?;
            return Ok(false);
        }
        let request_id = (!call.request_id.is_empty()).then_some(call.request_id.as_str());
        let history: Vec<NewHistory<'_>> = self
            .entries
            .iter()
            .map(|entry| NewHistory {
                fleet: &entry.fleet,
                resource: &entry.resource,
                kind: &entry.kind,
                time: self.time,
                actor: &call.actor.id,
                action: entry.action,
                request_id,
                before: entry.before.as_deref(),
                after: entry.after.as_deref(),
            })
            .collect();
        let response = answer.encode_to_vec();
        let request = request_id.map(|request_id| NewRequest {
            actor: &call.actor.id,
            request_id,
            method: call.method,
            digest: &call.digest,
            response: &response,
            time: self.time,
        });
        writing.transaction.write_all(&history, request.as_ref()).await?;
        Ok(true)
    }

    /// Makes it all happen.
    pub(super) async fn commit(self) -> Result<(), AppError> {
        match self.backing {
            Backing::Database(writing) => Ok(writing.transaction.commit().await?),
            Backing::Copy(_) => Ok(()),
        }
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
