//! Several writers at once.

use std::sync::Arc;

use ostler_proto::v1;
use ostler_server::app::forgetting::{KEPT_DAYS, forget_old};
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tokio::sync::Barrier;
use tonic::Code;

use crate::fixture::{self, KINDS, PART};

const WRITERS: usize = 8;
const ROUNDS: usize = 6;

/// Reads, adds one to the mass, writes with the etag; again when somebody else came first.
async fn add_one(client: &Client) {
    loop {
        let part: v1::Part = client
            .ask(v1::GetPartRequest { name: PART.into() })
            .await
            .unwrap();
        let mut change = v1::Part {
            name: part.name,
            etag: part.etag,
            figures: part.figures,
            ..Default::default()
        };
        *change.figures.entry("count".to_owned()).or_default() += 1.0;
        let request = v1::UpdatePartRequest {
            part: Some(change),
            ..Default::default()
        };
        match client.ask::<v1::Part>(request).await {
            Ok(_) => return,
            Err(status) if [Code::Aborted, Code::Unavailable].contains(&status.code()) => {}
            Err(status) => panic!("{status:?}"),
        }
    }
}

on_both_databases! {
    async fn two_writers_never_lose_an_update(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let start = Arc::new(Barrier::new(WRITERS));
        let writers: Vec<_> = (0..WRITERS)
            .map(|_| {
                let (client, start) = (server.admin(), start.clone());
                tokio::spawn(async move {
                    start.wait().await;
                    for _ in 0..ROUNDS {
                        add_one(&client).await;
                    }
                })
            })
            .collect();
        for writer in writers {
            writer.await.unwrap();
        }
        let part: v1::Part = admin.ask(v1::GetPartRequest { name: PART.into() }).await.unwrap();
        let written = u32::try_from(WRITERS * ROUNDS).unwrap();
        assert_eq!(part.figures["count"], f64::from(written));
        let kind = KINDS.iter().find(|kind| kind.word == "Part").unwrap();
        assert_eq!(kind.history(&admin, "seal").await.len(), 1 + WRITERS * ROUNDS);
        server.stop().await;
    }

    async fn one_request_sent_many_times_at_once_is_done_once(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for (index, word) in ["Defect", "CargoItem", "Substitution"].into_iter().enumerate() {
            let kind = KINDS.iter().find(|kind| kind.word == word).unwrap();
            let request_id = format!("0e9d7f6a-0000-4000-8000-00000000000{index}");
            let create = kind.create_request("a", json!({ "request_id": request_id }));
            let answers = send_at_once(&server, create).await;
            for answer in &answers {
                assert_eq!(answer, &answers[0], "{word}");
            }
            assert_eq!(kind.history(&admin, "a").await.len(), 1, "{word}");

            let request_id = format!("0e9d7f6a-0000-4000-8000-00000000001{index}");
            let delete = kind.delete_request("a", json!({ "request_id": request_id }));
            send_at_once(&server, delete).await;
            assert_eq!(kind.history(&admin, "a").await.len(), 2, "{word}");
        }
        server.stop().await;
    }
}

on_both_databases! {
    async fn an_answer_is_kept_for_a_month(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let kind = KINDS.iter().find(|kind| kind.word == "Defect").unwrap();
        let create = kind.create_request("a", json!({ "request_id": "0e9d7f6a-0000-4000-8000-000000000020" }));
        let first = admin.call(&create).await.unwrap();
        let now = SystemClock::default().now_micros();
        let month = KEPT_DAYS * 86_400_000_000;

        // All that was asked until now is younger than a month; a month and a second later none is.
        assert_eq!(forget_old(server.store(), now).await.unwrap(), 0);
        assert_eq!(forget_old(server.store(), now + month - 60_000_000).await.unwrap(), 0);
        assert_eq!(admin.call(&create).await.unwrap(), first);
        assert!(forget_old(server.store(), now + month + 1_000_000).await.unwrap() >= 1);
        let refusal = refused(admin.call(&create).await);
        assert_eq!(refusal.code, Code::AlreadyExists, "a new request under a known id");
        assert_eq!(kind.history(&admin, "a").await.len(), 1);
        server.stop().await;
    }
}

/// Sends a request from several callers of one token at the same moment; all must be answered.
async fn send_at_once(
    server: &Server,
    request: prost_reflect::DynamicMessage,
) -> Vec<prost_reflect::DynamicMessage> {
    let start = Arc::new(Barrier::new(WRITERS));
    let senders: Vec<_> = (0..WRITERS)
        .map(|_| {
            let (client, start, request) = (server.admin(), start.clone(), request.clone());
            tokio::spawn(async move {
                start.wait().await;
                client.call(&request).await
            })
        })
        .collect();
    let mut answers = Vec::new();
    for sender in senders {
        answers.push(
            sender
                .await
                .unwrap()
                .unwrap_or_else(|status| panic!("{status:?}")),
        );
    }
    answers
}
