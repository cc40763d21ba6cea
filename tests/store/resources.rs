//! Creating, reading, changing, deleting and listing resources.

use ostler_store::{Change, List, Row, StoreError};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, at, change, delete, fleet, names, texts, under, update, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";

on_both_databases! {
    async fn a_row_is_read_as_it_was_written(database: &Database) {
        let store = database.open().await;
        assert_eq!(store.get(V1).await.unwrap(), None);
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, &[0, 255, 1])]).await.unwrap();
        let expected = Row {
            name: V1.to_owned(),
            kind: "vehicle".to_owned(),
            parent: Some(FLEET.to_owned()),
            scope: V1.to_owned(),
            revision: 1,
            create_time: TIME,
            update_time: TIME,
            body: vec![0, 255, 1],
        };
        assert_eq!(store.get(V1).await.unwrap(), Some(expected));
        assert_eq!(store.get("fleets/orrin/vehicles/V1").await.unwrap(), None, "case matters");
    }

    async fn a_transaction_reads_its_own_writes(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        assert_eq!(transaction.insert(&fleet(FLEET)).await.unwrap(), 1);
        assert!(transaction.get(FLEET).await.unwrap().is_some());
        let asked = texts(&[V1, FLEET, FLEET]);
        assert_eq!(names(&transaction.many(&asked).await.unwrap()), [FLEET]);
        let existing = transaction.existing(&asked).await.unwrap();
        assert_eq!(existing.into_iter().collect::<Vec<_>>(), [FLEET]);
        assert!(transaction.existing(&[]).await.unwrap().is_empty());
        assert_eq!(store.get(FLEET).await.unwrap(), None, "nobody else does before the commit");
        transaction.commit().await.unwrap();
        assert!(store.get(FLEET).await.unwrap().is_some());
    }

    async fn a_taken_name_is_refused(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let other = "fleets/other";
        let error = write(&store, &[fleet(other), fleet(FLEET)]).await.unwrap_err();
        assert!(matches!(error, StoreError::AlreadyExists { name } if name == FLEET));
        assert_eq!(store.get(other).await.unwrap(), None, "nothing of it was written");
        let error = write(&store, &[fleet(other), fleet(other)]).await.unwrap_err();
        assert!(matches!(error, StoreError::AlreadyExists { name } if name == other));
    }

    async fn a_change_counts_the_revision_up(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let first = store.get(FLEET).await.unwrap().unwrap();
        assert_eq!(update(&store, &change(&first, b"second")).await.unwrap(), 2);
        let second = store.get(FLEET).await.unwrap().unwrap();
        assert_eq!((second.revision, second.body.as_slice()), (2, b"second".as_slice()));
        assert_eq!((second.create_time, second.update_time), (TIME, TIME + 1));
    }

    async fn a_stale_revision_is_refused(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let first = store.get(FLEET).await.unwrap().unwrap();
        update(&store, &change(&first, b"second")).await.unwrap();
        let error = update(&store, &change(&first, b"third")).await.unwrap_err();
        assert!(matches!(error, StoreError::Stale { name } if name == FLEET));
        let error = delete(&store, FLEET, 1).await.unwrap_err();
        assert!(matches!(error, StoreError::Stale { name } if name == FLEET));
        let gone = Change { name: V1, ..change(&first, b"third") };
        assert!(matches!(update(&store, &gone).await, Err(StoreError::Stale { .. })));
        assert!(matches!(delete(&store, V1, 1).await, Err(StoreError::Stale { .. })));
        assert_eq!(store.get(FLEET).await.unwrap().unwrap().body, b"second");
    }

    async fn a_deleted_row_is_gone_and_its_name_is_free(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        delete(&store, FLEET, 1).await.unwrap();
        assert_eq!(store.get(FLEET).await.unwrap(), None);
        write(&store, &[fleet(FLEET)]).await.unwrap();
        assert_eq!(store.get(FLEET).await.unwrap().unwrap().revision, 1);
    }

    async fn a_listing_is_paged_in_byte_order(database: &Database) {
        let store = database.open().await;
        // In byte order capitals come first and accents last, whatever the language of the server.
        let sorted: Vec<String> =
            ["10", "9", "B", "a", "b-1", "b_1", "z", "é"].iter().map(|id| format!("{FLEET}/vehicles/{id}")).collect();
        let mut rows = vec![fleet(FLEET), under("part", FLEET, "fleets/orrin/parts/p1")];
        rows.extend(sorted.iter().rev().map(|name| vehicle(FLEET, name, b"")));
        write(&store, &rows).await.unwrap();

        let mut found = Vec::new();
        loop {
            let after = found.last().cloned();
            let list =
                List { kind: "vehicle", parent: Some(FLEET), after: after.as_deref(), limit: 3 };
            let page = store.list(&list).await.unwrap();
            assert!(page.len() <= 3);
            if page.is_empty() {
                break;
            }
            found.extend(page.into_iter().map(|row| row.name));
        }
        assert_eq!(found, sorted);
    }

    async fn a_listing_has_one_kind_and_one_parent(database: &Database) {
        let store = database.open().await;
        let other = "fleets/orrin2";
        write(&store, &[
            fleet(FLEET),
            fleet(other),
            vehicle(FLEET, V1, b""),
            vehicle(other, "fleets/orrin2/vehicles/v1", b""),
            under("fitment", V1, "fleets/orrin/vehicles/v1/fitments/gearbox"),
        ])
        .await
        .unwrap();
        let list = List { kind: "vehicle", parent: Some(FLEET), after: None, limit: 10 };
        assert_eq!(names(&store.list(&list).await.unwrap()), [V1]);
        let fleets = List { kind: "fleet", parent: None, after: None, limit: 10 };
        assert_eq!(names(&store.list(&fleets).await.unwrap()), [FLEET, other]);
        let later = List { after: Some(FLEET), ..fleets };
        assert_eq!(names(&store.list(&later).await.unwrap()), [other]);
        assert!(store.list(&List { limit: 0, ..list }).await.unwrap().is_empty());
        assert!(store.list(&List { kind: "vehicle", parent: None, ..list }).await.unwrap().is_empty());
    }

    async fn descendants_are_all_below_and_deepest_first(database: &Database) {
        let store = database.open().await;
        let gearbox = "fleets/orrin/vehicles/v1/fitments/gearbox";
        write(&store, &[
            fleet(FLEET),
            fleet("fleets/orrin-2"),
            fleet("fleets/orrin0"),
            fleet("fleets/orrin%"),
            fleet("fleets/o_rin"),
            vehicle(FLEET, V1, b""),
            vehicle(FLEET, "fleets/orrin/vehicles/v10", b""),
            under("fitment", V1, gearbox),
            under("fitment", "fleets/o_rin", "fleets/o_rin/parts/p1"),
        ])
        .await
        .unwrap();
        let below = store.descendants(FLEET).await.unwrap();
        assert_eq!(names(&below), [gearbox, V1, "fleets/orrin/vehicles/v10"]);
        assert_eq!(names(&store.descendants(V1).await.unwrap()), [gearbox]);
        assert!(store.descendants("fleets/orrin%").await.unwrap().is_empty());
        assert_eq!(names(&store.descendants("fleets/o_rin").await.unwrap()), ["fleets/o_rin/parts/p1"]);
        let mut transaction = store.begin().await.unwrap();
        for row in transaction.descendants(FLEET).await.unwrap() {
            transaction.delete(&row.name, row.seen()).await.unwrap();
        }
        transaction.delete(FLEET, at(1)).await.unwrap();
        transaction.commit().await.unwrap();
        assert!(store.descendants(FLEET).await.unwrap().is_empty());
    }
}
