//! Connections to either database, and the macro that runs one expression on whichever it is.

use std::path::Path;
use std::time::Duration;

use sqlx::pool::PoolConnection;
use sqlx::postgres::{PgConnectOptions, PgConnection, PgPool, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteSynchronous,
};
use sqlx::{Connection as _, Database, Pool, Postgres, Sqlite};

use crate::error::{classify, classify_queue};
use crate::location::postgres_options;
use crate::{Location, StoreError};

/// Rows that the thread of a connection may be ahead of who takes them: a vehicle's record passes without either waiting for the
/// other.
const SQLITE_ROWS: usize = 1_024;

/// How long a call waits for a connection before it is [`StoreError::Unavailable`]: long enough for
/// a PostgreSQL server to be started again.
const ACQUIRE_TIMEOUT: Duration = Duration::from_secs(5);
/// How long a SQLite writer waits for one in another process before it is [`StoreError::Busy`].
const SQLITE_BUSY_TIMEOUT: Duration = Duration::from_secs(5);
const SQLITE_READERS: u32 = 4;
const POSTGRES_CONNECTIONS: u32 = 16;
/// Pages of the write-ahead log after which they are taken into the file, in 16 MiB. A substitution logs 27 of them, mostly the
/// same: at SQLite's own 1,000 every fortieth would wait for all of them.
const SQLITE_LOG_PAGES: &str = "4000";
/// What a connection may hold of the file, in KiB as SQLite wants it, 16 MiB: a write goes into a dozen indexes, whose upper levels would
/// not stay in its own 2 MiB once there are a million changes. Taken only as it is needed.
const SQLITE_CACHE: &str = "-16384";
/// A PostgreSQL connection that has idled longer is tried before it is used. Trying all of them,
/// always, costs a round trip a call.
const TRUSTED_IDLE: Duration = Duration::from_secs(1);
/// The first two so that a server that hangs in the middle of a transaction cannot stop the others for good. The others because
/// statements are planned once and kept: on a record that is still small PostgreSQL would plan to read all of it, and go on doing
/// so when it has grown. Every statement of a call has an index; costs that say "never" would set off compiling.
pub(crate) const POSTGRES_SETTINGS: [(&str, &str); 4] = [
    ("lock_timeout", "10s"),
    ("idle_in_transaction_session_timeout", "60s"),
    ("enable_seqscan", "off"),
    ("jit", "off"),
];

/// The pools of connections.
#[derive(Clone, Debug)]
pub(crate) enum Db {
    /// SQLite lets one writer in at a time: writers queue for the one connection of `write`
    /// instead of running into each other's locks.
    Sqlite {
        read: SqlitePool,
        write: SqlitePool,
    },
    Postgres(PgPool),
}

/// A connection taken from its pool, given back when dropped.
pub(crate) enum Held {
    Sqlite(PoolConnection<Sqlite>),
    Postgres(PoolConnection<Postgres>),
}

