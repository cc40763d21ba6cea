//! The programs themselves, as processes: `ostlerd` on a data folder of the test, `ostler` to call.
//!
//! A server dies with the process that started it, however that one ends: between the two stands a
//! shell whose input ends with the test process, and which then kills the server.

use std::env;
use std::io::{BufRead as _, BufReader, Read};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use tonic::metadata::{Ascii, MetadataValue};
use tonic::service::Interceptor;
use tonic::service::interceptor::InterceptedService;
use tonic::transport::{Channel, ClientTlsConfig, Endpoint};
use tonic::{Request, Status};
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;

use crate::cargo::cargo;
use crate::postgres::signal;

/// How long a server may take to start or to end.
const PATIENCE: Duration = Duration::from_secs(60);

/// Starts the server, which says its process id before anything else, and ends as it ends. Signal 25 (a file grows beyond its
/// limit) is ignored, so that such a limit is met as a full disk is: by an error. When its own
/// input ends first, as it does with the test process, it kills the server.
const WATCHER: &str = r#"
    exec 3<&0
    /bin/sh -c 'echo "process $$"; trap "" 25; exec "$@"' server "$@" 3<&- </dev/null &
    server=$!
    (
        while read -r word; do :; done <&3
        kill -KILL "$server"
    ) >/dev/null 2>&1 &
    watcher=$!
    exec 3<&-
    wait "$server"
    status=$?
    kill "$watcher" 2>/dev/null
    exit "$status"
"#;

/// A channel that sends the token along.
pub type AuthorizedChannel = InterceptedService<Channel, Bearer>;

/// Puts a token into every call.
#[derive(Debug, Clone)]
pub struct Bearer(MetadataValue<Ascii>);

impl Bearer {
    /// Sends `token`.
    ///
    /// # Panics
    /// When it cannot be sent in a header.
    #[must_use]
    pub fn new(token: &str) -> Self {
        let value = format!("Bearer {token}").parse();
        Self(value.unwrap_or_else(|error| panic!("the token is no header value: {error}")))
    }
}

impl Interceptor for Bearer {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        request.metadata_mut().insert("authorization", self.0.clone());
        Ok(request)
    }
}

/// The program `name`, built from the sources as they are now, beside the tests that run.
///
/// # Panics
/// When it is not there and cannot be built.
#[must_use]
pub fn program(name: &str) -> PathBuf {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    let path = FOLDER
        .get_or_init(built_programs)
        .join(format!("{name}{}", env::consts::EXE_SUFFIX));
    assert!(
        path.is_file(),
        "{} is missing: run `cargo build --workspace`",
        path.display()
    );
    path
}

