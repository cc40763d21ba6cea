//! Lists page by page, and filtered.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tonic::Code;

use crate::fixture::{self, KINDS};

const IDS: [&str; 5] = ["a", "b", "c", "d", "e"];

on_both_databases! {
    async fn pages_of_any_size_walk_through_all(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let mut foreign = String::new();
        for kind in KINDS.iter() {
            let word = kind.word;
            for id in IDS {
                kind.make(&admin, id).await;
            }
            let (all, end) = kind.page(&admin.call(&kind.list_request(json!({}))).await.unwrap());
            assert_eq!(end, "", "{word}");
            assert!(all.is_sorted(), "{word}: {all:?}");
            assert!(IDS.iter().all(|id| all.contains(&kind.name(id))), "{word}: {all:?}");
            let mut token_of_this = String::new();
            for size in 1..=all.len() + 1 {
                let mut walked = Vec::new();
                let mut token = String::new();
                loop {
                    let request = kind.list_request(json!({ "page_size": size, "page_token": token }));
                    let (names, next) = kind.page(&admin.call(&request).await.unwrap());
                    assert!(names.len() <= size, "{word}");
                    walked.extend(names);
                    if next.is_empty() {
                        break;
                    }
                    token_of_this.clone_from(&next);
                    token = next;
                }
                assert_eq!(walked, all, "{word} by {size}");
            }
            let other_filter = json!({ "page_token": token_of_this, "filter": "name = \"x\"" });
            let mut wrong = vec![
                json!({ "page_token": "garbled" }),
                json!({ "page_token": format!("{token_of_this}AAAA") }),
                json!({ "page_token": format!("{token_of_this}A") }),
                json!({ "page_token": &token_of_this[1..] }),
                other_filter,
            ];
            if !foreign.is_empty() {
                wrong.push(json!({ "page_token": foreign }));
            }
            for wrong in wrong {
                let refusal = refused(admin.call(&kind.list_request(wrong.clone())).await);
                assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "PAGE_TOKEN_INVALID"), "{word} {wrong}");
            }
            foreign = token_of_this;
        }
        server.stop().await;
    }

    async fn a_filter_picks_and_pages(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for kind in KINDS.iter().filter(|kind| kind.changes()) {
            let word = kind.word;
            for id in IDS {
                kind.make(&admin, id).await;
            }
            for id in ["b", "d", "e"] {
                admin.call(&kind.update_request(id, json!({ kind.free_text: "picked" }), json!({}))).await.unwrap();
            }
            let filter = format!("{} = \"picked\"", kind.free_text);
            let mut walked = Vec::new();
            let mut token = String::new();
            loop {
                let request = kind.list_request(json!({ "page_size": 1, "page_token": token, "filter": filter }));
                let (names, next) = kind.page(&admin.call(&request).await.unwrap());
                walked.extend(names);
                if next.is_empty() {
                    break;
                }
                token = next;
            }
            assert_eq!(walked, ["b", "d", "e"].map(|id| kind.name(id)), "{word}");
            for wrong in ["colour = \"red\"", "picked", &format!("{} = picked", kind.free_text), "\u{1}"] {
                let refusal = refused(admin.call(&kind.list_request(json!({ "filter": wrong }))).await);
                assert_eq!(refusal.code, Code::InvalidArgument, "{word} {wrong}");
                assert_eq!(refusal.fields(), ["filter"], "{word} {wrong}");
            }
        }
        server.stop().await;
    }

    async fn a_list_of_nowhere_is_not_found(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        for kind in KINDS.iter().filter(|kind| !kind.parent.is_empty()) {
            let refusal = refused(admin.call(&kind.list_request(json!({}))).await);
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"), "{}", kind.word);
            let refusal = refused(admin.call(&kind.create_request("a", json!({}))).await);
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"), "{}", kind.word);
        }
        server.stop().await;
    }
}
