//! Methods by plain HTTP with JSON: the same answers and refusals as by gRPC.
//!
//! The form is the unary one of the Connect protocol; its HTTP codes stand in [`http_code`], from its published table
//! (read as the text of its RFC 003, "Amend Connect HTTP codes").

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use ostler_proto::v1;
use ostler_tests::client::{method, methods, path};
use ostler_tests::on_both_databases;
use ostler_tests::plain_http::Answer;
use ostler_tests::server::Server;
use prost::Message as _;
use prost_reflect::{DynamicMessage, MethodDescriptor, ReflectMessage as _};
use serde_json::{Value as Json, json};
use tonic::{Code, Status};

use crate::demo;
use crate::messages::request;

/// The word and the HTTP code of a canonical code.
fn http_code(code: Code) -> (&'static str, u16) {
    match code {
        Code::InvalidArgument => ("invalid_argument", 400),
        Code::FailedPrecondition => ("failed_precondition", 400),
        Code::NotFound => ("not_found", 404),
        Code::AlreadyExists => ("already_exists", 409),
        Code::Aborted => ("aborted", 409),
        Code::PermissionDenied => ("permission_denied", 403),
        Code::Unauthenticated => ("unauthenticated", 401),
        Code::ResourceExhausted => ("resource_exhausted", 429),
        Code::Unimplemented => ("unimplemented", 501),
        Code::Unavailable => ("unavailable", 503),
        Code::DeadlineExceeded => ("deadline_exceeded", 504),
        other => panic!("no test expects {other:?}"),
    }
}

fn streams(method: &MethodDescriptor) -> bool {
    method.is_server_streaming() || method.is_client_streaming()
}

/// Asserts that an answer says what a status says, with every detail.
fn assert_same_refusal(answer: &Answer, status: &Status, what: &str) {
    let (word, http) = http_code(status.code());
    let body = answer.json();
    assert_eq!(
        (body["code"].as_str(), answer.status),
        (Some(word), http),
        "{what}: {body}"
    );
    assert_eq!(body["message"].as_str(), Some(status.message()), "{what}");
    let expected: Vec<Json> = tonic_types::pb::Status::decode(status.details())
        .unwrap()
        .details
        .iter()
        .map(|detail| {
            let name = detail.type_url.rsplit('/').next().unwrap();
            json!({"type": name, "value": STANDARD_NO_PAD.encode(&detail.value)})
        })
        .collect();
    let mut details = body["details"].as_array().cloned().unwrap_or_default();
    for detail in &mut details {
        // The readable copy of what `value` holds.
        assert!(detail["debug"].is_object(), "{what}: {detail}");
        detail.as_object_mut().unwrap().remove("debug");
    }
    assert_eq!(details, expected, "{what}");
}

on_both_databases! {
    async fn every_method_answers_an_empty_request_as_grpc_does(database: &Database) {
        let server = Server::start(database).await;
        let (admin, plain) = (server.admin(), server.plain_http(true));
        for method in methods() {
            let name = method.full_name().to_owned();
            let answer = plain.post(&path(&method), "{}").await;
            if streams(&method) {
                assert_eq!((answer.status, answer.json()["code"].as_str()), (501, Some("unimplemented")), "{name}");
                continue;
            }
            match admin.raw(&path(&method), Vec::new()).await {
                Err(status) => assert_same_refusal(&answer, &status, &name),
                Ok(answers) => {
                    assert_eq!((answer.status, answer.header("content-type")), (200, "application/json"), "{name}");
                    let by_grpc = DynamicMessage::decode(method.output(), answers[0].as_slice()).unwrap();
                    let by_http = DynamicMessage::deserialize(method.output(), &answer.json()).unwrap();
                    assert!(by_http == by_grpc, "{name}");
                }
            }
        }
        server.stop().await;
    }
}

