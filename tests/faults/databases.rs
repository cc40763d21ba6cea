//! The database fails while the server lives: it is restarted, its standby takes over, its disk is full. The same server
//! goes on by itself, and nothing that was answered is lost.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use ostler_proto::v1;
use ostler_proto::v1::cargo_service_client::CargoServiceClient;
use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_tests::postgres::Cluster;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use tonic::{Code, Status};

use crate::kills::{Round, gather, set_to_work};
use crate::record::{self, Part};
use crate::writes::{FLEET, WRITERS, Writer};

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
    let tasks = set_to_work(server, token, writers, &round).await;
    while round.answered.load(Ordering::SeqCst) < 40 {
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    round.killed.store(true, Ordering::SeqCst);
    fail().await;
    gather(tasks, writers).await
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

/// Commits wait for a standby, and the standby stands still: what a disk is to a database that does not answer for a while. Who
/// reads is answered, who writes is answered late or told that his time is up, and what he asked is done once.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_slow_disk_holds_writes_up_and_loses_none() {
    const WRITES: usize = 8;
    let folder = tempfile::tempdir().unwrap();
    let cluster = Cluster::start(true);
    let launch = Launch::on(folder.path()).database(&cluster.empty_database().await);
    let server = Server::start(launch).await;
    let channel = server.authorized(&admin_token(folder.path())).await.unwrap();
    record::import(&channel).await;
    let standby = cluster.standby().await;
    add_item(&channel, 0).await.unwrap();
    let last = record::history(&channel, 0).await.last().unwrap().sequence;

    standby.stand_still(true);
    let writes: Vec<_> = (1..=WRITES)
        .map(|number| {
            let mut request = tonic::Request::new(item(number));
            // Half of them have less time than the disk takes.
            if number <= WRITES / 2 {
                request.set_timeout(Duration::from_millis(300));
            }
            let mut client = CargoServiceClient::new(channel.clone());
            tokio::spawn(async move { client.create_cargo_item(request).await })
        })
        .collect();
    tokio::time::sleep(Duration::from_secs(1)).await;
    let began = Instant::now();
    let fleet = v1::GetFleetRequest {
        name: FLEET.to_owned(),
    };
    FleetServiceClient::new(channel.clone())
        .get_fleet(fleet)
        .await
        .unwrap();
    assert!(
        began.elapsed() < Duration::from_secs(1),
        "reading waits for no commit"
    );
    standby.stand_still(false);
    for (number, write) in (1..=WRITES).zip(writes) {
        match write.await.unwrap() {
            Ok(_) => assert!(number > WRITES / 2, "{number} had no time for it"),
            Err(status) => {
                assert!(number <= WRITES / 2, "{status}");
                assert!(
                    matches!(status.code(), Code::DeadlineExceeded | Code::Cancelled),
                    "{status}"
                );
            }
        }
    }
    for number in 1..=WRITES {
        let mut client = CargoServiceClient::new(channel.clone());
        client.create_cargo_item(item(number)).await.unwrap();
    }
    let entries = record::history(&channel, last).await;
    assert_eq!((entries.len(), record::requests(&entries)), (WRITES, WRITES));
}

/// What was not answered is there by now.
async fn learn(channel: &AuthorizedChannel, writers: &mut [Writer], parts: &[Part]) {
    for (writer, part) in writers.iter_mut().zip(parts) {
        if let Some(write) = &part.unanswered {
            writer.learn(&write.read(channel).await.unwrap());
        }
    }
}

/// Lets no file of a process grow beyond `bytes`: what a full disk is to it. `unlimited` gives the room back. Only the soft limit
/// is set, which any process may raise again.
fn limit_files(server: &Server, bytes: &str) {
    let set = Command::new("prlimit")
        .args(["--pid", server.process_id(), &format!("--fsize={bytes}:")])
        .status();
    assert!(
        set.is_ok_and(|status| status.success()),
        "prlimit (of util-linux) cannot be run"
    );
}

fn largest_file(folder: &Path) -> u64 {
    let sizes = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().metadata().unwrap().len());
    sizes.max().unwrap()
}

/// A cargo item under an id and a request id of its own.
fn item(number: usize) -> v1::CreateCargoItemRequest {
    v1::CreateCargoItemRequest {
        parent: FLEET.to_owned(),
        cargo_item_id: format!("item-{number}"),
        cargo_item: Some(v1::CargoItem {
            display_name: "item".repeat(40),
            quantity: 1,
            ..Default::default()
        }),
        request_id: format!("7d3c1b52-0000-4000-8001-{number:012}"),
        ..Default::default()
    }
}

async fn add_item(channel: &AuthorizedChannel, number: usize) -> Result<(), Status> {
    CargoServiceClient::new(channel.clone())
        .create_cargo_item(item(number))
        .await
        .map(drop)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_full_disk_is_told_and_room_is_used_again() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let token = admin_token(folder.path());
    let channel = server.authorized(&token).await.unwrap();
    record::import(&channel).await;
    limit_files(&server, &(largest_file(folder.path()) + 200_000).to_string());
    let mut written = 0;
    let status = loop {
        match add_item(&channel, written).await {
            Ok(()) => written += 1,
            Err(status) => break status,
        }
        assert!(written < 10_000, "the limit is never met");
    };
    assert_eq!(status.code(), Code::Unavailable, "{status}");
    // Reading goes on without room, and writing as soon as there is some.
    let list = || v1::ListCargoItemsRequest {
        parent: FLEET.to_owned(),
        page_size: 1_000,
        ..Default::default()
    };
    let count = async || {
        let mut client = CargoServiceClient::new(channel.clone());
        let items = client
            .list_cargo_items(list())
            .await
            .unwrap()
            .into_inner()
            .cargo_items;
        items.iter().filter(|item| item.name.contains("/item-")).count()
    };
    // Of the one that was not answered it is not known whether it was written.
    let there = count().await;
    assert!(there == written || there == written + 1, "{there} of {written}");
    limit_files(&server, "unlimited");
    add_item(&channel, written + 1).await.unwrap();
    assert_eq!(count().await, there + 1);
}
