//! The version in a readiness names one state of the record: whoever answers, and whatever he has kept or expected of it, the answer is
//! the same.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use ostler_proto::v1;
use ostler_tests::client::Client;
use ostler_tests::on_both_databases;
use prost_types::FieldMask;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use tonic::{Code, Status};

use crate::demo;

/// Changes of each who writes.
const CHANGES: usize = 25;

/// Every readiness by its version.
type Seen = Arc<Mutex<BTreeMap<String, v1::Readiness>>>;

/// Asks, and holds the answer against that of everybody else.
async fn ask(client: &Client, seen: &Seen) -> BTreeMap<String, i64> {
    let readiness = demo::readiness(client).await;
    let mut seen = seen.lock().unwrap();
    let known = seen.entry(readiness.record_version.clone());
    let known = known.or_insert_with(|| readiness.clone());
    assert_eq!(known, &readiness, "two answers at {}", readiness.record_version);
    revisions(&readiness.record_version)
}

/// How often each part of the record had changed.
fn revisions(version: &str) -> BTreeMap<String, i64> {
    let parts = version.split(' ').filter_map(|part| part.split_once(':'));
    parts
        .map(|(scope, revision)| (scope.to_owned(), revision.parse().unwrap()))
        .collect()
}

/// Changes the name of an item, and perhaps its mass or where it is stowed.
async fn change(client: &Client, random: &mut ChaCha8Rng) -> Result<v1::CargoItem, Status> {
    let sorts: [&[&str]; 3] = [
        &["display_name"],
        &["display_name", "unit_mass.mass_kg"],
        // A zone of one vehicle is none of another.
        &["display_name", "vehicle", "zone"],
    ];
    let paths = sorts
        .choose(random)
        .unwrap()
        .iter()
        .map(ToString::to_string)
        .collect();
    let cargo_item = v1::CargoItem {
        name: demo::name(&format!("cargoItems/c{:03}", random.random_range(1..=121))),
        display_name: format!("number {}", random.random_range(0..1_000_000)),
        vehicle: demo::name(&format!("vehicles/v{}", random.random_range(1..=4))),
        unit_mass: Some(v1::Mass {
            mass_kg: random.random_range(1.0..400.0),
            ..Default::default()
        }),
        ..Default::default()
    };
    let request = v1::UpdateCargoItemRequest {
        cargo_item: Some(cargo_item),
        update_mask: Some(FieldMask { paths }),
        ..Default::default()
    };
    client.ask(request).await
}

/// Writes and asks after each change. What he has asked once is not older the next time, and newer after his change.
async fn write_and_ask(client: Client, seed: u64, seen: Seen) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut before = ask(&client, &seen).await;
    let mut changes = 0;
    while changes < CHANGES {
        let has_changed = match change(&client, &mut random).await {
            Ok(_) => true,
            Err(status) if [Code::Aborted, Code::Unavailable].contains(&status.code()) => false,
            Err(status) => panic!("{status:?}"),
        };
        let now = ask(&client, &seen).await;
        assert!(
            before.iter().all(|(scope, revision)| now[scope] >= *revision),
            "{before:?} {now:?}"
        );
        assert!(!has_changed || now != before, "{now:?}");
        before = now;
        changes += usize::from(has_changed);
    }
}

on_both_databases! {
    async fn a_version_is_one_answer(database: &Database) {
        let (first, admin) = demo::start(database).await;
        let second = first.another(database).await;
        let seen = Seen::default();
        // One who writes alone; then several over both servers.
        write_and_ask(admin, 0, seen.clone()).await;
        let writers = [&first, &second, &first, &second];
        let writers: Vec<_> = (1..)
            .zip(writers)
            .map(|(seed, server)| tokio::spawn(write_and_ask(server.admin(), seed, seen.clone())))
            .collect();
        for writer in writers {
            writer.await.unwrap();
        }
        // Who has kept nothing.
        let third = second.another(database).await;
        let last = ask(&third.admin(), &seen).await;
        for server in [&first, &second] {
            assert_eq!(ask(&server.admin(), &seen).await, last);
        }
        assert!(seen.lock().unwrap().len() > CHANGES);
        for server in [first, second, third] {
            server.stop().await;
        }
    }
}
