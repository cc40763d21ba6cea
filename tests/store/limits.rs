//! Odd names, large bodies, many rows.

use std::collections::BTreeSet;

use ostler_store::{Change, List, MAX_NAMES, NewHistory, NewRow, StoreError};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, entry, fleet, names, texts, under, vehicle, write};

const FLEET: &str = "fleets/orrin";

on_both_databases! {
    async fn odd_characters_are_characters(database: &Database) {
        let store = database.open().await;
        let ids = ["'", "\"", "%", "_", "\\", "--", ";", "$1", "?", "ö", "汉", "🛞", " ", "\n", "fleets", "a/b"];
        let vehicles: Vec<String> = ids.iter().map(|id| format!("{FLEET}/vehicles/{id}")).collect();
        let mut rows = vec![fleet(FLEET)];
        rows.extend(vehicles.iter().map(|name| vehicle(FLEET, name, name.as_bytes())));
        write(&store, &rows).await.unwrap();
        for name in &vehicles {
            assert_eq!(store.get(name).await.unwrap().unwrap().body, name.as_bytes());
            assert!(store.descendants(name).await.unwrap().is_empty(), "{name}");
            let loaded = store.load(std::slice::from_ref(name)).await.unwrap();
            assert_eq!((names(&loaded.rows), loaded.revisions[name]), (vec![name.as_str()], 1));
            let mut transaction = store.begin().await.unwrap();
            transaction.set_references(FLEET, std::slice::from_ref(name)).await.unwrap();
            transaction.append_history(&[entry(FLEET, name, name)]).await.unwrap();
            transaction.commit().await.unwrap();
            assert_eq!(store.referrers(name, 2).await.unwrap(), [FLEET]);
        }
        assert_eq!(store.many(&vehicles).await.unwrap().len(), ids.len());
        assert_eq!(store.descendants(FLEET).await.unwrap().len(), ids.len());
    }

    async fn what_no_word_may_be_is_refused(database: &Database) {
        let store = database.open().await;
        let refused = |error: &StoreError| matches!(error, StoreError::Invalid { .. });
        for row in [
            fleet(""),
            fleet("fleets/\0"),
            fleet("fleets/\u{1e}"),
            NewRow { kind: "", ..fleet(FLEET) },
            NewRow { kind: "\u{1f}", ..fleet(FLEET) },
            NewRow { scope: "", ..fleet(FLEET) },
            NewRow { scope: "fleets\u{1c}", ..fleet(FLEET) },
        ] {
            let error = write(&store, &[row]).await.unwrap_err();
            assert!(refused(&error), "{row:?}: {error:?}");
            let mut transaction = store.begin().await.unwrap();
            let error = match transaction.create(&row, &[]).await {
                Ok(()) => transaction.commit().await.unwrap_err(),
                Err(error) => error,
            };
            assert!(refused(&error), "{row:?}: {error:?}");
        }
        write(&store, &[fleet(FLEET)]).await.unwrap();
        let seen = store.get(FLEET).await.unwrap().unwrap().seen();
        let mut transaction = store.begin().await.unwrap();
        let change = Change { name: FLEET, seen, scope: "fleets/\u{1d}", body: b"", time: TIME };
        let error = transaction.update(&change).await.unwrap_err();
        assert!(refused(&error), "{error:?}");
        assert!(matches!(transaction.commit().await, Err(StoreError::Abandoned)));
    }

    async fn a_large_body_comes_back_whole(database: &Database) {
        let store = database.open().await;
        let body: Vec<u8> = (0..1_u32 << 20).map(|index| index.wrapping_mul(2_654_435_761).to_be_bytes()[0]).collect();
        let vehicles: Vec<String> = (0..6).map(|number| format!("{FLEET}/vehicles/v{number}")).collect();
        let mut rows = vec![fleet(FLEET)];
        rows.extend(vehicles.iter().map(|name| vehicle(FLEET, name, &body)));
        write(&store, &rows).await.unwrap();
        let list = List { kind: "vehicle", parent: Some(FLEET), after: None, limit: 10 };
        let found = store.list(&list).await.unwrap();
        assert_eq!(found.len(), vehicles.len());
        assert!(found.iter().all(|row| row.body == body));
        let mut transaction = store.begin().await.unwrap();
        let change = NewHistory { before: Some(&body), after: Some(&body), ..entry(FLEET, FLEET, "update") };
        transaction.append_history(&[change, change, change]).await.unwrap();
        transaction.commit().await.unwrap();
    }

    async fn five_thousand_rows_go_in_together(database: &Database) {
        let store = database.open().await;
        let parts: Vec<String> = (0..5_000).map(|number| format!("{FLEET}/parts/p{number:04}")).collect();
        let mut rows = vec![fleet(FLEET)];
        rows.extend(parts.iter().map(|name| under("part", FLEET, name)));
        let targets: Vec<Vec<String>> = (0..5_000)
            .map(|number| vec![parts[(number + 1) % 5_000].clone(), parts[(number + 7) % 5_000].clone()])
            .collect();
        let references: Vec<(&str, &[String])> =
            parts.iter().zip(&targets).map(|(source, targets)| (source.as_str(), targets.as_slice())).collect();
        let entries: Vec<NewHistory<'_>> = parts.iter().map(|name| entry(FLEET, name, "import")).collect();

        let mut transaction = store.begin().await.unwrap();
        transaction.insert_all(&rows).await.unwrap();
        transaction.set_all_references(&references).await.unwrap();
        transaction.append_history(&entries).await.unwrap();
        let existing = transaction.existing(&parts).await.unwrap();
        assert_eq!(existing, parts.iter().cloned().collect::<BTreeSet<_>>());
        transaction.commit().await.unwrap();

        let loaded = store.load(&texts(&[FLEET])).await.unwrap();
        assert_eq!(loaded.rows.len(), 5_001);
        assert_eq!(loaded.revisions[FLEET], 1);
        assert_eq!(names(&store.many(&parts).await.unwrap()), parts);
        assert_eq!(store.referrers(&parts[7], 10).await.unwrap(), [parts[0].clone(), parts[6].clone()]);
        assert_eq!(store.descendants(FLEET).await.unwrap().len(), 5_000);
    }

    async fn more_names_than_a_statement_takes_are_refused(database: &Database) {
        let store = database.open().await;
        let many: Vec<String> = (0..=MAX_NAMES).map(|number| format!("fleets/{number}")).collect();
        assert!(matches!(store.load(&many).await, Err(StoreError::TooMany { .. })));
        assert!(store.load(&many[1..]).await.unwrap().rows.is_empty());
        assert!(matches!(store.many(&many).await, Err(StoreError::TooMany { .. })));
        assert!(store.many(&many[1..]).await.unwrap().is_empty());
    }
}
