//! One change of the record: everything in it happens, or nothing does.

use std::collections::{BTreeMap, BTreeSet};

use crate::batch::Batch;
use crate::db::Begun;
use crate::error::classify_commit;
use crate::scopes::Wanted;
use crate::{Change, Loaded, NewHistory, NewRequest, NewRow, Row, Seen, StoreError, StoredRequest};
use crate::{history, references, requests, resources, revisions, scopes};

/// A change in the making, from [`crate::Store::begin`].
///
/// Dropped without [`Transaction::commit`], it has never happened. After a failure (also when the
/// call was dropped before it ended) every further call is [`StoreError::Abandoned`].
///
/// On SQLite a transaction keeps other writers out from its beginning: do what takes time before.
/// On PostgreSQL two transactions run side by side until they touch the same row; then the second
/// waits for the first and, where it expected a revision, is [`StoreError::Stale`].
#[must_use = "without a commit nothing is written"]
pub struct Transaction {
    begun: Begun,
    /// An operation failed or never ended.
    abandoned: bool,
    /// Scopes with changes whose revision has yet to be counted up.
    touched: BTreeSet<String>,
    /// Scopes whose revision this transaction has counted up.
    bumped: BTreeSet<String>,
    /// Resources it has created that refer to nothing yet.
    unreferring: BTreeSet<String>,
    held_back: HeldBack,
}

/// What [`Transaction::create`] holds back: the usual call creates one resource and ends, and then needs a single round trip for
/// all that it writes.
#[derive(Default)]
struct HeldBack {
    created: Option<Created>,
    references: BTreeSet<(String, String)>,
}

/// A [`NewRow`] that is held back.
struct Created {
    name: String,
    kind: String,
    parent: Option<String>,
    scope: String,
    body: Vec<u8>,
    time: i64,
}

impl Created {
    fn of(row: &NewRow<'_>) -> Self {
        Self {
            name: row.name.to_owned(),
            kind: row.kind.to_owned(),
            parent: row.parent.map(str::to_owned),
            scope: row.scope.to_owned(),
            body: row.body.to_vec(),
            time: row.time,
        }
    }

    fn row(&self) -> NewRow<'_> {
        NewRow {
            name: &self.name,
            kind: &self.kind,
            parent: self.parent.as_deref(),
            scope: &self.scope,
            body: &self.body,
            time: self.time,
        }
    }
}

impl HeldBack {
    fn batch(&self) -> Batch<'_> {
        let mut batch = Batch::default();
        if let Some(created) = &self.created {
            resources::add(&mut batch, &created.row());
        }
        references::add(&mut batch, &self.references);
        batch
    }

    /// What it means that something is in `table` already.
    fn taken(&self, table: &str) -> Option<StoreError> {
        if table.contains("request") {
            return Some(StoreError::RequestRepeated);
        }
        let created = self.created.as_ref().filter(|_| table.contains("resource"))?;
        Some(StoreError::AlreadyExists {
            name: created.name.clone(),
        })
    }
}

/// Most entries of history and scopes, and most bytes of the entries, that are written together with the rest.
const TOGETHER_ENTRIES: usize = 16;
const TOGETHER_BYTES: usize = 1 << 20;

/// Runs one operation of a transaction, which is abandoned unless the operation ends well.
macro_rules! step {
    ($transaction:expr, $connection:ident => $operation:expr) => {{
        if $transaction.abandoned {
            return Err(StoreError::Abandoned);
        }
        $transaction.abandoned = true;
        let outcome = {
            let $connection = &mut $transaction.begun.connection();
            $operation
        };
        $transaction.abandoned = outcome.is_err();
        outcome
    }};
}

impl Transaction {
    pub(crate) fn new(begun: Begun) -> Self {
        Self {
            begun,
            abandoned: false,
            touched: BTreeSet::new(),
            bumped: BTreeSet::new(),
            unreferring: BTreeSet::new(),
            held_back: HeldBack::default(),
        }
    }

