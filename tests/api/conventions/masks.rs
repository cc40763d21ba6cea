//! Which fields a change touches.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use prost_reflect::{DynamicMessage, Value};
use serde_json::{Value as Json, json};
use tonic::Code;

use crate::fixture::{self, KINDS, without};
use crate::messages::{json as to_json, text};

const OF_THE_CHANGE: [&str; 2] = ["etag", "update_time"];

on_both_databases! {
    async fn a_mask_names_what_changes(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for kind in KINDS.iter().filter(|kind| kind.changes()) {
            let made = kind.make(&admin, "a").await;
            let word = kind.word;
            let field = kind.free_text;

            // One field: nothing else changes, whatever else the request holds.
            let mut change = kind.body.clone();
            change[field] = "one".into();
            let one = admin.call(&masked(kind.update_request("a", change, json!({})), field)).await;
            let one = one.unwrap_or_else(|status| panic!("{word}: {status:?}"));
            assert_eq!(text(&one, field), "one", "{word}");
            let ignored = [&OF_THE_CHANGE[..], &[field]].concat();
            assert_eq!(without(&one, &ignored), without(&made, &ignored), "{word}");

            // No mask: what is set.
            let set = admin.call(&kind.update_request("a", json!({ field: "two" }), json!({}))).await.unwrap();
            assert_eq!(text(&set, field), "two", "{word}");
            assert_eq!(without(&set, &ignored), without(&made, &ignored), "{word}");

            // All: what is not set is cleared.
            let whole = admin.call(&masked(kind.update_request("a", replaceable(kind, &made), json!({})), "*")).await;
            let whole = whole.unwrap_or_else(|status| panic!("{word}: {status:?}"));
            assert_eq!(without(&whole, &OF_THE_CHANGE), without(&made, &OF_THE_CHANGE), "{word}");

            for path in ["colour", "name", "etag", "create_time", "updateTime.seconds", ""] {
                let request = kind.update_request("a", json!({ field: "three" }), json!({}));
                let request = masked(request, path);
                let wrong = refused(admin.call(&request).await);
                assert_eq!(wrong.code, Code::InvalidArgument, "{word} {path:?}");
                assert_eq!(wrong.fields(), ["update_mask.paths[0]"], "{word}");
            }
            assert_eq!(kind.get(&admin, "a").await.unwrap(), whole, "{word}");
        }
        server.stop().await;
    }

    async fn an_immutable_field_stays(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let vehicle = KINDS.iter().find(|kind| kind.word == "Vehicle").unwrap();
        vehicle.make(&admin, "other").await;
        for kind in KINDS.iter().filter(|kind| ["Defect", "Weighing", "Substitution"].contains(&kind.word)) {
            kind.make(&admin, "a").await;
            let change = json!({ "vehicle": vehicle.name("other") });
            let fixed = refused(admin.call(&kind.update_request("a", change, json!({}))).await);
            assert_eq!(fixed.code, Code::InvalidArgument, "{}", kind.word);
            assert_eq!(fixed.fields(), [format!("{}.vehicle", kind.field)]);
        }
        server.stop().await;
    }
}

/// A request with a mask of one path, which need not be one that JSON can write.
fn masked(mut request: DynamicMessage, path: &str) -> DynamicMessage {
    let mask = prost_types::FieldMask {
        paths: vec![path.to_owned()],
    };
    let mut value = request
        .get_field_by_name("update_mask")
        .unwrap()
        .as_message()
        .unwrap()
        .clone();
    value.transcode_from(&mask).unwrap();
    request.set_field_by_name("update_mask", Value::Message(value));
    request
}

/// All of a resource that its caller may set.
fn replaceable(kind: &fixture::Kind, made: &DynamicMessage) -> Json {
    let mut all = to_json(made);
    for field in ["etag", "create_time", "update_time", "state", "disposition"] {
        all.as_object_mut().unwrap().remove(field);
    }
    // The text of the change before is cleared again, unless the kind needs it.
    match kind.body.get(kind.free_text) {
        Some(text) => all[kind.free_text] = text.clone(),
        None => drop(all.as_object_mut().unwrap().remove(kind.free_text)),
    }
    all
}
