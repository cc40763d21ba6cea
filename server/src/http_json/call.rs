//! From an HTTP request to a gRPC call.

use std::time::Duration;

use http::header::{ACCEPT_ENCODING, CONTENT_ENCODING, CONTENT_LENGTH, CONTENT_TYPE, HOST, TE};
use http::{HeaderMap, HeaderName, HeaderValue, Method, Request, Version};
use http_body_util::{BodyExt as _, LengthLimitError, Limited};
use ostler_proto::v1::ErrorReason;
use prost::Message as _;
use prost::bytes::{BufMut as _, Bytes, BytesMut};
use prost_reflect::{DeserializeOptions, DynamicMessage, MessageDescriptor, MethodDescriptor};
use tonic::body::Body;
use tonic::{Code, Status};

use super::answer::Refusal;
use super::methods;
use crate::grpc::{REQUEST_BYTES_MAX, status};

const PROTOCOL_VERSION: HeaderName = HeaderName::from_static("connect-protocol-version");
const TIMEOUT: HeaderName = HeaderName::from_static("connect-timeout-ms");
const GRPC_TIMEOUT: HeaderName = HeaderName::from_static("grpc-timeout");

/// How messages are written in a call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Coding {
    Json,
    Proto,
}

impl Coding {
    pub(super) fn content_type(self) -> HeaderValue {
        HeaderValue::from_static(match self {
            Self::Json => "application/json",
            Self::Proto => "application/proto",
        })
    }
}

/// A call by plain HTTP, turned into one by gRPC.
pub(super) struct Call {
    pub(super) request: Request<Body>,
    pub(super) method: MethodDescriptor,
    pub(super) coding: Coding,
    pub(super) timeout: Option<Duration>,
}

impl Call {
    /// The call that a request means.
    pub(super) fn of(request: Request<Body>) -> Result<Self, Refusal> {
        let path = request.uri().path();
        let method = methods::at(path).ok_or_else(|| Refusal::no_method(path))?;
        if request.method() != Method::POST {
            return Err(Refusal::not_posted(request.method()));
        }
        let coding = coding(request.headers())?;
        if method.is_client_streaming() || method.is_server_streaming() {
            return Err(Refusal::streams(method.name()));
        }
        check_encoding(request.headers())?;
        check_version(request.headers())?;
        let timeout = timeout(request.headers())?;
        Ok(Self {
            request: as_grpc(request, &method, coding, timeout),
            method,
            coding,
            timeout,
        })
    }
}

fn coding(headers: &HeaderMap) -> Result<Coding, Refusal> {
    let value = headers.get(CONTENT_TYPE).and_then(|value| value.to_str().ok());
    let mut pieces = value.unwrap_or_default().split(';').map(str::trim);
    let essence = pieces.next().unwrap_or_default().to_ascii_lowercase();
    let utf_8 = pieces.all(|piece| {
        let piece = piece.to_ascii_lowercase();
        !piece.starts_with("charset=") || piece.trim_start_matches("charset=").trim_matches('"') == "utf-8"
    });
    match essence.as_str() {
        "application/json" if utf_8 => Ok(Coding::Json),
        "application/proto" => Ok(Coding::Proto),
        _ => Err(Refusal::content_type()),
    }
}

fn check_encoding(headers: &HeaderMap) -> Result<(), Refusal> {
    match headers.get(CONTENT_ENCODING) {
        Some(value) if value != "identity" => Err(Refusal::compressed()),
        _ => Ok(()),
    }
}

fn check_version(headers: &HeaderMap) -> Result<(), Refusal> {
    match headers.get(PROTOCOL_VERSION) {
        Some(value) if value != "1" => Err(Refusal::header(&PROTOCOL_VERSION, "must be 1")),
        _ => Ok(()),
    }
}