on_both_databases! {
    async fn the_demo_reads_the_same_in_each_form(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let plain = server.plain_http(true);
        let asked = request("GetReadiness", json!({"departure": demo::name("departures/crossing-2027")}));
        let by_grpc = admin.call(&asked).await.unwrap();
        let at = path(&method("GetReadiness"));

        let answer = plain.post(&at, serde_json::to_vec(&asked).unwrap()).await;
        assert_eq!(answer.status, 200, "{:?}", answer.body);
        let by_json = DynamicMessage::deserialize(by_grpc.descriptor(), &answer.json()).unwrap();
        assert!(by_json == by_grpc, "the JSON form says something else");

        let binary = [("content-type", "application/proto"), ("connect-protocol-version", "1")];
        let answer = plain.send("POST", &at, &binary, asked.encode_to_vec()).await;
        assert_eq!((answer.status, answer.header("content-type")), (200, "application/proto"));
        assert!(DynamicMessage::decode(by_grpc.descriptor(), answer.body).unwrap() == by_grpc);
        server.stop().await;
    }
}

on_both_databases! {
    async fn a_write_is_a_write_and_its_repeat_is_not(database: &Database) {
        let server = Server::start(database).await;
        let plain = server.plain_http(true);
        let body = json!({
            "fleet": {"displayName": "dépôt"}, "fleetId": "depot", "requestId": "0192f0c2-0000-7000-8000-000000000001",
        });
        let at = path(&method("CreateFleet"));
        let first = plain.post(&at, body.to_string()).await;
        assert_eq!(first.status, 200, "{:?}", first.body);
        assert_eq!(first.json()["displayName"], "dépôt");
        assert_eq!(plain.post(&at, body.to_string()).await.json(), first.json());
        let fleets: v1::ListFleetsResponse = server.admin().ask(v1::ListFleetsRequest::default()).await.unwrap();
        assert_eq!(fleets.fleets.len(), 1);
        server.stop().await;
    }
}

/// A call that is refused before a method sees it.
struct Wrong {
    method: &'static str,
    path: &'static str,
    headers: &'static [(&'static str, &'static str)],
    body: &'static str,
    status: u16,
    code: &'static str,
    /// Part of the message.
    says: &'static str,
}

const JSON: &[(&str, &str)] = &[("content-type", "application/json")];
const GET_FLEET: &str = "/ostler.v1.FleetService/GetFleet";

const WRONG: &[Wrong] = &[
    Wrong {
        method: "GET",
        path: GET_FLEET,
        headers: JSON,
        body: "",
        status: 405,
        code: "unimplemented",
        says: "POST",
    },
    Wrong {
        method: "PUT",
        path: GET_FLEET,
        headers: JSON,
        body: "{}",
        status: 405,
        code: "unimplemented",
        says: "POST",
    },
    Wrong {
        method: "POST",
        path: "/",
        headers: JSON,
        body: "{}",
        status: 404,
        code: "unimplemented",
        says: "no method at /",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[],
        body: "{}",
        status: 415,
        code: "unimplemented",
        says: "application/json",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[("content-type", "text/plain")],
        body: "{}",
        status: 415,
        code: "unimplemented",
        says: "application/json",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[("content-type", "application/json; charset=latin1")],
        body: "{}",
        status: 415,
        code: "unimplemented",
        says: "UTF-8",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[JSON[0], ("content-encoding", "br")],
        body: "{}",
        status: 501,
        code: "unimplemented",
        says: "compressed",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[JSON[0], ("connect-protocol-version", "2")],
        body: "{}",
        status: 400,
        code: "invalid_argument",
        says: "connect-protocol-version",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[JSON[0], ("connect-timeout-ms", "soon")],
        body: "{}",
        status: 400,
        code: "invalid_argument",
        says: "connect-timeout-ms",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[JSON[0], ("connect-timeout-ms", "12345678901")],
        body: "{}",
        status: 400,
        code: "invalid_argument",
        says: "ten digits",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[JSON[0], ("connect-timeout-ms", "0")],
        body: "{\"name\":\"fleets/shed\"}",
        status: 504,
        code: "deadline_exceeded",
        says: "time",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: JSON,
        body: "{",
        status: 400,
        code: "invalid_argument",
        says: "line 1 column 1",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: JSON,
        body: "{} {}",
        status: 400,
        code: "invalid_argument",
        says: "trailing",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: JSON,
        body: "[1]",
        status: 400,
        code: "invalid_argument",
        says: "GetFleetRequest",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: JSON,
        body: "{\"nmae\":\"fleets/shed\"}",
        status: 400,
        code: "invalid_argument",
        says: "nmae",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: JSON,
        body: "{\"name\":7}",
        status: 400,
        code: "invalid_argument",
        says: "GetFleetRequest",
    },
    Wrong {
        method: "POST",
        path: GET_FLEET,
        headers: &[("content-type", "application/proto")],
        body: "\u{7f}\u{7f}",
        status: 500,
        code: "internal",
        says: "",
    },
];

