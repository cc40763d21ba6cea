//! Measures and traces every call, from its arrival to the end of its answer.

use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Instant;

use http::HeaderMap;
use http_body::{Frame, SizeHint};
use tonic::body::Body;
use tonic::{Code, Status};
use tracing::{Instrument as _, Span};

use super::{Ended, Measurements, OTHER, Of};
use crate::{contract, traces};

/// Puts measurements around a service.
#[derive(Debug, Clone)]
pub(crate) struct MeasureLayer(Measurements);

impl MeasureLayer {
    pub(crate) fn new(measurements: Measurements) -> Self {
        Self(measurements)
    }
}

impl<S> tower::Layer<S> for MeasureLayer {
    type Service = Measured<S>;

    fn layer(&self, inner: S) -> Measured<S> {
        Measured {
            measurements: self.0.clone(),
            inner,
        }
    }
}

/// A service whose calls are measured.
#[derive(Debug, Clone)]
pub(crate) struct Measured<S> {
    measurements: Measurements,
    inner: S,
}

impl<S, B> tower::Service<http::Request<B>> for Measured<S>
where
    S: tower::Service<http::Request<B>, Response = http::Response<Body>>,
    S::Future: Send + 'static,
{
    type Response = http::Response<Body>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Self::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: http::Request<B>) -> Self::Future {
        let path = request.uri().path();
        let method = match contract::is_method(path) {
            true => path.trim_start_matches('/').to_owned(),
            false => OTHER.to_owned(),
        };
        let span = traces::call(&method, request.headers());
        let work = span
            .in_scope(|| self.inner.call(request))
            .instrument(span.clone());
        let mut measuring = Measuring::start(self.measurements.clone(), method, span);
        Box::pin(async move {
            let response = work.await?;
            measuring.note(response.headers());
            Ok(response.map(|body| Body::new(MeasuredBody { body, measuring })))
        })
    }
}

/// A call that goes on; it is counted when this is dropped, whatever ended it.
struct Measuring {
    measurements: Measurements,
    method: String,
    began: Instant,
    code: Code,
    span: Span,
}

impl Measuring {
    fn start(measurements: Measurements, method: String, span: Span) -> Self {
        measurements.in_flight.inc();
        Self {
            measurements,
            method,
            began: Instant::now(),
            // Until its status is seen: what is dropped before was given up by its caller.
            code: Code::Cancelled,
            span,
        }
    }

    fn note(&mut self, headers: &HeaderMap) {
        if let Some(status) = Status::from_header_map(headers) {
            self.code = status.code();
        }
    }
}

impl Drop for Measuring {
    fn drop(&mut self) {
        let seconds = self.began.elapsed().as_secs_f64();
        let measurements = &self.measurements;
        measurements.in_flight.dec();
        let method = std::mem::take(&mut self.method);
        let of = Of { method };
        measurements.seconds.get_or_create(&of).observe(seconds);
        let ended = Ended {
            method: of.method,
            code: word(self.code),
        };
        measurements.calls.get_or_create(&ended).inc();
        traces::note_end(&self.span, self.code, ended.code);
    }
}

/// The word of a canonical code, as it stands in `google.rpc.Code`.
fn word(code: Code) -> &'static str {
    match code {
        Code::Ok => "OK",
        Code::Cancelled => "CANCELLED",
        Code::Unknown => "UNKNOWN",
        Code::InvalidArgument => "INVALID_ARGUMENT",
        Code::DeadlineExceeded => "DEADLINE_EXCEEDED",
        Code::NotFound => "NOT_FOUND",
        Code::AlreadyExists => "ALREADY_EXISTS",
        Code::PermissionDenied => "PERMISSION_DENIED",
        Code::ResourceExhausted => "RESOURCE_EXHAUSTED",
        Code::FailedPrecondition => "FAILED_PRECONDITION",
        Code::Aborted => "ABORTED",
        Code::OutOfRange => "OUT_OF_RANGE",
        Code::Unimplemented => "UNIMPLEMENTED",
        Code::Internal => "INTERNAL",
        Code::Unavailable => "UNAVAILABLE",
        Code::DataLoss => "DATA_LOSS",
        Code::Unauthenticated => "UNAUTHENTICATED",
    }
}

struct MeasuredBody {
    body: Body,
    measuring: Measuring,
}

impl http_body::Body for MeasuredBody {
    type Data = <Body as http_body::Body>::Data;
    type Error = <Body as http_body::Body>::Error;

    fn poll_frame(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Self::Data>, Self::Error>>> {
        let this = self.get_mut();
        let polled = {
            let _entered = this.measuring.span.enter();
            Pin::new(&mut this.body).poll_frame(context)
        };
        if let Poll::Ready(Some(Ok(frame))) = &polled
            && let Some(trailers) = frame.trailers_ref()
        {
            this.measuring.note(trailers);
        }
        polled
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}
