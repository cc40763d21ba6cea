//! The service: keeps the record true and hands it to the core.
//!
//! `grpc` converts and calls `app`; `app` loads the record, calls `ostler_core`, writes through
//! `ostler_store`. [`run`] is the only place where they are put together; the binary and the tests
//! both use it.

// Every call is such a future: moved several times, its memory taken anew each time. One of 100 KiB cost more than what it did.
#![warn(clippy::large_futures)]

pub mod access;
pub mod admin_token;
pub mod app;
pub mod clock;
pub mod config;
pub mod contract;
mod convert;
pub mod grpc;
pub mod http_json;
mod json_differences;
pub mod limits;
mod measure;
pub mod openapi;
pub mod parsers;
pub mod release;
pub mod traces;

use std::future::Future;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;

use ostler_sheet::Fonts;
use ostler_store::{KNOWN_SCHEMA_VERSION, Location, Store, StoreError};
use tokio::net::TcpListener;
use tokio::sync::watch;
use tonic::transport::server::TcpIncoming;
use tonic_web::GrpcWebLayer;
use tower::util::MapResponseLayer;

use access::{AccessLayer, Gate};
use admin_token::AdminTokenError;
use app::App;
use app::forgetting::keep_forgetting;
use app::lookout::keep_looking;
use app::sealing::keep_sealing;
use clock::{Clock, SystemClock};
use config::tls::Tls;
use config::{Config, PlainNetworkRefused};
use http_json::HttpJsonLayer;
use limits::{Limits, Refusals};
use measure::{MeasureLayer, Measurements};

