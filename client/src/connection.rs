//! The connection to the server: address, bearer token, deadline, and trying again where that is safe.

use std::time::Duration;

use ostler_proto::v1::ErrorReason;
use tokio::time::{Instant, sleep, timeout_at};
use tonic::metadata::{Ascii, MetadataValue};
use tonic::service::Interceptor;
use tonic::service::interceptor::InterceptedService;
use tonic::transport::{Certificate, Channel, ClientTlsConfig, Endpoint, Identity};
use tonic::{Code, Request, Response, Status, Streaming};

use crate::errors::{CliError, reason_of};
use crate::settings::{Settings, Tls};

/// Largest answer that is taken in: a fleet file or a page of long records.
pub(crate) const ANSWER_BYTES_MAX: usize = 64 << 20;

/// Pauses before a call is tried again.
const PAUSES: [Duration; 2] = [Duration::from_millis(100), Duration::from_millis(500)];

/// What the server may send before it hears that it was taken in: a whole answer, so that none waits for the way there and back.
const WINDOW_BYTES: u32 = 4 << 20;

/// Longest wait for the connection itself.
const CONNECT_MAX: Duration = Duration::from_secs(5);

/// What generated clients are made on.
pub(crate) type Service = InterceptedService<Channel, Bearer>;

/// Puts the token into every call.
#[derive(Debug, Clone)]
pub(crate) struct Bearer(Option<MetadataValue<Ascii>>);

impl Bearer {
    fn new(token: Option<&str>) -> Result<Self, CliError> {
        let Some(token) = token else { return Ok(Self(None)) };
        let mut value: MetadataValue<Ascii> =
            format!("Bearer {token}").parse().map_err(|_| CliError::Usage {
                problem: "the token holds characters that no token has".to_owned(),
                hint: "give it as it was issued, on one line".to_owned(),
            })?;
        value.set_sensitive(true);
        Ok(Self(Some(value)))
    }
}

impl Interceptor for Bearer {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        if let Some(value) = &self.0 {
            request.metadata_mut().insert("authorization", value.clone());
        }
        Ok(request)
    }
}

/// An open connection with the deadline of the command.
#[derive(Debug)]
pub(crate) struct Connection {
    service: Service,
    server: String,
    timeout: Duration,
    deadline: Instant,
}

impl Connection {
    /// Connects. The deadline of all calls together starts here.
    ///
    /// # Errors
    /// When the server cannot be reached, or the token is none.
    pub(crate) async fn open(settings: &Settings) -> Result<Self, CliError> {
        let unreachable = |source| CliError::Unreachable {
            server: settings.server.clone(),
            source,
        };
        let bearer = Bearer::new(settings.token.as_deref())?;
        let mut endpoint = Endpoint::from_shared(settings.server.clone()).map_err(unreachable)?;
        if let Some(tls) = &settings.tls {
            endpoint = endpoint.tls_config(tls_config(tls)).map_err(unreachable)?;
        }
        let channel = endpoint
            .connect_timeout(settings.timeout.min(CONNECT_MAX))
            .initial_stream_window_size(WINDOW_BYTES)
            .initial_connection_window_size(WINDOW_BYTES)
            .connect()
            .await
            .map_err(unreachable)?;
        Ok(Self {
            service: InterceptedService::new(channel, bearer),
            server: settings.server.clone(),
            timeout: settings.timeout,
            deadline: Instant::now() + settings.timeout,
        })
    }

    /// Calls `method` with `message` and waits for its answer until the deadline.
    ///
    /// A call that the server could not take up is tried again: reading twice does no harm, and every
    /// write carries a request id with which it is done once.
    ///
    /// # Errors
    /// When the server refuses the call, or does not answer in time.
    pub(crate) async fn call<T, R>(
        &self,
        message: T,
        method: impl AsyncFn(Service, Request<T>) -> Result<Response<R>, Status>,
    ) -> Result<R, CliError>
    where
        T: Clone,
    {
        let mut pauses = PAUSES.iter();
        loop {
            let mut request = Request::new(message.clone());
            request.set_timeout(self.deadline.saturating_duration_since(Instant::now()));
            let answer = timeout_at(self.deadline, method(self.service.clone(), request)).await;
            let status = match answer {
                Ok(Ok(response)) => return Ok(response.into_inner()),
                Ok(Err(status)) => status,
                Err(_) => return Err(self.late()),
            };
            match pauses.next() {
                Some(pause) if is_worth_another_try(&status) && Instant::now() + *pause < self.deadline => {
                    sleep(*pause).await;
                }
                _ => return Err(self.refused(status)),
            }
        }
    }

    /// Calls `method` and returns its stream, however long it goes on.
    ///
    /// # Errors
    /// What the server answers.
    pub(crate) async fn listen<T, R>(
        &self,
        message: T,
        method: impl AsyncFn(Service, Request<T>) -> Result<Response<Streaming<R>>, Status>,
    ) -> Result<Streaming<R>, Status> {
        Ok(method(self.service.clone(), Request::new(message))
            .await?
            .into_inner())
    }

    /// The next message of a stream. `None`: it has ended.
    ///
    /// # Errors
    /// When the server breaks it off, or does not go on in time.
    pub(crate) async fn next<T>(&self, stream: &mut Streaming<T>) -> Result<Option<T>, CliError> {
        match timeout_at(self.deadline, stream.message()).await {
            Ok(message) => message.map_err(|status| self.refused(status)),
            Err(_) => Err(self.late()),
        }
    }

    fn refused(&self, status: Status) -> CliError {
        // The server stops its own work at the deadline that it was sent; so does the transport here.
        let stopped = matches!(status.code(), Code::DeadlineExceeded | Code::Cancelled);
        if stopped && Instant::now() >= self.deadline {
            self.late()
        } else {
            CliError::Refused(Box::new(status))
        }
    }

    fn late(&self) -> CliError {
        CliError::Late {
            server: self.server.clone(),
            seconds: self.timeout.as_secs(),
        }
    }
}

fn tls_config(tls: &Tls) -> ClientTlsConfig {
    let config = ClientTlsConfig::new().ca_certificate(Certificate::from_pem(&tls.ca_pem));
    match &tls.identity_pem {
        // Certificate and key stand in one file.
        Some(pem) => config.identity(Identity::from_pem(pem, pem)),
        None => config,
    }
}

fn is_worth_another_try(status: &Status) -> bool {
    status.code() == Code::Unavailable
        && reason_of(status).is_none_or(|reason| {
            matches!(
                reason,
                ErrorReason::StorageUnavailable | ErrorReason::ServerBusy | ErrorReason::ServerStopping
            )
        })
}
