//! The schema and its versions.
//!
//! The migrations are compiled in. All that are pending run in one transaction with their rows in
//! `schema_version`; whoever comes second waits for the lock and finds nothing left to do.

use crate::StoreError;
use crate::db::{Connection, Db, on};
use crate::error::{classify, classify_commit};

struct Migration {
    version: i64,
    title: &'static str,
    sqlite: &'static str,
    postgres: &'static str,
}

/// Every migration, oldest first.
const MIGRATIONS: [Migration; 3] = [
    Migration {
        version: 1,
        title: "record",
        sqlite: include_str!("../../../migrations/sqlite/0001_record.sql"),
        postgres: include_str!("../../../migrations/postgres/0001_record.sql"),
    },
    Migration {
        version: 2,
        title: "token scope",
        sqlite: include_str!("../../../migrations/sqlite/0002_token_scope.sql"),
        postgres: include_str!("../../../migrations/postgres/0002_token_scope.sql"),
    },
    Migration {
        version: 3,
        title: "seal",
        sqlite: include_str!("../../../migrations/sqlite/0003_seal.sql"),
        postgres: include_str!("../../../migrations/postgres/0003_seal.sql"),
    },
];

/// The newest schema version this server knows.
pub const KNOWN_SCHEMA_VERSION: i64 = MIGRATIONS[MIGRATIONS.len() - 1].version;

/// Any number will do, as long as every server uses the same: "ostler" in ASCII.
const MIGRATION_LOCK: i64 = 0x6f73_746c_6572;

const CREATE_VERSIONS: &str = "
    CREATE TABLE IF NOT EXISTS schema_version (
        version      BIGINT NOT NULL,
        title        TEXT   NOT NULL,
        applied_time BIGINT NOT NULL,
        CONSTRAINT schema_version_pk PRIMARY KEY (version)
    )";

/// Brings the database to [`KNOWN_SCHEMA_VERSION`].
pub(crate) async fn migrate(db: &Db, now: i64) -> Result<(), StoreError> {
    let mut begun = db.begin().await?;
    let mut connection = begun.connection();
    lock(&mut connection).await?;
    on!(&mut connection, executor => sqlx::query(CREATE_VERSIONS).execute(executor).await.map(drop))?;
    let found = version(&mut connection).await?;
    if found > KNOWN_SCHEMA_VERSION {
        return Err(StoreError::SchemaTooNew {
            found,
            known: KNOWN_SCHEMA_VERSION,
        });
    }
    for migration in MIGRATIONS.iter().filter(|migration| migration.version > found) {
        apply(&mut connection, migration, now)
            .await
            .map_err(|source| StoreError::Migration {
                version: migration.version,
                source: Box::new(source),
            })?;
    }
    begun.commit().await.map_err(classify_commit)
}

/// The version of the database; 0 before the first migration.
pub(crate) async fn version(connection: &mut Connection<'_>) -> Result<i64, StoreError> {
    const SQL: &str = "SELECT COALESCE(MAX(version), 0) FROM schema_version";
    on!(connection, executor => sqlx::query_scalar(SQL).fetch_one(executor).await)
}

/// SQLite is locked already, by `BEGIN IMMEDIATE`.
async fn lock(connection: &mut Connection<'_>) -> Result<(), StoreError> {
    let Connection::Postgres(connection) = connection else {
        return Ok(());
    };
    // A long migration elsewhere is worth any wait.
    sqlx::query("SET LOCAL lock_timeout = 0")
        .execute(&mut **connection)
        .await
        .map_err(classify)?;
    sqlx::query("SELECT pg_advisory_xact_lock($1)")
        .bind(MIGRATION_LOCK)
        .execute(&mut **connection)
        .await
        .map_err(classify)?;
    Ok(())
}

async fn apply(connection: &mut Connection<'_>, migration: &Migration, now: i64) -> Result<(), StoreError> {
    const RECORD: &str = "INSERT INTO schema_version (version, title, applied_time) VALUES ($1, $2, $3)";
    let text = match connection {
        Connection::Sqlite(_) => migration.sqlite,
        Connection::Postgres(_) => migration.postgres,
    };
    on!(connection, executor => sqlx::raw_sql(text).execute(executor).await.map(drop))?;
    on!(connection, executor => {
        sqlx::query(RECORD)
            .bind(migration.version)
            .bind(migration.title)
            .bind(now)
            .execute(executor)
            .await
            .map(drop)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_count_up_by_one() {
        let versions: Vec<i64> = MIGRATIONS.iter().map(|migration| migration.version).collect();
        let expected: Vec<i64> = (1..=KNOWN_SCHEMA_VERSION).collect();
        assert_eq!(versions, expected);
    }
}
