//! The database fails while the server lives: it is restarted, or its standby takes over. The same server goes on by itself,
//! and nothing that was answered is lost.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use ostler_proto::v1;
use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_tests::postgres::Cluster;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use tonic::Code;

use crate::kills::{Round, write};
use crate::record::{self, Part};
use crate::writes::{WRITERS, Writer};

/// How long a server may take to find its database again.
const PATIENCE: Duration = Duration::from_secs(60);

/// Has writers write, lets `fail` happen to the database in the middle of it, and returns what each of them has done.
async fn write_through(
    server: &Server,
    token: &str,
    writers: &mut Vec<Writer>,
    fail: impl AsyncFnOnce(),
) -> Vec<Part> {
    let round = Arc::new(Round::default());
    let mut tasks = Vec::new();
    for mut writer in writers.drain(..) {
        let channel = server.authorized(token).await.unwrap();
        let round = round.clone();
        tasks.push(tokio::spawn(async move {
            let part = write(&mut writer, channel, &round).await;
            (writer, part)
        }));
    }
    while round.answered.load(Ordering::SeqCst) < 40 {
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    round.killed.store(true, Ordering::SeqCst);
    fail().await;
    let mut parts = Vec::new();
    for task in tasks {
        let (writer, part) = task.await.unwrap();
        writers.push(writer);
        parts.push(part);
    }
    parts
}

/// Waits until the server answers from its database, and writes to it, again.
async fn until_back(channel: &AuthorizedChannel) {
    let began = Instant::now();
    loop {
        let request = v1::CreateFleetRequest {
            fleet: Some(v1::Fleet {
                display_name: "Back".to_owned(),
                ..Default::default()
            }),
            fleet_id: "back".to_owned(),
            validate_only: true,
            ..Default::default()
        };
        match FleetServiceClient::new(channel.clone())
            .create_fleet(request)
            .await
        {
            Ok(_) => return,
            Err(status) => {
                assert_eq!(status.code(), Code::Unavailable, "{status}");
                assert!(began.elapsed() < PATIENCE, "{status}");
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
        }
    }
}

fn new_writers(seed: u64) -> Vec<Writer> {
    (0..WRITERS)
        .map(|number| Writer::new(number, ChaCha8Rng::seed_from_u64(seed + number as u64)))
        .collect()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_database_that_comes_back_is_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut cluster = Cluster::start(true);
    let launch = Launch::on(folder.path()).database(&cluster.empty_database().await);
    let server = Server::start(launch).await;
    let token = admin_token(folder.path());
    let channel = server.authorized(&token).await.unwrap();
    record::import(&channel).await;
    let mut writers = new_writers(2_027);
    let mut last = record::history(&channel, 0).await.last().unwrap().sequence;
    for _ in 0..3 {
        let parts = write_through(&server, &token, &mut writers, async || cluster.kill()).await;
        cluster.restart();
        until_back(&channel).await;
        last = record::check(&channel, &parts, last).await;
        learn(&channel, &mut writers, &parts).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_standby_takes_over_under_load() {
    let folder = tempfile::tempdir().unwrap();
    let mut cluster = Cluster::start(true);
    let launch = Launch::on(folder.path()).database(&cluster.empty_database().await);
    let server = Server::start(launch).await;
    let token = admin_token(folder.path());
    let channel = server.authorized(&token).await.unwrap();
    record::import(&channel).await;
    let standby = cluster.standby().await;
    let mut writers = new_writers(2_028);
    let last = record::history(&channel, 0).await.last().unwrap().sequence;
    let failed = async || standby.take_over(&mut cluster).await;
    let parts = write_through(&server, &token, &mut writers, failed).await;
    until_back(&channel).await;
    record::check(&channel, &parts, last).await;
    assert!(parts.iter().map(|part| part.answered.len()).sum::<usize>() >= 40);
}

/// What was not answered is there by now.
async fn learn(channel: &AuthorizedChannel, writers: &mut [Writer], parts: &[Part]) {
    for (writer, part) in writers.iter_mut().zip(parts) {
        if let Some(write) = &part.unanswered {
            writer.learn(&write.read(channel).await.unwrap());
        }
    }
}
