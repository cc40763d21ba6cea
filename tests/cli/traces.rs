//! Traces, as a collector gets them.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use opentelemetry_proto::tonic::collector::trace::v1::trace_service_server::{
    TraceService, TraceServiceServer,
};
use opentelemetry_proto::tonic::collector::trace::v1::{
    ExportTraceServiceRequest, ExportTraceServiceResponse,
};
use opentelemetry_proto::tonic::common::v1::{KeyValue, any_value};
use opentelemetry_proto::tonic::trace::v1::Span;
use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_proto::v1::{CreateFleetRequest, Fleet, GetReadinessRequest, ImportFleetRequest};
use ostler_tests::plain_http::Caller;
use ostler_tests::process::{Launch, Server, admin_token};
use tokio::net::TcpListener;
use tokio_stream::wrappers::TcpListenerStream;
use tonic::transport::{Identity, ServerTlsConfig};
use tonic::{Request, Response, Status};

use crate::shop::DEPARTURE;
use crate::tls::Papers;

/// The example of the standard (W3C Trace Context, section "Examples of HTTP traceparent Headers", from memory).
const TRACE: &str = "4bf92f3577b34da6a3ce929d0e0e4736";
const PARENT: &str = "00f067aa0ba902b7";

/// A collector that keeps what it gets.
#[derive(Debug, Clone, Default)]
struct Kept(Arc<Mutex<Vec<ExportTraceServiceRequest>>>);

#[tonic::async_trait]
impl TraceService for Kept {
    async fn export(
        &self,
        request: Request<ExportTraceServiceRequest>,
    ) -> Result<Response<ExportTraceServiceResponse>, Status> {
        self.0.lock().unwrap().push(request.into_inner());
        Ok(Response::new(ExportTraceServiceResponse::default()))
    }
}

impl Kept {
    /// A collector and its port; over TLS where it has an identity.
    async fn listening(identity: Option<Identity>) -> (Self, u16) {
        let kept = Self::default();
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let mut server = tonic::transport::Server::builder();
        if let Some(identity) = identity {
            server = server
                .tls_config(ServerTlsConfig::new().identity(identity))
                .unwrap();
        }
        let serving = server
            .add_service(TraceServiceServer::new(kept.clone()))
            .serve_with_incoming(TcpListenerStream::new(listener));
        tokio::spawn(serving);
        (kept, port)
    }

    fn spans(&self) -> Vec<Span> {
        let requests = self.0.lock().unwrap();
        let resources = requests.iter().flat_map(|request| &request.resource_spans);
        let scopes = resources.flat_map(|resource| &resource.scope_spans);
        scopes.flat_map(|scope| scope.spans.clone()).collect()
    }
}

fn texts(attributes: &[KeyValue]) -> BTreeMap<String, String> {
    let text = |attribute: &KeyValue| match attribute.value.clone()?.value? {
        any_value::Value::StringValue(text) => Some((attribute.key.clone(), text)),
        _ => None,
    };
    attributes.iter().filter_map(text).collect()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn named<'s>(spans: &'s [Span], name: &str) -> &'s Span {
    let found = spans.iter().find(|span| span.name == name);
    found.unwrap_or_else(|| {
        panic!(
            "no span {name}: {:#?}",
            spans.iter().map(|span| &span.name).collect::<Vec<_>>()
        )
    })
}

/// An import, a question that continues a trace by gRPC, one by plain HTTP about what is not there, and a stranger's.
async fn call_all(server: &Server, token: &str) {
    let channel = server.authorized(token).await.unwrap();
    // A server of many fleets computes nothing before it is asked: all of it belongs to the call.
    for number in 0..16 {
        let fleet = Fleet {
            display_name: "another".to_owned(),
            ..Fleet::default()
        };
        let request = CreateFleetRequest {
            fleet_id: format!("another-{number}"),
            fleet: Some(fleet),
            ..CreateFleetRequest::default()
        };
        let mut fleets = FleetServiceClient::new(channel.clone());
        fleets.create_fleet(request).await.unwrap();
    }
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/demo/orrin.yaml");
    let mut steps = FleetServiceClient::new(channel.clone())
        .import_fleet(ImportFleetRequest {
            fleet_file: std::fs::read(demo).unwrap(),
            ..Default::default()
        })
        .await
        .unwrap()
        .into_inner();
    while steps.message().await.unwrap().is_some() {}
    // The caller's own span goes on, by gRPC and by plain HTTP.
    let traceparent = format!("00-{TRACE}-{PARENT}-01");
    let mut request = Request::new(GetReadinessRequest {
        departure: format!("fleets/orrin/departures/{DEPARTURE}"),
        ..Default::default()
    });
    request
        .metadata_mut()
        .insert("traceparent", traceparent.parse().unwrap());
    ReadinessServiceClient::new(channel)
        .get_readiness(request)
        .await
        .unwrap();
    let caller = Caller::new(server.address(), Some(token.to_owned()));
    let headers = [
        ("content-type", "application/json"),
        ("traceparent", &*traceparent),
    ];
    let body = r#"{"name":"fleets/none"}"#;
    let gone = caller
        .send("POST", "/ostler.v1.FleetService/GetFleet", &headers, body)
        .await;
    assert_eq!(gone.status, 404);
    let stranger = Caller::new(server.address(), Some("ost_guessed".to_owned()));
    stranger.post("/ostler.v1.FleetService/ListFleets", "{}").await;
}

