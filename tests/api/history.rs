//! What changed: listed by filters, watched over several servers, and any resource as it was at a moment.

use std::time::Duration;

use ostler_proto::v1;
use ostler_proto::v1::history_service_client::HistoryServiceClient;
use ostler_server::access::LimitedTo;
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use prost_types::Timestamp;
use serde_json::{Value as Json, json};
use tonic::{Code, Request, Status, Streaming};

use crate::fixture::{FLEET, KINDS, Kind, PART, VEHICLE, furnish};
use crate::messages::request;

type Changes = Streaming<v1::WatchHistoryResponse>;

fn kind(word: &str) -> &'static Kind {
    KINDS.iter().find(|kind| kind.word == word).unwrap()
}

fn all() -> v1::ListHistoryRequest {
    v1::ListHistoryRequest {
        parent: FLEET.into(),
        page_size: 1_000,
        ..Default::default()
    }
}

/// What a list holds, oldest first: action and resource.
async fn listed(client: &Client, request: v1::ListHistoryRequest) -> Vec<(String, String)> {
    let answer: v1::ListHistoryResponse = client.ask(request).await.unwrap();
    let entries = answer.entries.into_iter().rev();
    entries.map(|entry| (entry.action, entry.resource)).collect()
}

async fn newest(client: &Client) -> v1::HistoryEntry {
    let answer: v1::ListHistoryResponse = client
        .ask(v1::ListHistoryRequest {
            page_size: 1,
            ..all()
        })
        .await
        .unwrap();
    answer.entries.into_iter().next().unwrap()
}

async fn watch(
    server: &Server,
    client: &Client,
    mut request: v1::WatchHistoryRequest,
) -> Result<Changes, Status> {
    request.parent = FLEET.into();
    let mut request = Request::new(request);
    request
        .metadata_mut()
        .insert("authorization", client.bearer().unwrap());
    let mut service = HistoryServiceClient::new(server.channel());
    Ok(service.watch_history(request).await?.into_inner())
}

fn after(position: i64) -> v1::WatchHistoryRequest {
    v1::WatchHistoryRequest {
        after_position: Some(position),
        ..Default::default()
    }
}

async fn next(changes: &mut Changes) -> Result<v1::WatchHistoryResponse, Status> {
    let next = tokio::time::timeout(Duration::from_secs(60), changes.message()).await;
    Ok(next.expect("an answer comes")?.expect("the stream goes on"))
}

/// The positions of the next `count` changes, which must come in order.
async fn positions(changes: &mut Changes, count: usize) -> Vec<i64> {
    let mut found = Vec::new();
    while found.len() < count {
        let change = next(changes).await.unwrap();
        let entry = change.entry.unwrap();
        assert_eq!(entry.position, change.position);
        assert!(found.last().is_none_or(|last| *last < change.position));
        found.push(change.position);
    }
    found
}

async fn rename(client: &Client, id: &str, note: &str) {
    let change = kind("Part").update_request(id, json!({ "note": note }), json!({}));
    client.call(&change).await.unwrap();
}

async fn state(client: &Client, name: &str, read_time: Timestamp) -> Result<v1::ResourceState, Status> {
    let request = v1::GetResourceAtRequest {
        name: name.into(),
        read_time: Some(read_time),
    };
    client.ask(request).await
}

fn to_vehicle(vehicle: &str) -> LimitedTo {
    LimitedTo {
        vehicles: vec![vehicle.to_owned()],
        ..LimitedTo::default()
    }
}

/// A moment a little after `time`.
fn beyond(time: Timestamp) -> Timestamp {
    Timestamp {
        seconds: time.seconds + 3_600,
        nanos: 0,
    }
}

