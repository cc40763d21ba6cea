//! The history: newest first, paged, and never changed.

use ostler_store::{HistoryEntry, HistoryQuery, NewHistory, Store};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, entry};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";
const V2: &str = "fleets/orrin/vehicles/v2";

async fn append(store: &Store, entries: &[NewHistory<'_>]) {
    let mut transaction = store.begin().await.unwrap();
    transaction.append_history(entries).await.unwrap();
    transaction.commit().await.unwrap();
}

fn actions(entries: &[HistoryEntry]) -> Vec<&str> {
    entries.iter().map(|entry| entry.action.as_str()).collect()
}

const NEWEST: HistoryQuery<'static> = HistoryQuery::newest(FLEET, None, 100);

on_both_databases! {
    async fn an_entry_is_read_as_it_was_written(database: &Database) {
        let store = database.open().await;
        append(&store, &[
            NewHistory { before: Some(&[0, 1]), after: None, request_id: Some("r1"), ..entry(FLEET, V1, "delete") },
            NewHistory { before: None, after: Some(&[]), ..entry(FLEET, V1, "create") },
        ])
        .await;
        let found = store.history(&NEWEST).await.unwrap();
        let expected = HistoryEntry {
            sequence: found[1].sequence,
            fleet: FLEET.to_owned(),
            resource: V1.to_owned(),
            kind: "vehicle".to_owned(),
            time: TIME,
            actor: "tokens/anna".to_owned(),
            action: "delete".to_owned(),
            request_id: Some("r1".to_owned()),
            before: Some(vec![0, 1]),
            after: None,
            position: None,
            seal: None,
        };
        assert_eq!(found[1], expected);
        assert_eq!((&found[0].before, &found[0].after), (&None, &Some(vec![])), "none and empty differ");
        assert!(found[0].sequence > found[1].sequence);
    }

    async fn the_last_change_of_each_resource_is_told(database: &Database) {
        let store = database.open().await;
        append(&store, &[entry(FLEET, V1, "1"), entry(FLEET, V2, "2"), entry(FLEET, V1, "3")]).await;
        append(&store, &[entry(FLEET, "fleets/orrin/vehicles/v3", "not asked for")]).await;
        let asked = [V2.to_owned(), V1.to_owned(), "fleets/orrin/vehicles/none".to_owned()];
        assert_eq!(actions(&store.last_changes(&asked).await.unwrap()), ["3", "2"]);
        assert_eq!(store.last_changes(&[]).await.unwrap(), []);
    }

    async fn history_is_newest_first_and_paged(database: &Database) {
        let store = database.open().await;
        append(&store, &[entry(FLEET, V1, "1"), entry(FLEET, V2, "2")]).await;
        append(&store, &[entry("fleets/other", "fleets/other/vehicles/v1", "of another fleet")]).await;
        append(&store, &[entry(FLEET, V1, "3"), entry(FLEET, V1, "4")]).await;
        assert_eq!(actions(&store.history(&NEWEST).await.unwrap()), ["4", "3", "2", "1"]);
        let of_v1 = HistoryQuery::newest(FLEET, Some(V1), 100);
        assert_eq!(actions(&store.history(&of_v1).await.unwrap()), ["4", "3", "1"]);
        let page = store.history(&HistoryQuery { limit: 3, ..NEWEST }).await.unwrap();
        assert_eq!(actions(&page), ["4", "3", "2"]);
        let next = HistoryQuery { before_sequence: page.last().map(|entry| entry.sequence), ..NEWEST };
        assert_eq!(actions(&store.history(&next).await.unwrap()), ["1"]);
        let elsewhere = HistoryQuery::newest("fleets/other", Some(V1), 100);
        assert!(store.history(&elsewhere).await.unwrap().is_empty());
    }

    async fn the_database_refuses_to_change_history(database: &Database) {
        let store = database.open().await;
        append(&store, &[entry(FLEET, V1, "create")]).await;
        for sql in ["UPDATE history SET actor = 'somebody else'", "DELETE FROM history"] {
            let error = database.sql(sql).await.unwrap_err();
            assert!(error.to_string().contains("history is append-only"), "{error}");
        }
        assert_eq!(store.history(&NEWEST).await.unwrap()[0].actor, "tokens/anna");
    }
}
