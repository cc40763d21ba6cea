//! From creation to deletion, and what the history keeps of it.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tonic::Code;

use crate::fixture::{self, KINDS};
use crate::messages::{json as to_json, text};

on_both_databases! {
    async fn every_kind_is_made_read_changed_and_deleted(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for kind in KINDS.iter() {
            let made = kind.make(&admin, "a").await;
            assert_eq!(text(&made, "name"), kind.name("a"));
            assert_eq!(kind.get(&admin, "a").await.unwrap(), made, "{}", kind.word);
            let times = ["create_time", "update_time"].map(|field| made.get_field_by_name(field).unwrap().into_owned());
            assert_eq!(times[0], times[1]);

            let page = admin.call(&kind.list_request(json!({}))).await.unwrap();
            assert!(kind.page(&page).0.contains(&kind.name("a")), "{}", kind.word);

            let again = refused(admin.call(&kind.create_request("a", json!({}))).await);
            assert_eq!((again.code, again.reason.as_str()), (Code::AlreadyExists, "RESOURCE_EXISTS"), "{}", kind.word);
            assert_eq!(again.metadata["name"], kind.name("a"));

            let mut last = made.clone();
            if kind.changes() {
                let change = kind.update_request("a", json!({ kind.free_text: "changed" }), json!({}));
                last = admin.call(&change).await.unwrap();
                assert_eq!(text(&last, kind.free_text), "changed");
                assert_ne!(text(&last, "etag"), text(&made, "etag"));
                assert_eq!(kind.get(&admin, "a").await.unwrap(), last);
                assert_eq!(last.get_field_by_name("create_time"), made.get_field_by_name("create_time"));
            }
            admin.call(&kind.delete_request("a", json!({}))).await.unwrap();
            for gone in [
                refused(kind.get(&admin, "a").await),
                refused(admin.call(&kind.delete_request("a", json!({}))).await),
            ] {
                assert_eq!((gone.code, gone.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"), "{}", kind.word);
                assert_eq!(gone.metadata["name"], kind.name("a"));
            }
            if kind.changes() {
                let change = kind.update_request("a", json!({ kind.free_text: "x" }), json!({}));
                assert_eq!(refused(admin.call(&change).await).code, Code::NotFound, "{}", kind.word);
            }
            check_history(kind, &kind.history(&admin, "a").await, &to_json(&last));
        }
        server.stop().await;
    }
}

/// One entry per change, each starting where the last one ended.
fn check_history(kind: &fixture::Kind, entries: &[serde_json::Value], last: &serde_json::Value) {
    let word = kind.word;
    let actions: Vec<&str> = entries
        .iter()
        .map(|entry| entry["action"].as_str().unwrap())
        .collect();
    let made = if kind.create.is_empty() {
        "create"
    } else {
        "record"
    };
    let expected: &[&str] = if kind.changes() {
        &[made, "update", "delete"]
    } else {
        &[made, "delete"]
    };
    assert_eq!(actions, expected, "{word}");
    assert_eq!(entries[0].get("before_json"), None, "{word}");
    assert_eq!(entries[entries.len() - 1].get("after_json"), None, "{word}");
    for pair in entries.windows(2) {
        assert_eq!(pair[0]["after_json"], pair[1]["before_json"], "{word}");
        assert!(
            pair[0]["sequence"].as_str().unwrap().parse::<i64>().unwrap()
                < pair[1]["sequence"].as_str().unwrap().parse::<i64>().unwrap()
        );
    }
    for entry in entries {
        assert_eq!(entry["actor"], "admin", "{word}");
        assert!(entry["change_time"].is_string(), "{word}");
    }
    if kind.changes() {
        let after: serde_json::Value =
            serde_json::from_str(entries[1]["after_json"].as_str().unwrap()).unwrap();
        let camel =
            kind.free_text
                .split('_')
                .enumerate()
                .map(|(index, step)| match (index, step.split_at(1)) {
                    (0, _) => step.to_owned(),
                    (_, (first, rest)) => first.to_uppercase() + rest,
                });
        assert_eq!(after[camel.collect::<String>()], last[kind.free_text], "{word}");
    }
}
