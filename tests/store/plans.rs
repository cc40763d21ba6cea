//! Plans of PostgreSQL: made while the record is small and kept as it grows.

use ostler_tests::databases::Database;

use crate::rows::{end, fleet, texts, under, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";

/// Many writes over one connection, as a server makes them from its first day on, read no row but by an index.
#[tokio::test]
async fn what_calls_ask_reads_no_table_whole() {
    let database = Database::postgres().await;
    let store = database.open().await;
    write(&store, &[fleet(FLEET), vehicle(FLEET, V1, b"one")])
        .await
        .unwrap();
    for number in 0..200 {
        let name = format!("{FLEET}/parts/p{number}");
        let mut transaction = store.begin().await.unwrap();
        let known = texts(&[FLEET, V1]);
        transaction
            .many_with_targets(&known, &texts(&[V1]))
            .await
            .unwrap();
        transaction.many(&known).await.unwrap();
        transaction
            .create(&under("part", FLEET, &name), &known)
            .await
            .unwrap();
        end(transaction, &[], None).await.unwrap();
        let loaded = store.load(&texts(&[V1])).await.unwrap();
        store.load_changed(&known, &loaded.revisions).await.unwrap();
        store.revisions(&texts(&[V1])).await.unwrap();
    }
    // A connection tells what it read when it ends.
    store.close().await;
    let began = std::time::Instant::now();
    loop {
        let asked = "SELECT (idx_scan >= 800)::text || ' ' || seq_tup_read FROM pg_stat_user_tables WHERE relname = 'resource'";
        let told = database.sql(asked).await.unwrap();
        match told[0].split_once(' ').unwrap() {
            ("true", read) => {
                assert_eq!(read, "0", "rows read without an index");
                return;
            }
            _ => assert!(began.elapsed().as_secs() < 20, "{told:?}"),
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
}