on_both_databases! {
    async fn a_list_is_narrowed_down(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        furnish(&admin).await;
        let made = newest(&admin).await.change_time.unwrap();
        let lead = server.add_token("lead", v1::Role::Lead).await;
        rename(&lead, "seal", "new").await;
        let own = vec![("update".to_owned(), PART.to_owned())];
        let vehicle = vec![("create".to_owned(), VEHICLE.to_owned())];
        for (request, expected) in [
            (v1::ListHistoryRequest { actor: "lead".into(), ..all() }, own.clone()),
            (v1::ListHistoryRequest { action: "update".into(), ..all() }, own.clone()),
            (v1::ListHistoryRequest { kind: "vehicles".into(), ..all() }, vehicle.clone()),
            (v1::ListHistoryRequest { kind: "vehicles".into(), actor: "lead".into(), ..all() }, vec![]),
            (v1::ListHistoryRequest { kind: "parts".into(), start_time: Some(beyond(made)), ..all() }, vec![]),
            (v1::ListHistoryRequest { start_time: Some(made), action: "create".into(), ..all() }, vehicle),
            (v1::ListHistoryRequest { start_time: Some(made), actor: "lead".into(), end_time: Some(beyond(made)), ..all() }, own),
            (v1::ListHistoryRequest { end_time: Some(Timestamp { seconds: 1, nanos: 0 }), ..all() }, vec![]),
        ] {
            assert_eq!(listed(&admin, request.clone()).await, expected, "{request:?}");
        }
        // A page belongs to its filters.
        let first = v1::ListHistoryRequest { page_size: 1, ..all() };
        let page: v1::ListHistoryResponse = admin.ask(first.clone()).await.unwrap();
        let other = v1::ListHistoryRequest { page_token: page.next_page_token, kind: "parts".into(), ..first };
        let refusal = refused(admin.ask::<v1::ListHistoryResponse>(other).await);
        assert_eq!(refusal.reason, "PAGE_TOKEN_INVALID");
        for (request, field) in [
            (v1::ListHistoryRequest { kind: "bicycles".into(), ..all() }, "kind"),
            (v1::ListHistoryRequest { start_time: Some(made), end_time: Some(made), ..all() }, "end_time"),
        ] {
            assert_eq!(refused(admin.ask::<v1::ListHistoryResponse>(request).await).fields(), [field]);
        }
        server.stop().await;
    }

    async fn a_watch_goes_on_at_any_server_and_misses_nothing(database: &Database) {
        const WRITERS: usize = 4;
        const EACH: usize = 10;
        let server = Server::start(database).await;
        let other = server.another(database).await;
        let admin = server.admin();
        furnish(&admin).await;
        let part = kind("Part");
        for number in 0..WRITERS {
            part.make(&admin, &format!("p{number}")).await;
        }
        let begun = i64::try_from(3 + WRITERS).unwrap();
        let total = usize::try_from(begun).unwrap() + WRITERS * EACH;
        let mut writers = Vec::new();
        for number in 0..WRITERS {
            let client = if number % 2 == 0 { server.admin() } else { other.admin() };
            writers.push(tokio::spawn(async move {
                for round in 0..EACH {
                    rename(&client, &format!("p{number}"), &format!("round {round}")).await;
                }
            }));
        }
        // Broken off again and again, and gone on with at the other server.
        let (mut seen, mut turn) = (Vec::new(), 0);
        while seen.len() < total {
            let on = if turn % 2 == 0 { &other } else { &server };
            let mut changes = watch(on, &admin, after(seen.last().copied().unwrap_or(0))).await.unwrap();
            let first = next(&mut changes).await.unwrap();
            assert_eq!((first.position, first.entry), (seen.last().copied().unwrap_or(0), None));
            let some = 7.min(total - seen.len());
            seen.extend(positions(&mut changes, some).await);
            turn += 1;
        }
        assert_eq!(seen, (1..=i64::try_from(total).unwrap()).collect::<Vec<_>>());
        for writer in writers {
            writer.await.unwrap();
        }
        // Filtered, from the beginning.
        let only = v1::WatchHistoryRequest { resource: part.name("p1"), kind: "parts".into(), actor: "admin".into(), ..after(0) };
        let mut changes = watch(&other, &admin, only).await.unwrap();
        next(&mut changes).await.unwrap();
        positions(&mut changes, 1 + EACH).await;
        // A stream that goes on keeps its server from stopping.
        drop(changes);
        // From now on.
        let mut changes = watch(&other, &admin, v1::WatchHistoryRequest::default()).await.unwrap();
        assert_eq!(usize::try_from(next(&mut changes).await.unwrap().position).unwrap(), total);
        rename(&admin, "p0", "last").await;
        let change = next(&mut changes).await.unwrap();
        let after: Json = serde_json::from_str(&change.entry.unwrap().after_json).unwrap();
        assert_eq!(after["note"], "last");
        drop(changes);
        other.stop().await;
        server.stop().await;
    }

    async fn a_watch_of_what_is_not_there_is_refused(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        let mut changes = watch(&server, &admin, after(0)).await.unwrap();
        assert_eq!(next(&mut changes).await.unwrap_err().code(), Code::NotFound);
        furnish(&admin).await;
        let mut changes = watch(&server, &admin, after(1_000_000)).await.unwrap();
        let refusal = refused::<v1::WatchHistoryResponse>(next(&mut changes).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["after_position"]));
        server.stop().await;
    }

    async fn a_resource_is_told_as_it_was(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        let start = Timestamp { seconds: 1_000_000_000, nanos: 0 };
        furnish(&admin).await;
        let part = kind("Part");
        part.make(&admin, "a").await;
        let name = part.name("a");
        let created = newest(&admin).await.change_time.unwrap();
        rename(&admin, "a", "one").await;
        let changed = newest(&admin).await;
        let delete = part.delete_request("a", json!({}));
        admin.call(&delete).await.unwrap();
        let deleted = newest(&admin).await.change_time.unwrap();

        let was = state(&admin, &name, created).await.unwrap();
        let json: Json = serde_json::from_str(&was.resource_json).unwrap();
        assert_eq!((json["name"].as_str(), json.get("note"), json.get("etag")), (Some(name.as_str()), None, None));
        assert_eq!((was.name.as_str(), was.kind.as_str()), (name.as_str(), "parts"));
        assert_eq!(was.change.unwrap().action, "create");
        let was = state(&admin, &name, changed.change_time.unwrap()).await.unwrap();
        let json: Json = serde_json::from_str(&was.resource_json).unwrap();
        assert_eq!(json["note"], "one");
        assert_eq!(json["updateTime"], changed.change_time.unwrap().to_string());
        assert_eq!(was.change.unwrap().sequence, changed.sequence);

        for (name, moment, words) in [
            (name.as_str(), start, "created later"),
            (&name, deleted, "admin deleted it"),
            (&part.name("never"), deleted, "does not exist"),
        ] {
            let refusal = refused(state(&admin, name, moment).await);
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"));
            assert!(refusal.message.contains(words), "{}", refusal.message);
        }
        let refusal = refused(state(&admin, &name, beyond(deleted)).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["read_time"]));
        server.stop().await;
    }

    async fn a_vehicle_token_sees_its_own_history_and_no_other(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        furnish(&admin).await;
        kind("Vehicle").make(&admin, "van").await;
        let van = kind("Vehicle").name("van");
        let defect = |id: &str, vehicle: &str| request("CreateDefect", json!({
            "parent": FLEET, "defect_id": id,
            "defect": { "vehicle": vehicle, "description": "leak", "severity": "DEFECT_SEVERITY_MINOR" },
        }));
        admin.call(&defect("foreign", VEHICLE)).await.unwrap();
        admin.call(&kind("Defect").delete_request("foreign", json!({}))).await.unwrap();
        admin.call(&defect("foreign-too", VEHICLE)).await.unwrap();
        admin.call(&defect("own", &van)).await.unwrap();
        let time = newest(&admin).await.change_time.unwrap();
        let bay = server.add_limited_token("bay", v1::Role::Reader, to_vehicle(&van)).await;
        let mut changes = watch(&server, &bay, after(0)).await.unwrap();
        next(&mut changes).await.unwrap();
        let mut seen = Vec::new();
        while seen.last() != Some(&kind("Defect").name("own")) {
            seen.push(next(&mut changes).await.unwrap().entry.unwrap().resource);
        }
        assert_eq!(seen, [FLEET, PART, van.as_str(), &kind("Defect").name("own")]);
        drop(changes);

        assert!(state(&bay, &van, time).await.is_ok());
        let unknown = refused(state(&bay, &kind("Defect").name("never"), time).await);
        for hidden in ["foreign", "foreign-too"] {
            let refusal = refused(state(&bay, &kind("Defect").name(hidden), time).await);
            assert_eq!((refusal.code, &refusal.reason), (Code::NotFound, &unknown.reason));
            assert_eq!(refusal.message.replace(hidden, "never"), unknown.message);
            let early = refused(state(&bay, &kind("Defect").name(hidden), Timestamp { seconds: 1, nanos: 0 }).await);
            assert_eq!(early.message.replace(hidden, "never"), unknown.message);
        }
        server.stop().await;
    }

    async fn what_never_was_has_no_history(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        furnish(&admin).await;
        kind("Vehicle").make(&admin, "van").await;
        let own = kind("Vehicle").name("van");
        let bay = server.add_limited_token("bay", v1::Role::Reader, to_vehicle(&own)).await;
        let defect = request("CreateDefect", json!({
            "parent": FLEET, "defect_id": "gone",
            "defect": { "vehicle": VEHICLE, "description": "leak", "severity": "DEFECT_SEVERITY_MINOR" },
        }));
        admin.call(&defect).await.unwrap();
        admin.call(&kind("Defect").delete_request("gone", json!({}))).await.unwrap();
        let (gone, never) = (kind("Defect").name("gone"), kind("Defect").name("never"));
        let list = |parent: &str, resource: &str, action: &str| v1::ListHistoryRequest {
            parent: parent.into(), resource: resource.into(), action: action.into(), ..Default::default()
        };

        // What was and is gone has its history; filters that let nothing through say nothing of it.
        let answer: v1::ListHistoryResponse = admin.ask(list(FLEET, &gone, "")).await.unwrap();
        assert_eq!(answer.entries.len(), 2);
        let answer: v1::ListHistoryResponse = admin.ask(list(FLEET, &gone, "fix")).await.unwrap();
        assert_eq!(answer.entries, []);

        let elsewhere = "fleets/elsewhere";
        for (client, parent, resource, named) in [
            (&admin, FLEET, never.as_str(), never.as_str()),
            (&admin, elsewhere, "", elsewhere),
            // To whom it is hidden, it reads as if it never was.
            (&bay, FLEET, gone.as_str(), gone.as_str()),
            (&bay, FLEET, never.as_str(), never.as_str()),
        ] {
            let refusal = refused::<v1::ListHistoryResponse>(client.ask(list(parent, resource, "")).await);
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"));
            assert!(refusal.message.contains(named), "{}", refusal.message);
        }
        let request = v1::WatchHistoryRequest { resource: never.clone(), ..Default::default() };
        let refusal = match watch(&server, &admin, request).await {
            Err(status) => refused::<()>(Err(status)),
            Ok(mut changes) => refused::<v1::WatchHistoryResponse>(next(&mut changes).await),
        };
        assert_eq!(refusal.code, Code::NotFound);
        server.stop().await;
    }

    async fn a_stream_ends_with_its_token(database: &Database) {
        let server = Server::start(database).await;
        furnish(&server.admin()).await;
        let soon = SystemClock::default().now_micros() + 3_000_000;
        let expiring = server.add_expiring_token("guest", soon).await;
        let revoked = server.add_token("bay", v1::Role::Reader).await;
        let stays = server.add_token("office", v1::Role::Reader).await;
        let mut of_revoked = watch(&server, &revoked, after(0)).await.unwrap();
        let mut of_expiring = watch(&server, &expiring, after(0)).await.unwrap();
        let mut of_stays = watch(&server, &stays, after(0)).await.unwrap();
        for changes in [&mut of_revoked, &mut of_expiring, &mut of_stays] {
            next(changes).await.unwrap();
            positions(changes, 3).await;
        }
        assert!(server.store().revoke_token("bay", 1).await.unwrap());
        for changes in [&mut of_revoked, &mut of_expiring] {
            let refusal = refused::<v1::WatchHistoryResponse>(next(changes).await);
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::Unauthenticated, "TOKEN_INVALID"));
        }
        rename(&server.admin(), "seal", "still told").await;
        assert_eq!(positions(&mut of_stays, 1).await, [4]);
        drop(of_stays);
        server.stop().await;
    }
}