/// The protocol allows ten digits of milliseconds.
fn timeout(headers: &HeaderMap) -> Result<Option<Duration>, Refusal> {
    let Some(value) = headers.get(TIMEOUT) else {
        return Ok(None);
    };
    let digits = value.to_str().unwrap_or_default();
    let well_formed = (1..=10).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    match digits.parse() {
        Ok(millis) if well_formed => Ok(Some(Duration::from_millis(millis))),
        _ => Err(Refusal::header(
            &TIMEOUT,
            "must be milliseconds, in at most ten digits",
        )),
    }
}

fn as_grpc(
    request: Request<Body>,
    method: &MethodDescriptor,
    coding: Coding,
    timeout: Option<Duration>,
) -> Request<Body> {
    let (mut parts, body) = request.into_parts();
    parts.version = Version::HTTP_2;
    for header in [
        CONTENT_LENGTH,
        CONTENT_ENCODING,
        ACCEPT_ENCODING,
        HOST,
        PROTOCOL_VERSION,
        TIMEOUT,
        GRPC_TIMEOUT,
    ] {
        parts.headers.remove(header);
    }
    parts
        .headers
        .insert(CONTENT_TYPE, HeaderValue::from_static("application/grpc"));
    parts.headers.insert(TE, HeaderValue::from_static("trailers"));
    if let Some(timeout) = timeout {
        // gRPC allows eight digits.
        let millis = timeout.as_millis();
        let text = match millis {
            0..=99_999_999 => format!("{millis}m"),
            _ => format!("{}S", timeout.as_secs()),
        };
        if let Ok(value) = HeaderValue::from_str(&text) {
            parts.headers.insert(GRPC_TIMEOUT, value);
        }
    }
    let input = method.input();
    let framed = async move { read(body, &input, coding).await.map(http_body::Frame::data) };
    let body = http_body_util::StreamBody::new(futures_util::stream::once(framed));
    Request::from_parts(parts, Body::new(body))
}

/// The body as one gRPC message with its frame.
async fn read(body: Body, input: &MessageDescriptor, coding: Coding) -> Result<Bytes, Status> {
    let limited = Limited::new(body, REQUEST_BYTES_MAX);
    let bytes = limited.collect().await.map_err(unreadable)?.to_bytes();
    let message = match coding {
        Coding::Proto => bytes,
        Coding::Json => from_json(&bytes, input)?,
    };
    let length = u32::try_from(message.len()).map_err(|_| too_large())?;
    let mut frame = BytesMut::with_capacity(5 + message.len());
    frame.put_u8(0);
    frame.put_u32(length);
    frame.put(message);
    Ok(frame.freeze())
}

/// A message in the JSON form of protocol buffers. An empty body is the empty message, as the protocol has it for the binary form.
pub(crate) fn from_json(json: &[u8], input: &MessageDescriptor) -> Result<Bytes, Status> {
    if json.iter().all(u8::is_ascii_whitespace) {
        return Ok(Bytes::new());
    }
    let mut deserializer = serde_json::Deserializer::from_slice(json);
    let options = DeserializeOptions::new().deny_unknown_fields(true);
    let message = DynamicMessage::deserialize_with_options(input.clone(), &mut deserializer, &options)
        .and_then(|message| deserializer.end().map(|()| message))
        .map_err(|error| faulty(&format!("the body is not a {}: {error}", input.name())))?;
    Ok(message.encode_to_vec().into())
}

fn faulty(message: &str) -> Status {
    status::plain(Code::InvalidArgument, ErrorReason::BodyFaulty, message, &[])
}

fn too_large() -> Status {
    let message = format!("the body is larger than {REQUEST_BYTES_MAX} bytes");
    status::plain(Code::ResourceExhausted, ErrorReason::BodyFaulty, &message, &[])
}

fn unreadable(error: Box<dyn std::error::Error + Send + Sync>) -> Status {
    if error.is::<LengthLimitError>() {
        return too_large();
    }
    faulty(&format!("the body ended early: {error}"))
}