on_both_databases! {
    async fn wrong_calls_are_told_what_is_wrong(database: &Database) {
        let server = Server::start(database).await;
        let plain = server.plain_http(true);
        for wrong in WRONG {
            let what = format!("{} {} {:?} {}", wrong.method, wrong.path, wrong.headers, wrong.body);
            let answer = plain.send(wrong.method, wrong.path, wrong.headers, wrong.body).await;
            let body = answer.json();
            assert_eq!((answer.status, body["code"].as_str()), (wrong.status, Some(wrong.code)), "{what}: {body}");
            assert!(body["message"].as_str().unwrap().contains(wrong.says), "{what}: {body}");
            match wrong.status {
                405 => assert_eq!(answer.header("allow"), "POST"),
                415 => assert_eq!(answer.header("accept-post"), "application/json, application/proto"),
                _ => {}
            }
        }
        server.stop().await;
    }
}

on_both_databases! {
    async fn size_and_depth_are_bounded_and_strangers_are_not_read(database: &Database) {
        let server = Server::start(database).await;
        let (plain, stranger) = (server.plain_http(true), server.plain_http(false));
        let large = format!("{{\"name\":\"{}\"}}", "x".repeat(10 * 1024 * 1024));
        let answer = plain.post(GET_FLEET, large).await;
        assert_eq!((answer.status, answer.json()["code"].as_str()), (429, Some("resource_exhausted")));
        let deep = "[".repeat(100_000);
        let answer = plain.post("/ostler.v1.FleetService/CreateFleet", format!("{{\"fleet\":{deep}")).await;
        assert_eq!(answer.status, 400, "{:?}", answer.body);
        // What a stranger sends is not looked at: it is no JSON, and that is not what the answer says.
        let answer = stranger.post(GET_FLEET, "no JSON").await;
        assert_eq!((answer.status, answer.json()["code"].as_str()), (401, Some("unauthenticated")));
        let health = stranger.post("/grpc.health.v1.Health/Check", "{}").await;
        assert_eq!((health.status, health.json()), (200, json!({"status": "SERVING"})));
        server.stop().await;
    }
}

on_both_databases! {
    async fn browsers_speak_grpc_in_their_form(database: &Database) {
        let server = Server::start(database).await;
        // One frame without a message; the answer ends with the trailers as a frame of their own, whose first byte is 0x80
        // (the gRPC project's PROTOCOL-WEB, from memory).
        let web = [("content-type", "application/grpc-web+proto"), ("x-grpc-web", "1")];
        let at = path(&method("ListFleets"));
        let answer = server.plain_http(true).send("POST", &at, &web, vec![0_u8; 5]).await;
        assert_eq!((answer.status, answer.header("content-type")), (200, "application/grpc-web+proto"));
        assert_eq!(answer.body[..6], [0, 0, 0, 0, 0, 0x80], "{:?}", answer.body);
        let trailers = String::from_utf8_lossy(&answer.body[10..]).into_owned();
        assert!(trailers.contains("grpc-status:0"), "{trailers}");
        server.stop().await;
    }
}
