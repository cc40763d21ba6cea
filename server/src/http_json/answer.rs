//! From a gRPC answer to an HTTP response.

use std::sync::LazyLock;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use http::header::{ALLOW, CONTENT_LENGTH, CONTENT_TYPE, TE, TRAILER};
use http::{HeaderMap, HeaderName, HeaderValue, Method, Response, StatusCode};
use http_body_util::BodyExt as _;
use prost::Message as _;
use prost::bytes::{Buf as _, Bytes};
use prost_reflect::{DescriptorPool, DynamicMessage, MethodDescriptor};
use serde_json::{Value, json};
use tonic::body::Body;
use tonic::{Code, Status};

use super::call::Coding;

const ACCEPT_POST: HeaderName = HeaderName::from_static("accept-post");
const ACCEPT_ENCODING: HeaderName = http::header::ACCEPT_ENCODING;

/// Descriptors of what an error carries beside its message.
static DETAILS: LazyLock<Option<DescriptorPool>> =
    LazyLock::new(|| DescriptorPool::decode(tonic_types::pb::FILE_DESCRIPTOR_SET).ok());

/// The HTTP response to a call that gRPC answered.
pub(super) async fn of(
    response: Response<Body>,
    method: &MethodDescriptor,
    coding: Coding,
) -> Response<Body> {
    let (parts, body) = response.into_parts();
    if let Some(status) = Status::from_header_map(&parts.headers)
        && status.code() != Code::Ok
    {
        return Refusal::of(&status).with_headers(&parts.headers).into_response();
    }
    let collected = match body.collect().await {
        Ok(collected) => collected,
        Err(status) => return Refusal::of(&status).into_response(),
    };
    let trailers = collected.trailers().cloned().unwrap_or_default();
    if let Some(status) = Status::from_header_map(&trailers)
        && status.code() != Code::Ok
    {
        return Refusal::of(&status).with_headers(&parts.headers).into_response();
    }
    match unframed(collected.to_bytes()).and_then(|message| written(message, method, coding)) {
        Err(fault) => Refusal::of(&fault).into_response(),
        Ok(bytes) => {
            let mut response = Response::new(Body::new(http_body_util::Full::new(bytes)));
            response.headers_mut().insert(CONTENT_TYPE, coding.content_type());
            response.headers_mut().extend(passed_on(&parts.headers, ""));
            response.headers_mut().extend(passed_on(&trailers, "trailer-"));
            response
        }
    }
}

/// The one message of an answer, without its frame.
fn unframed(mut framed: Bytes) -> Result<Bytes, Status> {
    let fault = || Status::internal("the answer is not one message");
    if framed.len() < 5 || framed.get_u8() != 0 {
        return Err(fault());
    }
    let length = framed.get_u32();
    if usize::try_from(length) == Ok(framed.len()) {
        Ok(framed)
    } else {
        Err(fault())
    }
}

fn written(message: Bytes, method: &MethodDescriptor, coding: Coding) -> Result<Bytes, Status> {
    if coding == Coding::Proto {
        return Ok(message);
    }
    DynamicMessage::decode(method.output(), message)
        .map_err(|error| error.to_string())
        .and_then(|message| serde_json::to_vec(&message).map_err(|error| error.to_string()))
        .map(Bytes::from)
        .map_err(|error| {
            tracing::error!(
                method = method.full_name(),
                error,
                "an answer cannot be written as JSON"
            );
            Status::internal("a fault of the server; its log says more")
        })
}

/// What a service has to say beside its message, under names that begin with `prefix`.
fn passed_on(from: &HeaderMap, prefix: &str) -> Vec<(HeaderName, HeaderValue)> {
    let own = |name: &HeaderName| {
        name.as_str().starts_with("grpc-") || [CONTENT_TYPE, CONTENT_LENGTH, TE, TRAILER].contains(name)
    };
    from.iter()
        .filter(|(name, _)| !own(name))
        .filter_map(|(name, value)| {
            let name = HeaderName::from_bytes(format!("{prefix}{name}").as_bytes()).ok()?;
            Some((name, value.clone()))
        })
        .collect()
}

/// An error, as the protocol writes it.
#[derive(Debug)]
pub(super) struct Refusal {
    status: StatusCode,
    code: Code,
    message: String,
    details: Vec<Value>,
    headers: Vec<(HeaderName, HeaderValue)>,
}

impl Refusal {
    fn new(status: StatusCode, code: Code, message: String) -> Self {
        Self {
            status,
            code,
            message,
            details: Vec::new(),
            headers: Vec::new(),
        }
    }

    /// What a method answered.
    fn of(status: &Status) -> Self {
        let mut refusal = Self::new(
            http_status(status.code()),
            status.code(),
            status.message().to_owned(),
        );
        refusal.details = details(status.details());
        refusal
    }

    fn with_headers(mut self, headers: &HeaderMap) -> Self {
        self.headers.extend(passed_on(headers, ""));
        self
    }

    fn with_header(mut self, name: HeaderName, value: &'static str) -> Self {
        self.headers.push((name, HeaderValue::from_static(value)));
        self
    }

    /// There is no such method.
    pub(super) fn no_method(path: &str) -> Self {
        let message = format!("there is no method at {path}");
        Self::new(StatusCode::NOT_FOUND, Code::Unimplemented, message)
    }

