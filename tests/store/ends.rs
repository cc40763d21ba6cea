//! A transaction whose writes go together: what is held back is there for whoever reads, and an end in one round trip writes what
//! an end in several does.

use ostler_store::{HistoryQuery, NewHistory, NewRequest, Store, StoreError, Transaction};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, end, entry, fleet, texts, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";
const V2: &str = "fleets/orrin/vehicles/v2";

const REQUEST: NewRequest<'static> = NewRequest {
    actor: "tokens/anna",
    request_id: "r1",
    method: "CreateVehicle",
    digest: &[7; 32],
    response: b"answer",
    time: TIME,
};

/// A transaction on a fleet with `V2`, which has created `V1` that refers to both.
async fn begun(store: &Store) -> Transaction {
    write(store, &[fleet(FLEET), vehicle(FLEET, V2, b"two")])
        .await
        .unwrap();
    let mut transaction = store.begin().await.unwrap();
    transaction
        .create(&vehicle(FLEET, V1, b"one"), &texts(&[FLEET, V2]))
        .await
        .unwrap();
    transaction
}

/// What a write leaves behind in a fleet, but for the numbers of history.
async fn left_behind(store: &Store, fleet: &str) -> String {
    let history = store
        .history(&HistoryQuery::newest(fleet, None, 100))
        .await
        .unwrap();
    let history: Vec<_> = history
        .into_iter()
        .rev()
        .map(|entry| {
            (
                entry.resource,
                entry.action,
                entry.request_id,
                entry.before,
                entry.after,
            )
        })
        .collect();
    let names = ["", "/vehicles/v1", "/vehicles/v2"].map(|end| format!("{fleet}{end}"));
    let left = (
        store.many(&names).await.unwrap(),
        store.referrers(&names[0], 10).await.unwrap(),
        store.referrers(&names[2], 10).await.unwrap(),
        store.revisions(&names).await.unwrap(),
        store.request(fleet, "r1").await.unwrap(),
        history,
    );
    format!("{left:?}")
}

