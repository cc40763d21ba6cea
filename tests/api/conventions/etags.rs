//! A change that knows only an older state is refused.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tonic::Code;

use crate::fixture::{self, KINDS};
use crate::messages::text;

on_both_databases! {
    async fn a_stale_etag_is_refused(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for kind in KINDS.iter() {
            let first = text(&kind.make(&admin, "a").await, "etag");
            let mut current = first.clone();
            if kind.changes() {
                let change = |etag: &str, value: &str| {
                    kind.update_request("a", json!({ kind.free_text: value, "etag": etag }), json!({}))
                };
                current = text(&admin.call(&change(&first, "one")).await.unwrap(), "etag");
                let stale = refused(admin.call(&change(&first, "two")).await);
                assert_eq!((stale.code, stale.reason.as_str()), (Code::Aborted, "STALE_ETAG"), "{}", kind.word);
                assert_eq!(stale.metadata["name"], kind.name("a"));
                assert_eq!(text(&kind.get(&admin, "a").await.unwrap(), kind.free_text), "one");
                // A change that changes nothing leaves the etag.
                let same = admin.call(&change(&current, "one")).await.unwrap();
                assert_eq!(text(&same, "etag"), current, "{}", kind.word);
            }
            let stale = refused(admin.call(&kind.delete_request("a", json!({ "etag": "0-0" }))).await);
            assert_eq!((stale.code, stale.reason.as_str()), (Code::Aborted, "STALE_ETAG"), "{}", kind.word);
            admin.call(&kind.delete_request("a", json!({ "etag": current }))).await.unwrap();

            // What is made anew under the same name is not what an old etag speaks of.
            let anew = text(&kind.make(&admin, "a").await, "etag");
            assert_ne!(anew, first, "{}", kind.word);
            admin.call(&kind.delete_request("a", json!({}))).await.unwrap();
        }
        server.stop().await;
    }
}
