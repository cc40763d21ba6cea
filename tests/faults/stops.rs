//! A server that is asked to stop finishes what it has accepted, and ends well.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_proto::v1::history_service_client::HistoryServiceClient;
use ostler_proto::v1::import_fleet_response::Step;
use ostler_proto::v1::{ImportFleetRequest, WatchHistoryRequest};
use ostler_tests::client::Refusal;
use ostler_tests::process::{Launch, Server, admin_token};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use tokio::sync::Notify;
use tonic::Code;

use crate::record;
use crate::writes::{FLEET, WRITERS, Writer, fleet_file};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_write_that_was_done_was_answered() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let token = admin_token(folder.path());
    let channel = server.authorized(&token).await.unwrap();
    record::import(&channel).await;
    let before = record::history(&channel, 0).await.last().unwrap().sequence;
    let (asked, progress) = (Arc::new(AtomicBool::new(false)), Arc::new(Notify::new()));
    let mut tasks = Vec::new();
    for number in 0..WRITERS {
        let channel = server.authorized(&token).await.unwrap();
        let (asked, progress) = (asked.clone(), progress.clone());
        tasks.push(tokio::spawn(async move {
            let mut writer = Writer::new(number, ChaCha8Rng::seed_from_u64(77 + number as u64));
            let mut answered = 0;
            loop {
                match writer.next().send(&channel).await {
                    Ok(answer) => {
                        writer.learn(&answer);
                        answered += 1;
                        progress.notify_one();
                    }
                    Err(status) => {
                        assert!(asked.load(Ordering::SeqCst), "a server in good health: {status}");
                        return answered;
                    }
                }
            }
        }));
    }
    for _ in 0..20 {
        progress.notified().await;
    }
    asked.store(true, Ordering::SeqCst);
    server.ask_to_stop();
    let mut answered = 0;
    for task in tasks {
        answered += task.await.unwrap();
    }
    let ended = server.end();
    assert_eq!(ended.code, 0, "{}", ended.log);
    let server = Server::start(Launch::on(folder.path())).await;
    let entries = record::history(&server.authorized(&token).await.unwrap(), before).await;
    assert_eq!(record::requests(&entries), answered);
    assert!(answered >= 20);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn who_watches_is_told_and_keeps_no_server_up() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let channel = server.authorized(&admin_token(folder.path())).await.unwrap();
    record::import(&channel).await;
    let request = WatchHistoryRequest {
        parent: FLEET.to_owned(),
        ..Default::default()
    };
    let mut changes = HistoryServiceClient::new(channel)
        .watch_history(request)
        .await
        .unwrap()
        .into_inner();
    changes.message().await.unwrap().unwrap();
    server.ask_to_stop();
    let last = loop {
        match changes.message().await {
            Ok(Some(_)) => {}
            Ok(None) => panic!("the watch ends without a word"),
            Err(status) => break Refusal::of(&status),
        }
    };
    assert_eq!(
        (last.code, last.reason.as_str()),
        (Code::Unavailable, "SERVER_STOPPING")
    );
    let ended = server.end();
    assert_eq!(ended.code, 0, "{}", ended.log);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_import_under_way_is_finished() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let token = admin_token(folder.path());
    let request = ImportFleetRequest {
        fleet_file: fleet_file(),
        ..Default::default()
    };
    let mut steps = FleetServiceClient::new(server.authorized(&token).await.unwrap())
        .import_fleet(request)
        .await
        .unwrap()
        .into_inner();
    steps.message().await.unwrap().unwrap();
    server.ask_to_stop();
    let mut outcome = None;
    while let Some(message) = steps.message().await.unwrap() {
        if let Some(Step::Outcome(step)) = message.step {
            outcome = Some(step);
        }
    }
    assert!(outcome.unwrap().created_count > 0);
    let ended = server.end();
    assert_eq!(ended.code, 0, "{}", ended.log);
    let server = Server::start(Launch::on(folder.path())).await;
    let channel = server.authorized(&token).await.unwrap();
    assert!(!record::history(&channel, 0).await.is_empty());
}