/// Why a server did not start or did not end well.
#[derive(Debug, thiserror::Error)]
pub enum RunError {
    /// The address is not allowed.
    #[error("the address is refused")]
    Address(#[source] PlainNetworkRefused),
    /// The listener has no address.
    #[error("the listening socket has no address")]
    Listener(#[source] std::io::Error),
    /// The data folder cannot be made.
    #[error("the data folder {} cannot be made", .path.display())]
    DataFolder {
        /// The folder.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The record cannot be opened.
    #[error("the record cannot be opened")]
    Store(#[source] StoreError),
    /// The first token cannot be made.
    #[error("the first token cannot be made")]
    AdminToken(#[source] AdminTokenError),
    /// The certificate or key cannot be used.
    #[error("the certificate and key cannot be used")]
    Tls(#[source] tonic::transport::Error),
    /// The measurements cannot be served.
    #[error("the measurements cannot be served on {address}")]
    Measurements {
        /// Where.
        address: SocketAddr,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The fonts cannot be used.
    #[error("the fonts cannot be used")]
    Fonts(#[source] config::fonts::FontsError),
    /// The transport failed.
    #[error("serving failed")]
    Transport(#[source] tonic::transport::Error),
}

/// Runs a server on `listener` until `shutdown` is done; calls that were accepted are finished.
///
/// # Errors
/// When it cannot start, or serving fails.
pub async fn run(
    config: Config,
    listener: TcpListener,
    shutdown: impl Future<Output = ()>,
) -> Result<(), RunError> {
    Opened::open(&config, &listener)
        .await?
        .serve(listener, shutdown)
        .await
}

/// A server whose record is open and that is ready to serve.
pub struct Opened {
    store: Store,
    clock: Arc<dyn Clock>,
    tls: Option<Tls>,
    limits: Limits,
    /// Where the measurements are served.
    metrics: Option<TcpListener>,
    fonts: Arc<Fonts>,
}

impl Opened {
    /// Opens the record, brings its schema up to date, and makes the admin token of a first start.
    ///
    /// # Errors
    /// When the address of `listener` is not allowed, or the data folder or the record cannot be used.
    pub async fn open(config: &Config, listener: &TcpListener) -> Result<Self, RunError> {
        let address = listener.local_addr().map_err(RunError::Listener)?;
        config::check_address(address, config).map_err(RunError::Address)?;
        std::fs::create_dir_all(&config.data_folder).map_err(|source| RunError::DataFolder {
            path: config.data_folder.clone(),
            source,
        })?;
        let fonts = config::fonts::fonts(config.fonts.as_deref()).map_err(RunError::Fonts)?;
        let clock: Arc<dyn Clock> = Arc::new(SystemClock::default());
        let store = Store::open(&config.location, clock.now_micros())
            .await
            .map_err(RunError::Store)?;
        let version = store.schema_version().await.map_err(RunError::Store)?;
        if version > KNOWN_SCHEMA_VERSION {
            tracing::warn!(
                version,
                known = KNOWN_SCHEMA_VERSION,
                "a newer server has changed the schema in a way that lets this one work: replace it soon"
            );
        }
        let store = match &config.read_location {
            None => store,
            Some(standby) => read_from(store, standby).await.map_err(RunError::Store)?,
        };
        let first = admin_token::ensure(&store, &config.data_folder, clock.now_micros()).await;
        if let Some(path) = first.map_err(RunError::AdminToken)? {
            tracing::info!(path = %path.display(), "wrote the admin token of the first start");
        }
        let metrics = match config.metrics {
            None => None,
            Some(address) => {
                let bound = TcpListener::bind(address).await;
                Some(bound.map_err(|source| RunError::Measurements { address, source })?)
            }
        };
        Ok(Self {
            store,
            clock,
            tls: config.tls.clone(),
            limits: config.limits,
            metrics,
            fonts: Arc::new(fonts),
        })
    }

    /// Where the measurements are served.
    pub fn metrics_address(&self) -> Option<SocketAddr> {
        self.metrics.as_ref()?.local_addr().ok()
    }

    /// Serves until `shutdown` is done; calls that were accepted are finished.
    ///
    /// # Errors
    /// When serving fails.
    pub async fn serve(
        self,
        listener: TcpListener,
        shutdown: impl Future<Output = ()>,
    ) -> Result<(), RunError> {
        let store = self.store.clone();
        let (stop, stopped) = watch::channel(false);
        let sealing = tokio::spawn(keep_sealing(store.clone(), stopped.clone()));
        let forgetting = tokio::spawn(keep_forgetting(store.clone(), self.clock.clone(), stopped));
        let outcome = serve(self, listener, shutdown).await;
        // What was written until now is sealed before the end.
        stop.send_replace(true);
        for (work, task) in [
            ("sealing the history", sealing),
            ("forgetting old answers", forgetting),
        ] {
            if let Err(error) = task.await {
                tracing::error!(
                    error = error.to_string(),
                    work,
                    "work beside the callers broke off"
                );
            }
        }
        store.close().await;
        outcome
    }
}

/// The same record with whole scopes read from `standby`; says in the log when it is not there.
async fn read_from(store: Store, standby: &Location) -> Result<Store, StoreError> {
    let store = store.reading_from(standby).await?;
    if let Err(error) = store.ping_replica().await {
        tracing::warn!(
            error = grpc::status::chain(&error),
            %standby,
            "the standby to read from is not there: the database of record is read until it is"
        );
    }
    Ok(store)
}

async fn serve(
    opened: Opened,
    listener: TcpListener,
    shutdown: impl Future<Output = ()>,
) -> Result<(), RunError> {
    let Opened {
        store,
        clock,
        tls,
        limits,
        metrics,
        fonts,
    } = opened;
    let (health, health_service) = tonic_health::server::health_reporter();
    health
        .set_service_status("", tonic_health::ServingStatus::Serving)
        .await;
    let gate = Gate::new(store.clone(), clock.clone());
    let measurements = Measurements::new(store.clone());
    let page = metrics.map(|listener| tokio::spawn(measure::serve(listener, measurements.clone())));
    let (stop, stopping) = watch::channel(false);
    let shutdown = async move {
        shutdown.await;
        stop.send_replace(true);
    };
    let refusals = Refusals::default();
    let app = App::new(store, clock, fonts, stopping, refusals.clone());
    let looking = tokio::spawn(keep_looking(app.clone()));
    let routes = grpc::routes(app)
        .add_service(grpc::reflection::current())
        .add_service(grpc::reflection::older())
        .add_service(health_service);
    // Otherwise an answer of several packets waits 40 ms for the client's acknowledgement.
    let incoming = TcpIncoming::from(listener).with_nodelay(Some(true));
    let mut server = tonic::transport::Server::builder();
    if let Some(tls) = tls {
        server = server.tls_config(tls.for_transport()).map_err(RunError::Tls)?;
    }
    let served = server
        // Plain HTTP with JSON is turned into gRPC before the gate sees it.
        .accept_http1(true)
        .layer(HttpJsonLayer)
        .layer(GrpcWebLayer::new())
        .layer(MeasureLayer::new(measurements))
        .layer(AccessLayer::new(gate, limits, refusals))
        .layer(MapResponseLayer::new(grpc::put_in_place))
        .add_routes(routes)
        .serve_with_incoming_shutdown(incoming, shutdown)
        .await;
    if let Some(page) = page {
        page.abort();
    }
    // Nothing waits for what it still computes.
    looking.abort();
    if let Err(error) = looking.await
        && error.is_panic()
    {
        tracing::error!(error = error.to_string(), "keeping verdicts at hand broke off");
    }
    served.map_err(RunError::Transport)
}
