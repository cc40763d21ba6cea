//! A rolling upgrade: a newer server changes the schema of a PostgreSQL database that older ones work on.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use ostler_store::KNOWN_SCHEMA_VERSION;
use ostler_tests::postgres::Cluster;
use ostler_tests::process::{Launch, Server, admin_token};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use sqlx::{AssertSqlSafe, Connection as _, PgConnection};

use crate::kills::{Round, gather, set_to_work};
use crate::record;
use crate::writes::{WRITERS, Writer};

/// Does what a newer server would when it starts: `change` and its version, in one transaction, under the lock that all
/// servers take. `oldest_server` is the oldest schema version that a server may know to work on it.
async fn migrate_as_a_newer_server(url: &str, version: i64, oldest_server: i64, change: &str) {
    let mut connection = PgConnection::connect(url).await.unwrap();
    let sql = format!(
        "BEGIN;
         SELECT pg_advisory_xact_lock(x'6f73746c6572'::bigint);
         {change};
         INSERT INTO schema_version VALUES ({version}, 'later', 0);
         INSERT INTO schema_floor VALUES ({version}, {oldest_server});
         COMMIT"
    );
    sqlx::raw_sql(AssertSqlSafe(sql))
        .execute(&mut connection)
        .await
        .unwrap();
    connection.close().await.unwrap();
}

async fn until_answered(round: &Round, count: usize) {
    let wanted = round.answered.load(Ordering::SeqCst) + count;
    while round.answered.load(Ordering::SeqCst) < wanted {
        tokio::time::sleep(std::time::Duration::from_millis(1)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn servers_are_replaced_one_after_the_other_under_load() {
    let (first_folder, second_folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let cluster = Cluster::start(true);
    let url = cluster.empty_database().await;
    let first_launch = Launch::on(first_folder.path()).database(&url);
    let first = Server::start(first_launch.clone()).await;
    let second = Server::start(Launch::on(second_folder.path()).database(&url)).await;
    let token = admin_token(first_folder.path());
    let channel = first.authorized(&token).await.unwrap();
    record::import(&channel).await;
    let last = record::history(&channel, 0).await.last().unwrap().sequence;

    let mut writers: Vec<_> = (0..WRITERS)
        .map(|number| Writer::new(number, ChaCha8Rng::seed_from_u64(3_000 + number as u64)))
        .collect();
    let round = Arc::new(Round::default());
    let tasks = set_to_work(&second, &token, &mut writers, &round).await;
    until_answered(&round, 20).await;

    // The second server goes on while the first is stopped, the schema changes and the first comes back. No write of the
    // second may fail in all this: `set_to_work` sees to that.
    drop(channel);
    first.ask_to_stop();
    assert_eq!(first.end().code, 0);
    let (now, next) = (KNOWN_SCHEMA_VERSION, KNOWN_SCHEMA_VERSION + 1);
    let wider = "ALTER TABLE resource ADD COLUMN later TEXT; CREATE TABLE later (thing BIGINT)";
    migrate_as_a_newer_server(&url, next, now, wider).await;
    until_answered(&round, 20).await;
    let first = Server::start(first_launch.clone()).await;
    let channel = first.authorized(&token).await.unwrap();
    assert!(record::history(&channel, last).await.len() >= 40);
    until_answered(&round, 20).await;

    round.killed.store(true, Ordering::SeqCst);
    second.ask_to_stop();
    let parts = gather(tasks, &mut writers).await;
    assert_eq!(second.end().code, 0);
    record::check(&channel, &parts, last).await;

    first.ask_to_stop();
    let ended = first.end();
    assert_eq!(ended.code, 0, "{}", ended.log);
    assert!(ended.log.contains("lets this one work"), "{}", ended.log);

    // What an older server would get wrong keeps it out.
    migrate_as_a_newer_server(&url, next + 1, next + 1, "SELECT 1").await;
    let refused = first_launch.run_to_its_end();
    assert_ne!(refused.code, 0);
    let versions = [format!("version {}", next + 1), format!("up to {now}")];
    for text in versions {
        assert!(refused.log.contains(&text), "{text}: {}", refused.log);
    }
}
