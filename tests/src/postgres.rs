//! A private PostgreSQL server for tests.
//!
//! A [`Cluster`] runs `initdb` and `postgres` in a folder of its own and listens on a Unix socket
//! in it, so it meets no other server and needs no port. It dies with the test process, however
//! that ends: a shell stands between the two, sees its input close, stops the server and removes
//! the folder. Started by root, the server runs as `postgres` or `nobody`, since it refuses root.

mod machine;

use std::fmt::Display;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStderr, Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use ostler_store::{Location, Store};
use sqlx::{AssertSqlSafe, Connection, PgConnection};
use tokio::sync::OnceCell;

use machine::{Owner, binaries, short_temporary_folder};

/// What to do when there is no PostgreSQL.
const INSTALL: &str = "install the PostgreSQL server, for example `apt-get install postgresql` or `dnf install postgresql-server`";
const USER: &str = "ostler";
const TEMPLATE: &str = "ostler_template";
/// The socket in the folder of a server.
const SOCKET: &str = ".s.PGSQL.5432";
const START_TIMEOUT: Duration = Duration::from_secs(60);

/// Starts the server and waits for its own input to end, which it does with the test process. The
/// word `keep` before that end leaves the folder alone. The error output is left to the server, so
/// that its end is the end of the server. Told to quit, the server stops at once.
const WATCHER: &str = r#"
    "$@" &
    server=$!
    exec 2>/dev/null
    while read -r word; do last=$word; done
    kill -QUIT "$server"
    wait "$server"
    [ "$last" = keep ] || rm -rf "$FOLDER"
"#;

/// The cluster all tests of this process share. Not durable: it may lose everything if the machine does.
///
/// # Panics
/// When there is no PostgreSQL on this machine, with a text that says what to install.
pub fn cluster() -> &'static Cluster {
    static CLUSTER: OnceLock<Cluster> = OnceLock::new();
    CLUSTER.get_or_init(|| Cluster::start(false))
}

/// A running PostgreSQL server.
#[derive(Debug)]
pub struct Cluster {
    folder: PathBuf,
    binaries: PathBuf,
    owner: Owner,
    durable: bool,
    server: Option<Child>,
    template: OnceCell<()>,
    databases: AtomicU64,
}

impl Cluster {
    /// Starts a cluster. A durable one keeps `fsync` and what depends on it on, as a shop's server
    /// would, for tests that kill it.
    ///
    /// # Panics
    /// When there is no PostgreSQL on this machine, with a text that says what to install.
    #[must_use]
    pub fn start(durable: bool) -> Self {
        let binaries = binaries();
        let folder = new_folder();
        let owner = Owner::of(&folder);
        let data = folder.join("data");
        let output = owner
            .command(&binaries.join("initdb"), &folder)
            .args([
                "--no-sync",
                "--no-locale",
                "--encoding=UTF8",
                "--auth=trust",
                "--username",
                USER,
                "--pgdata",
            ])
            .arg(&data)
            .output()
            .unwrap_or_else(|error| panic!("initdb cannot be run: {error}; {INSTALL}"));
        assert!(
            output.status.success(),
            "initdb failed: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        let mut cluster = Self {
            folder,
            binaries,
            owner,
            durable,
            server: None,
            template: OnceCell::new(),
            databases: AtomicU64::new(0),
        };
        cluster.run();
        cluster
    }

    /// The URL of a new, empty database.
    ///
    /// # Panics
    /// When the server does not make it.
    pub async fn empty_database(&self) -> String {
        self.create_database("template1").await
    }

    /// The URL of a new database with the current schema and nothing in it, copied from a template.
    ///
    /// # Panics
    /// When the server does not make it.
    pub async fn fresh_database(&self) -> String {
        self.template
            .get_or_init(async || {
                self.execute(&format!("CREATE DATABASE {TEMPLATE}")).await;
                let store = Store::open(&Location::Postgres(self.url(TEMPLATE)), 0)
                    .await
                    .unwrap_or_else(|error| panic!("the template cannot be migrated: {error:?}"));
                store.close().await;
            })
            .await;
        self.create_database(TEMPLATE).await
    }

    /// Removes a database and ends its connections.
    ///
    /// # Panics
    /// When the server does not remove it.
    pub async fn drop_database(&self, url: &str) {
        let name = database_of(url);
        self.execute(&format!("DROP DATABASE {name} WITH (FORCE)")).await;
    }

