//! The server is killed in the middle of writes, over and over: nothing that was answered is lost,
//! nothing is there twice, nothing is there in part.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use ostler_tests::postgres::Cluster;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use tokio::sync::Notify;
use tokio::task::JoinHandle;

use crate::record::{self, Part};
use crate::writes::{WRITERS, Writer};

const ROUNDS: u64 = 200;

/// What writers and the one who kills know of each other.
#[derive(Default)]
pub(crate) struct Round {
    pub(crate) answered: AtomicUsize,
    progress: Notify,
    pub(crate) killed: AtomicBool,
}

/// Writes until the server is gone.
async fn write(writer: &mut Writer, channel: AuthorizedChannel, round: &Round) -> Part {
    let mut part = Part::default();
    loop {
        let write = writer.next();
        match write.send(&channel).await {
            Ok(answer) => {
                assert!(write.made(&answer), "{write:?} was answered with {answer:?}");
                writer.learn(&answer);
                part.answered.push((write, answer));
                round.answered.fetch_add(1, Ordering::SeqCst);
                round.progress.notify_one();
            }
            Err(status) => {
                assert!(
                    round.killed.load(Ordering::SeqCst),
                    "a server in good health: {status}"
                );
                part.unanswered = Some(write);
                return part;
            }
        }
    }
}

/// Writers at work.
pub(crate) type Tasks = Vec<JoinHandle<(Writer, Part)>>;

/// Sets the writers to work, each on a connection of its own, until a write fails.
pub(crate) async fn set_to_work(
    server: &Server,
    token: &str,
    writers: &mut Vec<Writer>,
    round: &Arc<Round>,
) -> Tasks {
    let mut tasks = Vec::new();
    for mut writer in writers.drain(..) {
        let channel = server.authorized(token).await.unwrap();
        let round = round.clone();
        tasks.push(tokio::spawn(async move {
            let part = write(&mut writer, channel, &round).await;
            (writer, part)
        }));
    }
    tasks
}

/// Waits for the writers, takes them back and returns what each has done.
pub(crate) async fn gather(tasks: Tasks, writers: &mut Vec<Writer>) -> Vec<Part> {
    let mut parts = Vec::new();
    for task in tasks {
        let (writer, part) = task.await.unwrap();
        writers.push(writer);
        parts.push(part);
    }
    parts
}

/// Has the writers write until the server, and with it perhaps its database, is killed.
async fn run_until_killed(
    server: Server,
    token: &str,
    writers: &mut Vec<Writer>,
    random: &mut ChaCha8Rng,
    also: impl FnOnce(),
) -> (Launch, Vec<Part>) {
    let round = Arc::new(Round::default());
    let tasks = set_to_work(&server, token, writers, &round).await;
    let enough = random.random_range(1..=40);
    while round.answered.load(Ordering::SeqCst) < enough {
        round.progress.notified().await;
    }
    tokio::time::sleep(Duration::from_micros(random.random_range(0..4000))).await;
    round.killed.store(true, Ordering::SeqCst);
    also();
    let launch = server.kill();
    let parts = gather(tasks, writers).await;
    (launch, parts)
}

/// The rounds on one database.
async fn survives_kills(launch: Launch, data_folder: &Path, seed: u64, mut database: Option<Cluster>) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut server = Server::start(launch).await;
    let token = admin_token(data_folder);
    record::import(&server.authorized(&token).await.unwrap()).await;
    let mut writers: Vec<_> = (0..WRITERS)
        .map(|number| Writer::new(number, ChaCha8Rng::seed_from_u64(seed + 1 + number as u64)))
        .collect();
    let channel = server.authorized(&token).await.unwrap();
    let mut last = record::history(&channel, 0).await.last().unwrap().sequence;
    let (mut answered, mut unanswered) = (0, 0);
    for round in 0..ROUNDS {
        // Now and then the machine of the database fails as well.
        let power_cut = round % 10 == 9;
        let also = || {
            if let Some(cluster) = database.as_mut().filter(|_| power_cut) {
                cluster.kill();
            }
        };
        let (launch, parts) = run_until_killed(server, &token, &mut writers, &mut random, also).await;
        if let Some(cluster) = database.as_mut().filter(|_| power_cut) {
            cluster.restart();
        }
        answered += parts.iter().map(|part| part.answered.len()).sum::<usize>();
        unanswered += parts.iter().filter(|part| part.unanswered.is_some()).count();
        server = Server::start(launch).await;
        let channel = server.authorized(&token).await.unwrap();
        last = record::check(&channel, &parts, last).await;
        for (writer, part) in writers.iter_mut().zip(&parts) {
            // What was not answered is there by now.
            if let Some(write) = &part.unanswered {
                writer.learn(&write.read(&channel).await.unwrap());
            }
        }
    }
    println!("{ROUNDS} kills, {answered} answered writes, {unanswered} unanswered ones");
    assert_eq!(admin_token(data_folder), token, "the token outlives every crash");
    let channel = server.authorized(&token).await.unwrap();
    let requests = record::requests(&record::history(&channel, 0).await);
    assert_eq!(
        requests,
        answered + unanswered,
        "every write once, in the whole of the history"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_answered_write_is_lost_on_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    survives_kills(Launch::on(folder.path()), folder.path(), 1881, None).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_answered_write_is_lost_on_postgres() {
    let folder = tempfile::tempdir().unwrap();
    let cluster = Cluster::start(true);
    let url = cluster.empty_database().await;
    let launch = Launch::on(folder.path()).database(&url);
    survives_kills(launch, folder.path(), 1882, Some(cluster)).await;
}
