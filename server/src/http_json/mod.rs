//! Every method that takes and answers one message, also by plain HTTP POST with JSON, on the same port.
//!
//! The form is the unary one of the Connect protocol, an open standard (connectrpc.com/docs/protocol; its table of HTTP
//! codes as amended by its RFC 003, read as public text): `POST /ostler.v1.FleetService/GetFleet` with
//! `content-type: application/json`, or `application/proto` for the binary form. A call is turned into a framed gRPC call
//! for the unchanged stack behind, tokens and contract included, and the answer is turned back; so nothing is decided
//! here twice. The body is read only when the method asks for it, that is after the token was found good.

mod answer;
mod call;
mod methods;

use std::pin::Pin;
use std::task::{Context, Poll};

use http::header::CONTENT_TYPE;
use tonic::body::Body;

use answer::Refusal;
use call::Call;

pub(crate) use call::from_json;

/// Puts the JSON form in front of a gRPC service.
#[derive(Debug, Clone, Copy, Default)]
pub struct HttpJsonLayer;

impl<S> tower::Layer<S> for HttpJsonLayer {
    type Service = HttpJson<S>;

    fn layer(&self, inner: S) -> HttpJson<S> {
        HttpJson { inner }
    }
}

/// A gRPC service that also takes JSON.
#[derive(Debug, Clone)]
pub struct HttpJson<S> {
    inner: S,
}

impl<S> tower::Service<http::Request<Body>> for HttpJson<S>
where
    S: tower::Service<http::Request<Body>, Response = http::Response<Body>> + Clone + Send + 'static,
    S::Future: Send,
{
    type Response = http::Response<Body>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Self::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        if is_grpc(&request) {
            return Box::pin(self.inner.call(request));
        }
        // The service that was polled ready is the one to call; its clone waits for the next call.
        let clone = self.inner.clone();
        let inner = std::mem::replace(&mut self.inner, clone);
        Box::pin(async move {
            match Call::of(request) {
                Ok(call) => carry_out(inner, call).await,
                Err(refusal) => Ok(refusal.into_response()),
            }
        })
    }
}

/// Whether a request speaks gRPC, or gRPC in its form for browsers.
fn is_grpc(request: &http::Request<Body>) -> bool {
    request
        .headers()
        .get(CONTENT_TYPE)
        .is_some_and(|value| value.as_bytes().starts_with(b"application/grpc"))
}

async fn carry_out<S>(mut inner: S, call: Call) -> Result<http::Response<Body>, S::Error>
where
    S: tower::Service<http::Request<Body>, Response = http::Response<Body>>,
{
    let Call {
        request,
        method,
        coding,
        timeout,
    } = call;
    let work = async {
        let response = inner.call(request).await?;
        Ok(answer::of(response, &method, coding).await)
    };
    // The transport looks for a deadline before this layer has written one, so it is kept here.
    match timeout {
        None => work.await,
        // A quick answer would else win against a deadline that was over before it began.
        Some(timeout) if timeout.is_zero() => Ok(Refusal::late().into_response()),
        Some(timeout) => match tokio::time::timeout(timeout, work).await {
            Ok(answer) => answer,
            Err(_elapsed) => Ok(Refusal::late().into_response()),
        },
    }
}
