//! An answer that is ended from outside.

use std::pin::Pin;
use std::task::{Context, Poll};

use http::HeaderMap;
use http_body::{Body, Frame, SizeHint};
use tonic::Status;

/// A body that goes on until its end or until `ended` resolves: then it is dropped, and the status ends the stream.
pub(super) struct Ending<B> {
    /// None: it was ended.
    body: Option<B>,
    ended: Pin<Box<dyn Future<Output = Status> + Send>>,
}

impl<B> Ending<B> {
    pub(super) fn new(body: B, ended: impl Future<Output = Status> + Send + 'static) -> Self {
        Self {
            body: Some(body),
            ended: Box::pin(ended),
        }
    }
}

impl<B> Body for Ending<B>
where
    B: Body<Error = Status> + Unpin,
{
    type Data = B::Data;
    type Error = Status;

    fn poll_frame(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<B::Data>, Status>>> {
        let this = self.get_mut();
        let Some(body) = &mut this.body else {
            return Poll::Ready(None);
        };
        if let Poll::Ready(status) = this.ended.as_mut().poll(context) {
            this.body = None;
            let mut trailers = HeaderMap::new();
            let written = status.add_header(&mut trailers);
            return Poll::Ready(Some(written.map(|()| Frame::trailers(trailers))));
        }
        Pin::new(body).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        self.body.as_ref().is_none_or(Body::is_end_stream)
    }

    fn size_hint(&self) -> SizeHint {
        // It may end early.
        SizeHint::default()
    }
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;
    use std::future::{pending, poll_fn, ready};

    use http_body_util::BodyExt as _;
    use prost::bytes::Bytes;

    use super::*;

    fn body() -> impl Body<Data = Bytes, Error = Status> + Unpin {
        http_body_util::Full::new(Bytes::from_static(b"answer")).map_err(|never: Infallible| match never {})
    }

    #[tokio::test]
    async fn it_goes_on_until_it_ends_by_itself() {
        let collected = Ending::new(body(), pending()).collect().await.unwrap();
        assert_eq!(collected.to_bytes(), "answer");
    }

    #[tokio::test]
    async fn it_is_ended_with_a_status_and_nothing_after_it() {
        let mut ending = Ending::new(body(), ready(Status::unauthenticated("over")));
        assert!(!ending.is_end_stream());
        let frame = poll_fn(|context| Pin::new(&mut ending).poll_frame(context)).await;
        let trailers = frame.unwrap().unwrap().into_trailers().unwrap();
        // Code 16 is UNAUTHENTICATED (gRPC's list of status codes).
        assert_eq!(trailers["grpc-status"], "16");
        assert!(ending.is_end_stream());
        let after = poll_fn(|context| Pin::new(&mut ending).poll_frame(context)).await;
        assert!(after.is_none());
    }
}
