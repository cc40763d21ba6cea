//! Traces of operation: what a call did and how long each part took, told to a collector by OTLP.
//!
//! A span stands for a call from its arrival to the end of its answer, below the caller's span where the call brings one
//! along (`traceparent`, W3C Trace Context). Below it stand spans for what takes time: reading the record, transactions,
//! computations. They are spans of `tracing` under a target of their own, so that without a collector nobody asks for
//! them and they cost next to nothing. A span names who called, never their token.
//!
//! The attributes follow the semantic conventions of OpenTelemetry for RPC (`rpc.*`) and users (`user.id`), from memory.

mod collector;

use http::HeaderMap;
use opentelemetry::propagation::{Extractor, TextMapPropagator as _};
use opentelemetry_sdk::propagation::TraceContextPropagator;
use tonic::Code;
use tracing::Span;
use tracing::field::Empty;
use tracing_opentelemetry::OpenTelemetrySpanExt as _;

pub use collector::{Collector, CollectorError, Traces};

/// Target of all spans here, for filters.
const TARGET: &str = "ostlerd::spans";

/// The span of a call of `method`, below the caller's own.
pub(crate) fn call(method: &str, headers: &HeaderMap) -> Span {
    let span = tracing::trace_span!(
        target: TARGET,
        parent: None,
        "call",
        otel.name = method,
        otel.kind = "server",
        otel.status_code = Empty,
        rpc.system.name = "grpc",
        rpc.method = method,
        rpc.response.status_code = Empty,
        user.id = Empty,
        ostler.fleet = Empty,
    );
    if !span.is_disabled() {
        let parent = TraceContextPropagator::new().extract(&Headers(headers));
        // It fails only when there are spans but no traces of them, as where a log is asked for spans.
        drop(span.set_parent(parent));
    }
    span
}

/// Notes how a call ended.
pub(crate) fn note_end(span: &Span, code: Code, word: &'static str) {
    span.record("rpc.response.status_code", word);
    // What the caller did wrong is no error of the server.
    let failed = matches!(
        code,
        Code::Unknown
            | Code::DeadlineExceeded
            | Code::Unimplemented
            | Code::Internal
            | Code::Unavailable
            | Code::DataLoss
    );
    if failed {
        span.record("otel.status_code", "ERROR");
    }
}

/// Notes in the span of the call that goes on who calls: the name of a token, never the token.
pub(crate) fn note_actor(id: &str) {
    Span::current().record("user.id", id);
}

/// Notes in the span of the call that goes on which fleet it is about. It is looked for only when somebody wants to know.
pub(crate) fn note_fleet(fleet: impl FnOnce() -> Option<String>) {
    let span = Span::current();
    if !span.is_disabled()
        && let Some(fleet) = fleet()
    {
        span.record("ostler.fleet", fleet);
    }
}

/// A span for a part of a call, below what goes on. What is done for no call, such as a verdict that is kept at hand, is told to nobody.
pub(crate) fn part(name: &'static str) -> Span {
    match Span::current().is_none() {
        true => Span::none(),
        false => tracing::trace_span!(target: TARGET, "part", otel.name = name),
    }
}

/// The headers of a request, as the propagator reads them.
struct Headers<'h>(&'h HeaderMap);

impl Extractor for Headers<'_> {
    fn get(&self, key: &str) -> Option<&str> {
        self.0.get(key).and_then(|value| value.to_str().ok())
    }

    fn keys(&self) -> Vec<&str> {
        self.0.keys().map(http::HeaderName::as_str).collect()
    }
}
