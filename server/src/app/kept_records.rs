//! The record of a departure, read anew only where it has changed.
//!
//! A scope at one revision has one content, whoever wrote it. So what was read before is kept with the revisions of its
//! scopes, and one statement gives the revisions now and the rows of those scopes that have another one. What results is
//! the record of one moment, and shares with the one before what has not changed ([`ostler_core::record::Shared`]).

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::Arc;

use moka::sync::Cache;
use ostler_core::record::{Departure, Name, Record};
use ostler_store::{MAX_KNOWN, Row};
use tracing::Instrument as _;

use super::kinds::{Departures, Fitments, Fleets, Kind as _, Vehicles};
use super::record::{Read, assemble, put_in, scopes_of, take_out};
use super::revisions::{Anew, Revisions, Seen};
use super::{App, AppError};
use crate::traces;

/// The record of each departure as it was read last, by the departure's name.
pub(super) type KeptRecords = Cache<Name, Arc<KeptRecord>>;

/// A record as it was read.
pub(super) struct KeptRecord {
    /// Rows of each scope, in the order of their names.
    pub(super) rows: BTreeMap<String, Arc<[Arc<Row>]>>,
    pub(super) record: Record,
    pub(super) revisions: Revisions,
}

impl KeptRecord {
    /// # Errors
    /// When the fleet is not there or a body cannot be read.
    pub(super) fn of(fleet: &Name, loaded: Anew) -> Result<Self, AppError> {
        let rows = loaded.rows.iter().map(|row| Row::clone(row));
        let record = assemble(fleet, rows.collect())?;
        Ok(Self {
            rows: by_scope(loaded.rows),
            record,
            revisions: loaded.revisions,
        })
    }

    /// This record, with the scopes that were `loaded` as they are now.
    ///
    /// # Errors
    /// As [`KeptRecord::of`].
    pub(super) fn with(&self, fleet: &Name, loaded: Anew) -> Result<Self, AppError> {
        let mut record = self.record.clone();
        let mut rows = self.rows.clone();
        let mut loaded_rows = by_scope(loaded.rows);
        let (mut gone, mut new) = (Vec::new(), Vec::new());
        for (scope, revision) in &loaded.revisions {
            if self.revisions.get(scope) == Some(revision) {
                continue;
            }
            let now = loaded_rows.remove(scope).unwrap_or_default();
            let before = match now.is_empty() {
                true => rows.remove(scope),
                false => rows.insert(scope.clone(), now.clone()),
            };
            let before = before.unwrap_or_default();
            let (went, came) = differences(&before, &now);
            gone.extend(went);
            new.extend(came);
        }
        if gone.iter().any(|row| row.kind == Fleets::WORD) && new.iter().all(|row| row.kind != Fleets::WORD) {
            return Err(AppError::NotFound {
                name: fleet.to_string(),
            });
        }
        // First what is gone from everywhere: what went from one scope into another is gone from the first and new in the second.
        for row in &gone {
            take_out(&mut record, row)?;
        }
        put_in(&mut record, new.iter().map(|row| Row::clone(row)))?;
        Ok(Self {
            rows,
            record,
            revisions: loaded.revisions,
        })
    }

    /// A copy of it, which shares what it holds.
    pub(super) fn read(&self) -> Read {
        Read {
            record: self.record.clone(),
            revisions: self.revisions.clone(),
        }
    }
}

fn by_scope(rows: Vec<Arc<Row>>) -> BTreeMap<String, Arc<[Arc<Row>]>> {
    let mut scopes: BTreeMap<String, Vec<Arc<Row>>> = BTreeMap::new();
    for row in rows {
        match scopes.get_mut(&row.scope) {
            Some(rows) => rows.push(row),
            None => drop(scopes.insert(row.scope.clone(), vec![row])),
        }
    }
    scopes
        .into_iter()
        .map(|(scope, rows)| (scope, rows.into()))
        .collect()
}

/// Those of the rows of a scope, in the order of their names, that are not among its rows at another moment as they are: of the first
/// and of the second. A vehicle and its fitments are one: where a row of it is different, all are.
fn differences(before: &[Arc<Row>], now: &[Arc<Row>]) -> (Vec<Arc<Row>>, Vec<Arc<Row>>) {
    let (mut gone, mut new) = (Vec::new(), Vec::new());
    let (mut before_rest, mut now_rest) = (before, now);
    loop {
        let order = match (before_rest, now_rest) {
            ([], []) => break,
            ([_, ..], []) => Ordering::Less,
            ([], [_, ..]) => Ordering::Greater,
            ([was, ..], [is, ..]) => was.name.cmp(&is.name),
        };
        let was = next_if(&mut before_rest, order.is_le());
        let is = next_if(&mut now_rest, order.is_ge());
        if was != is {
            gone.extend(was.cloned());
            new.extend(is.cloned());
        }
    }
    if gone.iter().chain(&new).any(|row| of_vehicle(row)) {
        for (found, rows) in [(&mut gone, before), (&mut new, now)] {
            found.retain(|row| !of_vehicle(row));
            found.extend(rows.iter().filter(|row| of_vehicle(row)).cloned());
        }
    }
    (gone, new)
}

