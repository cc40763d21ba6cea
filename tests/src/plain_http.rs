//! Calls by plain HTTP, as `curl` makes them.

use std::net::SocketAddr;

use http_body_util::{BodyExt, Full};
use hyper::body::Bytes;
use hyper::header::{AUTHORIZATION, CONTENT_TYPE, HOST};
use hyper::{HeaderMap, Request, Response};
use hyper_util::rt::TokioIo;
use serde_json::Value;
use tokio::net::TcpStream;

/// What a server answered.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The HTTP status.
    pub status: u16,
    /// The headers.
    pub headers: HeaderMap,
    /// The body.
    pub body: Bytes,
}

impl Answer {
    /// The body as JSON.
    ///
    /// # Panics
    /// When it is not that.
    #[must_use]
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|error| panic!("not JSON ({error}): {:?}", self.body))
    }

    /// A header as text; empty when it is not there.
    #[must_use]
    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .and_then(|value| value.to_str().ok())
            .unwrap_or_default()
    }
}

/// A caller by plain HTTP/1.1, a connection a call.
#[derive(Debug, Clone)]
pub struct Caller {
    address: SocketAddr,
    secret: Option<String>,
}

impl Caller {
    /// A caller of the server at `address` with the token `secret`.
    #[must_use]
    pub fn new(address: SocketAddr, secret: Option<String>) -> Self {
        Self { address, secret }
    }

    /// Posts JSON.
    ///
    /// # Panics
    /// When there is no answer.
    pub async fn post(&self, path: &str, json: impl Into<Bytes>) -> Answer {
        self.send("POST", path, &[("content-type", "application/json")], json)
            .await
    }

    /// Sends a request with headers of the caller's choice.
    ///
    /// # Panics
    /// When there is no answer.
    pub async fn send(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: impl Into<Bytes>,
    ) -> Answer {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(HOST, self.address.to_string());
        if let Some(secret) = &self.secret {
            request = request.header(AUTHORIZATION, format!("Bearer {secret}"));
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request
            .body(Full::new(body.into()))
            .unwrap_or_else(|error| panic!("not a request: {error}"));
        let stream = TcpStream::connect(self.address)
            .await
            .unwrap_or_else(|error| panic!("no connection: {error}"));
        let (mut sender, connection) = hyper::client::conn::http1::handshake(TokioIo::new(stream))
            .await
            .unwrap_or_else(|error| panic!("no HTTP: {error}"));
        let connection = tokio::spawn(connection);
        let response = sender
            .send_request(request)
            .await
            .unwrap_or_else(|error| panic!("no answer: {error}"));
        let answer = answer(response).await;
        connection.abort();
        answer
    }
}

async fn answer(response: Response<hyper::body::Incoming>) -> Answer {
    let (parts, body) = response.into_parts();
    let body = body
        .collect()
        .await
        .unwrap_or_else(|error| panic!("the answer broke off: {error}"))
        .to_bytes();
    assert!(
        parts.headers.contains_key(CONTENT_TYPE),
        "an answer without a content type"
    );
    Answer {
        status: parts.status.as_u16(),
        headers: parts.headers,
        body,
    }
}
