//! A server that gives prepared answers and writes down what it was asked.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use assert_cmd::Command;
use ostler_proto::v1;
use ostler_proto::v1::fleet_service_server::FleetServiceServer;
use ostler_proto::v1::load_sheet_service_server::LoadSheetServiceServer;
use ostler_proto::v1::readiness_service_server::ReadinessServiceServer;
use ostler_proto::v1::substitution_service_server::SubstitutionServiceServer;
use tempfile::TempDir;
use tokio_stream::wrappers::TcpListenerStream;
use tonic::{Code, Request, Status};
use tonic_types::{ErrorDetails, FieldViolation, StatusExt};

/// The token that the server takes.
pub(crate) const TOKEN: &str = "right-token";

/// What the server was asked and what it answers.
#[derive(Debug, Default)]
pub(crate) struct State {
    /// Verdict of every departure.
    pub(crate) verdict: v1::Verdict,
    /// Ids of the fleets there are.
    pub(crate) fleets: Vec<&'static str>,
    /// Names of the files of load sheets.
    pub(crate) sheets: Vec<&'static str>,
    /// How often the storage is still away.
    pub(crate) failures_left: u32,
    /// The server keeps silent.
    pub(crate) silent: bool,
    /// Requests as they came, in their JSON form.
    pub(crate) requests: Vec<serde_json::Value>,
}

/// A running server with a home for its clients.
#[derive(Debug)]
pub(crate) struct Fake {
    address: SocketAddr,
    home: TempDir,
    state: Arc<Mutex<State>>,
}

impl Fake {
    /// Starts a server that begins with `state`. It ends with the test.
    pub(crate) fn start(state: State) -> Self {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        listener.set_nonblocking(true).unwrap();
        let address = listener.local_addr().unwrap();
        let state = Arc::new(Mutex::new(state));
        let service = Service(Arc::clone(&state));
        std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .unwrap();
            runtime.block_on(async move {
                let listener = tokio::net::TcpListener::from_std(listener).unwrap();
                tonic::transport::Server::builder()
                    .add_service(ReadinessServiceServer::new(service.clone()))
                    .add_service(SubstitutionServiceServer::new(service.clone()))
                    .add_service(LoadSheetServiceServer::new(service.clone()))
                    .add_service(FleetServiceServer::new(service))
                    .serve_with_incoming(TcpListenerStream::new(listener))
                    .await
                    .unwrap();
            });
        });
        Self {
            address,
            home: tempfile::tempdir().unwrap(),
            state,
        }
    }

    /// The program, with this server and its token in the environment.
    pub(crate) fn ostler(&self, args: &[&str]) -> Command {
        let mut command = ostler(self.home.path().to_owned(), args);
        command
            .env("OSTLER_SERVER", self.address.to_string())
            .env("OSTLER_TOKEN", TOKEN);
        command
    }

    /// The program, with nothing in the environment but its home.
    pub(crate) fn bare_ostler(&self, args: &[&str]) -> Command {
        ostler(self.home.path().to_owned(), args)
    }

    /// Address of the server.
    pub(crate) fn address(&self) -> String {
        self.address.to_string()
    }

    /// A file in the home.
    pub(crate) fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.home.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
        path
    }

    /// The last request that came.
    pub(crate) fn last_request(&self) -> serde_json::Value {
        self.state
            .lock()
            .unwrap()
            .requests
            .last()
            .cloned()
            .unwrap_or_default()
    }

    /// Every request that came.
    pub(crate) fn requests(&self) -> Vec<serde_json::Value> {
        self.state.lock().unwrap().requests.clone()
    }
}

/// The program with the home `home`.
pub(crate) fn ostler(home: PathBuf, args: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("ostler"));
    command
        .env_clear()
        .env("HOME", &home)
        .env("XDG_CONFIG_HOME", home.join("config"))
        .env("XDG_DATA_HOME", home.join("data"))
        .args(args);
    command
}

/// A server with the one fleet `orrin`, where everything may go.
pub(crate) fn fake() -> Fake {
    Fake::start(State {
        fleets: vec!["orrin"],
        verdict: v1::Verdict::Go,
        ..State::default()
    })
}

/// Standard output, standard error, exit code.
pub(crate) fn run(mut command: assert_cmd::Command) -> (String, String, i32) {
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        text(output.stdout),
        text(output.stderr),
        output.status.code().unwrap(),
    )
}

/// The services, over what the server was asked and what it answers.
#[derive(Debug, Clone)]
pub(crate) struct Service(pub(crate) Arc<Mutex<State>>);

impl Service {
    /// Writes the request down and refuses what every call refuses.
    pub(crate) async fn enter<T: prost_reflect::ReflectMessage>(
        &self,
        request: Request<T>,
    ) -> Result<T, Status> {
        let token = request
            .metadata()
            .get("authorization")
            .and_then(|value| value.to_str().ok());
        if token != Some(&format!("Bearer {TOKEN}")) {
            return Err(refuse(
                Code::Unauthenticated,
                "TOKEN_INVALID",
                "no valid token",
                Vec::new(),
            ));
        }
        let message = request.into_inner();
        let json = serde_json::to_value(message.transcode_to_dynamic()).unwrap();
        let (silent, away) = {
            let mut state = self.0.lock().unwrap();
            state.requests.push(json);
            let away = state.failures_left > 0;
            state.failures_left = state.failures_left.saturating_sub(1);
            (state.silent, away)
        };
        if silent {
            std::future::pending::<()>().await;
        }
        if away {
            return Err(refuse(
                Code::Unavailable,
                "STORAGE_UNAVAILABLE",
                "the database is busy",
                Vec::new(),
            ));
        }
        Ok(message)
    }
}

/// A refusal as the API gives it.
pub(crate) fn refuse(code: Code, reason: &str, message: &str, violations: Vec<FieldViolation>) -> Status {
    let mut details = ErrorDetails::new();
    details.set_error_info(reason, "ostler", [("field".to_owned(), "x".to_owned())]);
    if !violations.is_empty() {
        details.set_bad_request(violations);
    }
    Status::with_error_details(code, message, details)
}