    /// The request the actor made under this id; none when there was none.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn request(
        &mut self,
        actor: &str,
        request_id: &str,
    ) -> Result<Option<StoredRequest>, StoreError> {
        step!(self, connection => requests::get(connection, actor, request_id).await)
    }

    /// One resource; none when there is none of that name.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn get(&mut self, name: &str) -> Result<Option<Row>, StoreError> {
        self.write_out().await?;
        step!(self, connection => resources::get(connection, name).await)
    }

    /// Those of `names` that exist, in the order of their names.
    ///
    /// # Errors
    /// [`StoreError::TooMany`] above [`crate::MAX_NAMES`], or when the database cannot be read.
    pub async fn many(&mut self, names: &[String]) -> Result<Vec<Row>, StoreError> {
        self.write_out().await?;
        step!(self, connection => resources::many(connection, names).await)
    }

    /// Those of `names` that exist, and what those of `sources` refer to, in no order and some perhaps twice.
    ///
    /// # Errors
    /// As [`Transaction::many`].
    pub async fn many_with_targets(
        &mut self,
        names: &[String],
        sources: &[String],
    ) -> Result<Vec<Row>, StoreError> {
        self.write_out().await?;
        step!(self, connection => resources::many_with_targets(connection, names, sources).await)
    }

    /// Which of `names` exist.
    ///
    /// # Errors
    /// [`StoreError::TooMany`] above [`crate::MAX_NAMES`], or when the database cannot be read.
    pub async fn existing(&mut self, names: &[String]) -> Result<BTreeSet<String>, StoreError> {
        self.write_out().await?;
        step!(self, connection => resources::existing(connection, names).await)
    }

    /// Whole scopes and their revisions, as this transaction sees them.
    ///
    /// # Errors
    /// [`StoreError::TooMany`] above [`crate::MAX_NAMES`], or when the database cannot be read.
    pub async fn load(&mut self, scopes: &[String]) -> Result<Loaded, StoreError> {
        self.write_out().await?;
        step!(self, connection => scopes::load(connection, scopes, Wanted::All).await)
    }

    /// The names of the resources that refer to `target`, in order, at most `limit`.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn referrers(&mut self, target: &str, limit: u32) -> Result<Vec<String>, StoreError> {
        self.write_out().await?;
        step!(self, connection => references::referrers(connection, target, limit).await)
    }

    /// Every resource below `name`, however deep, the deepest first: an order to delete them in.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn descendants(&mut self, name: &str) -> Result<Vec<Row>, StoreError> {
        self.write_out().await?;
        step!(self, connection => resources::descendants(connection, name).await)
    }

    /// Creates a resource and returns its revision, 1.
    ///
    /// # Errors
    /// [`StoreError::AlreadyExists`] when the name is taken, [`StoreError::Invalid`] when a value
    /// breaks a rule of the schema.
    pub async fn insert(&mut self, row: &NewRow<'_>) -> Result<i64, StoreError> {
        self.insert_all(std::slice::from_ref(row)).await?;
        Ok(1)
    }

    /// Creates many resources in few statements. They may come in any order.
    ///
    /// # Errors
    /// As [`Transaction::insert`], for the first name that is taken.
    pub async fn insert_all(&mut self, rows: &[NewRow<'_>]) -> Result<(), StoreError> {
        self.write_out().await?;
        step!(self, connection => resources::insert(connection, rows).await)?;
        for row in rows {
            self.touch(row.scope);
            self.unreferring.insert(row.name.to_owned());
        }
        Ok(())
    }

    /// Creates a resource that refers to `targets`. It is held back: written together with what ends the transaction, or before the
    /// next call that reads or changes anything. Whether its name is taken shows then.
    ///
    /// # Errors
    /// [`StoreError::Invalid`] when a word holds what none may; for one that was held back before: as [`Transaction::insert`].
    pub async fn create(&mut self, row: &NewRow<'_>, targets: &[String]) -> Result<(), StoreError> {
        self.write_out().await?;
        step!(self, _connection => row.check())?;
        let pairs = targets.iter().map(|target| (row.name.to_owned(), target.clone()));
        self.held_back = HeldBack {
            references: pairs.collect(),
            created: Some(Created::of(row)),
        };
        self.touch(row.scope);
        Ok(())
    }

    /// Changes a resource and returns its new revision.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it is no longer as it was seen, or is gone.
    pub async fn update(&mut self, change: &Change<'_>) -> Result<i64, StoreError> {
        self.write_out().await?;
        let (revision, moved_from) = step!(self, connection => resources::update(connection, change).await)?;
        self.touch(change.scope);
        if let Some(scope) = moved_from {
            self.touch(&scope);
        }
        Ok(revision)
    }

    /// Deletes a resource, with what it refers to. What still refers to it, or is below it, makes
    /// the commit fail unless it is deleted as well.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it is no longer as it was seen, or is gone.
    pub async fn delete(&mut self, name: &str, seen: Seen) -> Result<(), StoreError> {
        self.write_out().await?;
        let scope = step!(self, connection => resources::delete(connection, name, seen).await)?;
        self.touch(&scope);
        Ok(())
    }

    /// Makes `source` refer to exactly `targets`. Whether they exist is checked at commit.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn set_references(&mut self, source: &str, targets: &[String]) -> Result<(), StoreError> {
        self.set_all_references(&[(source, targets)]).await
    }

    /// [`Transaction::set_references`] for many sources in few statements.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn set_all_references(&mut self, references: &[(&str, &[String])]) -> Result<(), StoreError> {
        self.write_out().await?;
        // What was created a moment ago has no references to clear: a round trip less for nearly every record.
        let sources = references.iter().map(|(source, _)| *source);
        let old: Vec<String> = sources
            .filter(|source| !self.unreferring.remove(*source))
            .map(str::to_owned)
            .collect();
        step!(self, connection => references::set(connection, &old, references).await)
    }

    /// Counts the revision of each scope up, once in a transaction, and returns those it counted up
    /// now with their new revision.
    ///
    /// The scopes of rows that were created, changed or deleted need no call: the commit sees to them.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn bump(&mut self, scopes: &[String]) -> Result<BTreeMap<String, i64>, StoreError> {
        let due = scopes
            .iter()
            .filter(|scope| !self.bumped.contains(*scope))
            .cloned()
            .collect();
        self.bump_due(due).await
    }

    /// Appends entries to the history, in their order.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn append_history(&mut self, entries: &[NewHistory<'_>]) -> Result<(), StoreError> {
        step!(self, connection => history::append(connection, entries).await)
    }

    /// Keeps the id of the request this transaction carries out, with its answer. Of two transactions with one id, the second
    /// waits here for the first.
    ///
    /// # Errors
    /// [`StoreError::RequestRepeated`] when the actor has used the id before.
    pub async fn record_request(&mut self, request: &NewRequest<'_>) -> Result<(), StoreError> {
        step!(self, connection => requests::record(connection, request).await)
    }

    /// Writes what was held back. A name that is taken shows then.
    ///
    /// # Errors
    /// As [`Transaction::insert`].
    pub async fn write_out(&mut self) -> Result<(), StoreError> {
        if self.abandoned {
            return Err(StoreError::Abandoned);
        }
        let held_back = std::mem::take(&mut self.held_back);
        let batch = held_back.batch();
        if batch.is_empty() {
            return Ok(());
        }
        step!(self, connection => batch.execute(connection, |table| held_back.taken(table)).await)
    }

    /// Writes all that is left but the commit: [`Transaction::append_history`], [`Transaction::record_request`], what was held back, and
    /// the revision of every scope that was touched; in one round trip unless it is much.
    ///
    /// # Errors
    /// As the first two, and as [`Transaction::insert`].
    pub async fn write_all(
        &mut self,
        entries: &[NewHistory<'_>],
        request: Option<&NewRequest<'_>>,
    ) -> Result<(), StoreError> {
        let bytes: usize = entries.iter().map(NewHistory::body_bytes).sum();
        let is_much = entries.len() + self.touched.len() > TOGETHER_ENTRIES || bytes > TOGETHER_BYTES;
        if is_much {
            self.append_history(entries).await?;
            if let Some(request) = request {
                self.record_request(request).await?;
            }
            self.write_out().await?;
            return self.count_up_touched().await;
        }
        if self.abandoned {
            return Err(StoreError::Abandoned);
        }
        let held_back = std::mem::take(&mut self.held_back);
        let due = std::mem::take(&mut self.touched);
        let mut batch = held_back.batch();
        history::add(&mut batch, entries);
        if let Some(request) = request {
            requests::add(&mut batch, request);
        }
        revisions::add(&mut batch, &due);
        step!(self, connection => batch.execute(connection, |table| held_back.taken(table)).await)?;
        self.bumped.extend(due);
        Ok(())
    }

    /// Makes it all happen, durably, and counts up the revision of every scope that was touched.
    ///
    /// # Errors
    /// [`StoreError::Reference`] when a row refers to something missing, [`StoreError::Abandoned`]
    /// after an earlier failure: nothing was written. [`StoreError::CommitUnknown`] when the answer
    /// of the database never came.
    pub async fn commit(mut self) -> Result<(), StoreError> {
        self.write_out().await?;
        self.count_up_touched().await?;
        self.begun.commit().await.map_err(classify_commit)
    }

    async fn count_up_touched(&mut self) -> Result<(), StoreError> {
        let due = std::mem::take(&mut self.touched);
        self.bump_due(due).await.map(drop)
    }

    fn touch(&mut self, scope: &str) {
        if !self.bumped.contains(scope) {
            self.touched.insert(scope.to_owned());
        }
    }

    async fn bump_due(&mut self, due: BTreeSet<String>) -> Result<BTreeMap<String, i64>, StoreError> {
        let bumped = step!(self, connection => revisions::bump(connection, &due).await)?;
        self.touched.retain(|scope| !due.contains(scope));
        self.bumped.extend(due);
        Ok(bumped)
    }
}
