//! Whole scopes read from a hot standby: only what the primary would give, whatever the standby is up to.

use std::time::{Duration, Instant};

use ostler_store::{Location, ReplicaReads, Store, StoreError};
use ostler_tests::databases::Database;
use ostler_tests::postgres::{self, Cluster};

use crate::rows::{TIME, change, fleet, names, texts, update, vehicle, write};

const FLEET: &str = "fleets/orrin";
const V1: &str = "fleets/orrin/vehicles/v1";

/// How long a standby may take to follow.
const PATIENCE: Duration = Duration::from_secs(30);

fn reads(store: &Store) -> ReplicaReads {
    store.replica_reads().unwrap()
}

/// Reads until the standby's rows count once more; what is read is right all the while.
async fn until_used(store: &Store, primary: &Store) {
    let (began, before) = (Instant::now(), reads(store).used);
    while reads(store).used == before {
        is_right(store, primary).await;
        assert!(began.elapsed() < PATIENCE, "{:?}", reads(store));
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

async fn is_right(store: &Store, primary: &Store) {
    let scopes = texts(&[FLEET, V1]);
    assert_eq!(
        store.load(&scopes).await.unwrap(),
        primary.load(&scopes).await.unwrap()
    );
}

async fn change_vehicle(store: &Store, body: &[u8]) {
    let row = store.get(V1).await.unwrap().unwrap();
    update(store, &change(&row, body)).await.unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_read_is_what_the_primary_has() {
    let cluster = Cluster::start(false);
    let url = cluster.empty_database().await;
    let primary = Store::open(&Location::Postgres(url.clone()), TIME).await.unwrap();
    write(&primary, &[fleet(FLEET), vehicle(FLEET, V1, b"1")])
        .await
        .unwrap();
    let mut standby = cluster.follower();
    let location = Location::Postgres(standby.same_database(&url));
    let store = primary.clone().reading_from(&location).await.unwrap();
    store.ping_replica().await.unwrap();
    until_used(&store, &primary).await;
    assert_eq!(
        names(&store.load(&texts(&[FLEET, V1])).await.unwrap().rows),
        [FLEET, V1]
    );

    // As far behind as it happens to be, it never shows what was before the last write.
    for round in 0..100_u32 {
        let body = round.to_be_bytes();
        change_vehicle(&store, &body).await;
        let loaded = store.load(&texts(&[V1])).await.unwrap();
        assert_eq!(loaded.rows[0].body, body, "round {round}");
    }
    until_used(&store, &primary).await;

    standby.stop_following().await;
    change_vehicle(&store, b"unseen by the standby").await;
    let before = reads(&store);
    for _ in 0..20 {
        is_right(&store, &primary).await;
    }
    let after = reads(&store);
    assert_eq!((after.used, after.failed), (before.used, before.failed));
    assert_eq!(after.differed, before.differed + 20);
    standby.go_on_following().await;
    until_used(&store, &primary).await;

    // Promoted by mistake it goes its own way, and is not read even where it looks the same.
    standby.go_its_own_way().await;
    let before = reads(&store);
    for _ in 0..20 {
        is_right(&store, &primary).await;
    }
    assert_eq!(reads(&store).used, before.used);
    assert!(reads(&store).failed > before.failed, "{:?}", reads(&store));
    assert!(store.ping_replica().await.is_err());

    standby.kill();
    change_vehicle(&store, b"without a standby").await;
    is_right(&store, &primary).await;
    store.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn only_a_standby_of_this_database_is_read() {
    let sqlite = Database::sqlite();
    let other = Location::Postgres(postgres::cluster().fresh_database().await);
    for (store, location) in [
        (sqlite.open().await, &other),
        (Store::open(&other, TIME).await.unwrap(), &sqlite.location),
    ] {
        let refused = store.reading_from(location).await.unwrap_err();
        assert!(
            matches!(refused, StoreError::NotOfThisDatabase { .. }),
            "{refused:?}"
        );
    }
    // The same server is no standby of itself, and one that is not there holds nothing up.
    for location in [
        other.clone(),
        Location::Postgres("postgres:///x?host=/nowhere&user=x".to_owned()),
    ] {
        let store = Store::open(&other, TIME).await.unwrap();
        let store = store.reading_from(&location).await.unwrap();
        assert!(store.ping_replica().await.is_err());
        assert!(store.load(&texts(&[FLEET])).await.unwrap().rows.is_empty());
        let expected = ReplicaReads {
            failed: 1,
            ..ReplicaReads::default()
        };
        assert_eq!(reads(&store), expected);
        store.close().await;
    }
}
