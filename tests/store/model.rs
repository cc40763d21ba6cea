//! Random changes, applied to both databases and to a plain map, must come out the same in all three.

use std::collections::BTreeMap;

use ostler_store::{Change, HistoryQuery, NewRow, Row, Seen, Store, StoreError};
use ostler_tests::databases::Database;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::plain_map::{Model, Operation, Outcome, RESOURCES, outcome};
use crate::rows::entry;

/// How many transactions a seed makes.
const TRANSACTIONS: usize = 150;

/// Draws an operation that makes sense about two times in three.
fn draw(random: &mut ChaCha8Rng, model: &Model) -> Operation {
    let resource = random.random_range(0..RESOURCES.len());
    let (name, _, _, usual_scope) = RESOURCES[resource];
    let body: Vec<u8> = (0..random.random_range(0..6)).map(|_| random.random()).collect();
    let time = random.random_range(0..1_000_000);
    let nothing = Seen {
        revision: 1,
        create_time: 0,
    };
    let mut seen = model.rows.get(name).map_or(nothing, Row::seen);
    seen.revision += i64::from(random.random_bool(0.1));
    seen.create_time += i64::from(random.random_bool(0.1));
    match random.random_range(0..12) {
        0..=3 => Operation::Insert { resource, body, time },
        4..=6 => {
            let other = RESOURCES[random.random_range(0..RESOURCES.len())].3;
            let scope = if random.random_bool(0.2) {
                other
            } else {
                usual_scope
            };
            Operation::Update {
                resource,
                seen,
                scope,
                body,
                time,
            }
        }
        7 => Operation::Delete { resource, seen },
        8 => {
            let targets = RESOURCES
                .iter()
                .filter(|_| random.random_bool(0.15))
                .map(|row| row.0.to_owned());
            Operation::SetReferences {
                resource,
                targets: targets.collect(),
            }
        }
        9 => Operation::Append {
            resource,
            action: format!("action {time}"),
        },
        10 => Operation::Bump { scope: usual_scope },
        _ => Operation::Look { resource },
    }
}

async fn apply(
    transaction: &mut ostler_store::Transaction,
    operation: &Operation,
) -> Result<String, StoreError> {
    match operation {
        Operation::Insert { resource, body, time } => {
            let (name, kind, parent, scope) = RESOURCES[*resource];
            let row = NewRow {
                name,
                kind,
                parent,
                scope,
                body,
                time: *time,
            };
            Ok(transaction.insert(&row).await?.to_string())
        }
        Operation::Update {
            resource,
            seen,
            scope,
            body,
            time,
        } => {
            let change = Change {
                name: RESOURCES[*resource].0,
                seen: *seen,
                scope,
                body,
                time: *time,
            };
            Ok(transaction.update(&change).await?.to_string())
        }
        Operation::Delete { resource, seen } => {
            transaction.delete(RESOURCES[*resource].0, *seen).await?;
            Ok(String::new())
        }
        Operation::SetReferences { resource, targets } => {
            transaction
                .set_references(RESOURCES[*resource].0, targets)
                .await?;
            Ok(String::new())
        }
        Operation::Append { resource, action } => {
            transaction
                .append_history(&[entry("fleets/a", RESOURCES[*resource].0, action)])
                .await?;
            Ok(String::new())
        }
        Operation::Bump { scope } => {
            transaction.bump(&[(*scope).to_owned()]).await?;
            Ok(String::new())
        }
        Operation::Look { resource } => {
            let name = RESOURCES[*resource].0;
            let row = transaction.get(name).await?;
            Ok(format!(
                "{:?} {:?}",
                row.as_ref(),
                transaction.referrers(name, 100).await?
            ))
        }
    }
}

/// Runs a transaction and returns what each step of it came to.
async fn run(store: &Store, operations: &[Operation], commits: bool) -> Vec<Outcome> {
    let mut transaction = store.begin().await.unwrap();
    let mut outcomes = Vec::new();
    for operation in operations {
        outcomes.push(outcome(apply(&mut transaction, operation).await));
    }
    if commits {
        outcomes.push(outcome(transaction.commit().await.map(|()| String::new())));
    }
    outcomes
}

async fn compare(store: &Store, model: &Model, scopes: &[String], context: &str) {
    assert_eq!(store.load(scopes).await.unwrap(), model.loaded(), "{context}");
    for (name, ..) in RESOURCES {
        assert_eq!(
            store.referrers(name, 100).await.unwrap(),
            model.referrers(name),
            "{context}"
        );
    }
    let query = HistoryQuery::newest("fleets/a", None, 100_000);
    let history = store.history(&query).await.unwrap();
    let history: Vec<_> = history
        .into_iter()
        .rev()
        .map(|entry| (entry.resource, entry.action))
        .collect();
    assert_eq!(history, model.history, "{context}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn both_databases_behave_as_a_plain_map_does() {
    let scopes: Vec<String> = RESOURCES.iter().map(|row| row.3.to_owned()).collect();
    for seed in 0..3 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let databases = [Database::sqlite(), Database::postgres().await];
        let stores = [databases[0].open().await, databases[1].open().await];
        let mut model = Model::default();
        let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
        for number in 0..TRANSACTIONS {
            let operations: Vec<Operation> = (0..random.random_range(1..5))
                .map(|_| draw(&mut random, &model))
                .collect();
            let commits = random.random_bool(0.9);
            let expected = model.run(&operations, commits);
            for outcome in &expected {
                *seen
                    .entry(outcome.as_ref().err().copied().unwrap_or("done"))
                    .or_default() += 1;
            }
            for store in &stores {
                let context = format!("seed {seed}, transaction {number}: {operations:?}");
                assert_eq!(run(store, &operations, commits).await, expected, "{context}");
                compare(store, &model, &scopes, &context).await;
            }
        }
        for kind in ["done", "already exists", "stale", "reference", "abandoned"] {
            assert!(
                seen.get(kind).is_some_and(|count| *count >= 5),
                "seed {seed} hardly tries {kind}: {seen:?}"
            );
        }
        for (database, store) in databases.into_iter().zip(stores) {
            store.close().await;
            database.remove().await;
        }
    }
}
