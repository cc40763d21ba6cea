//! Reading whole scopes from a hot standby, so that the primary has less to do.
//!
//! A standby is always a little behind, and nobody can say by how much. So what it gives is never taken for itself:
//! the primary is asked at the same time for the revisions of the scopes, one short statement over a few rows, and the
//! standby's rows count only if its own revisions, read in one statement with them, are the same. A scope at one
//! revision has one content, so what counts is exactly what the primary would have given at some moment after the
//! call began: a caller never sees less than it has written, and never goes back in time. Otherwise the primary is
//! read, as if there were no standby.
//!
//! A standby that fails or is slow is left alone for a while; one that was promoted, or is none of this primary's, is
//! never read.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use sqlx::PgConnection;
use sqlx::postgres::{PgPool, PgPoolOptions};

use crate::db::{Connection, Db, Held, POSTGRES_SETTINGS, acquire};
use crate::error::classify;
use crate::location::postgres_options;
use crate::scopes::{self, Loaded, Wanted};
use crate::{Location, StoreError};

/// How long the standby may take for one load, connecting included. Longer, and the primary is quicker.
const PATIENCE: Duration = Duration::from_millis(500);

/// How long a standby that failed is left alone.
const REST: Duration = Duration::from_secs(5);

const CONNECTIONS: u32 = 16;

/// Which cluster it is: the number that `initdb` gave it, which every standby has from its primary.
const SYSTEM: &str = "SELECT system_identifier FROM pg_control_system()";

const FOLLOWS: &str = "SELECT pg_is_in_recovery()";

/// How often a standby was asked, by how it ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ReplicaReads {
    /// Its rows counted.
    pub used: u64,
    /// It was behind or ahead of the primary's answer, so the primary was read.
    pub differed: u64,
    /// It failed or was too slow, so the primary was read and it was left alone for a while.
    pub failed: u64,
}

/// A standby to read from.
#[derive(Clone, Debug)]
pub(crate) struct Replica {
    pool: PgPool,
    state: Arc<State>,
}

#[derive(Debug, Default)]
struct State {
    used: AtomicU64,
    differed: AtomicU64,
    failed: AtomicU64,
    rests_until: Mutex<Option<Instant>>,
}

impl Replica {
    /// The standby at `location` of the database `primary`. It is connected to only when it is first read, so that
    /// one that is not there holds nothing up.
    ///
    /// # Errors
    /// When one of the two is not PostgreSQL, or the primary cannot be read.
    pub(crate) async fn of(primary: &Db, location: &Location) -> Result<Self, StoreError> {
        let asked = "reads from a standby";
        let Location::Postgres(url) = location else {
            return Err(StoreError::NotOfThisDatabase { asked });
        };
        let system = match &mut primary.read().await? {
            Held::Sqlite(_) => return Err(StoreError::NotOfThisDatabase { asked }),
            Held::Postgres(connection) => system(connection).await.map_err(classify)?,
        };
        let options = postgres_options(url).map_err(|source| StoreError::Location { source })?;
        let pool = PgPoolOptions::new()
            .max_connections(CONNECTIONS)
            .acquire_timeout(PATIENCE)
            .test_before_acquire(false)
            .after_connect(move |connection, _| {
                Box::pin(async move {
                    let own = self::system(connection).await? == system;
                    match own && follows(connection).await? {
                        true => Ok(()),
                        false => Err(sqlx::Error::Configuration(
                            "no standby of the database of record".into(),
                        )),
                    }
                })
            })
            // A standby that was promoted goes its own way from then on, with its connections still open.
            .before_acquire(|connection, _| Box::pin(follows(connection)))
            .connect_lazy_with(
                options
                    .application_name("ostlerd reads")
                    .options(POSTGRES_SETTINGS),
            );
        Ok(Self {
            pool,
            state: Arc::default(),
        })
    }

    /// [`scopes::load`], if the standby has the scopes as the primary does; none when the primary is to be read.
    ///
    /// # Errors
    /// When the primary cannot be read.
    pub(crate) async fn load(
        &self,
        primary: &Db,
        names: &[String],
        wanted: Wanted<'_>,
    ) -> Result<Option<Loaded>, StoreError> {
        if self.rests() {
            return Ok(None);
        }
        let now = async { scopes::load(&mut primary.read().await?.connection(), names, Wanted::None).await };
        let found = tokio::time::timeout(PATIENCE, self.own(names, wanted));
        let (now, found) = tokio::join!(now, found);
        let now = now?;
        let (counter, loaded) = match found {
            Ok(Ok(loaded)) if loaded.revisions == now.revisions => (&self.state.used, Some(loaded)),
            Ok(Ok(_)) => (&self.state.differed, None),
            Ok(Err(_)) | Err(_) => {
                self.rest();
                (&self.state.failed, None)
            }
        };
        counter.fetch_add(1, Ordering::Relaxed);
        Ok(loaded)
    }

    /// Asks the standby for a sign of life.
    pub(crate) async fn ping(&self) -> Result<(), StoreError> {
        acquire(&self.pool).await.map(drop).map_err(classify)
    }

    pub(crate) fn reads(&self) -> ReplicaReads {
        ReplicaReads {
            used: self.state.used.load(Ordering::Relaxed),
            differed: self.state.differed.load(Ordering::Relaxed),
            failed: self.state.failed.load(Ordering::Relaxed),
        }
    }

    pub(crate) async fn close(&self) {
        self.pool.close().await;
    }

    async fn own(&self, names: &[String], wanted: Wanted<'_>) -> Result<Loaded, StoreError> {
        let mut connection = acquire(&self.pool).await.map_err(classify)?;
        scopes::load(&mut Connection::Postgres(&mut connection), names, wanted).await
    }

    fn rests(&self) -> bool {
        let until = self.state.rests_until.lock();
        let until = until.unwrap_or_else(PoisonError::into_inner);
        until.is_some_and(|until| Instant::now() < until)
    }

    fn rest(&self) {
        let until = self.state.rests_until.lock();
        *until.unwrap_or_else(PoisonError::into_inner) = Some(Instant::now() + REST);
    }
}

async fn system(connection: &mut PgConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar(SYSTEM).fetch_one(connection).await
}

async fn follows(connection: &mut PgConnection) -> Result<bool, sqlx::Error> {
    sqlx::query_scalar(FOLLOWS).fetch_one(connection).await
}
