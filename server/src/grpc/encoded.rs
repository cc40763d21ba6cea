//! Answers that are kept in the form in which they are sent.
//!
//! A generated service answers with messages, which it encodes anew for every caller. A method whose answer is kept encoded answers
//! with an empty one and leaves the bytes beside it; this layer, right around the services, puts them in its place.

use std::collections::VecDeque;
use std::pin::Pin;
use std::task::{Context, Poll};

use http::{HeaderMap, HeaderName, HeaderValue};
use http_body::Frame;
use prost::Message;
use prost::bytes::Bytes;
use tonic::body::Body;
use tonic::{Response, Status};

use super::{Reply, Streamed, status};
use crate::app::{AppError, Encoded};

const GRPC_STATUS: HeaderName = HeaderName::from_static("grpc-status");

/// Encoded messages beside an empty answer.
#[derive(Debug, Clone)]
struct Beside(VecDeque<Bytes>);

/// The reply of a method that answers with one message.
pub(super) fn reply<T: Message + Default>(outcome: Result<Encoded<T>, AppError>) -> Reply<T> {
    let encoded = outcome.map_err(status::of)?;
    let mut response = Response::new(T::default());
    response
        .extensions_mut()
        .insert(Beside([encoded.framed()].into()));
    Ok(response)
}

/// The reply of a method that answers with a stream of messages.
pub(super) fn stream<T>(outcome: Result<Vec<Encoded<T>>, AppError>) -> Reply<Streamed<T>>
where
    T: Message + Default + 'static,
{
    let encoded = outcome.map_err(status::of)?;
    let nothing: Streamed<T> = Box::pin(tokio_stream::empty());
    let mut response = Response::new(nothing);
    let framed = encoded.into_iter().map(Encoded::framed).collect();
    response.extensions_mut().insert(Beside(framed));
    Ok(response)
}

/// `response` with the messages that were left beside it.
pub(crate) fn put_in_place<B>(response: http::Response<B>) -> http::Response<Body>
where
    B: http_body::Body<Data = Bytes> + Send + 'static,
    B::Error: Into<Box<dyn std::error::Error + Send + Sync>>,
{
    let (mut parts, body) = response.into_parts();
    match parts.extensions.remove::<Beside>() {
        None => http::Response::from_parts(parts, Body::new(body)),
        Some(Beside(framed)) => {
            let body = Body::new(Messages { framed, ended: false });
            http::Response::from_parts(parts, body)
        }
    }
}

/// A body of encoded messages, and that all went well.
struct Messages {
    framed: VecDeque<Bytes>,
    ended: bool,
}

impl http_body::Body for Messages {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        _context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        if let Some(framed) = self.framed.pop_front() {
            return Poll::Ready(Some(Ok(Frame::data(framed))));
        }
        if std::mem::replace(&mut self.ended, true) {
            return Poll::Ready(None);
        }
        let trailers = HeaderMap::from_iter([(GRPC_STATUS, HeaderValue::from_static("0"))]);
        Poll::Ready(Some(Ok(Frame::trailers(trailers))))
    }

    fn is_end_stream(&self) -> bool {
        self.ended
    }
}