/// The first of the `rest`, which then begins behind it, if it is wanted.
fn next_if<'r>(rest: &mut &'r [Arc<Row>], is_wanted: bool) -> Option<&'r Arc<Row>> {
    let (first, behind) = rest.split_first().filter(|_| is_wanted)?;
    *rest = behind;
    Some(first)
}

fn of_vehicle(row: &Row) -> bool {
    [Vehicles::WORD, Fitments::WORD].contains(&row.kind.as_str())
}

impl App {
    /// Reads what a departure needs: the fleet's shared records, the departure and its vehicles.
    ///
    /// # Errors
    /// When the departure does not exist or a body cannot be read.
    pub async fn read_departure(&self, name: &Name) -> Result<(Read, Departure), AppError> {
        self.read_departure_seen(name, None).await
    }

    /// The same as it was `seen` at a moment, which must lie after the caller's call began; the database is asked only for what
    /// was not seen.
    ///
    /// # Errors
    /// As [`App::read_departure`].
    pub(super) async fn read_departure_seen(
        &self,
        name: &Name,
        seen: Option<&Seen>,
    ) -> Result<(Read, Departure), AppError> {
        let before = self.records.get(name);
        let again = match &before {
            Some(before) => self.read_again(name, before, seen).await?,
            None => None,
        };
        let kept = match again {
            Some(kept) => kept,
            None => self.read_whole(name).await?,
        };
        let read = kept.read();
        // The departure as it is in the same snapshot; it may have changed since its scopes were asked for.
        let departure = read.record.departures.get(name).cloned();
        let departure = departure.ok_or_else(|| AppError::NotFound {
            name: name.to_string(),
        })?;
        if before.is_none_or(|before| !Arc::ptr_eq(&before, &kept)) {
            self.records.insert(name.clone(), kept);
        }
        Ok((read, departure))
    }

    async fn read_whole(&self, name: &Name) -> Result<Arc<KeptRecord>, AppError> {
        let stored = self.stored::<Departures>(name).await?;
        let departure = Departures::record(stored.name, stored.message)?;
        let loaded = self.load(&scopes_of(&departure), &BTreeMap::new()).await?;
        Ok(Arc::new(KeptRecord::of(&name.fleet(), loaded)?))
    }

    /// The record with what has changed since `before`. `None`: the departure is gone, or goes with other vehicles.
    async fn read_again(
        &self,
        name: &Name,
        before: &Arc<KeptRecord>,
        seen: Option<&Seen>,
    ) -> Result<Option<Arc<KeptRecord>>, AppError> {
        let Some(departure) = before.record.departures.get(name) else {
            return Ok(None);
        };
        let scopes = scopes_of(departure);
        if scopes.len() > MAX_KNOWN {
            return Ok(None);
        }
        // A scope that nothing had been written to is one that nobody asked about.
        let seen = seen.filter(|_| before.revisions.len() == scopes.len());
        if seen.is_some_and(|seen| seen.revisions == before.revisions) {
            return Ok(Some(before.clone()));
        }
        let loaded = match seen.and_then(|seen| seen.since(&before.revisions)) {
            Some(anew) => anew,
            None => self.load(&scopes, &before.revisions).await?,
        };
        if loaded.revisions == before.revisions {
            return Ok(Some(before.clone()));
        }
        let now = before.with(&name.fleet(), loaded)?;
        let same = |departure: &Departure| scopes_of(departure) == scopes;
        let known = now.record.departures.get(name).is_some_and(same);
        Ok(known.then(|| Arc::new(now)))
    }

