//! Reflection: the descriptors of the API, for tools that ask a server what it offers.
//!
//! Each of its services keeps all descriptors and the names of all that is in them, and few servers are ever asked: each is made when it is
//! asked first.

use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::sync::{Arc, OnceLock};
use std::task::{Context, Poll};

use ostler_proto::DESCRIPTOR_SET;
use tonic::Status;
use tonic::body::Body;
use tonic::server::NamedService;
use tonic_reflection::server::{Builder, Error, v1, v1alpha};
use tower::{Service, ServiceExt as _};

use super::status;

fn descriptors<'b>() -> Builder<'b> {
    Builder::configure()
        .register_encoded_file_descriptor_set(DESCRIPTOR_SET)
        .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
}

/// Reflection as it is.
pub(crate) fn current() -> WhenAsked<v1::ServerReflectionServer<impl v1::ServerReflection>> {
    WhenAsked::making(|| descriptors().build_v1())
}

/// The older form of it, the only one that several clients in wide use speak.
pub(crate) fn older() -> WhenAsked<v1alpha::ServerReflectionServer<impl v1alpha::ServerReflection>> {
    WhenAsked::making(|| descriptors().build_v1alpha())
}

/// A service that is made when it is asked first.
pub(crate) struct WhenAsked<S> {
    make: fn() -> Result<S, Error>,
    made: Arc<OnceLock<Result<S, Error>>>,
}

impl<S> WhenAsked<S> {
    fn making(make: fn() -> Result<S, Error>) -> Self {
        let made = Arc::default();
        Self { make, made }
    }
}

impl<S> Clone for WhenAsked<S> {
    fn clone(&self) -> Self {
        Self {
            make: self.make,
            made: self.made.clone(),
        }
    }
}

impl<S: NamedService> NamedService for WhenAsked<S> {
    const NAME: &'static str = S::NAME;
}

impl<S> Service<http::Request<Body>> for WhenAsked<S>
where
    S: Service<http::Request<Body>, Response = http::Response<Body>, Error = Infallible> + Clone + Send,
    S: 'static,
    S::Future: Send,
{
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = Pin<Box<dyn Future<Output = Result<http::Response<Body>, Infallible>> + Send>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        // What is made for a call is waited for there.
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        match self.made.get_or_init(self.make) {
            Ok(service) => Box::pin(service.clone().oneshot(request)),
            Err(error) => {
                tracing::error!(error = status::chain(error), "reflection cannot be served");
                let refusal = Status::internal("the descriptors cannot be served").into_http();
                Box::pin(std::future::ready(Ok(refusal)))
            }
        }
    }
}
