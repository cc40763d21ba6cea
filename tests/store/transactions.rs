//! All or nothing.

use ostler_store::{HistoryQuery, NewRequest, StoreError};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, entry, fleet, texts, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";

on_both_databases! {
    async fn a_dropped_transaction_leaves_nothing(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.insert_all(&[fleet(FLEET), vehicle(FLEET, V1, b"")]).await.unwrap();
        transaction.set_references(V1, &texts(&[FLEET])).await.unwrap();
        transaction.append_history(&[entry(FLEET, V1, "create")]).await.unwrap();
        transaction.bump(&texts(&[FLEET])).await.unwrap();
        let request = NewRequest {
            actor: "tokens/anna",
            request_id: "r1",
            method: "CreateVehicle",
            digest: b"",
            response: b"",
            time: TIME,
        };
        transaction.record_request(&request).await.unwrap();
        drop(transaction);

        // The next writer gets in, and finds nothing.
        let mut transaction = store.begin().await.unwrap();
        assert!(transaction.existing(&texts(&[FLEET, V1])).await.unwrap().is_empty());
        assert!(transaction.referrers(FLEET, 10).await.unwrap().is_empty());
        assert_eq!(transaction.request("tokens/anna", "r1").await.unwrap(), None);
        drop(transaction);
        assert!(store.revisions(&texts(&[FLEET, V1])).await.unwrap().is_empty());
        let query = HistoryQuery::newest(FLEET, None, 10);
        assert!(store.history(&query).await.unwrap().is_empty());
    }

    async fn after_a_failure_nothing_more_is_done(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let mut transaction = store.begin().await.unwrap();
        transaction.insert(&fleet("fleets/other")).await.unwrap();
        assert!(transaction.insert(&fleet(FLEET)).await.is_err());
        assert!(matches!(transaction.get(FLEET).await, Err(StoreError::Abandoned)));
        assert!(matches!(transaction.insert(&fleet("fleets/third")).await, Err(StoreError::Abandoned)));
        assert!(matches!(transaction.commit().await, Err(StoreError::Abandoned)));
        assert_eq!(store.get("fleets/other").await.unwrap(), None);
        write(&store, &[fleet("fleets/other")]).await.unwrap();
    }

    async fn an_empty_transaction_commits(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.insert_all(&[]).await.unwrap();
        transaction.set_all_references(&[]).await.unwrap();
        transaction.append_history(&[]).await.unwrap();
        assert!(transaction.bump(&[]).await.unwrap().is_empty());
        transaction.commit().await.unwrap();
    }

    async fn what_is_committed_is_there_when_opened_again(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        store.close().await;
        assert!(matches!(store.get(FLEET).await, Err(StoreError::Unavailable { .. })), "closed");
        let store = database.open().await;
        assert!(store.get(FLEET).await.unwrap().is_some());
    }
}
