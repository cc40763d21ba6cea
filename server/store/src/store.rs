//! The store: what is done outside a transaction.

use std::collections::BTreeMap;

use crate::db::{Db, on};
use crate::replica::{Replica, ReplicaReads};
use crate::scopes::{NO_REVISION, Wanted};
use crate::{
    HistoryEntry, HistoryQuery, HistorySpan, List, Loaded, Location, Row, SealedQuery, StoreError,
    StoredRequest, Token, Transaction,
};
use crate::{history, references, requests, resources, schema, scopes, tokens};

/// The record, open. Cheap to clone; all clones share the connections.
#[derive(Clone, Debug)]
pub struct Store {
    pub(crate) db: Db,
    /// Where whole scopes are read, if they are there as they are in `db`.
    replica: Option<Replica>,
}

/// How long a busy database is tried when it is opened.
const OPENING_PATIENCE: std::time::Duration = std::time::Duration::from_secs(5);

/// Pause between two tries.
const OPENING_PAUSE: std::time::Duration = std::time::Duration::from_millis(100);

impl Store {
    /// Opens the record and brings its schema up to date. `now` is noted with every migration that
    /// runs, in microseconds since 1970, UTC.
    ///
    /// Of several servers that open a database at once, one migrates and the others wait.
    ///
    /// # Errors
    /// [`StoreError::SchemaTooNew`] when a newer server has migrated it, [`StoreError::Migration`]
    /// when a migration fails, [`StoreError::Corrupt`] when the file is no database, or what keeps
    /// the database from being reached.
    pub async fn open(location: &Location, now: i64) -> Result<Self, StoreError> {
        let began = std::time::Instant::now();
        loop {
            match Self::open_once(location, now).await {
                // SQLite does not wait while another process turns the file to write-ahead logging.
                Err(StoreError::Busy { .. }) if began.elapsed() < OPENING_PATIENCE => {}
                outcome => return outcome,
            }
            tokio::time::sleep(OPENING_PAUSE).await;
        }
    }

    async fn open_once(location: &Location, now: i64) -> Result<Self, StoreError> {
        let db = Db::connect(location).await?;
        if let Err(error) = schema::migrate(&db, now).await {
            db.close().await;
            return Err(error);
        }
        Ok(Self { db, replica: None })
    }

    /// The same, with whole scopes read from the hot standby at `location` wherever it has them as they are here: see
    /// `replica.rs`. A standby that is not there, or fails later, only makes the primary be read.
    ///
    /// # Errors
    /// When one of the two is not PostgreSQL, or the database cannot be read.
    pub async fn reading_from(self, location: &Location) -> Result<Self, StoreError> {
        let replica = Some(Replica::of(&self.db, location).await?);
        Ok(Self { replica, ..self })
    }

    /// Asks the standby for a sign of life; nothing when there is none.
    ///
    /// # Errors
    /// When it cannot be reached or is no standby of this database.
    pub async fn ping_replica(&self) -> Result<(), StoreError> {
        match &self.replica {
            Some(replica) => replica.ping().await,
            None => Ok(()),
        }
    }

    /// How often the standby was asked; none when there is none.
    #[must_use]
    pub fn replica_reads(&self) -> Option<ReplicaReads> {
        self.replica.as_ref().map(Replica::reads)
    }

    /// Closes every connection, after the calls that still use one.
    pub async fn close(&self) {
        if let Some(replica) = &self.replica {
            replica.close().await;
        }
        self.db.close().await;
    }

    /// Asks the database for a sign of life.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] when there is none.
    pub async fn ping(&self) -> Result<(), StoreError> {
        let mut held = self.db.read().await?;
        let mut connection = held.connection();
        on!(&mut connection, executor => sqlx::query("SELECT 1").execute(executor).await.map(drop))
    }

