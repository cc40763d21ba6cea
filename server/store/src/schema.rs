//! The schema and its versions.
//!
//! The migrations are compiled in. All that are pending run in one transaction with their rows in
//! `schema_version`; whoever comes second waits for the lock and finds nothing left to do.
//!
//! # Servers of two releases on one database
//! Every migration says the oldest schema version that a server may know and still work on what the
//! migration leaves behind; the database keeps that in `schema_floor`. So a server that finds versions
//! newer than it knows asks the database whether it may work all the same, and needs no knowledge of
//! the future for it. A newer version that says nothing is refused.

use crate::StoreError;
use crate::db::{Connection, Db, on};
use crate::error::{classify, classify_commit};

#[derive(Clone, Copy)]
struct Migration {
    version: i64,
    title: &'static str,
    /// The oldest schema version that a server may know and still work beside: this one itself when an older
    /// server would read or write something wrong.
    oldest_server: i64,
    sqlite: &'static str,
    postgres: &'static str,
}

/// Every migration, oldest first.
const MIGRATIONS: [Migration; 3] = [
    Migration {
        version: 1,
        title: "record",
        oldest_server: 1,
        sqlite: include_str!("../../../migrations/sqlite/0001_record.sql"),
        postgres: include_str!("../../../migrations/postgres/0001_record.sql"),
    },
    Migration {
        version: 2,
        title: "token scope",
        // A server that does not know of the limits of a token would let it do anything.
        oldest_server: 2,
        sqlite: include_str!("../../../migrations/sqlite/0002_token_scope.sql"),
        postgres: include_str!("../../../migrations/postgres/0002_token_scope.sql"),
    },
    Migration {
        version: 3,
        title: "seal",
        // An older server goes on writing; what it writes waits to be sealed by a newer one.
        oldest_server: 2,
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

/// Made beside `schema_version`, and not by a migration, so that it is there before the first one.
const CREATE_FLOORS: &str = "
    CREATE TABLE IF NOT EXISTS schema_floor (
        version       BIGINT NOT NULL,
        oldest_server BIGINT NOT NULL,
        CONSTRAINT schema_floor_pk PRIMARY KEY (version)
    )";

/// Brings the database to [`KNOWN_SCHEMA_VERSION`], or leaves it as it is when a newer server has migrated it and
/// says that this one may work on it. Returns the version it is then.
pub(crate) async fn migrate(db: &Db, now: i64) -> Result<i64, StoreError> {
    migrate_by(db, &MIGRATIONS, now).await
}

async fn migrate_by(db: &Db, migrations: &[Migration], now: i64) -> Result<i64, StoreError> {
    let known = migrations.last().map_or(0, |migration| migration.version);
    let mut begun = db.begin().await?;
    let mut connection = begun.connection();
    lock(&mut connection).await?;
    for table in [CREATE_VERSIONS, CREATE_FLOORS] {
        on!(&mut connection, executor => sqlx::query(table).execute(executor).await.map(drop))?;
    }
    let found = version(&mut connection).await?;
    if found > known {
        return match works_beside(&mut connection, known).await? {
            true => Ok(found),
            false => Err(StoreError::SchemaTooNew { found, known }),
        };
    }
    for migration in migrations.iter().filter(|migration| migration.version > found) {
        apply(&mut connection, migration, now)
            .await
            .map_err(|source| StoreError::Migration {
                version: migration.version,
                source: Box::new(source),
            })?;
    }
    begun.commit().await.map_err(classify_commit)?;
    Ok(known)
}

/// Whether every version newer than `known` says that a server which knows only `known` may work.
async fn works_beside(connection: &mut Connection<'_>, known: i64) -> Result<bool, StoreError> {
    const SQL: &str = "SELECT COUNT(*) FROM schema_version AS v
        LEFT JOIN schema_floor AS f ON f.version = v.version
        WHERE v.version > $1 AND (f.oldest_server IS NULL OR f.oldest_server > $1)";
    let against: i64 =
        on!(connection, executor => sqlx::query_scalar(SQL).bind(known).fetch_one(executor).await)?;
    Ok(against == 0)
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
    const FLOOR: &str = "INSERT INTO schema_floor (version, oldest_server) VALUES ($1, $2)";
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
    })?;
    on!(connection, executor => {
        sqlx::query(FLOOR)
            .bind(migration.version)
            .bind(migration.oldest_server)
            .execute(executor)
            .await
            .map(drop)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Location;

    #[test]
    fn versions_count_up_by_one() {
        let versions: Vec<i64> = MIGRATIONS.iter().map(|migration| migration.version).collect();
        let expected: Vec<i64> = (1..=KNOWN_SCHEMA_VERSION).collect();
        assert_eq!(versions, expected);
    }

    #[test]
    fn no_migration_lets_in_a_server_that_does_not_exist() {
        for migration in &MIGRATIONS {
            let floors = 1..=migration.version;
            assert!(floors.contains(&migration.oldest_server), "{}", migration.title);
        }
    }

    /// Migrations of releases to come: those of today and `oldest_servers.len()` more, each of which adds a table.
    fn with_later(oldest_servers: &[i64]) -> Vec<Migration> {
        const TABLES: [&str; 2] = [
            "CREATE TABLE later_one (thing BIGINT)",
            "CREATE TABLE later_two (thing BIGINT)",
        ];
        let later = (KNOWN_SCHEMA_VERSION + 1..).zip(oldest_servers).zip(TABLES);
        MIGRATIONS
            .into_iter()
            .chain(later.map(|((version, oldest_server), table)| Migration {
                version,
                title: "later",
                oldest_server: *oldest_server,
                sqlite: table,
                postgres: table,
            }))
            .collect()
    }

    #[tokio::test]
    async fn a_server_works_on_a_newer_schema_only_where_every_newer_version_lets_it() {
        let (now, next) = (KNOWN_SCHEMA_VERSION, KNOWN_SCHEMA_VERSION + 1);
        for (oldest_servers, works) in [
            (vec![now], true),
            (vec![now - 1], true),
            (vec![next], false),
            (vec![now, now], true),
            (vec![now, next], false),
            (vec![next, now], false),
        ] {
            let folder = tempfile::tempdir().unwrap();
            let db = Db::connect(&Location::SqliteFile(folder.path().join("record.db")))
                .await
                .unwrap();
            let newer = with_later(&oldest_servers);
            let last = KNOWN_SCHEMA_VERSION + i64::try_from(oldest_servers.len()).unwrap();
            assert_eq!(migrate_by(&db, &newer, 0).await.unwrap(), last);
            match migrate(&db, 0).await {
                Ok(version) => assert!(works && version == last, "{oldest_servers:?}"),
                Err(StoreError::SchemaTooNew { found, known }) => {
                    assert!(!works && found == last && known == now, "{oldest_servers:?}");
                }
                Err(other) => panic!("{other}"),
            }
            // Nothing was taken back or made twice: the newer server goes on as before.
            assert_eq!(migrate_by(&db, &newer, 0).await.unwrap(), last);
            db.close().await;
        }
    }
}
