//! What refers to what: checked by the database, at the end of the transaction.

use ostler_store::StoreError;
use ostler_tests::on_both_databases;

use crate::rows::{at, delete, fleet, texts, under, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";
const GEARBOX: &str = "fleets/orrin/vehicles/v1/fitments/gearbox";
const PART: &str = "fleets/orrin/parts/p1";

on_both_databases! {
    async fn an_import_may_come_in_any_order(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.set_references(GEARBOX, &texts(&[PART])).await.unwrap();
        transaction.insert(&under("fitment", V1, GEARBOX)).await.unwrap();
        transaction.insert(&vehicle(FLEET, V1, b"")).await.unwrap();
        transaction.insert(&under("part", FLEET, PART)).await.unwrap();
        transaction.insert(&fleet(FLEET)).await.unwrap();
        transaction.commit().await.unwrap();
        assert_eq!(store.referrers(PART, 10).await.unwrap(), [GEARBOX]);
    }

    async fn a_missing_target_fails_the_commit(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.insert(&fleet(FLEET)).await.unwrap();
        transaction.set_references(FLEET, &texts(&[PART])).await.unwrap();
        assert!(matches!(transaction.commit().await, Err(StoreError::Reference { .. })));
        assert_eq!(store.get(FLEET).await.unwrap(), None, "nothing was written");
        write(&store, &[fleet(FLEET)]).await.unwrap();
    }

    async fn a_missing_parent_fails_the_commit(database: &Database) {
        let store = database.open().await;
        let error = write(&store, &[vehicle(FLEET, V1, b"")]).await.unwrap_err();
        assert!(matches!(error, StoreError::Reference { .. }));
        assert_eq!(store.get(V1).await.unwrap(), None);
    }

    async fn a_parent_is_the_beginning_of_the_name(database: &Database) {
        let store = database.open().await;
        let rows = [fleet(FLEET), fleet("fleets/other"), vehicle("fleets/other", V1, b"")];
        assert!(matches!(write(&store, &rows).await, Err(StoreError::Invalid { .. })));
        let rows = [fleet(FLEET), vehicle(FLEET, "fleets/orrin2", b"")];
        assert!(matches!(write(&store, &rows).await, Err(StoreError::Invalid { .. })));
    }

    async fn what_is_referred_to_cannot_be_deleted(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.insert_all(&[fleet(FLEET), under("part", FLEET, PART), vehicle(FLEET, V1, b"")]).await.unwrap();
        transaction.set_references(V1, &texts(&[PART])).await.unwrap();
        transaction.commit().await.unwrap();

        assert!(matches!(delete(&store, PART, 1).await, Err(StoreError::Reference { .. })));
        assert!(matches!(delete(&store, FLEET, 1).await, Err(StoreError::Reference { .. })), "has children");
        assert!(store.get(PART).await.unwrap().is_some());

        // Both at once, in either order, is fine; what the vehicle refers to goes with it.
        let mut transaction = store.begin().await.unwrap();
        transaction.delete(PART, at(1)).await.unwrap();
        transaction.delete(V1, at(1)).await.unwrap();
        transaction.commit().await.unwrap();
        assert!(store.referrers(PART, 10).await.unwrap().is_empty());
        delete(&store, FLEET, 1).await.unwrap();
    }

    async fn references_are_replaced_whole(database: &Database) {
        let store = database.open().await;
        let other = "fleets/orrin/parts/p2";
        write(&store, &[fleet(FLEET), under("part", FLEET, PART), under("part", FLEET, other), vehicle(FLEET, V1, b"")])
            .await
            .unwrap();
        for (targets, of_part, of_other) in [
            (texts(&[PART, PART, other]), vec![V1], vec![V1]),
            (texts(&[other]), vec![], vec![V1]),
            (texts(&[]), vec![], vec![]),
        ] {
            let mut transaction = store.begin().await.unwrap();
            transaction.set_references(V1, &targets).await.unwrap();
            assert_eq!(transaction.referrers(PART, 10).await.unwrap(), of_part);
            transaction.commit().await.unwrap();
            assert_eq!(store.referrers(PART, 10).await.unwrap(), of_part);
            assert_eq!(store.referrers(other, 10).await.unwrap(), of_other);
        }
    }

    async fn a_row_may_refer_to_itself_and_go(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.insert(&fleet(FLEET)).await.unwrap();
        transaction.set_references(FLEET, &texts(&[FLEET])).await.unwrap();
        transaction.commit().await.unwrap();
        delete(&store, FLEET, 1).await.unwrap();
    }

    async fn referrers_come_in_order_up_to_the_limit(database: &Database) {
        let store = database.open().await;
        let sources: Vec<String> = (10..30).map(|number| format!("{FLEET}/vehicles/v{number}")).collect();
        let targets = texts(&[PART]);
        let mut transaction = store.begin().await.unwrap();
        transaction.insert_all(&[fleet(FLEET), under("part", FLEET, PART)]).await.unwrap();
        for source in &sources {
            transaction.insert(&vehicle(FLEET, source, b"")).await.unwrap();
        }
        let references: Vec<(&str, &[String])> =
            sources.iter().rev().map(|source| (source.as_str(), targets.as_slice())).collect();
        transaction.set_all_references(&references).await.unwrap();
        transaction.commit().await.unwrap();
        assert_eq!(store.referrers(PART, 100).await.unwrap(), sources);
        assert_eq!(store.referrers(PART, 3).await.unwrap(), sources[..3]);
        assert!(store.referrers(FLEET, 3).await.unwrap().is_empty());
    }
}
