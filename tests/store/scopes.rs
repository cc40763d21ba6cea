//! Reading whole scopes, and the revisions that tell when they have changed.

use std::collections::BTreeMap;

use ostler_store::{Change, Loaded, MAX_KNOWN, NewRow, StoreError};
use ostler_tests::on_both_databases;

use crate::rows::{at, change, delete, fleet, names, texts, under, update, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";
const V2: &str = "fleets/orrin/vehicles/v2";
const GEARBOX: &str = "fleets/orrin/vehicles/v1/fitments/gearbox";

fn revisions(expected: &[(&str, i64)]) -> BTreeMap<String, i64> {
    expected
        .iter()
        .map(|(scope, value)| ((*scope).to_owned(), *value))
        .collect()
}

on_both_databases! {
    async fn scopes_are_read_whole(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b"1"), vehicle(FLEET, V2, b"2"), under("fitment", V1, GEARBOX)])
            .await
            .unwrap();
        let loaded = store.load(&texts(&[V1, FLEET, "fleets/none"])).await.unwrap();
        assert_eq!(names(&loaded.rows), [FLEET, V1, GEARBOX]);
        assert_eq!(loaded.revisions, revisions(&[(FLEET, 1), (V1, 1)]));
        assert_eq!(loaded.rows[1], store.get(V1).await.unwrap().unwrap());
        assert_eq!(store.load(&[]).await.unwrap(), Loaded::default());
        assert_eq!(store.load(&texts(&["fleets/none"])).await.unwrap(), Loaded::default());
    }

    /// However it is handed over: what a whole scope gives of a row is what the row alone gives.
    async fn rows_of_a_scope_come_byte_for_byte(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b"")]).await.unwrap();
        let all_bytes: Vec<u8> = (0..=255).collect();
        let bodies = [b"".to_vec(), b"\0".to_vec(), b"\xff\xfe;".to_vec(), all_bytes.repeat(5_000), "\u{1f};ö \u{1f697}".into()];
        for (number, body) in bodies.iter().enumerate() {
            let name = format!("{V1}/fitments/\u{1f697}; {number} ö");
            write(&store, &[NewRow { body, ..under("fitment", V1, &name) }]).await.unwrap();
        }
        // A scope that would end a text it stands in, asked for twice.
        let scope = "fleets/\"}\\ \u{1f697}'";
        write(&store, &[NewRow { name: "fleets/of", scope, ..fleet(FLEET) }]).await.unwrap();
        let loaded = store.load(&texts(&[V1, scope, scope])).await.unwrap();
        assert_eq!(loaded.revisions.get(scope), Some(&1));
        assert_eq!(loaded.rows.len(), 2 + bodies.len());
        for row in loaded.rows {
            assert_eq!(store.get(&row.name).await.unwrap(), Some(row));
        }
    }

    async fn scopes_that_are_known_come_without_rows(database: &Database) {
        let store = database.open().await;
        let all = texts(&[V1, V2, FLEET]);
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b"1"), under("fitment", V1, GEARBOX)]).await.unwrap();
        let mut known = store.load(&all).await.unwrap().revisions;
        let loaded = store.load_changed(&all, &known).await.unwrap();
        assert_eq!(loaded, Loaded { rows: Vec::new(), revisions: known.clone() });
        // A change, and a scope that nobody had written: both come whole, the third not.
        let gearbox = store.get(GEARBOX).await.unwrap().unwrap();
        update(&store, &change(&gearbox, b"2")).await.unwrap();
        write(&store, &[vehicle(FLEET, V2, b"2")]).await.unwrap();
        let loaded = store.load_changed(&all, &known).await.unwrap();
        assert_eq!(names(&loaded.rows), [V1, GEARBOX, V2]);
        assert_eq!(loaded.revisions, store.revisions(&all).await.unwrap());
        // What is gone leaves its scope with fewer rows.
        delete(&store, GEARBOX, 2).await.unwrap();
        known = loaded.revisions;
        assert_eq!(names(&store.load_changed(&all, &known).await.unwrap().rows), [V1]);
        // What is known of other scopes says nothing.
        assert!(store.load_changed(&texts(&["fleets/none"]), &known).await.unwrap().rows.is_empty());
        let many: Vec<String> = (0..=MAX_KNOWN).map(|number| format!("fleets/f{number}")).collect();
        assert!(matches!(store.load_changed(&many, &known).await, Err(StoreError::TooMany { .. })));
        assert!(store.load_changed(&many[1..], &known).await.unwrap().rows.is_empty());
    }

    async fn every_change_counts_the_scope_up_once(database: &Database) {
        let store = database.open().await;
        let all = texts(&[FLEET, V1, V2]);
        assert!(store.revisions(&all).await.unwrap().is_empty());
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b""), under("fitment", V1, GEARBOX)]).await.unwrap();
        assert_eq!(store.revisions(&all).await.unwrap(), revisions(&[(FLEET, 1), (V1, 1)]));
        let gearbox = store.get(GEARBOX).await.unwrap().unwrap();
        update(&store, &change(&gearbox, b"2")).await.unwrap();
        assert_eq!(store.revisions(&all).await.unwrap(), revisions(&[(FLEET, 1), (V1, 2)]));
        delete(&store, GEARBOX, 2).await.unwrap();
        assert_eq!(store.revisions(&all).await.unwrap(), revisions(&[(FLEET, 1), (V1, 3)]));
    }

    async fn a_revision_outlives_its_scope(database: &Database) {
        let store = database.open().await;
        write(&store, &[fleet(FLEET)]).await.unwrap();
        delete(&store, FLEET, 1).await.unwrap();
        assert_eq!(store.load(&texts(&[FLEET])).await.unwrap().revisions, revisions(&[(FLEET, 2)]));
        write(&store, &[fleet(FLEET)]).await.unwrap();
        assert_eq!(store.revisions(&texts(&[FLEET])).await.unwrap(), revisions(&[(FLEET, 3)]));
    }

    async fn a_move_between_scopes_counts_both_up(database: &Database) {
        let store = database.open().await;
        let box_of_tools = "fleets/orrin/cargo/c1";
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b""), under("cargo", FLEET, box_of_tools)]).await.unwrap();
        let row = store.get(box_of_tools).await.unwrap().unwrap();
        let moved = Change { scope: V1, ..change(&row, b"moved") };
        assert_eq!(update(&store, &moved).await.unwrap(), 2);
        assert_eq!(store.revisions(&texts(&[FLEET, V1])).await.unwrap(), revisions(&[(FLEET, 2), (V1, 2)]));
        assert_eq!(names(&store.load(&texts(&[V1])).await.unwrap().rows), [box_of_tools, V1]);
        assert!(matches!(update(&store, &moved).await, Err(StoreError::Stale { .. })));
        let back = Change { seen: at(1), scope: FLEET, ..moved };
        assert!(matches!(update(&store, &back).await, Err(StoreError::Stale { .. })));
    }

    async fn a_bump_counts_up_once_in_a_transaction(database: &Database) {
        let store = database.open().await;
        let mut transaction = store.begin().await.unwrap();
        transaction.insert(&fleet(FLEET)).await.unwrap();
        assert_eq!(transaction.bump(&texts(&[V1, FLEET, FLEET])).await.unwrap(), revisions(&[(FLEET, 1), (V1, 1)]));
        assert!(transaction.bump(&texts(&[V1])).await.unwrap().is_empty());
        transaction.insert(&vehicle(FLEET, V1, b"")).await.unwrap();
        transaction.insert(&vehicle(FLEET, V2, b"")).await.unwrap();
        transaction.commit().await.unwrap();
        let expected = revisions(&[(FLEET, 1), (V1, 1), (V2, 1)]);
        assert_eq!(store.revisions(&texts(&[FLEET, V1, V2])).await.unwrap(), expected);
    }

    async fn a_load_is_of_one_moment(database: &Database) {
        const ROUNDS: i64 = 200;
        let store = database.open().await;
        write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b"0"), vehicle(FLEET, V2, b"0")]).await.unwrap();
        let writer = store.clone();
        // Both vehicles change together, always; a reader must never see one without the other.
        let writing = tokio::spawn(async move {
            for round in 1..=ROUNDS {
                let body = round.to_string();
                let mut transaction = writer.begin().await.unwrap();
                for name in [V2, V1] {
                    let change = Change {
                        name,
                        seen: at(round),
                        scope: name,
                        body: body.as_bytes(),
                        time: round,
                    };
                    transaction.update(&change).await.unwrap();
                }
                transaction.commit().await.unwrap();
            }
        });
        let mut last = 0;
        while last < ROUNDS + 1 {
            let loaded = store.load(&texts(&[V1, V2])).await.unwrap();
            let [one, two] = &loaded.rows[..] else { panic!("two rows") };
            assert_eq!((one.revision, &one.body), (two.revision, &two.body));
            assert_eq!(loaded.revisions, revisions(&[(V1, one.revision), (V2, one.revision)]));
            assert!(one.revision >= last, "never backwards");
            last = one.revision;
        }
        writing.await.unwrap();
    }
}
