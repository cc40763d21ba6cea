//! A fresh database for every test, of either kind.

use ostler_store::{Location, Store};
use sqlx::{AssertSqlSafe, Connection, PgConnection, SqliteConnection};
use tempfile::TempDir;

use crate::postgres;

/// A database of one test. Removed when dropped (SQLite) or by [`Database::remove`] (PostgreSQL).
#[derive(Debug)]
pub struct Database {
    /// Where it is, for [`Store::open`].
    pub location: Location,
    /// Holds the SQLite file.
    folder: Option<TempDir>,
}

impl Database {
    /// A SQLite file that does not exist yet.
    ///
    /// # Panics
    /// When there is no room for a temporary folder.
    #[must_use]
    pub fn sqlite() -> Self {
        let folder = tempfile::Builder::new()
            .prefix("ostler-sqlite-")
            .tempdir()
            .unwrap_or_else(|error| panic!("no temporary folder: {error}"));
        Self {
            location: Location::SqliteFile(folder.path().join("record.db")),
            folder: Some(folder),
        }
    }

    /// A PostgreSQL database with the current schema and nothing in it.
    ///
    /// # Panics
    /// When there is no PostgreSQL on this machine, with a text that says what to install.
    pub async fn postgres() -> Self {
        let url = postgres::cluster().fresh_database().await;
        Self {
            location: Location::Postgres(url),
            folder: None,
        }
    }

    /// A PostgreSQL database that has never been opened.
    ///
    /// # Panics
    /// When there is no PostgreSQL on this machine, with a text that says what to install.
    pub async fn empty_postgres() -> Self {
        let url = postgres::cluster().empty_database().await;
        Self {
            location: Location::Postgres(url),
            folder: None,
        }
    }

    /// The store in it.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub async fn open(&self) -> Store {
        Store::open(&self.location, 0)
            .await
            .unwrap_or_else(|error| panic!("{} cannot be opened: {error:?}", self.location))
    }

    /// Runs SQL past the store, as no server would, and returns the first column of every row as text.
    ///
    /// # Errors
    /// What the database answers.
    pub async fn sql(&self, sql: &str) -> Result<Vec<String>, sqlx::Error> {
        match &self.location {
            Location::SqliteFile(path) => {
                let options = sqlx::sqlite::SqliteConnectOptions::new()
                    .filename(path)
                    .create_if_missing(true);
                let mut connection = SqliteConnection::connect_with(&options).await?;
                let rows = sqlx::query_scalar(AssertSqlSafe(sql))
                    .fetch_all(&mut connection)
                    .await;
                connection.close().await?;
                rows
            }
            Location::Postgres(url) => {
                let mut connection = PgConnection::connect(url).await?;
                let rows = sqlx::query_scalar(AssertSqlSafe(sql))
                    .fetch_all(&mut connection)
                    .await;
                connection.close().await?;
                rows
            }
        }
    }

    /// Removes it; for the end of a test that went well.
    ///
    /// # Panics
    /// When it cannot be removed.
    pub async fn remove(self) {
        let Self { location, folder } = self;
        if let Location::Postgres(url) = location {
            postgres::cluster().drop_database(&url).await;
        }
        drop(folder);
    }
}

/// Makes two tests, `NAME::sqlite` and `NAME::postgres`, of each function that takes a fresh
/// `&`[`Database`].
///
/// ```text
/// on_both_databases! {
///     async fn a_fresh_record_is_empty(database: &Database) {
///         assert_eq!(database.open().await.get("fleets/orrin").await.unwrap(), None);
///     }
/// }
/// ```
#[macro_export]
macro_rules! on_both_databases {
    ($(
        $(#[$attribute:meta])*
        async fn $name:ident($database:ident: &Database) $body:block
    )+) => { $(
        $(#[$attribute])*
        mod $name {
            #[allow(unused_imports, reason = "a test may need nothing from around it")]
            use super::*;

            async fn check($database: &$crate::databases::Database) $body

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                let database = $crate::databases::Database::sqlite();
                check(&database).await;
                database.remove().await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgres() {
                let database = $crate::databases::Database::postgres().await;
                check(&database).await;
                database.remove().await;
            }
        }
    )+ };
}