/// The folder of the programs, after cargo has made sure that they are up to date. Without cargo, as
/// when a test binary is run by hand, what is there is taken.
fn built_programs() -> PathBuf {
    let own = env::current_exe().unwrap_or_else(|error| panic!("this process has no path: {error}"));
    let folder = own
        .ancestors()
        .skip(1)
        .find(|folder| folder.file_name().is_some_and(|name| name != "deps"))
        .unwrap_or_else(|| panic!("{} is in no build folder", own.display()))
        .to_owned();
    if env::var_os("CARGO").is_none() {
        return folder;
    }
    let (Some(target), Some(profile)) = (folder.parent(), folder.file_name().and_then(|name| name.to_str()))
    else {
        return folder;
    };
    // What is selected decides which features of libraries are on. With the examples those of the tests are, and without
    // them those of the programs: so no library is built a second time.
    let of_tests = own.parent().is_some_and(|parent| parent != folder);
    let output = cargo()
        .args(["build", "--quiet", "--workspace", "--bins"])
        .args(of_tests.then_some("--examples"))
        .args(["--profile", if profile == "debug" { "dev" } else { profile }])
        .arg("--target-dir")
        .arg(target)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap_or_else(|error| panic!("cargo cannot be run to build ostlerd and ostler: {error}"));
    assert!(
        output.status.success(),
        "ostlerd and ostler cannot be built:\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    folder
}

/// What a process left when it ended.
#[derive(Debug)]
pub struct Ended {
    /// Its exit code; 128 and the number of the signal when one ended it.
    pub code: i32,
    /// Its error output: the log of a server.
    pub log: String,
}

/// How a server is started.
#[derive(Debug, Clone)]
pub struct Launch {
    arguments: Vec<String>,
    environment: Vec<(String, String)>,
    tls: Option<ClientTlsConfig>,
}

impl Launch {
    /// `ostlerd serve` on a port of its own choice, with a data folder.
    ///
    /// # Panics
    /// When the path is not UTF-8.
    #[must_use]
    pub fn on(data_folder: &Path) -> Self {
        let folder = data_folder
            .to_str()
            .unwrap_or_else(|| panic!("{} is not UTF-8", data_folder.display()));
        Self::plain().argument("--data-folder").argument(folder)
    }

    /// `ostlerd serve` on a port of its own choice, with the data folder of the account.
    #[must_use]
    pub fn plain() -> Self {
        Self {
            arguments: ["serve", "--listen", "127.0.0.1:0"].map(str::to_owned).to_vec(),
            environment: Vec::new(),
            tls: None,
        }
    }

    /// `ostlerd serve`, told everything else by its environment.
    #[must_use]
    pub fn told_by_its_environment() -> Self {
        Self {
            arguments: vec!["serve".to_owned()],
            environment: Vec::new(),
            tls: None,
        }
    }

    /// Called over TLS, as the server that it starts was told to.
    #[must_use]
    pub fn called_over(mut self, tls: ClientTlsConfig) -> Self {
        self.tls = Some(tls);
        self
    }

    /// With another argument.
    #[must_use]
    pub fn argument(mut self, argument: &str) -> Self {
        self.arguments.push(argument.to_owned());
        self
    }

    /// On another address.
    #[must_use]
    pub fn listening(mut self, address: &str) -> Self {
        address.clone_into(&mut self.arguments[2]);
        self
    }

    /// With the record in the database at `url`.
    #[must_use]
    pub fn database(self, url: &str) -> Self {
        self.argument("--database").argument(url)
    }

    /// With a variable in its environment.
    #[must_use]
    pub fn variable(mut self, name: &str, value: &str) -> Self {
        self.environment.push((name.to_owned(), value.to_owned()));
        self
    }

    /// Starts it and waits for its end, for servers that must not come up.
    ///
    /// # Panics
    /// When it does not end.
    #[must_use]
    pub fn run_to_its_end(&self) -> Ended {
        Watched::start(self).end()
    }
}

/// A server as a process of its own.
#[derive(Debug)]
pub struct Server {
    launch: Launch,
    watched: Watched,
    address: SocketAddr,
}

impl Server {
    /// Starts a server and waits until it serves.
    ///
    /// # Panics
    /// When it does not come up, with its log.
    pub async fn start(launch: Launch) -> Self {
        let watched = Watched::start(&launch);
        let Some(address) = watched.line_after("listening on ") else {
            panic!("ostlerd does not come up:\n{}", watched.end().log)
        };
        let address = address
            .parse()
            .unwrap_or_else(|error| panic!("ostlerd listens on {address:?}: {error}"));
        let server = Self {
            launch,
            watched,
            address,
        };
        if let Err(error) = server.health().await {
            server.watched.signal("KILL");
            panic!("ostlerd does not serve: {error}\n{}", server.watched.end().log);
        }
        server
    }

    async fn health(&self) -> Result<(), Box<dyn std::error::Error>> {
        let request = HealthCheckRequest::default();
        HealthClient::new(self.channel().await?).check(request).await?;
        Ok(())
    }

    /// Its process id.
    #[must_use]
    pub fn process_id(&self) -> &str {
        &self.watched.process
    }

    /// Where it listens.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// A connection of its own.
    ///
    /// # Errors
    /// When the server is gone.
    pub async fn channel(&self) -> Result<Channel, tonic::transport::Error> {
        let endpoint = match &self.launch.tls {
            None => Endpoint::from_shared(format!("http://{}", self.address))?,
            Some(tls) => Endpoint::from_shared(format!("https://localhost:{}", self.address.port()))?
                .tls_config(tls.clone())?,
        };
        endpoint
            .timeout(PATIENCE)
            .tcp_nodelay(true)
            // As the command line has it.
            .initial_stream_window_size(4 << 20)
            .initial_connection_window_size(4 << 20)
            .connect()
            .await
    }

    /// A connection of its own that sends `token` along.
    ///
    /// # Errors
    /// When the server is gone.
    pub async fn authorized(&self, token: &str) -> Result<AuthorizedChannel, tonic::transport::Error> {
        Ok(InterceptedService::new(self.channel().await?, Bearer::new(token)))
    }

    /// Ends it at once, as if it had crashed: `kill -9`.
    ///
    /// # Panics
    /// When it ended before, or does not end.
    pub fn kill(self) -> Launch {
        self.watched.signal("KILL");
        let ended = self.watched.end();
        assert_eq!(
            ended.code,
            128 + 9,
            "killed, it ends by the signal:\n{}",
            ended.log
        );
        self.launch
    }

    /// Asks it to stop, as `systemctl stop` would: `kill -TERM`. [`Server::end`] waits for the end.
    ///
    /// # Panics
    /// When it ended before.
    pub fn ask_to_stop(&self) {
        self.watched.signal("TERM");
    }

    /// Waits for its end.
    ///
    /// # Panics
    /// When it does not end.
    #[must_use]
    pub fn end(self) -> Ended {
        self.watched.end()
    }
}

/// The admin token that a server wrote into its data folder.
///
/// # Panics
/// When there is none.
#[must_use]
pub fn admin_token(data_folder: &Path) -> String {
    let path = data_folder.join("admin-token");
    let text = std::fs::read_to_string(&path);
    text.unwrap_or_else(|error| panic!("{}: {error}", path.display()))
        .trim()
        .to_owned()
}

/// A server and the shell that watches over it.
#[derive(Debug)]
struct Watched {
    watcher: Child,
    /// Held open for as long as the server may live.
    input: Option<ChildStdin>,
    process: String,
    output: Receiver<String>,
    log: JoinHandle<String>,
}

impl Watched {
    fn start(launch: &Launch) -> Self {
        let mut watcher = Command::new("/bin/sh")
            .args(["-c", WATCHER, "watcher"])
            .arg(program("ostlerd"))
            .args(&launch.arguments)
            .envs(launch.environment.iter().map(|(name, value)| (name, value)))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("a shell cannot be started: {error}"));
        let input = watcher.stdin.take();
        let output = lines(watcher.stdout.take());
        let errors = watcher.stderr.take();
        let log = std::thread::spawn(move || text(errors));
        let mut watched = Self {
            watcher,
            input,
            process: String::new(),
            output,
            log,
        };
        watched.process = watched
            .line_after("process ")
            .unwrap_or_else(|| panic!("the shell starts nothing"));
        watched
    }

    /// What follows `start` in the first line with it. `None`: the output ended without one.
    fn line_after(&self, start: &str) -> Option<String> {
        let deadline = Instant::now() + PATIENCE;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            match self.output.recv_timeout(left) {
                Ok(line) => {
                    if let Some(rest) = line.strip_prefix(start) {
                        return Some(rest.to_owned());
                    }
                }
                Err(RecvTimeoutError::Disconnected) => return None,
                Err(RecvTimeoutError::Timeout) => panic!("no line with {start:?} within {PATIENCE:?}"),
            }
        }
    }

    fn signal(&self, name: &str) {
        signal(name, &self.process);
    }

    /// Waits for the end of the output, which is the end of the process.
    fn end(mut self) -> Ended {
        let deadline = Instant::now() + PATIENCE;
        let in_time = loop {
            let left = deadline.saturating_duration_since(Instant::now());
            match self.output.recv_timeout(left) {
                Ok(_) => {}
                Err(RecvTimeoutError::Disconnected) => break true,
                Err(RecvTimeoutError::Timeout) => break false,
            }
        };
        // The end of the shell's input is the end of a server that did not end by itself.
        drop(self.input.take());
        let status = self.watcher.wait();
        let log = self.log.join().unwrap_or_default();
        assert!(in_time, "ostlerd does not end within {PATIENCE:?}:\n{log}");
        let code = status.ok().and_then(|status| status.code());
        Ended {
            code: code.unwrap_or_else(|| panic!("the shell was ended by a signal:\n{log}")),
            log,
        }
    }
}

/// The lines of an output as they come. It is read on for as long as it lasts, so that it never blocks.
fn lines(output: Option<impl Read + Send + 'static>) -> Receiver<String> {
    let (sender, receiver) = channel();
    std::thread::spawn(move || {
        for line in output
            .into_iter()
            .flat_map(|output| BufReader::new(output).lines())
        {
            let Ok(line) = line else { return };
            let _ = sender.send(line);
        }
    });
    receiver
}

fn text(output: Option<impl Read>) -> String {
    let mut bytes = Vec::new();
    if let Some(mut output) = output {
        // What was read before a fault is worth showing.
        let _ = output.read_to_end(&mut bytes);
    }
    String::from_utf8_lossy(&bytes).into_owned()
}