    /// Starts another server that follows this one and has whatever this one has committed from now on.
    ///
    /// # Panics
    /// When it does not start or follow.
    pub async fn standby(&self) -> Self {
        let standby = self.follower();
        // A commit now waits until the standby has it as well. Set after the copy, which therefore does not say so.
        self.execute("ALTER SYSTEM SET synchronous_standby_names = '*'")
            .await;
        self.execute("SELECT pg_reload_conf()").await;
        standby
    }

    /// Starts another server that follows this one, as far behind as it happens to be.
    ///
    /// # Panics
    /// When it does not start or follow.
    #[must_use]
    pub fn follower(&self) -> Self {
        let folder = new_folder();
        let owner = Owner::of(&folder);
        let output = owner
            .command(&self.binaries.join("pg_basebackup"), &folder)
            .args([
                "--write-recovery-conf",
                "--wal-method=stream",
                "--checkpoint=fast",
                "--username",
                USER,
                "--host",
            ])
            .arg(&self.folder)
            .arg("--pgdata")
            .arg(folder.join("data"))
            .output()
            .unwrap_or_else(|error| panic!("pg_basebackup cannot be run: {error}; {INSTALL}"));
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "pg_basebackup failed: {said}");
        let mut standby = Self {
            folder,
            binaries: self.binaries.clone(),
            owner,
            durable: self.durable,
            server: None,
            template: OnceCell::new(),
            databases: AtomicU64::new(0),
        };
        standby.run();
        standby
    }

    /// The URL by which this server, a follower, has the database at `url` of the one that it follows.
    ///
    /// # Panics
    /// When `url` names no database.
    #[must_use]
    pub fn same_database(&self, url: &str) -> String {
        self.url(database_of(url))
    }

    /// Has a follower take in nothing more until [`Cluster::go_on_following`].
    ///
    /// # Panics
    /// When it is no follower.
    pub async fn stop_following(&self) {
        self.execute("SELECT pg_wal_replay_pause()").await;
    }

    /// See [`Cluster::stop_following`].
    ///
    /// # Panics
    /// When it is no follower.
    pub async fn go_on_following(&self) {
        self.execute("SELECT pg_wal_replay_resume()").await;
    }

    /// Makes a follower a server of its own, beside the one it followed.
    ///
    /// # Panics
    /// When it does not come about.
    pub async fn go_its_own_way(&self) {
        self.execute("SELECT pg_promote(true, 60)").await;
    }

    /// Ends the server `failed` at once and makes this one, its standby, answer in its place.
    ///
    /// # Panics
    /// When it does not take over.
    pub async fn take_over(&self, failed: &mut Self) {
        failed.kill();
        let (own, other) = (self.folder.join(SOCKET), failed.folder.join(SOCKET));
        drop(fs::remove_file(&other));
        std::os::unix::fs::symlink(&own, &other)
            .unwrap_or_else(|error| panic!("{}: {error}", other.display()));
        self.go_its_own_way().await;
    }

    /// Ends the server at once, as if the machine had lost power: nothing is finished or flushed.
    ///
    /// # Panics
    /// When it cannot be ended.
    pub fn kill(&mut self) {
        let Some(server) = self.server.take() else { return };
        signal("KILL", postmaster(&self.folder));
        stop(server, "keep");
    }

    /// Lets the server's processes stand still, as on a disk that does not answer, or go on.
    ///
    /// # Panics
    /// When they cannot be told.
    pub fn stand_still(&self, still: bool) {
        let postmaster = postmaster(&self.folder);
        let path = format!("/proc/{postmaster}/task/{postmaster}/children");
        let children =
            fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path} cannot be read: {error}"));
        let name = if still { "STOP" } else { "CONT" };
        for process in children.split_whitespace() {
            signal(name, process);
        }
    }

    /// Starts the server again after [`Cluster::kill`], or ends it and starts it again. The databases
    /// and their URLs stay.
    ///
    /// # Panics
    /// When it does not start.
    pub fn restart(&mut self) {
        self.kill();
        self.run();
    }

    fn url(&self, database: &str) -> String {
        format!(
            "postgres:///{database}?host={}&user={USER}",
            self.folder.display()
        )
    }

    async fn create_database(&self, template: &str) -> String {
        let name = format!("test_{}", self.databases.fetch_add(1, Ordering::Relaxed));
        self.execute(&format!("CREATE DATABASE {name} TEMPLATE {template}"))
            .await;
        self.url(&name)
    }

    async fn execute(&self, sql: &str) {
        let url = self.url("postgres");
        let outcome = async {
            let mut connection = PgConnection::connect(&url).await?;
            sqlx::raw_sql(AssertSqlSafe(sql)).execute(&mut connection).await?;
            connection.close().await
        };
        outcome
            .await
            .unwrap_or_else(|error: sqlx::Error| panic!("{sql}: {error}"));
    }

    /// Starts the server and waits until it takes connections.
    fn run(&mut self) {
        let deadline = Instant::now() + START_TIMEOUT;
        loop {
            let mut server = self.spawn();
            let stderr = server
                .stderr
                .take()
                .unwrap_or_else(|| panic!("the server has no error output"));
            match wait_until_ready(stderr, deadline) {
                Ok(()) => {
                    self.server = Some(server);
                    return;
                }
                // What a killed server has left takes a moment to end; until then it refuses.
                Err(log) => {
                    stop(server, "keep");
                    let leftover = log.contains("shared memory block") || log.contains("lock file");
                    assert!(
                        leftover && Instant::now() < deadline,
                        "PostgreSQL does not start:\n{log}"
                    );
                }
            }
        }
    }

    fn spawn(&self) -> Child {
        let durable = if self.durable { "on" } else { "off" };
        let mut command = self.owner.command(Path::new("/bin/sh"), &self.folder);
        command
            .arg("-c")
            .arg(WATCHER)
            .arg("watcher")
            .arg(self.binaries.join("postgres"));
        command.arg("-D").arg(self.folder.join("data"));
        for setting in [
            "listen_addresses=",
            "max_connections=500",
            "shared_buffers=64MB",
            "jit=off",
            "logging_collector=off",
            "log_destination=stderr",
            "lc_messages=C",
            &format!("unix_socket_directories={}", self.folder.display()),
            &format!("fsync={durable}"),
            &format!("synchronous_commit={durable}"),
            &format!("full_page_writes={durable}"),
        ] {
            command.args(["-c", setting]);
        }
        command
            .env("FOLDER", &self.folder)
            // Apart from the keyboard's interrupt, which is for the test process.
            .process_group(0)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("PostgreSQL cannot be started: {error}; {INSTALL}"))
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        match self.server.take() {
            Some(server) => stop(server, "remove"),
            None => drop(fs::remove_dir_all(&self.folder)),
        }
    }
}

