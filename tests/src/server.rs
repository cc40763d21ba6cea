//! The real server in this process, on a database of the test.

use std::net::SocketAddr;
use std::panic;
use std::path::Path;
use std::sync::{Mutex, Once, PoisonError};

use ostler_proto::v1::Role;
use ostler_server::access::LimitedTo;
use ostler_server::clock::{Clock, SystemClock};
use ostler_server::config::Config;
use ostler_server::{RunError, access, admin_token, run};
use ostler_store::{Store, Token};
use tempfile::TempDir;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::transport::{Channel, Endpoint};

use crate::client::Client;
use crate::databases::Database;
use crate::plain_http;

/// A running server. End it with [`Server::stop`], which also finds panics.
#[derive(Debug)]
pub struct Server {
    address: SocketAddr,
    channel: Channel,
    secret: String,
    data_folder: TempDir,
    store: Store,
    shutdown: oneshot::Sender<()>,
    task: JoinHandle<Result<(), RunError>>,
}

impl Server {
    /// Starts a server on `database` and waits until it answers.
    ///
    /// # Panics
    /// When it does not start.
    pub async fn start(database: &Database) -> Self {
        Self::launch(database, None, |_| {}).await
    }

    /// Starts a server that is told something else beside.
    ///
    /// # Panics
    /// When it does not start.
    pub async fn told(database: &Database, tell: impl FnOnce(&mut Config)) -> Self {
        Self::launch(database, None, tell).await
    }

    /// Starts a server on a `database` that had one before; its admin token is not known here.
    ///
    /// # Panics
    /// When it does not start.
    pub async fn start_again(database: &Database) -> Self {
        Self::launch(database, Some(String::new()), |_| {}).await
    }

    /// Starts another server on the same `database`, as this one holds its admin token.
    ///
    /// # Panics
    /// When it does not start.
    pub async fn another(&self, database: &Database) -> Self {
        Self::launch(database, Some(self.secret.clone()), |_| {}).await
    }

    /// Starts a server; without a known `secret` it is the first one, and has written the admin token.
    async fn launch(database: &Database, secret: Option<String>, tell: impl FnOnce(&mut Config)) -> Self {
        record_panics();
        let data_folder = tempfile::Builder::new()
            .prefix("ostler-server-")
            .tempdir()
            .unwrap_or_else(|error| panic!("no temporary folder: {error}"));
        let listener = TcpListener::bind(("127.0.0.1", 0))
            .await
            .unwrap_or_else(|error| panic!("no loopback port: {error}"));
        let address = listener
            .local_addr()
            .unwrap_or_else(|error| panic!("the listener has no address: {error}"));
        let mut config = Config::new(database.location.clone(), data_folder.path().to_owned());
        tell(&mut config);
        let (shutdown, asked) = oneshot::channel();
        let task = tokio::spawn(run(config, listener, async {
            // A test that failed drops the sender; the server then ends as well.
            drop(asked.await);
        }));
        // The listener is bound already, so this waits until the server takes the connection.
        let endpoint = Endpoint::from_shared(format!("http://{address}"))
            .unwrap_or_else(|error| panic!("{address}: {error}"));
        let channel = endpoint.connect_lazy();
        if let Err(status) = Client::new(channel.clone(), None).health().await {
            panic!("the server does not answer: {status}");
        }
        let secret = secret.unwrap_or_else(|| {
            let path = data_folder.path().join(admin_token::FILE_NAME);
            std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
        });
        Self {
            address,
            channel,
            secret: secret.trim().to_owned(),
            data_folder,
            store: database.open().await,
            shutdown,
            task,
        }
    }

    /// A client with the admin token of the first start.
    #[must_use]
    pub fn admin(&self) -> Client {
        self.caller(&self.secret)
    }

    /// A client with a token.
    #[must_use]
    pub fn caller(&self, secret: &str) -> Client {
        Client::new(self.channel.clone(), Some(secret.to_owned()))
    }

    /// A client without a token.
    #[must_use]
    pub fn stranger(&self) -> Client {
        Client::new(self.channel.clone(), None)
    }

    /// The connection, for clients of other services.
    #[must_use]
    pub fn channel(&self) -> Channel {
        self.channel.clone()
    }

    /// A caller by plain HTTP, with the admin token or without one.
    #[must_use]
    pub fn plain_http(&self, with_token: bool) -> plain_http::Caller {
        plain_http::Caller::new(self.address, with_token.then(|| self.secret.clone()))
    }

    /// The folder of the admin token.
    #[must_use]
    pub fn data_folder(&self) -> &Path {
        self.data_folder.path()
    }

    /// The server's record, past the server.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// A client with a new token of `role`, called after it.
    ///
    /// # Panics
    /// When there is such a token.
    pub async fn add_token(&self, id: &str, role: Role) -> Client {
        let now = SystemClock::default().now_micros();
        let secret = access::add_token(&self.store, id, role, now)
            .await
            .unwrap_or_else(|error| panic!("no token {id}: {error}"));
        self.caller(&secret)
    }

    /// A client with a new token of `role` within `limits`.
    ///
    /// # Panics
    /// When there is such a token.
    pub async fn add_limited_token(&self, id: &str, role: Role, limits: LimitedTo) -> Client {
        let now = SystemClock::default().now_micros();
        let secret = access::add_limited_token(&self.store, id, role, limits, now)
            .await
            .unwrap_or_else(|error| panic!("no token {id}: {error}"));
        self.caller(&secret)
    }

    /// A client with a new admin token that expires at `expire_time`, microseconds since 1970, UTC.
    ///
    /// # Panics
    /// When there is such a token.
    pub async fn add_expiring_token(&self, id: &str, expire_time: i64) -> Client {
        let secret = access::new_secret();
        let token = Token {
            id: id.to_owned(),
            hash: access::hash(&secret).to_vec(),
            display_name: id.to_owned(),
            role: access::role_word(Role::Admin).to_owned(),
            create_time: 0,
            expire_time: Some(expire_time),
            revoke_time: None,
            fleets: Vec::new(),
            vehicles: Vec::new(),
            last_use_time: None,
        };
        if let Err(error) = self.store.add_token(&token).await {
            panic!("no token {id}: {error}");
        }
        self.caller(&secret)
    }

    /// Ends the server as an operator would.
    ///
    /// # Panics
    /// When the server failed or anything but a test has panicked.
    pub async fn stop(self) {
        let Self {
            address: _,
            channel,
            shutdown,
            task,
            store,
            secret: _,
            data_folder: _,
        } = self;
        // An open connection that is idle does not keep a server up, but it is for the client to close it.
        drop(channel);
        store.close().await;
        let _ = shutdown.send(());
        match task.await {
            Ok(Ok(())) => {}
            Ok(Err(error)) => panic!("the server failed: {error:?}"),
            Err(error) => panic!("the server panicked: {error}"),
        }
        let panics = panics();
        assert!(panics.is_empty(), "panics of the server: {panics:#?}");
    }
}

static PANICS: Mutex<Vec<String>> = Mutex::new(Vec::new());

/// Panics since the start of this process that come from anything but test code.
fn panics() -> Vec<String> {
    PANICS.lock().unwrap_or_else(PoisonError::into_inner).clone()
}

/// Notes panics; the server catches some of them, so that a call fails but no test would see it.
fn record_panics() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let usual = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            let of_a_test = info
                .location()
                .is_some_and(|location| location.file().starts_with("tests/"));
            if !of_a_test {
                let mut panics = PANICS.lock().unwrap_or_else(PoisonError::into_inner);
                panics.push(info.to_string());
            }
            usual(info);
        }));
    });
}
