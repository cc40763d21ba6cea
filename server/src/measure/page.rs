//! The page that the measurements are read from: `GET /metrics`.

use std::convert::Infallible;

use http::header::CONTENT_TYPE;
use http::{Method, Request, Response, StatusCode};
use http_body_util::Full;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use prost::bytes::Bytes;
use tokio::net::TcpListener;

use super::Measurements;

/// Media type of the OpenMetrics text form, from its specification 1.0 (from memory).
const OPEN_METRICS: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// Answers on `listener` until it is dropped.
pub(crate) async fn serve(listener: TcpListener, measurements: Measurements) {
    loop {
        let stream = match listener.accept().await {
            Ok((stream, _)) => stream,
            Err(error) => {
                tracing::debug!(%error, "a connection to the measurements failed");
                continue;
            }
        };
        let measurements = measurements.clone();
        let page = service_fn(move |request: Request<Incoming>| {
            let response = answer(&request, &measurements);
            async move { Ok::<_, Infallible>(response) }
        });
        tokio::spawn(async move {
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .serve_connection(TokioIo::new(stream), page);
            if let Err(error) = connection.await {
                tracing::debug!(%error, "a reader of the measurements went away");
            }
        });
    }
}

fn answer(request: &Request<Incoming>, measurements: &Measurements) -> Response<Full<Bytes>> {
    let (status, text) = match (request.method(), request.uri().path()) {
        (&Method::GET, "/metrics") => (StatusCode::OK, measurements.text()),
        (_, "/metrics") => (StatusCode::METHOD_NOT_ALLOWED, String::new()),
        _ => (StatusCode::NOT_FOUND, String::new()),
    };
    let mut response = Response::new(Full::new(Bytes::from(text)));
    *response.status_mut() = status;
    response
        .headers_mut()
        .insert(CONTENT_TYPE, http::HeaderValue::from_static(OPEN_METRICS));
    response
}