    /// The method is there, but must be called by POST.
    pub(super) fn not_posted(method: &Method) -> Self {
        let message = format!("methods are called by POST, not {method}");
        Self::new(StatusCode::METHOD_NOT_ALLOWED, Code::Unimplemented, message).with_header(ALLOW, "POST")
    }

    /// The body is of a kind that is not read.
    pub(super) fn content_type() -> Self {
        let message = "the content type must be application/json (UTF-8) or application/proto".to_owned();
        Self::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, Code::Unimplemented, message)
            .with_header(ACCEPT_POST, "application/json, application/proto")
    }

    /// The body is compressed.
    pub(super) fn compressed() -> Self {
        let message = "compressed bodies are not read: send it as it is".to_owned();
        Self::new(StatusCode::NOT_IMPLEMENTED, Code::Unimplemented, message)
            .with_header(ACCEPT_ENCODING, "identity")
    }

    /// The method does not answer with one message.
    pub(super) fn streams(method: &str) -> Self {
        let message = format!("{method} answers with a stream: call it by gRPC");
        Self::new(StatusCode::NOT_IMPLEMENTED, Code::Unimplemented, message)
    }

    /// A header of the protocol is wrong.
    pub(super) fn header(name: &HeaderName, problem: &str) -> Self {
        let message = format!("{name} {problem}");
        Self::new(StatusCode::BAD_REQUEST, Code::InvalidArgument, message)
    }

    /// The caller's time is over.
    pub(super) fn late() -> Self {
        let message = "the time that the call was given is over".to_owned();
        Self::new(StatusCode::GATEWAY_TIMEOUT, Code::DeadlineExceeded, message)
    }

    /// The HTTP response.
    pub(super) fn into_response(self) -> Response<Body> {
        let mut body = json!({ "code": code_word(self.code), "message": self.message });
        if !self.details.is_empty() {
            body["details"] = Value::Array(self.details);
        }
        let bytes = Bytes::from(body.to_string());
        let mut response = Response::new(Body::new(http_body_util::Full::new(bytes)));
        *response.status_mut() = self.status;
        response.headers_mut().extend(self.headers);
        response
            .headers_mut()
            .insert(CONTENT_TYPE, HeaderValue::from_static("application/json"));
        response
    }
}

/// Details by type: base64 for programs, and the same readable under `debug`.
fn details(encoded: &[u8]) -> Vec<Value> {
    let Ok(status) = tonic_types::pb::Status::decode(encoded) else {
        return Vec::new();
    };
    let described = |detail: &prost_types::Any| {
        let name = detail.type_url.rsplit('/').next().unwrap_or_default().to_owned();
        let mut written = json!({ "type": name, "value": STANDARD_NO_PAD.encode(&detail.value) });
        let readable = DETAILS
            .as_ref()
            .and_then(|pool| pool.get_message_by_name(&name))
            .and_then(|descriptor| DynamicMessage::decode(descriptor, detail.value.as_slice()).ok())
            .and_then(|message| serde_json::to_value(&message).ok());
        if let Some(readable) = readable {
            written["debug"] = readable;
        }
        written
    };
    status.details.iter().map(described).collect()
}

fn http_status(code: Code) -> StatusCode {
    match code {
        Code::Ok => StatusCode::OK,
        // "Client closed request" has no name in the registry of HTTP codes.
        Code::Cancelled => StatusCode::from_u16(499).unwrap_or(StatusCode::BAD_REQUEST),
        Code::InvalidArgument | Code::FailedPrecondition | Code::OutOfRange => StatusCode::BAD_REQUEST,
        Code::Unauthenticated => StatusCode::UNAUTHORIZED,
        Code::PermissionDenied => StatusCode::FORBIDDEN,
        Code::NotFound => StatusCode::NOT_FOUND,
        Code::AlreadyExists | Code::Aborted => StatusCode::CONFLICT,
        Code::ResourceExhausted => StatusCode::TOO_MANY_REQUESTS,
        Code::Unimplemented => StatusCode::NOT_IMPLEMENTED,
        Code::Unavailable => StatusCode::SERVICE_UNAVAILABLE,
        Code::DeadlineExceeded => StatusCode::GATEWAY_TIMEOUT,
        Code::Unknown | Code::Internal | Code::DataLoss => StatusCode::INTERNAL_SERVER_ERROR,
    }
}

fn code_word(code: Code) -> &'static str {
    match code {
        Code::Ok => "ok",
        Code::Cancelled => "canceled",
        Code::Unknown => "unknown",
        Code::InvalidArgument => "invalid_argument",
        Code::DeadlineExceeded => "deadline_exceeded",
        Code::NotFound => "not_found",
        Code::AlreadyExists => "already_exists",
        Code::PermissionDenied => "permission_denied",
        Code::ResourceExhausted => "resource_exhausted",
        Code::FailedPrecondition => "failed_precondition",
        Code::Aborted => "aborted",
        Code::OutOfRange => "out_of_range",
        Code::Unimplemented => "unimplemented",
        Code::Internal => "internal",
        Code::Unavailable => "unavailable",
        Code::DataLoss => "data_loss",
        Code::Unauthenticated => "unauthenticated",
    }
}