on_both_databases! {
    async fn what_is_held_back_is_there_for_whoever_reads(database: &Database) {
        let store = database.open().await;
        let mut transaction = begun(&store).await;
        assert_eq!(transaction.get(V1).await.unwrap().unwrap().body, b"one");
        transaction.create(&vehicle(FLEET, "fleets/orrin/vehicles/v3", b"three"), &[]).await.unwrap();
        let loaded = transaction.load(&texts(&[V1, "fleets/orrin/vehicles/v3"])).await.unwrap();
        assert_eq!(loaded.rows.len(), 2);
        assert_eq!(transaction.referrers(V2, 10).await.unwrap(), [V1]);
        drop(transaction);
        assert_eq!(store.get(V1).await.unwrap(), None, "nothing of it outlives the transaction");
        let mut transaction = store.begin().await.unwrap();
        transaction.create(&vehicle(FLEET, V1, b"one"), &texts(&[V2])).await.unwrap();
        transaction.commit().await.unwrap();
        assert_eq!(store.referrers(V2, 10).await.unwrap(), [V1]);
    }

    async fn an_end_in_one_writes_what_an_end_in_several_does(database: &Database) {
        let store = database.open().await;
        let mut left = Vec::new();
        for (name, in_one) in [("fleets/one", true), ("fleets/two", false)] {
            let vehicles = ["v1", "v2"].map(|id| format!("{name}/vehicles/{id}"));
            let [v1, v2] = &vehicles;
            write(&store, &[fleet(name), vehicle(name, v2, b"two")]).await.unwrap();
            let mut transaction = store.begin().await.unwrap();
            transaction.create(&vehicle(name, v1, b"one"), &texts(&[name, v2])).await.unwrap();
            let changed = NewHistory { before: Some(b"x"), request_id: Some("r1"), ..entry(name, v2, "update") };
            let entries = [entry(name, v1, "create"), changed];
            let request = NewRequest { actor: name, ..REQUEST };
            if in_one {
                end(transaction, &entries, Some(&request)).await.unwrap();
            } else {
                transaction.append_history(&entries).await.unwrap();
                transaction.record_request(&request).await.unwrap();
                transaction.commit().await.unwrap();
            }
            left.push(left_behind(&store, name).await.replace(name, "fleets/same"));
        }
        assert_eq!(left[0], left[1]);
    }

    /// More than goes in one.
    async fn a_long_history_is_written_whole(database: &Database) {
        let store = database.open().await;
        let entries: Vec<NewHistory<'_>> = (0..50).map(|_| entry(FLEET, V1, "update")).collect();
        end(begun(&store).await, &entries, Some(&REQUEST)).await.unwrap();
        assert_eq!(store.history(&HistoryQuery::newest(FLEET, None, 100)).await.unwrap().len(), 50);
        assert!(store.request("tokens/anna", "r1").await.unwrap().is_some());
        let body = vec![0; 2 << 20];
        let large = NewHistory { after: Some(&body), ..entry(FLEET, V1, "update") };
        end(store.begin().await.unwrap(), &[large], None).await.unwrap();
        let newest = store.history(&HistoryQuery::newest(FLEET, None, 1)).await.unwrap();
        assert_eq!(newest[0].after.as_ref().map(Vec::len), Some(2 << 20));
    }

    async fn an_end_with_nothing_to_write_is_one(database: &Database) {
        let store = database.open().await;
        end(store.begin().await.unwrap(), &[], None).await.unwrap();
        end(store.begin().await.unwrap(), &[], Some(&REQUEST)).await.unwrap();
        assert!(store.request("tokens/anna", "r1").await.unwrap().is_some());
    }

    async fn a_taken_name_and_a_repeated_request_are_told_apart_and_write_nothing(database: &Database) {
        let store = database.open().await;
        end(begun(&store).await, &[entry(FLEET, V1, "create")], Some(&REQUEST)).await.unwrap();
        let before = left_behind(&store, FLEET).await;

        let taken = |error: StoreError| matches!(error, StoreError::AlreadyExists { name } if name == V1);
        let again = NewRequest { request_id: "r2", ..REQUEST };
        let mut transaction = store.begin().await.unwrap();
        transaction.create(&vehicle(FLEET, V1, b"other"), &[]).await.unwrap();
        assert!(taken(end(transaction, &[entry(FLEET, V1, "create")], Some(&again)).await.unwrap_err()));
        let mut transaction = store.begin().await.unwrap();
        transaction.create(&vehicle(FLEET, V1, b"other"), &[]).await.unwrap();
        assert!(taken(transaction.write_out().await.unwrap_err()));
        assert!(matches!(transaction.commit().await, Err(StoreError::Abandoned)));

        let mut transaction = store.begin().await.unwrap();
        transaction.create(&vehicle(FLEET, "fleets/orrin/vehicles/v4", b"four"), &[]).await.unwrap();
        let repeated = end(transaction, &[entry(FLEET, V1, "create")], Some(&REQUEST)).await.unwrap_err();
        assert!(matches!(repeated, StoreError::RequestRepeated), "{repeated:?}");

        let mut transaction = store.begin().await.unwrap();
        transaction
            .create(&vehicle(FLEET, "fleets/orrin/vehicles/v5", b"five"), &texts(&["fleets/orrin/parts/none"]))
            .await
            .unwrap();
        let dangling = end(transaction, &[entry(FLEET, V1, "create")], Some(&again)).await.unwrap_err();
        assert!(matches!(dangling, StoreError::Reference { .. }), "{dangling:?}");
        assert_eq!(left_behind(&store, FLEET).await, before);
        assert_eq!(store.many(&texts(&["fleets/orrin/vehicles/v4", "fleets/orrin/vehicles/v5"])).await.unwrap(), []);
    }

    async fn what_others_refer_to_is_read_along(database: &Database) {
        let store = database.open().await;
        end(begun(&store).await, &[], None).await.unwrap();
        let mut transaction = store.begin().await.unwrap();
        let names = |rows: Vec<ostler_store::Row>| {
            let mut names: Vec<String> = rows.into_iter().map(|row| row.name).collect();
            names.sort();
            names.dedup();
            names
        };
        let rows = transaction.many_with_targets(&texts(&[V1, "fleets/none"]), &texts(&[V1])).await.unwrap();
        assert_eq!(names(rows), [FLEET, V1, V2]);
        let rows = transaction.many_with_targets(&texts(&[V2]), &[]).await.unwrap();
        assert_eq!(names(rows), [V2]);
    }
}
