//! Migrations, and the two dialects held against each other.

use std::collections::BTreeSet;

use ostler_store::{KNOWN_SCHEMA_VERSION, Location, Store, StoreError};
use ostler_tests::databases::Database;
use ostler_tests::on_both_databases;

use crate::rows::{TIME, fleet, write};

on_both_databases! {
    async fn opening_again_changes_nothing(database: &Database) {
        let store = database.open().await;
        assert_eq!(store.schema_version().await.unwrap(), KNOWN_SCHEMA_VERSION);
        write(&store, &[fleet("fleets/orrin")]).await.unwrap();
        store.close().await;
        let applied = "SELECT CAST(version AS TEXT) || ' ' || title || ' ' || CAST(applied_time AS TEXT) FROM schema_version";
        let before = database.sql(applied).await.unwrap();
        let store = Store::open(&database.location, TIME).await.unwrap();
        assert_eq!(database.sql(applied).await.unwrap(), before);
        assert!(store.get("fleets/orrin").await.unwrap().is_some());
        store.ping().await.unwrap();
    }

    async fn a_newer_schema_is_refused_with_both_versions(database: &Database) {
        database.open().await.close().await;
        database.sql("INSERT INTO schema_version VALUES (999, 'from the future', 0)").await.unwrap();
        let error = Store::open(&database.location, TIME).await.unwrap_err();
        assert!(matches!(
            error,
            StoreError::SchemaTooNew { found: 999, known: KNOWN_SCHEMA_VERSION }
        ));
        let text = error.to_string();
        assert!(text.contains("999") && text.contains(&KNOWN_SCHEMA_VERSION.to_string()), "{text}");
        assert!(!error.is_retryable());
    }
}

/// Opens one empty database from several sides at once.
async fn open_together(location: &Location) {
    let tasks: Vec<_> = (0..6)
        .map(|_| {
            let location = location.clone();
            tokio::spawn(async move { Store::open(&location, TIME).await })
        })
        .collect();
    for task in tasks {
        let store = task.await.unwrap().unwrap();
        assert_eq!(store.schema_version().await.unwrap(), KNOWN_SCHEMA_VERSION);
        store.close().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_many_that_open_an_empty_sqlite_file_one_migrates() {
    for _ in 0..10 {
        open_together(&Database::sqlite().location).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_many_that_open_an_empty_postgres_database_one_migrates() {
    for _ in 0..3 {
        let database = Database::empty_postgres().await;
        open_together(&database.location).await;
        database.remove().await;
    }
}

#[tokio::test]
async fn a_migration_that_fails_leaves_the_database_as_it_was() {
    for database in [Database::sqlite(), Database::empty_postgres().await] {
        // A table of somebody else is in the way.
        database.sql("CREATE TABLE token (mine BIGINT)").await.unwrap();
        let error = Store::open(&database.location, TIME).await.unwrap_err();
        assert!(
            matches!(error, StoreError::Migration { version: 1, .. }),
            "{error:?}"
        );
        database.sql("DROP TABLE token").await.unwrap();
        database.open().await.close().await;
        database.remove().await;
    }
}

#[tokio::test]
async fn both_dialects_have_the_same_tables_columns_indexes_and_constraints() {
    let (sqlite, postgres) = (Database::sqlite(), Database::postgres().await);
    let (one, two) = (sqlite.open().await, postgres.open().await);
    let set = |rows: Vec<String>| rows.into_iter().collect::<BTreeSet<String>>();

    let columns = sqlite
        .sql(
            "SELECT t.name || '.' || c.name || ' ' || c.type || CASE c.\"notnull\" WHEN 1 THEN ' NOT NULL' ELSE '' END
             FROM sqlite_schema AS t, pragma_table_info(t.name) AS c
             WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite%'",
        )
        .await
        .unwrap();
    let columns = columns
        .iter()
        .map(|column| column.replace("BIGINT", "INTEGER"))
        .collect();
    let expected = postgres
        .sql(
            "SELECT table_name || '.' || column_name
                || CASE data_type WHEN 'bigint' THEN ' INTEGER' WHEN 'bytea' THEN ' BLOB' ELSE ' ' || upper(data_type) END
                || CASE is_nullable WHEN 'NO' THEN ' NOT NULL' ELSE '' END
             FROM information_schema.columns WHERE table_schema = 'public'",
        )
        .await
        .unwrap();
    assert_eq!(set(columns), set(expected));

    let indexes = "SELECT name FROM sqlite_schema WHERE type = 'index' AND name NOT LIKE 'sqlite%'";
    let expected =
        "SELECT CAST(c.relname AS TEXT) FROM pg_index AS i JOIN pg_class AS c ON c.oid = i.indexrelid
        JOIN pg_namespace AS n ON n.oid = c.relnamespace WHERE n.nspname = 'public' AND NOT i.indisunique";
    assert_eq!(
        set(sqlite.sql(indexes).await.unwrap()),
        set(postgres.sql(expected).await.unwrap())
    );

    let tables = sqlite
        .sql("SELECT sql FROM sqlite_schema WHERE type = 'table'")
        .await
        .unwrap()
        .join("\n");
    let constraints = tables
        .split("CONSTRAINT ")
        .skip(1)
        .filter_map(|text| text.split(' ').next());
    let expected = "SELECT CAST(conname AS TEXT) FROM pg_constraint AS c JOIN pg_namespace AS n ON n.oid = c.connamespace
        WHERE n.nspname = 'public' AND contype IN ('p', 'u', 'f', 'c')";
    let constraints = constraints.map(str::to_owned).collect();
    assert_eq!(set(constraints), set(postgres.sql(expected).await.unwrap()));

    // Sorted and compared by bytes, whatever the language of the database.
    let elsewhere = "SELECT table_name || '.' || column_name FROM information_schema.columns
        WHERE table_schema = 'public' AND table_name <> 'schema_version'
        AND data_type = 'text' AND collation_name IS DISTINCT FROM 'C'";
    assert_eq!(postgres.sql(elsewhere).await.unwrap(), [""; 0]);

    one.close().await;
    two.close().await;
    postgres.remove().await;
}
