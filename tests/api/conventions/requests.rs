//! Rehearsed and repeated requests.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tonic::Code;

use crate::fixture::{self, KINDS, with_text};
use crate::messages::text;

const CREATE: &str = "3f0c9c4e-7b1a-4c53-9a42-0d5be4a90001";
const UPDATE: &str = "3f0c9c4e-7b1a-4c53-9a42-0d5be4a90002";
const DELETE: &str = "3f0c9c4e-7b1a-4c53-9a42-0d5be4a90003";

/// An id of its own for each kind.
fn id_of(request_id: &str, index: usize) -> String {
    format!("{}{index:02}{}", &request_id[..6], &request_id[8..])
}

on_both_databases! {
    async fn a_rehearsal_writes_nothing(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let rehearsal = || json!({ "validate_only": true });
        for kind in KINDS.iter() {
            let word = kind.word;
            let shown = admin.call(&kind.create_request("a", rehearsal())).await.unwrap();
            assert_eq!(text(&shown, "name"), kind.name("a"));
            assert_eq!(refused(kind.get(&admin, "a").await).code, Code::NotFound, "{word}");

            let made = kind.make(&admin, "a").await;
            let taken = refused(admin.call(&kind.create_request("a", rehearsal())).await);
            assert_eq!(taken.code, Code::AlreadyExists, "{word}");
            if kind.changes() {
                let change = kind.update_request("a", json!({ kind.free_text: "rehearsed" }), rehearsal());
                let shown = admin.call(&change).await.unwrap();
                assert_eq!(text(&shown, kind.free_text), "rehearsed");
            }
            admin.call(&kind.delete_request("a", rehearsal())).await.unwrap();
            assert_eq!(kind.get(&admin, "a").await.unwrap(), made, "{word}");
            assert_eq!(kind.history(&admin, "a").await.len(), 1, "{word}");
            admin.call(&kind.delete_request("a", json!({}))).await.unwrap();
        }
        server.stop().await;
    }

    async fn a_repeated_request_is_answered_again_and_done_once(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for (index, kind) in KINDS.iter().enumerate() {
            let word = kind.word;
            let [create, update, delete] = [CREATE, UPDATE, DELETE].map(|id| json!({ "request_id": id_of(id, index) }));
            let create = kind.create_request("a", create);
            let made = admin.call(&create).await.unwrap();
            let mut entries = 1;
            if kind.changes() {
                let update = kind.update_request("a", json!({ kind.free_text: "one" }), update);
                let first = admin.call(&update).await.unwrap();
                let between = kind.update_request("a", json!({ kind.free_text: "two" }), json!({}));
                admin.call(&between).await.unwrap();
                // Long after, the repeat still tells what was done then and does not do it again.
                assert_eq!(admin.call(&update).await.unwrap(), first, "{word}");
                assert_eq!(text(&kind.get(&admin, "a").await.unwrap(), kind.free_text), "two", "{word}");
                entries = 3;
            }
            assert_eq!(admin.call(&create).await.unwrap(), made, "{word}");
            assert_eq!(kind.history(&admin, "a").await.len(), entries, "{word}");

            let delete = kind.delete_request("a", delete);
            admin.call(&delete).await.unwrap();
            kind.make(&admin, "a").await;
            admin.call(&delete).await.unwrap();
            kind.get(&admin, "a").await.unwrap_or_else(|status| panic!("{word} was deleted twice: {status:?}"));

            // The same id for something else.
            let other = with_text(&create, &format!("{}_id", kind.field), "b");
            let reused = refused(admin.call(&other).await);
            assert_eq!((reused.code, reused.reason.as_str()), (Code::InvalidArgument, "REQUEST_ID_REUSED"), "{word}");
            let other = kind.delete_request("a", json!({ "request_id": id_of(CREATE, index) }));
            assert_eq!(refused(admin.call(&other).await).reason, "REQUEST_ID_REUSED", "{word}");
            admin.call(&kind.delete_request("a", json!({}))).await.unwrap();
        }
        server.stop().await;
    }

    async fn what_was_refused_may_be_tried_again(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let vehicle = KINDS.iter().find(|kind| kind.word == "Vehicle").unwrap();
        let request = vehicle.create_request("a", json!({ "request_id": CREATE }));
        let rehearsal = vehicle.create_request("a", json!({ "request_id": CREATE, "validate_only": true }));
        admin.call(&rehearsal).await.unwrap();
        vehicle.make(&admin, "a").await;
        assert_eq!(refused(admin.call(&request).await).code, Code::AlreadyExists);
        admin.call(&vehicle.delete_request("a", json!({}))).await.unwrap();
        admin.call(&request).await.unwrap();
        // Another caller's ids are its own.
        let other = server.add_token("other", ostler_proto::v1::Role::Admin).await;
        assert_eq!(refused(other.call(&request).await).code, Code::AlreadyExists);
        server.stop().await;
    }
}