/// A new folder for a server; whoever runs the server removes it.
fn new_folder() -> PathBuf {
    tempfile::Builder::new()
        .prefix("ostler-pg-")
        .tempdir_in(short_temporary_folder())
        .unwrap_or_else(|error| panic!("no temporary folder for PostgreSQL: {error}"))
        .keep()
}

/// The name of the database at `url`.
fn database_of(url: &str) -> &str {
    url.split(['/', '?'])
        .nth(3)
        .unwrap_or_else(|| panic!("{url} names no database"))
}

/// The process id of the server, which it writes into its folder.
fn postmaster(folder: &Path) -> u32 {
    let path = folder.join("data/postmaster.pid");
    let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let line = text.lines().next().and_then(|line| line.trim().parse().ok());
    line.unwrap_or_else(|| panic!("{} holds no process id", path.display()))
}

/// Sends a signal to a process.
pub(crate) fn signal(name: &str, process: impl Display) {
    let sent = Command::new("kill")
        .arg(format!("-{name}"))
        .arg(process.to_string())
        .status();
    assert!(
        sent.is_ok_and(|status| status.success()),
        "process {process} cannot be sent {name}"
    );
}

/// Tells the watcher its last word, closes its input and waits for it to end.
fn stop(mut server: Child, word: &str) {
    if let Some(mut input) = server.stdin.take() {
        // A watcher that is gone has nothing to be told.
        let _ = writeln!(input, "{word}");
    }
    let _ = server.wait();
}

/// Reads the log of the server until it takes connections. The log is read on for as long as the
/// server runs, so that it never blocks on a full pipe.
fn wait_until_ready(stderr: ChildStderr, deadline: Instant) -> Result<(), String> {
    let (sender, receiver) = channel();
    std::thread::spawn(move || forward(stderr, &sender));
    let mut log = String::new();
    loop {
        match receiver.recv_timeout(deadline.saturating_duration_since(Instant::now())) {
            Ok(line) if line.contains("database system is ready to accept") => return Ok(()),
            Ok(line) => {
                log.push_str(&line);
                log.push('\n');
            }
            Err(RecvTimeoutError::Disconnected | RecvTimeoutError::Timeout) => return Err(log),
        }
    }
}

/// Sends the lines on for as long as somebody listens, and reads them in any case.
fn forward(stderr: ChildStderr, sender: &Sender<String>) {
    for line in BufReader::new(stderr).lines() {
        let Ok(line) = line else { return };
        let _ = sender.send(line);
    }
}
