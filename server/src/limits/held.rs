//! An answer that holds something until it is sent or dropped.

use std::pin::Pin;
use std::task::{Context, Poll};

use http_body::{Body, Frame, SizeHint};

/// A body, and what goes when it goes.
pub(crate) struct Held<B, T> {
    body: B,
    _held: T,
}

impl<B, T> Held<B, T> {
    pub(crate) fn new(body: B, held: T) -> Self {
        Self { body, _held: held }
    }
}

impl<B, T> Body for Held<B, T>
where
    B: Body + Unpin,
    T: Unpin,
{
    type Data = B::Data;
    type Error = B::Error;

    fn poll_frame(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<B::Data>, B::Error>>> {
        Pin::new(&mut self.get_mut().body).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}