/// A transaction of either database, rolled back when dropped.
pub(crate) enum Begun {
    Sqlite(sqlx::Transaction<'static, Sqlite>),
    Postgres(sqlx::Transaction<'static, Postgres>),
}

/// What a statement runs on, be it in a transaction or not.
pub(crate) enum Connection<'c> {
    Sqlite(&'c mut SqliteConnection),
    Postgres(&'c mut PgConnection),
}

/// Runs `$query`, an awaited database call on `$executor`, on either database.
macro_rules! on {
    ($connection:expr, $executor:ident => $query:expr) => {
        $crate::db::on_plainly!($connection, $executor => $query).map_err($crate::error::classify)
    };
}
pub(crate) use on;

/// The same, with errors as the database said them.
macro_rules! on_plainly {
    ($connection:expr, $executor:ident => $query:expr) => {
        match $connection {
            $crate::db::Connection::Sqlite(inner) => {
                let $executor = &mut **inner;
                $query
            }
            $crate::db::Connection::Postgres(inner) => {
                let $executor = &mut **inner;
                $query
            }
        }
    };
}
pub(crate) use on_plainly;

impl Db {
    pub(crate) async fn connect(location: &Location) -> Result<Self, StoreError> {
        match location {
            Location::SqliteFile(path) => connect_sqlite(path).await,
            Location::Postgres(url) => {
                let options = postgres_options(url).map_err(|source| StoreError::Location { source })?;
                Box::pin(connect_postgres(options)).await
            }
        }
    }

    /// A connection to read from.
    pub(crate) async fn read(&self) -> Result<Held, StoreError> {
        Ok(match self {
            Self::Sqlite { read, .. } => Held::Sqlite(acquire(read).await.map_err(classify_queue)?),
            Self::Postgres(pool) => Held::Postgres(acquire(pool).await.map_err(classify)?),
        })
    }

    /// A connection to write one statement with, outside a transaction.
    pub(crate) async fn write(&self) -> Result<Held, StoreError> {
        Ok(match self {
            Self::Sqlite { write, .. } => Held::Sqlite(acquire(write).await.map_err(classify_queue)?),
            Self::Postgres(pool) => Held::Postgres(acquire(pool).await.map_err(classify)?),
        })
    }

    /// A write transaction.
    pub(crate) async fn begin(&self) -> Result<Begun, StoreError> {
        Ok(match self {
            // A plain BEGIN would take the write lock at the first write and could then fail there.
            Self::Sqlite { write, .. } => {
                let begun = Box::pin(write.begin_with("BEGIN IMMEDIATE")).await;
                Begun::Sqlite(begun.map_err(classify_queue)?)
            }
            Self::Postgres(pool) => Begun::Postgres(Box::pin(pool.begin()).await.map_err(classify)?),
        })
    }

    pub(crate) async fn close(&self) {
        match self {
            // The writer last: the last connection to close folds the write-ahead log into the file.
            Self::Sqlite { read, write } => {
                read.close().await;
                write.close().await;
            }
            Self::Postgres(pool) => pool.close().await,
        }
    }
}

/// A connection of a pool. What waits for one is large: on the heap, so that each call that may need one is not.
pub(crate) async fn acquire<D: Database>(pool: &Pool<D>) -> Result<PoolConnection<D>, sqlx::Error> {
    Box::pin(pool.acquire()).await
}

impl Held {
    pub(crate) fn connection(&mut self) -> Connection<'_> {
        match self {
            Self::Sqlite(connection) => Connection::Sqlite(connection),
            Self::Postgres(connection) => Connection::Postgres(connection),
        }
    }
}

impl Begun {
    pub(crate) fn connection(&mut self) -> Connection<'_> {
        match self {
            Self::Sqlite(transaction) => Connection::Sqlite(transaction),
            Self::Postgres(transaction) => Connection::Postgres(transaction),
        }
    }
}

impl Begun {
    pub(crate) async fn commit(self) -> Result<(), sqlx::Error> {
        match self {
            Self::Sqlite(transaction) => transaction.commit().await,
            Self::Postgres(transaction) => transaction.commit().await,
        }
    }
}

async fn connect_sqlite(path: &Path) -> Result<Db, StoreError> {
    // Absolute, because SQLite takes a name that begins with "file:" for a URI.
    let path = std::path::absolute(path).map_err(|error| StoreError::Disk { source: error.into() })?;
    let options = SqliteConnectOptions::new()
        .filename(path)
        .busy_timeout(SQLITE_BUSY_TIMEOUT)
        .foreign_keys(true)
        .synchronous(SqliteSynchronous::Full)
        .row_buffer_size(SQLITE_ROWS)
        .pragma("trusted_schema", "OFF");
    // Connections to a file do not go stale: none is ever replaced.
    let pool = || {
        SqlitePoolOptions::new()
            .acquire_timeout(ACQUIRE_TIMEOUT)
            .idle_timeout(None)
            .max_lifetime(None)
            .test_before_acquire(false)
    };
    let write = pool()
        .max_connections(1)
        // A statement that failed for want of room has ended its transaction in SQLite itself; the library then cannot roll
        // it back and takes the connection for one that is still in it.
        .before_acquire(|connection, _| Box::pin(async move { Ok(!connection.is_in_transaction()) }))
        .connect_with(
            options
                .clone()
                .create_if_missing(true)
                .journal_mode(SqliteJournalMode::Wal)
                .pragma("wal_autocheckpoint", SQLITE_LOG_PAGES)
                .pragma("cache_size", SQLITE_CACHE),
        )
        .await
        .map_err(classify)?;
    let read = pool().max_connections(SQLITE_READERS).connect_lazy_with(
        options
            .pragma("query_only", "ON")
            .pragma("cache_size", SQLITE_CACHE),
    );
    Ok(Db::Sqlite { read, write })
}

async fn connect_postgres(options: PgConnectOptions) -> Result<Db, StoreError> {
    let options = options.application_name("ostlerd").options(POSTGRES_SETTINGS);
    let pool = PgPoolOptions::new()
        .max_connections(POSTGRES_CONNECTIONS)
        .acquire_timeout(ACQUIRE_TIMEOUT)
        .test_before_acquire(false)
        .before_acquire(|connection, metadata| {
            Box::pin(async move {
                if metadata.idle_for > TRUSTED_IDLE {
                    connection.ping().await?;
                }
                Ok(true)
            })
        })
        .connect_with(options);
    Ok(Db::Postgres(Box::pin(pool).await.map_err(classify)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    async fn setting(held: &mut Held, sql: &'static str) -> i64 {
        let mut connection = held.connection();
        let value: Result<i64, StoreError> =
            on!(&mut connection, executor => sqlx::query_scalar(sql).fetch_one(executor).await);
        value.unwrap()
    }

    #[tokio::test]
    async fn every_sqlite_connection_is_set_up_to_lose_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let db = Db::connect(&Location::SqliteFile(folder.path().join("record.db")))
            .await
            .unwrap();
        let mut write = db.write().await.unwrap();
        assert_eq!(
            setting(
                &mut write,
                "SELECT 1 FROM pragma_journal_mode WHERE journal_mode = 'wal'"
            )
            .await,
            1
        );
        assert_eq!(setting(&mut write, "PRAGMA synchronous").await, 2, "FULL");
        assert_eq!(setting(&mut write, "PRAGMA foreign_keys").await, 1);
        assert_eq!(setting(&mut write, "PRAGMA busy_timeout").await, 5_000);
        assert_eq!(setting(&mut write, "PRAGMA wal_autocheckpoint").await, 4_000);
        assert_eq!(setting(&mut write, "PRAGMA cache_size").await, -16_384);
        let mut read = db.read().await.unwrap();
        assert_eq!(setting(&mut read, "PRAGMA query_only").await, 1);
        assert_eq!(setting(&mut read, "PRAGMA busy_timeout").await, 5_000);
    }
}