    async fn load(&self, scopes: &[String], known: &BTreeMap<String, i64>) -> Result<Anew, AppError> {
        let loaded = self.store().load_changed(scopes, known);
        Ok(loaded.instrument(traces::part("read record")).await?.into())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::app::fleet_file::read;
    use crate::app::kind_table::entry;

    const DEMO: &[u8] = include_bytes!("../../demo/orrin.yaml");

    fn demo() -> (Name, Vec<Row>) {
        let file = read(DEMO).unwrap();
        let rows = file.resources.iter().map(|resource| {
            let kind = entry(resource.word).unwrap();
            let prepared = kind.prepare(&resource.name, &resource.message).unwrap();
            Row {
                name: prepared.name.to_string(),
                kind: prepared.word.to_owned(),
                parent: None,
                scope: prepared.scope,
                revision: 1,
                create_time: 0,
                update_time: 0,
                body: prepared.body,
            }
        });
        (file.fleet.clone(), rows.collect())
    }

    /// A change of a row.
    #[derive(Debug, Clone)]
    enum Edit {
        Delete,
        /// It says what another of its kind says.
        Say(prop::sample::Index),
        /// It goes into the scope of another row, unless it is a vehicle or fitted to one.
        Move(prop::sample::Index),
        /// It is there again, if it is not there, as it was in the beginning.
        Put,
    }

    fn edit() -> impl Strategy<Value = (prop::sample::Index, Edit)> {
        let of = || any::<prop::sample::Index>();
        let edit = prop_oneof![
            Just(Edit::Delete),
            of().prop_map(Edit::Say),
            of().prop_map(Edit::Move),
            Just(Edit::Put)
        ];
        (of(), edit)
    }

    /// The rows in a database, and how often each scope has changed.
    struct Stored {
        rows: BTreeMap<String, Row>,
        revisions: BTreeMap<String, i64>,
    }

    impl Stored {
        fn count_up(&mut self, scope: &str) {
            *self.revisions.entry(scope.to_owned()).or_default() += 1;
        }

        fn apply(&mut self, first: &[Row], at: prop::sample::Index, edit: &Edit) {
            let mut row = first[at.index(first.len())].clone();
            let before = self.rows.remove(&row.name);
            if let Some(before) = &before {
                self.count_up(&before.scope);
            }
            match (edit, before) {
                (Edit::Delete, _) => return,
                (Edit::Say(other), Some(before)) => {
                    let alike: Vec<&Row> = first.iter().filter(|other| other.kind == row.kind).collect();
                    row.body.clone_from(&alike[other.index(alike.len())].body);
                    row.revision = before.revision + 1;
                    row.scope = before.scope;
                }
                (Edit::Move(_), Some(before)) if of_vehicle(&row) => row = before,
                (Edit::Move(other), Some(before)) => {
                    row.body = before.body;
                    row.revision = before.revision + 1;
                    row.scope.clone_from(&first[other.index(first.len())].scope);
                }
                (Edit::Put, Some(before)) => row = before,
                (_, None) => {}
            }
            self.count_up(&row.scope);
            self.rows.insert(row.name.clone(), row);
        }

        fn loaded(&self, known: &BTreeMap<String, i64>) -> Anew {
            let is_changed = |row: &&Row| self.revisions.get(&row.scope) != known.get(&row.scope);
            Anew {
                rows: self
                    .rows
                    .values()
                    .filter(is_changed)
                    .cloned()
                    .map(Arc::new)
                    .collect(),
                revisions: self.revisions.clone(),
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Whatever is changed, deleted and moved about: the record read again is the record read whole.
        #[test]
        fn a_record_read_again_is_the_record(rounds in prop::collection::vec(prop::collection::vec(edit(), 1..12), 1..6)) {
            let (fleet, first) = demo();
            let mut stored = Stored {
                rows: first.iter().map(|row| (row.name.clone(), row.clone())).collect(),
                revisions: first.iter().map(|row| (row.scope.clone(), 1)).collect(),
            };
            let none = BTreeMap::new();
            let mut kept = KeptRecord::of(&fleet, stored.loaded(&none)).unwrap();
            for edits in rounds {
                for (at, edit) in &edits {
                    stored.apply(&first, *at, edit);
                }
                let again = kept.with(&fleet, stored.loaded(&kept.revisions));
                let whole = KeptRecord::of(&fleet, stored.loaded(&none));
                match (again, whole) {
                    (Ok(again), Ok(whole)) => {
                        prop_assert_eq!(&again.rows, &whole.rows);
                        prop_assert_eq!(&again.revisions, &whole.revisions);
                        prop_assert_eq!(&again.record, &whole.record);
                        kept = again;
                    }
                    (Err(AppError::NotFound { .. }), Err(AppError::NotFound { .. })) => return Ok(()),
                    (again, whole) => prop_assert!(false, "{:?} {:?}", again.err(), whole.err()),
                }
            }
        }
    }
}
