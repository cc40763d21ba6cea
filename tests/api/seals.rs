//! The chain of seals, and what a check finds when somebody reaches into the database past the server.

use std::time::{Duration, Instant};

use ostler_proto::v1;
use ostler_server::app::check::{CheckReport, NotedHead, check_whole};
use ostler_store::{Location, Store};
use ostler_tests::client::Client;
use ostler_tests::databases::Database;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;

use crate::fixture::{FLEET, furnish};

/// Entries of the chain in these tests.
const LENGTH: i64 = 3;

/// A server whose fleet has a chain of [`LENGTH`] sealed entries: of the fleet, a part and a vehicle.
async fn sealed(database: &Database) -> Server {
    let server = Server::start(database).await;
    furnish(&server.admin()).await;
    until_sealed(server.store(), LENGTH).await;
    server
}

async fn until_sealed(store: &Store, position: i64) {
    let deadline = Instant::now() + Duration::from_secs(60);
    while store
        .head(FLEET)
        .await
        .unwrap()
        .is_none_or(|head| head.position < position)
    {
        assert!(Instant::now() < deadline, "the history is not sealed");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

async fn history(client: &Client) -> Vec<v1::HistoryEntry> {
    let request = v1::ListHistoryRequest {
        parent: FLEET.into(),
        page_size: 1_000,
        ..Default::default()
    };
    let answer: v1::ListHistoryResponse = client.ask(request).await.unwrap();
    answer.entries
}

/// Makes the database obey: its own refusals are for mistakes, not for those who own it.
async fn unlock(database: &Database) {
    let unlocks: &[&str] = match database.location {
        Location::SqliteFile(_) => &[
            "DROP TRIGGER history_no_update",
            "DROP TRIGGER history_no_delete",
            "DROP TRIGGER history_await_seal",
            "DROP TRIGGER seal_no_update",
            "DROP TRIGGER seal_no_delete",
        ],
        Location::Postgres(_) => &[
            "ALTER TABLE history DISABLE TRIGGER USER",
            "ALTER TABLE seal DISABLE TRIGGER USER",
        ],
    };
    all(database, unlocks).await;
}

async fn all(database: &Database, statements: &[&str]) {
    for statement in statements {
        if let Err(error) = database.sql(statement).await {
            panic!("{statement}: {error}");
        }
    }
}

async fn checked(database: &Database, noted: &[NotedHead]) -> CheckReport {
    let store = database.open().await;
    let report = check_whole(&store, noted).await.unwrap();
    store.close().await;
    report
}

/// What a check says about the fleet, whose own record is not touched by what happens here.
async fn faults(database: &Database) -> Vec<String> {
    let report = checked(database, &[]).await;
    let own = report.faults.into_iter().filter(|(about, _)| about == FLEET);
    own.map(|(_, problem)| problem).collect()
}

/// Does something to the history, checks, and undoes it.
async fn tampered(database: &Database, deeds: &[&str], undo: &[&str]) -> Vec<String> {
    all(database, deeds).await;
    let found = faults(database).await;
    all(database, undo).await;
    let after = faults(database).await;
    assert!(after.is_empty(), "{undo:?} undoes {deeds:?}: {after:?}");
    found
}

fn only(found: &[String], positions: &[i64]) -> bool {
    found.len() == positions.len()
        && positions
            .iter()
            .zip(found)
            .all(|(position, fault)| fault.contains(&format!("position {position} of the chain")))
}

on_both_databases! {
    async fn entries_tell_their_place_in_the_chain(database: &Database) {
        let server = sealed(database).await;
        let entries = history(&server.admin()).await;
        let positions: Vec<i64> = entries.iter().map(|entry| entry.position).collect();
        assert_eq!(positions, [3, 2, 1]);
        assert!(entries.iter().all(|entry| entry.seal.len() == 64));
        let report = checked(database, &[]).await;
        assert_eq!(report.faults, []);
        assert_eq!((report.history_entries, report.unsealed_entries), (3, 0));
        let head = &report.heads[0];
        assert_eq!(head.to_string(), format!("shed=3:{}", entries[0].seal));
        server.stop().await;
    }

    async fn what_was_written_last_is_sealed_when_the_server_stops(database: &Database) {
        let server = Server::start(database).await;
        furnish(&server.admin()).await;
        server.stop().await;
        let report = checked(database, &[]).await;
        assert_eq!((report.unsealed_entries, report.heads[0].position), (0, LENGTH));
    }

    async fn a_kill_between_commit_and_seal_heals(database: &Database) {
        sealed(database).await.stop().await;
        // Committed, and then nobody is there to seal it: it is counted, and no fault.
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        let entry = ostler_store::NewHistory {
            fleet: FLEET, resource: FLEET, kind: "fleet", time: 0, actor: "admin", action: "update",
            request_id: None, before: None, after: None,
        };
        transaction.append_history(&[entry]).await.unwrap();
        transaction.commit().await.unwrap();
        store.close().await;
        let report = checked(database, &[]).await;
        assert_eq!((report.unsealed_entries, report.heads[0].position), (1, LENGTH));
        assert!(report.faults.iter().all(|(_, problem)| !problem.contains("chain")), "{report:?}");
        let server = Server::start_again(database).await;
        until_sealed(server.store(), LENGTH + 1).await;
        server.stop().await;
        assert_eq!(checked(database, &[]).await.unsealed_entries, 0);
    }

    async fn whatever_is_done_to_an_entry_names_its_position(database: &Database) {
        sealed(database).await.stop().await;
        unlock(database).await;
        let at = |position: i64| format!("(SELECT sequence FROM seal WHERE position = {position})");

        // Changed: whatever column.
        for (column, other) in [
            ("actor", "'bo'"), ("action", "'fit'"), ("time", "time + 1"), ("kind", "'x'"), ("request_id", "'x'"),
            ("resource", "resource || 'x'"), ("before", "after"), ("after", "NULL"),
        ] {
            all(database, &["CREATE TABLE kept AS SELECT * FROM history"]).await;
            let change = format!("UPDATE history SET {column} = {other} WHERE sequence = {}", at(2));
            let undo = format!("UPDATE history SET {column} = (SELECT {column} FROM kept WHERE kept.sequence = history.sequence)");
            let found = tampered(database, &[&change], &[&undo, "DROP TABLE kept"]).await;
            assert!(only(&found, &[2]), "{column}: {found:?}");
        }
        // Given to another fleet.
        let change = format!("UPDATE history SET fleet = 'fleets/x' WHERE sequence = {}", at(2));
        let undo = format!("UPDATE history SET fleet = '{FLEET}'");
        let found = tampered(database, &[&change], &[&undo]).await;
        assert!(only(&found, &[2]), "{found:?}");

        // Removed, with its place in the chain or without it.
        let numbered = "UPDATE history SET sequence = 1000000 - sequence";
        let gone = format!("{numbered} WHERE sequence = {}", at(2));
        let undo = format!("{numbered} WHERE sequence > 900000");
        if matches!(database.location, Location::SqliteFile(_)) {
            // Under another number it is as good as gone, and in the chain no more.
            let found = tampered(database, &[&gone], &[&undo]).await;
            assert!(found.iter().any(|fault| fault.contains("the entry at position 2 of the chain is gone")), "{found:?}");
            assert!(found.iter().any(|fault| fault.contains("is not in the chain")), "{found:?}");
        }
        let found = tampered(
            database,
            &["CREATE TABLE kept AS SELECT * FROM seal", "DELETE FROM seal WHERE position = 2"],
            &["INSERT INTO seal SELECT * FROM kept WHERE position = 2", "DROP TABLE kept"],
        )
        .await;
        assert!(found.iter().any(|fault| fault == "position 2 of the chain is gone"), "{found:?}");
        assert!(found.iter().any(|fault| fault.contains("is not in the chain")), "{found:?}");

        // Reordered: two places exchanged.
        let exchange = [
            "UPDATE seal SET position = 1000 WHERE position = 2",
            "UPDATE seal SET position = 2 WHERE position = 3",
            "UPDATE seal SET position = 3 WHERE position = 1000",
        ];
        let found = tampered(database, &exchange, &exchange).await;
        assert!(only(&found, &[2, 3]), "{found:?}");

        // Inserted.
        let insert = format!(
            "INSERT INTO history (fleet, resource, kind, time, actor, action) VALUES ('{FLEET}', '{FLEET}/parts/x', 'part', 0, 'bo', 'x')"
        );
        let found = tampered(database, &[&insert], &["DELETE FROM history WHERE actor = 'bo'"]).await;
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains("is not in the chain"), "{found:?}");

        // Deleted outright: last, for it is not undone.
        all(database, &[&format!("DELETE FROM history WHERE sequence = {}", at(2))]).await;
        let found = faults(database).await;
        assert!(only(&found, &[2]) && found[0].contains("is gone"), "{found:?}");
    }

    async fn a_chain_that_was_cut_or_made_anew_is_found_by_a_noted_head(database: &Database) {
        sealed(database).await.stop().await;
        let noted = checked(database, &[]).await.heads;
        assert_eq!(checked(database, &noted).await.faults, []);
        unlock(database).await;
        // Cut at its end, to be shorter but unbroken.
        all(database, &["CREATE TABLE kept AS SELECT * FROM seal", "CREATE TABLE kept_history AS SELECT * FROM history"]).await;
        all(database, &[
            "DELETE FROM history WHERE sequence = (SELECT MAX(sequence) FROM seal)",
            "DELETE FROM seal WHERE position = 3",
        ])
        .await;
        assert_eq!(faults(database).await, [""; 0]);
        let report = checked(database, &noted).await;
        assert!(report.faults.iter().any(|(about, problem)| about == FLEET && problem.contains("was cut")), "{report:?}");

        // Changed, and sealed anew from the beginning.
        all(database, &[
            "UPDATE history SET actor = 'bo'",
            "DELETE FROM seal",
            "INSERT INTO unsealed SELECT sequence FROM history",
        ])
        .await;
        let store = database.open().await;
        assert_eq!(store.seal_waiting(10).await.unwrap(), 2);
        store.close().await;
        assert_eq!(faults(database).await, [""; 0], "unbroken, and all of it a lie");
        let earlier = NotedHead { position: 2, ..noted[0].clone() };
        let report = checked(database, &[earlier]).await;
        assert!(report.faults.iter().any(|(about, problem)| about == FLEET && problem.contains("was made anew")), "{report:?}");
    }
}