/// Each call is a span that says how it ended, below the caller's own where that came along.
fn check_calls(spans: &[Span]) {
    let readiness = named(spans, "ostler.v1.ReadinessService/GetReadiness");
    for (key, value) in [
        ("rpc.method", "ostler.v1.ReadinessService/GetReadiness"),
        ("rpc.response.status_code", "OK"),
        ("user.id", "admin"),
        ("ostler.fleet", "fleets/orrin"),
    ] {
        assert_eq!(
            texts(&readiness.attributes).get(key).map(String::as_str),
            Some(value),
            "{key}"
        );
    }
    let missing = named(spans, "ostler.v1.FleetService/GetFleet");
    assert_eq!(
        texts(&missing.attributes)["rpc.response.status_code"],
        "NOT_FOUND"
    );
    for span in [readiness, missing] {
        assert_eq!(
            (hex(&span.trace_id).as_str(), hex(&span.parent_span_id).as_str()),
            (TRACE, PARENT)
        );
        // 2 is a server's span (opentelemetry.proto.trace.v1.Span.SpanKind).
        assert_eq!(span.kind, 2);
    }
    let refused = named(spans, "ostler.v1.FleetService/ListFleets");
    assert_eq!(
        texts(&refused.attributes)["rpc.response.status_code"],
        "UNAUTHENTICATED"
    );
    assert!(refused.parent_span_id.is_empty() && !texts(&refused.attributes).contains_key("user.id"));
}

/// What a call does stands below it and begins within its time.
fn check_parts(spans: &[Span]) {
    for span in spans.iter().filter(|span| span.kind != 2) {
        assert!(
            !span.parent_span_id.is_empty(),
            "{} belongs to no call",
            span.name
        );
    }
    let readiness = named(spans, "ostler.v1.ReadinessService/GetReadiness");
    let import = named(spans, "ostler.v1.FleetService/ImportFleet");
    for (part, whole) in [
        ("transaction", import),
        ("read record", readiness),
        ("outlook of the plan", readiness),
        ("readiness", readiness),
    ] {
        let mut below = spans.iter().filter(|span| span.parent_span_id == whole.span_id);
        let part = below
            .find(|span| span.name == part)
            .unwrap_or_else(|| panic!("no {part} below {}", whole.name));
        assert_eq!(part.trace_id, whole.trace_id, "{}", part.name);
        // Where it ends is left out: the library may tidy a connection up in the transaction's span after the answer.
        let whole = whole.start_time_unix_nano..=whole.end_time_unix_nano;
        assert!(whole.contains(&part.start_time_unix_nano), "{}", part.name);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_collector_gets_each_call_with_its_parts_and_nothing_secret() {
    let (kept, port) = Kept::listening(None).await;
    let folder = tempfile::tempdir().unwrap();
    let launch = Launch::on(folder.path())
        .argument("--traces")
        .argument(&format!("http://127.0.0.1:{port}"));
    let server = Server::start(launch).await;
    let token = admin_token(folder.path());
    call_all(&server, &token).await;
    // What waits is sent at the end.
    server.ask_to_stop();
    let ended = server.end();
    assert_eq!(ended.code, 0, "{}", ended.log);
    let spans = kept.spans();
    check_calls(&spans);
    check_parts(&spans);
    let everything = format!("{:?}", kept.0.lock().unwrap());
    assert!(everything.contains("ostlerd") && everything.contains("service.version"));
    for secret in [&token[..], "ost_", "Bearer"] {
        assert!(!everything.contains(secret), "{secret} is in the spans");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn spans_go_over_tls_to_a_collector_that_is_vouched_for_and_to_no_other() {
    let papers = Papers::issue();
    let read = |file| std::fs::read(papers.path(file)).unwrap();
    let identity = Identity::from_pem(read("server.pem"), read("server.key"));
    for (authority, known) in [("shop-ca.pem", true), ("strange-ca.pem", false)] {
        let (kept, port) = Kept::listening(Some(identity.clone())).await;
        let folder = tempfile::tempdir().unwrap();
        let launch = Launch::on(folder.path())
            .argument("--traces")
            .argument(&format!("https://localhost:{port}"))
            .argument("--traces-ca")
            .argument(&papers.text(authority));
        let server = Server::start(launch).await;
        let caller = Caller::new(server.address(), Some(admin_token(folder.path())));
        let answer = caller.post("/ostler.v1.FleetService/ListFleets", "{}").await;
        assert_eq!(answer.status, 200, "{authority}");
        server.ask_to_stop();
        let ended = server.end();
        assert_eq!(ended.code, 0, "{}", ended.log);
        let told = kept
            .spans()
            .iter()
            .any(|span| span.name == "ostler.v1.FleetService/ListFleets");
        assert_eq!(told, known, "{authority}: {}", ended.log);
        let said = ended.log.matches("the collector takes no spans").count();
        assert_eq!(said, usize::from(!known), "{}", ended.log);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_collector_that_is_not_there_is_said_once_and_slows_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let free = std::net::TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap();
    let launch = Launch::on(folder.path())
        .argument("--traces")
        .argument(&format!("http://{free}"));
    let server = Server::start(launch).await;
    let caller = Caller::new(server.address(), Some(admin_token(folder.path())));
    let began = Instant::now();
    // Longer than spans wait for each other, so that more than one batch fails.
    while began.elapsed() < Duration::from_secs(4) {
        let answer = caller.post("/ostler.v1.FleetService/ListFleets", "{}").await;
        assert_eq!(answer.status, 200);
    }
    server.ask_to_stop();
    let ended = server.end();
    assert_eq!(ended.code, 0, "{}", ended.log);
    let said = ended.log.matches("the collector takes no spans").count();
    assert_eq!(said, 1, "{}", ended.log);
}