    /// The schema version of the database.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn schema_version(&self) -> Result<i64, StoreError> {
        schema::version(&mut self.db.read().await?.connection()).await
    }

    /// One resource; none when there is none of that name.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn get(&self, name: &str) -> Result<Option<Row>, StoreError> {
        resources::get(&mut self.db.read().await?.connection(), name).await
    }

    /// Those of `names` that exist, in the order of their names.
    ///
    /// # Errors
    /// [`StoreError::TooMany`] above [`crate::MAX_NAMES`], or when the database cannot be read.
    pub async fn many(&self, names: &[String]) -> Result<Vec<Row>, StoreError> {
        resources::many(&mut self.db.read().await?.connection(), names).await
    }

    /// A page of resources of one kind under one parent.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn list(&self, list: &List<'_>) -> Result<Vec<Row>, StoreError> {
        resources::list(&mut self.db.read().await?.connection(), list).await
    }

    /// Whole scopes and their revisions, as they stood at one moment.
    ///
    /// # Errors
    /// [`StoreError::TooMany`] above [`crate::MAX_NAMES`], or when the database cannot be read.
    pub async fn load(&self, scopes: &[String]) -> Result<Loaded, StoreError> {
        self.load_wanted(scopes, Wanted::All).await
    }

    /// The same without the rows of scopes that still have the revision that is `known` of them: these are as they were.
    ///
    /// # Errors
    /// As [`Store::load`]; [`StoreError::TooMany`] above [`crate::MAX_KNOWN`] already.
    pub async fn load_changed(
        &self,
        scopes: &[String],
        known: &BTreeMap<String, i64>,
    ) -> Result<Loaded, StoreError> {
        let known_or_none = |scope: &String| known.get(scope).copied().unwrap_or(NO_REVISION);
        let known = scopes.iter().map(|scope| (scope.clone(), known_or_none(scope)));
        self.load_wanted(scopes, Wanted::OtherThan(&known.collect()))
            .await
    }

    async fn load_wanted(&self, scopes: &[String], wanted: Wanted<'_>) -> Result<Loaded, StoreError> {
        if let Some(replica) = &self.replica
            && let Some(loaded) = replica.load(&self.db, scopes, wanted).await?
        {
            return Ok(loaded);
        }
        scopes::load(&mut self.db.read().await?.connection(), scopes, wanted).await
    }

    /// The revision of each scope; a scope that was never written is absent.
    ///
    /// # Errors
    /// [`StoreError::TooMany`] above [`crate::MAX_NAMES`], or when the database cannot be read.
    pub async fn revisions(&self, scopes: &[String]) -> Result<BTreeMap<String, i64>, StoreError> {
        let mut held = self.db.read().await?;
        let loaded = scopes::load(&mut held.connection(), scopes, Wanted::None).await?;
        Ok(loaded.revisions)
    }

    /// The same, with the rows of those of the scopes that are in `known` and have another revision than it says. Never of a
    /// standby: what it reads is the latest there is.
    ///
    /// # Errors
    /// As [`Store::revisions`]; [`StoreError::TooMany`] above [`crate::MAX_KNOWN`] known ones.
    pub async fn revisions_and_changed(
        &self,
        scopes: &[String],
        known: &BTreeMap<String, i64>,
    ) -> Result<Loaded, StoreError> {
        let mut held = self.db.read().await?;
        scopes::load(&mut held.connection(), scopes, Wanted::OtherThan(known)).await
    }

    /// Whether rows are read from a standby.
    #[must_use]
    pub fn has_replica(&self) -> bool {
        self.replica.is_some()
    }

    /// The names of the resources that refer to `target`, in order, at most `limit`.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn referrers(&self, target: &str, limit: u32) -> Result<Vec<String>, StoreError> {
        references::referrers(&mut self.db.read().await?.connection(), target, limit).await
    }

    /// Every resource below `name`, however deep, the deepest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn descendants(&self, name: &str) -> Result<Vec<Row>, StoreError> {
        resources::descendants(&mut self.db.read().await?.connection(), name).await
    }

    /// A page of history, newest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn history(&self, query: &HistoryQuery<'_>) -> Result<Vec<HistoryEntry>, StoreError> {
        history::query(&mut self.db.read().await?.connection(), query).await
    }

    /// Sealed entries in the order of their chain.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn sealed_history(&self, query: &SealedQuery<'_>) -> Result<Vec<HistoryEntry>, StoreError> {
        history::sealed(&mut self.db.read().await?.connection(), query).await
    }

    /// The last change of a resource of `fleet` until `time`: what it was then.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn last_change_until(
        &self,
        fleet: &str,
        resource: &str,
        time: i64,
    ) -> Result<Option<HistoryEntry>, StoreError> {
        history::last_until(&mut self.db.read().await?.connection(), fleet, resource, time).await
    }

    /// The changes of a fleet between two moments, newest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn history_between(&self, span: &HistorySpan<'_>) -> Result<Vec<HistoryEntry>, StoreError> {
        history::between(&mut self.db.read().await?.connection(), span).await
    }

    /// The last change of each of `resources`, newest first.
    ///
    /// # Errors
    /// When there are too many or the database cannot be read.
    pub async fn last_changes(&self, resources: &[String]) -> Result<Vec<HistoryEntry>, StoreError> {
        history::last_of(&mut self.db.read().await?.connection(), resources).await
    }

    /// The last change of each resource of a fleet until `time`: the record as it stood then.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn history_as_of(&self, fleet: &str, time: i64) -> Result<Vec<HistoryEntry>, StoreError> {
        history::as_of(&mut self.db.read().await?.connection(), fleet, time).await
    }

    /// The request the actor made under this id; none when there was none.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn request(&self, actor: &str, request_id: &str) -> Result<Option<StoredRequest>, StoreError> {
        requests::get(&mut self.db.read().await?.connection(), actor, request_id).await
    }

    /// Forgets at most `limit` of the answers to requests carried out before `time`, the oldest first, and says how
    /// many these were. A repeat after that is a new request.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn forget_requests(&self, time: i64, limit: u32) -> Result<u64, StoreError> {
        requests::forget(&mut self.db.write().await?.connection(), time, limit).await
    }

    /// The token with this hash, be it still good or not; none when there is none.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn token_by_hash(&self, hash: &[u8]) -> Result<Option<Token>, StoreError> {
        tokens::by_hash(&mut self.db.read().await?.connection(), hash).await
    }

    /// Every token, oldest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn tokens(&self) -> Result<Vec<Token>, StoreError> {
        tokens::all(&mut self.db.read().await?.connection()).await
    }

    /// Adds a token.
    ///
    /// # Errors
    /// [`StoreError::AlreadyExists`] when its id or hash is taken, [`StoreError::Invalid`] when the
    /// hash is not 32 bytes long, or when the database cannot be written.
    pub async fn add_token(&self, token: &Token) -> Result<(), StoreError> {
        tokens::add(&mut self.db.write().await?.connection(), token).await
    }

    /// Withdraws a token and says whether there is one of this id. The first withdrawal counts.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn revoke_token(&self, id: &str, time: i64) -> Result<bool, StoreError> {
        tokens::revoke(&mut self.db.write().await?.connection(), id, time).await
    }

    /// Notes that a token was used. A later use that is on record already stays.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn note_token_use(&self, id: &str, time: i64) -> Result<(), StoreError> {
        tokens::note_use(&mut self.db.write().await?.connection(), id, time).await
    }

    /// Begins a change. Dropped without [`Transaction::commit`], it has never happened.
    ///
    /// # Errors
    /// [`StoreError::Busy`] or [`StoreError::Unavailable`].
    pub async fn begin(&self) -> Result<Transaction, StoreError> {
        Ok(Transaction::new(self.db.begin().await?))
    }
}
