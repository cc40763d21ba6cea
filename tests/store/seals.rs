//! The chain of seals: one for each fleet, unbroken whoever seals and whenever.

use std::collections::BTreeSet;

use ostler_store::{
    HistoryEntry, HistoryFilter, HistoryQuery, NOTHING_BEFORE, NewHistory, SEAL_BYTES, SealedQuery, Store,
    seal,
};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, entry};

const FLEET: &str = "fleets/orrin";
const OTHER: &str = "fleets/other";
const V1: &str = "fleets/orrin/vehicles/v1";
const V2: &str = "fleets/orrin/vehicles/v2";

async fn append(store: &Store, entries: &[NewHistory<'_>]) {
    let mut transaction = store.begin().await.unwrap();
    transaction.append_history(entries).await.unwrap();
    transaction.commit().await.unwrap();
}

/// Seals all that waits, `most` at a time, and says how many these were.
async fn seal_all(store: &Store, most: u32) -> usize {
    let mut total = 0;
    loop {
        match store.seal_waiting(most).await.unwrap() {
            0 => return total,
            sealed => total += sealed,
        }
    }
}

/// The entries of a chain, which must be unbroken from its beginning.
async fn unbroken(store: &Store, fleet: &str) -> Vec<HistoryEntry> {
    let links = store.chain(fleet, 0, 1_000_000).await.unwrap();
    let mut previous: [u8; SEAL_BYTES] = NOTHING_BEFORE;
    let mut entries = Vec::new();
    for (link, position) in links.into_iter().zip(1..) {
        let entry = link.entry.unwrap();
        assert_eq!((link.position, entry.sequence), (position, link.sequence));
        previous = seal(&previous, position, &entry);
        assert_eq!(link.seal, previous, "position {position}");
        entries.push(entry);
    }
    let head = store.head(fleet).await.unwrap();
    assert_eq!(
        head.map(|head| head.position),
        entries.len().try_into().ok().filter(|end| *end > 0)
    );
    assert!(head.is_none_or(|head| head.seal == previous));
    entries
}

fn actions(entries: &[HistoryEntry]) -> Vec<&str> {
    entries.iter().map(|entry| entry.action.as_str()).collect()
}

on_both_databases! {
    async fn each_fleet_has_a_chain_of_its_own(database: &Database) {
        let store = database.open().await;
        assert_eq!(store.head(FLEET).await.unwrap(), None);
        append(&store, &[entry(FLEET, V1, "1"), entry(OTHER, OTHER, "a"), entry(FLEET, V2, "2")]).await;
        assert_eq!(store.unsealed_count(FLEET).await.unwrap(), 2);
        let newest = HistoryQuery::newest(FLEET, None, 10);
        assert_eq!(store.history(&newest).await.unwrap()[0].position, None);
        assert_eq!(seal_all(&store, 1).await, 3);
        append(&store, &[entry(FLEET, V1, "3")]).await;
        assert_eq!(seal_all(&store, 100).await, 1);
        assert_eq!(seal_all(&store, 100).await, 0);
        assert_eq!(actions(&unbroken(&store, FLEET).await), ["1", "2", "3"]);
        assert_eq!(actions(&unbroken(&store, OTHER).await), ["a"]);
        let listed = store.history(&newest).await.unwrap();
        let head = store.head(FLEET).await.unwrap().unwrap();
        assert_eq!((listed[0].position, listed[0].seal.as_deref()), (Some(3), Some(head.seal.as_slice())));
        assert_eq!(store.unsealed_count(FLEET).await.unwrap(), 0);
        assert_eq!(store.outside_of_chain(FLEET, 10).await.unwrap(), [0; 0]);
        assert_eq!(store.gone_unsealed(10).await.unwrap(), [0; 0]);
        store.close().await;
    }

    async fn sealed_entries_are_read_forward_and_filtered(database: &Database) {
        let store = database.open().await;
        append(&store, &[
            entry(FLEET, V1, "create"),
            NewHistory { kind: "part", actor: "bo", time: TIME + 5, ..entry(FLEET, V2, "create") },
            entry(FLEET, V1, "update"),
        ])
        .await;
        seal_all(&store, 100).await;
        append(&store, &[entry(FLEET, V1, "not sealed yet")]).await;
        let all = SealedQuery { fleet: FLEET, filter: HistoryFilter::ALL, after_position: 0, until_position: i64::MAX, limit: 10 };
        let positions = async |query: SealedQuery<'_>| {
            let found = store.sealed_history(&query).await.unwrap();
            found.into_iter().filter_map(|entry| entry.position).collect::<Vec<_>>()
        };
        assert_eq!(positions(all).await, [1, 2, 3]);
        assert_eq!(positions(SealedQuery { limit: 2, ..all }).await, [1, 2]);
        assert_eq!(positions(SealedQuery { after_position: 1, until_position: 2, ..all }).await, [2]);
        let none = HistoryFilter::ALL;
        for (filter, expected) in [
            (HistoryFilter { resource: Some(V1), ..none }, vec![1, 3]),
            (HistoryFilter { kind: Some("part"), ..none }, vec![2]),
            (HistoryFilter { actor: Some("bo"), action: Some("create"), ..none }, vec![2]),
            (HistoryFilter { action: Some("create"), resource: Some(V1), ..none }, vec![1]),
            (HistoryFilter { from_time: Some(TIME), before_time: Some(TIME + 5), ..none }, vec![1, 3]),
            (HistoryFilter { from_time: Some(TIME + 5), ..none }, vec![2]),
            (HistoryFilter { actor: Some("nobody"), ..none }, vec![]),
        ] {
            assert_eq!(positions(SealedQuery { filter, ..all }).await, expected, "{filter:?}");
            let listed = store.history(&HistoryQuery { filter, ..HistoryQuery::newest(FLEET, None, 10) }).await.unwrap();
            let mut listed: Vec<i64> = listed.into_iter().filter_map(|entry| entry.position).collect();
            listed.reverse();
            assert_eq!(listed, expected, "{filter:?}");
        }
        store.close().await;
    }

    async fn the_last_change_until_a_moment_is_told(database: &Database) {
        let store = database.open().await;
        append(&store, &[entry(FLEET, V1, "1"), NewHistory { time: TIME + 10, ..entry(FLEET, V1, "2") }]).await;
        let at = async |time| {
            let found = store.last_change_until(FLEET, V1, time).await.unwrap();
            found.map(|entry| entry.action)
        };
        assert_eq!(at(TIME - 1).await, None);
        assert_eq!(at(TIME).await.as_deref(), Some("1"));
        assert_eq!(at(TIME + 9).await.as_deref(), Some("1"));
        assert_eq!(at(TIME + 10).await.as_deref(), Some("2"));
        store.close().await;
    }

    async fn many_writers_and_two_sealers_give_one_unbroken_chain(database: &Database) {
        const WRITERS: usize = 6;
        const EACH: usize = 40;
        let (one, two) = (database.open().await, database.open().await);
        let mut writers = Vec::new();
        for number in 0..WRITERS {
            let store = if number % 2 == 0 { one.clone() } else { two.clone() };
            writers.push(tokio::spawn(async move {
                for round in 0..EACH {
                    let action = format!("{number}/{round}");
                    append(&store, &[entry(FLEET, V1, &action)]).await;
                }
            }));
        }
        let sealers: Vec<_> = [one.clone(), two.clone()]
            .into_iter()
            .map(|store| tokio::spawn(async move {
                let mut sealed = 0;
                while sealed < WRITERS * EACH && store.head(FLEET).await.unwrap().is_none_or(|head| head.position < 240) {
                    sealed += store.seal_waiting(7).await.unwrap();
                    tokio::task::yield_now().await;
                }
                sealed
            }))
            .collect();
        for writer in writers {
            writer.await.unwrap();
        }
        let mut sealed = 0;
        for sealer in sealers {
            sealed += sealer.await.unwrap();
        }
        assert_eq!(sealed, WRITERS * EACH);
        let chain = unbroken(&one, FLEET).await;
        let found: BTreeSet<&str> = actions(&chain).into_iter().collect();
        assert_eq!((chain.len(), found.len()), (WRITERS * EACH, WRITERS * EACH));
        for number in 0..WRITERS {
            let own = chain.iter().filter_map(|entry| entry.action.strip_prefix(&format!("{number}/")));
            let own: Vec<usize> = own.map(|round| round.parse().unwrap()).collect();
            assert!(own.is_sorted(), "what one writer wrote keeps its order");
        }
        one.close().await;
        two.close().await;
    }

    async fn what_was_written_before_there_were_seals_is_sealed_at_the_first_start(database: &Database) {
        let store = database.open().await;
        append(&store, &[entry(FLEET, V1, "1"), entry(FLEET, V1, "2")]).await;
        store.close().await;
        // Back to the version before, as far as seals go.
        for sql in [
            "DELETE FROM schema_version WHERE version = 3",
            "DELETE FROM schema_floor WHERE version = 3",
            "DROP TABLE seal",
            "DROP TABLE unsealed",
            "DROP INDEX history_kind",
            "DROP INDEX history_actor",
            "DROP INDEX history_time",
        ] {
            database.sql(sql).await.unwrap();
        }
        match database.location {
            ostler_store::Location::SqliteFile(_) => database.sql("DROP TRIGGER history_await_seal").await.unwrap(),
            ostler_store::Location::Postgres(_) => {
                database.sql("DROP FUNCTION await_seal CASCADE").await.unwrap()
            }
        };
        let store = database.open().await;
        assert_eq!(store.unsealed_count(FLEET).await.unwrap(), 2);
        append(&store, &[entry(FLEET, V1, "3")]).await;
        assert_eq!(seal_all(&store, 100).await, 3);
        assert_eq!(actions(&unbroken(&store, FLEET).await), ["1", "2", "3"]);
        store.close().await;
    }

    async fn an_entry_that_commits_late_is_sealed_behind_those_before_it(database: &Database) {
        let (slow, store) = (database.open().await, database.open().await);
        if matches!(database.location, ostler_store::Location::Postgres(_)) {
            let mut late = slow.begin().await.unwrap();
            late.append_history(&[entry(FLEET, V1, "late")]).await.unwrap();
            append(&store, &[entry(FLEET, V1, "early")]).await;
            assert_eq!(seal_all(&store, 100).await, 1);
            late.commit().await.unwrap();
            assert_eq!(seal_all(&store, 100).await, 1);
            let chain = unbroken(&store, FLEET).await;
            assert_eq!(actions(&chain), ["early", "late"]);
            assert!(chain[0].sequence > chain[1].sequence, "numbers are given before the commit");
        }
        slow.close().await;
        store.close().await;
    }

    async fn the_database_refuses_to_change_seals(database: &Database) {
        let store = database.open().await;
        append(&store, &[entry(FLEET, V1, "create")]).await;
        seal_all(&store, 100).await;
        for sql in ["UPDATE seal SET position = 2", "DELETE FROM seal"] {
            let error = database.sql(sql).await.unwrap_err();
            assert!(error.to_string().contains("history is append-only"), "{error}");
        }
        store.close().await;
    }
}
