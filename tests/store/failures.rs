//! Databases that are missing, damaged, locked or gone, told apart.

use std::error::Error;

use ostler_store::{Change, Location, Store, StoreError};
use ostler_tests::databases::Database;
use ostler_tests::postgres::Cluster;

use crate::rows::{TIME, at, entry, fleet, update, write};

const ONE: &str = "fleets/one";
const TWO: &str = "fleets/two";
/// More than the store has connections: as many calls may meet one that has died.
const CONNECTIONS: usize = 20;

fn change<'a>(name: &'a str, revision: i64, body: &'a [u8]) -> Change<'a> {
    Change {
        name,
        seen: at(revision),
        scope: name,
        body,
        time: TIME,
    }
}

/// Asks until the store has replaced its dead connections. Every failure before that is one to repeat.
async fn ask_until_answered(store: &Store) {
    for _ in 0..CONNECTIONS {
        match store.get(ONE).await {
            Ok(row) => {
                assert!(row.is_some());
                return;
            }
            Err(error) => assert!(error.is_retryable(), "{error:?}"),
        }
    }
    panic!("no answer");
}

#[tokio::test]
async fn a_file_that_is_no_database_is_told() {
    let database = Database::sqlite();
    let Location::SqliteFile(path) = &database.location else {
        panic!("a file")
    };
    std::fs::write(path, "a load sheet, not a database at all".repeat(100)).unwrap();
    let error = Store::open(&database.location, TIME).await.unwrap_err();
    assert!(matches!(error, StoreError::Corrupt { .. }), "{error:?}");
}

#[tokio::test]
async fn a_missing_folder_is_told() {
    let database = Database::sqlite();
    let Location::SqliteFile(path) = &database.location else {
        panic!("a file")
    };
    let location = Location::SqliteFile(path.join("missing/record.db"));
    let error = Store::open(&location, TIME).await.unwrap_err();
    assert!(matches!(error, StoreError::Unavailable { .. }), "{error:?}");
}

#[tokio::test]
async fn a_missing_database_or_server_is_told() {
    let database = Database::postgres().await;
    let Location::Postgres(url) = &database.location else {
        panic!("a URL")
    };
    let missing = Location::Postgres(url.replace("test_", "missing_"));
    let error = Store::open(&missing, TIME).await.unwrap_err();
    assert!(matches!(error, StoreError::Refused { .. }), "{error:?}");
    let nowhere = Location::Postgres("postgres:///record?host=/nowhere&user=shop".to_owned());
    let error = Store::open(&nowhere, TIME).await.unwrap_err();
    assert!(matches!(error, StoreError::Unavailable { .. }), "{error:?}");
    let unreadable = Location::Postgres("postgres://host:port".to_owned());
    assert!(matches!(
        Store::open(&unreadable, TIME).await,
        Err(StoreError::Location { .. })
    ));
    database.remove().await;
}

#[tokio::test]
async fn no_message_repeats_its_source() {
    let database = Database::sqlite();
    let store = database.open().await;
    let error = write(&store, &[fleet("")]).await.unwrap_err();
    let source = error.source().unwrap();
    assert!(!error.to_string().contains(&source.to_string()));
    assert!(source.to_string().contains("resource_name_check"), "{source}");
    assert!(source.source().is_none());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sqlite_writer_that_never_ends_makes_the_others_busy() {
    let database = Database::sqlite();
    let (store, other) = (database.open().await, database.open().await);
    let mut endless = other.begin().await.unwrap();
    endless.insert(&fleet(ONE)).await.unwrap();
    let (same_store, other_store) = tokio::join!(other.begin(), store.begin());
    for outcome in [same_store, other_store] {
        let Err(error) = outcome else {
            panic!("two writers at once")
        };
        assert!(
            matches!(error, StoreError::Busy { .. }) && error.is_retryable(),
            "{error:?}"
        );
    }
    endless.commit().await.unwrap();
    write(&store, &[fleet(TWO)]).await.unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_two_postgres_writers_that_wait_for_each_other_one_is_busy() {
    let database = Database::postgres().await;
    let store = database.open().await;
    write(&store, &[fleet(ONE), fleet(TWO)]).await.unwrap();
    let (mut first, mut second) = (store.begin().await.unwrap(), store.begin().await.unwrap());
    first.update(&change(ONE, 1, b"first")).await.unwrap();
    second.update(&change(TWO, 1, b"second")).await.unwrap();
    let first = tokio::spawn(async move {
        first.update(&change(TWO, 1, b"first")).await?;
        first.commit().await
    });
    let second = tokio::spawn(async move {
        second.update(&change(ONE, 1, b"second")).await?;
        second.commit().await
    });
    let outcomes = [first.await.unwrap(), second.await.unwrap()];
    let ([Ok(()), Err(error)] | [Err(error), Ok(())]) = &outcomes else {
        panic!("{outcomes:?}")
    };
    assert!(matches!(error, StoreError::Busy { .. }), "{error:?}");
    let bodies = [
        store.get(ONE).await.unwrap().unwrap().body,
        store.get(TWO).await.unwrap().unwrap().body,
    ];
    assert_eq!(bodies[0], bodies[1], "all of one writer, nothing of the other");
    store.close().await;
    database.remove().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_commit_without_an_answer_is_not_known() {
    let database = Database::postgres().await;
    let store = database.open().await;
    write(&store, &[fleet(ONE)]).await.unwrap();
    let mut transaction = store.begin().await.unwrap();
    transaction
        .append_history(&[entry(ONE, ONE, "update")])
        .await
        .unwrap();
    let mut other = store.begin().await.unwrap();
    other.append_history(&[entry(ONE, ONE, "update")]).await.unwrap();
    database
        .sql(
            "SELECT CAST(pg_terminate_backend(pid) AS TEXT) FROM pg_stat_activity
             WHERE datname = current_database() AND pid <> pg_backend_pid()",
        )
        .await
        .unwrap();
    let error = transaction.commit().await.unwrap_err();
    assert!(matches!(error, StoreError::CommitUnknown { .. }), "{error:?}");
    assert!(!error.is_retryable(), "the write may have happened");
    // Before the commit it is known that nothing was written.
    let error = other
        .append_history(&[entry(ONE, ONE, "update")])
        .await
        .unwrap_err();
    assert!(matches!(error, StoreError::Unavailable { .. }), "{error:?}");
    assert!(matches!(other.commit().await, Err(StoreError::Abandoned)));
    ask_until_answered(&store).await;
    store.close().await;
    database.remove().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_killed_postgres_server_loses_nothing_and_is_found_again() {
    let mut cluster = Cluster::start(true);
    let database = cluster.fresh_database().await;
    let store = Store::open(&Location::Postgres(database), TIME).await.unwrap();
    write(&store, &[fleet(ONE)]).await.unwrap();
    for round in 1..=2 {
        update(&store, &change(ONE, round, b"acknowledged"))
            .await
            .unwrap();
        cluster.kill();
        let error = store.get(ONE).await.unwrap_err();
        assert!(matches!(error, StoreError::Unavailable { .. }), "{error:?}");
        // A call made meanwhile waits for the server to be back.
        let waiting = tokio::spawn({
            let store = store.clone();
            async move { store.ping().await }
        });
        cluster.restart();
        if let Err(error) = waiting.await.unwrap() {
            assert!(error.is_retryable(), "{error:?}");
        }
        ask_until_answered(&store).await;
        assert_eq!(store.get(ONE).await.unwrap().unwrap().revision, round + 1);
    }
    store.close().await;
}
