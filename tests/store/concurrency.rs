//! Many writers at once, in one store and in two.

use std::future::Future;

use ostler_store::{Change, NewRow, Store, StoreError};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, at, change, delete, fleet, texts, update, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";
const V2: &str = "fleets/orrin/vehicles/v2";
const TASKS: usize = 8;
const ROUNDS: u64 = 25;

/// Runs the tasks side by side and fails when one of them does.
async fn together<F: Future<Output = ()> + Send + 'static>(tasks: impl Iterator<Item = F>) {
    let tasks: Vec<_> = tasks.map(tokio::spawn).collect();
    for task in tasks {
        task.await.unwrap();
    }
}

/// Adds one to the number in the body, until nobody else came between.
async fn increment(store: &Store, name: &str) {
    loop {
        let row = store.get(name).await.unwrap().unwrap();
        let number: u64 = String::from_utf8(row.body.clone()).unwrap().parse().unwrap();
        let body = (number + 1).to_string();
        let change = Change {
            name,
            seen: row.seen(),
            scope: &row.scope,
            body: body.as_bytes(),
            time: TIME,
        };
        match update(store, &change).await {
            Ok(_) => return,
            Err(StoreError::Stale { .. } | StoreError::Busy { .. }) => {}
            Err(error) => panic!("{error:?}"),
        }
    }
}

on_both_databases! {
    async fn no_update_is_ever_lost(database: &Database) {
        // Two stores on one database, as two servers have.
        let stores = [database.open().await, database.open().await];
        write(&stores[0], &[NewRow { body: b"0", ..fleet(FLEET) }]).await.unwrap();
        together((0..TASKS).map(|task| {
            let store = stores[task % 2].clone();
            async move {
                for _ in 0..ROUNDS {
                    increment(&store, FLEET).await;
                }
            }
        }))
        .await;
        let expected = TASKS as u64 * ROUNDS;
        let row = stores[1].get(FLEET).await.unwrap().unwrap();
        assert_eq!(String::from_utf8(row.body).unwrap(), expected.to_string());
        assert_eq!(row.revision, i64::try_from(expected).unwrap() + 1);
        let revisions = stores[0].revisions(&texts(&[FLEET])).await.unwrap();
        assert_eq!(revisions[FLEET], row.revision);
    }

    async fn writers_of_the_same_scopes_do_not_block_each_other(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b""), vehicle(FLEET, V2, b"")]).await.unwrap();
        together((0..TASKS).map(|task| {
            let store = store.clone();
            async move {
                for round in 0..ROUNDS {
                    let one = format!("{V1}/cargo/{task}-{round}");
                    let two = format!("{V2}/cargo/{task}-{round}");
                    let one = NewRow { name: &one, kind: "cargo", ..vehicle(V1, V1, b"") };
                    let two = NewRow { name: &two, kind: "cargo", ..vehicle(V2, V2, b"") };
                    let rows = if task % 2 == 0 { [one, two] } else { [two, one] };
                    write(&store, &rows).await.unwrap();
                }
            }
        }))
        .await;
        let expected = i64::try_from(TASKS as u64 * ROUNDS).unwrap() + 1;
        let loaded = store.load(&texts(&[V1, V2])).await.unwrap();
        assert_eq!(loaded.revisions.into_values().collect::<Vec<_>>(), [expected, expected]);
        assert_eq!(loaded.rows.len(), TASKS * usize::try_from(ROUNDS).unwrap() * 2 + 2);
    }

    async fn of_two_writers_with_one_revision_the_second_is_stale(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let change = Change { name: FLEET, seen: at(1), scope: FLEET, body: b"one", time: TIME };
        let mut first = store.begin().await.unwrap();
        first.update(&change).await.unwrap();
        let second = tokio::spawn({
            let store = store.clone();
            async move { update(&store, &Change { body: b"two", ..change }).await }
        });
        first.commit().await.unwrap();
        assert!(matches!(second.await.unwrap(), Err(StoreError::Stale { .. })));
        assert_eq!(store.get(FLEET).await.unwrap().unwrap().body, b"one");
    }

    async fn what_was_created_anew_is_not_what_was_seen(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let seen = store.get(FLEET).await.unwrap().unwrap();
        delete(&store, FLEET, 1).await.unwrap();
        write(&store, &[NewRow { time: TIME + 9, ..fleet(FLEET) }]).await.unwrap();
        // The new one has the revision of the old one, and is another.
        let anew = store.get(FLEET).await.unwrap().unwrap();
        assert_eq!(anew.revision, seen.revision);
        assert!(matches!(update(&store, &change(&seen, b"lost")).await, Err(StoreError::Stale { .. })));
        assert!(matches!(delete(&store, FLEET, 1).await, Err(StoreError::Stale { .. })));
        assert_eq!(store.get(FLEET).await.unwrap(), Some(anew));
    }

    async fn a_reader_does_not_wait_for_a_writer(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let mut transaction = store.begin().await.unwrap();
        transaction.delete(FLEET, at(1)).await.unwrap();
        assert!(store.get(FLEET).await.unwrap().is_some());
        assert_eq!(store.load(&texts(&[FLEET])).await.unwrap().rows.len(), 1);
        transaction.commit().await.unwrap();
        assert_eq!(store.get(FLEET).await.unwrap(), None);
    }
}
