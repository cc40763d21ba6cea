//! `ostlerd`: the command line of the server.

mod token_command;

use std::io::{IsTerminal as _, Write as _};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use anyhow::Context as _;
use clap::{Args, Parser, Subcommand, ValueEnum};
use ostler_server::Opened;
use ostler_server::app::check::check_whole;
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_server::config::file::ConfigFile;
use ostler_server::config::tls::Tls;
use ostler_server::config::{self, Config};
use ostler_server::limits::Limits;
use ostler_store::{Location, Store};
use tokio::net::TcpListener;
use tracing_subscriber::EnvFilter;

/// Keeps the record of fleets being prepared and answers whether they are ready.
#[derive(Debug, Parser)]
#[command(version, arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the API.
    Serve(Serve),
    /// Make, list and revoke access tokens. Works on the database itself, beside a running server.
    Token(token_command::TokenArguments),
    /// Check a whole database: that the history, replayed, gives the record, that everything can be read, and that
    /// issued load sheets are as issued. Works beside a running server; writes nothing.
    Check(Place),
    /// Copy a SQLite database into a new file while servers use it. PostgreSQL has pg_dump for that.
    Backup(Backup),
    /// Print the API's plain HTTP form as an OpenAPI document.
    Describe(Describe),
}

#[derive(Debug, Args)]
struct Describe {
    /// Print the JSON Schema of load sheets in their JSON form instead.
    #[arg(long)]
    load_sheet: bool,
}

#[derive(Debug, Args)]
struct Place {
    /// Configuration file (TOML). Flags count before the environment, and that before the file.
    #[arg(long, env = "OSTLERD_CONFIG", value_name = "FILE")]
    config: Option<PathBuf>,
    /// Where the record is kept: sqlite:PATH or postgres://USER@HOST/DATABASE. Default: a SQLite file in the data folder.
    #[arg(long, env = "OSTLERD_DATABASE", value_name = "URL", hide_env_values = true)]
    database: Option<Location>,
    /// Folder for the admin token and the SQLite file. Default: `ostler` in the user's data folder.
    #[arg(long, env = "OSTLERD_DATA_FOLDER", value_name = "FOLDER")]
    data_folder: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct Serve {
    #[command(flatten)]
    place: Place,
    /// Address and port to listen on; port 0 picks a free one. Default: 127.0.0.1:7350.
    #[arg(long, env = "OSTLERD_LISTEN", value_name = "ADDRESS")]
    listen: Option<SocketAddr>,
    /// Listen beyond this machine without TLS: tokens and records then cross the network readable by
    /// anyone on it.
    #[arg(long, env = "OSTLERD_ALLOW_PLAIN_NETWORK")]
    allow_plain_network: bool,
    /// Certificate of the server (PEM), followed by those that vouch for it: calls then come over TLS only.
    #[arg(long, env = "OSTLERD_TLS_CERTIFICATE", value_name = "FILE")]
    tls_certificate: Option<PathBuf>,
    /// Private key of that certificate (PEM).
    #[arg(long, env = "OSTLERD_TLS_KEY", value_name = "FILE")]
    tls_key: Option<PathBuf>,
    /// Certificates (PEM) that every client's certificate must be vouched for by. Default: clients need none.
    #[arg(long, env = "OSTLERD_TLS_CLIENT_CA", value_name = "FILE")]
    tls_client_ca: Option<PathBuf>,
    /// Address to serve measurements on, at /metrics, without TLS or token: keep it from strangers. Default: nowhere.
    #[arg(long, env = "OSTLERD_METRICS", value_name = "ADDRESS")]
    metrics: Option<SocketAddr>,
    /// Folder of fonts (TrueType, OpenType) that pages take characters from which the fonts of the program lack, for example Chinese
    /// ones. Default: none.
    #[arg(long, env = "OSTLERD_FONTS", value_name = "FOLDER")]
    fonts: Option<PathBuf>,
    /// Calls that one token may make a second; 0: any number. Default: 0.
    #[arg(long, env = "OSTLERD_CALLS_PER_SECOND", value_name = "N")]
    calls_per_second: Option<u32>,
    /// Calls of one token that may go on at once; 0: any number. Default: 256.
    #[arg(long, env = "OSTLERD_CALLS_IN_FLIGHT", value_name = "N")]
    calls_in_flight: Option<u32>,
    /// Streams of one token that may go on at once; 0: any number. Default: 64.
    #[arg(long, env = "OSTLERD_STREAMS_IN_FLIGHT", value_name = "N")]
    streams_in_flight: Option<u32>,
    /// Calls that may go on at once in all; 0: any number. Default: 32 for each processor.
    #[arg(long, env = "OSTLERD_SERVER_CALLS_IN_FLIGHT", value_name = "N")]
    server_calls_in_flight: Option<u32>,
    /// Form of the log. Default: text.
    #[arg(long, env = "OSTLERD_LOG_FORMAT", value_name = "FORM")]
    log_format: Option<LogFormat>,
    /// Print the configuration as it would be used, and stop.
    #[arg(long)]
    print_config: bool,
}

#[derive(Debug, Args)]
struct Backup {
    #[command(flatten)]
    place: Place,
    /// The file to write. It must not be there yet.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

/// Form of the log.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
enum LogFormat {
    /// A line for people.
    #[default]
    Text,
    /// A JSON object a line.
    Json,
}

fn listen_default() -> SocketAddr {
    SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), config::PORT_DEFAULT)
}

impl Place {
    fn file(&self) -> anyhow::Result<ConfigFile> {
        Ok(match &self.config {
            Some(path) => ConfigFile::read(path)?,
            None => ConfigFile::default(),
        })
    }

    fn resolve(self, file: &ConfigFile) -> anyhow::Result<(Location, PathBuf)> {
        let data_folder = self
            .data_folder
            .or_else(|| file.data_folder.clone())
            .or_else(config::data_folder_default)
            .context("this account has no data folder: give one with --data-folder")?;
        let in_file = || -> anyhow::Result<Option<Location>> {
            let Some(url) = &file.database else {
                return Ok(None);
            };
            let location = url.parse::<Location>();
            Ok(Some(location.context(
                "`database` of the configuration file is no place of a record",
            )?))
        };
        let location = match self.database {
            Some(location) => Some(location),
            None => in_file()?,
        };
        Ok((
            location.unwrap_or_else(|| config::database_default(&data_folder)),
            data_folder,
        ))
    }
}

impl Serve {
    /// Flags and environment, then the file, then what is so by default.
    fn resolve(self, file: &ConfigFile) -> anyhow::Result<(Config, SocketAddr)> {
        let listen = self.listen.or(file.listen).unwrap_or_else(listen_default);
        let certificate = self.tls_certificate.or_else(|| file.tls.certificate.clone());
        let key = self.tls_key.or_else(|| file.tls.key.clone());
        let client_ca = self.tls_client_ca.or_else(|| file.tls.client_ca.clone());
        let tls = match (certificate, key) {
            (Some(certificate), Some(key)) => Some(Tls::read(&certificate, &key, client_ca.as_deref())?),
            (None, None) => {
                anyhow::ensure!(
                    client_ca.is_none(),
                    "client certificates need --tls-certificate and --tls-key"
                );
                None
            }
            _ => anyhow::bail!("TLS needs both --tls-certificate and --tls-key"),
        };
        let usual = Limits::default();
        let limits = Limits {
            calls_per_second: self
                .calls_per_second
                .or(file.limits.calls_per_second)
                .unwrap_or(usual.calls_per_second),
            calls_in_flight: self
                .calls_in_flight
                .or(file.limits.calls_in_flight)
                .unwrap_or(usual.calls_in_flight),
            streams_in_flight: self
                .streams_in_flight
                .or(file.limits.streams_in_flight)
                .unwrap_or(usual.streams_in_flight),
            server_calls_in_flight: self
                .server_calls_in_flight
                .or(file.limits.server_calls_in_flight)
                .unwrap_or(usual.server_calls_in_flight),
        };
        let (location, data_folder) = self.place.resolve(file)?;
        let config = Config {
            allow_plain_network: self.allow_plain_network || file.allow_plain_network.unwrap_or(false),
            tls,
            limits,
            metrics: self.metrics.or(file.metrics),
            fonts: self.fonts.or_else(|| file.fonts.clone()),
            ..Config::new(location, data_folder)
        };
        Ok((config, listen))
    }
}

fn main() -> anyhow::Result<()> {
    let cli = Cli::parse();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match cli.command {
            Command::Serve(serve) => self::serve(serve).await,
            Command::Token(arguments) => {
                log_as(LogFormat::Text);
                token_command::run(arguments).await
            }
            Command::Check(place) => check(place).await,
            Command::Backup(backup) => self::backup(backup).await,
            Command::Describe(what) => describe(&what),
        }
    })
}

/// Begins the log, on standard error.
fn log_as(format: LogFormat) {
    let filter = EnvFilter::try_from_env("OSTLERD_LOG").unwrap_or_else(|_| EnvFilter::new("info,sqlx=warn"));
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(std::io::stderr().is_terminal())
        .with_writer(std::io::stderr);
    match format {
        LogFormat::Text => log.init(),
        LogFormat::Json => log.json().flatten_event(true).init(),
    }
}

async fn serve(arguments: Serve) -> anyhow::Result<()> {
    let file = arguments.place.file()?;
    let in_file = file
        .log_format
        .as_deref()
        .map(|word| LogFormat::from_str(word, false));
    let in_file = in_file
        .transpose()
        .map_err(|problem| anyhow::anyhow!("`log_format`: {problem}"))?;
    log_as(arguments.log_format.or(in_file).unwrap_or_default());
    let print_config = arguments.print_config;
    let (config, listen) = arguments.resolve(&file)?;
    if print_config {
        return print(&config, listen);
    }
    config::check_address(listen, &config)
        .context("listen on 127.0.0.1, give --tls-certificate and --tls-key, or say --allow-plain-network to do it all the same")?;
    let listener = TcpListener::bind(listen)
        .await
        .with_context(|| format!("cannot listen on {listen}"))?;
    let opened = Opened::open(&config, &listener).await?;
    let address = listener.local_addr()?;
    // Said only now: whoever waits for this line may call.
    {
        let mut out = std::io::stdout().lock();
        writeln!(out, "listening on {address}")?;
        if let Some(metrics) = opened.metrics_address() {
            writeln!(out, "measurements on {metrics}")?;
        }
        out.flush()?;
    }
    tracing::info!(%address, database = %config.location, tls = config.tls.is_some(), "serving");
    opened.serve(listener, asked_to_stop()).await?;
    tracing::info!("stopped");
    Ok(())
}

/// Prints the configuration; what is secret in it is left out.
fn print(config: &Config, listen: SocketAddr) -> anyhow::Result<()> {
    let Config {
        location,
        data_folder,
        allow_plain_network,
        tls,
        limits,
        metrics,
        fonts,
    } = config;
    let client_certificates = tls.as_ref().is_some_and(|tls| tls.client_ca_pem.is_some());
    let mut out = std::io::stdout().lock();
    writeln!(out, "database = {:?}", location.to_string())?;
    writeln!(out, "data_folder = {:?}", data_folder.display().to_string())?;
    writeln!(out, "listen = {:?}", listen.to_string())?;
    writeln!(out, "allow_plain_network = {allow_plain_network}")?;
    if let Some(metrics) = metrics {
        writeln!(out, "metrics = {:?}", metrics.to_string())?;
    }
    if let Some(fonts) = fonts {
        writeln!(out, "fonts = {:?}", fonts.display().to_string())?;
    }
    writeln!(
        out,
        "# tls: {}, client certificates: {client_certificates}",
        tls.is_some()
    )?;
    writeln!(out, "[limits]\ncalls_per_second = {}", limits.calls_per_second)?;
    writeln!(out, "calls_in_flight = {}", limits.calls_in_flight)?;
    writeln!(out, "streams_in_flight = {}", limits.streams_in_flight)?;
    writeln!(out, "server_calls_in_flight = {}", limits.server_calls_in_flight)?;
    Ok(())
}

/// Resolves when the process is interrupted or terminated.
async fn asked_to_stop() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        match signal(SignalKind::terminate()) {
            Ok(mut terminated) => tokio::select! {
                _ = interrupted => {}
                _ = terminated.recv() => {}
            },
            Err(_) => drop(interrupted.await),
        }
    }
    #[cfg(not(unix))]
    drop(interrupted.await);
}

/// Opens the record of a command that works beside a server.
async fn open(place: Place) -> anyhow::Result<Store> {
    log_as(LogFormat::Text);
    let (location, _) = {
        let file = place.file()?;
        place.resolve(&file)?
    };
    if let Location::SqliteFile(path) = &location {
        anyhow::ensure!(path.is_file(), "there is no database at {}", path.display());
    }
    let now = SystemClock::default().now_micros();
    Store::open(&location, now)
        .await
        .with_context(|| format!("the record at {location} cannot be opened"))
}

async fn check(place: Place) -> anyhow::Result<()> {
    let store = open(place).await?;
    let report = check_whole(&store).await;
    store.close().await;
    let report = report.context("the database cannot be read")?;
    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "fleets: {}, resources: {}, entries of history: {}, issued load sheets: {}",
        report.fleets, report.resources, report.history_entries, report.issued_sheets
    )?;
    for (about, problem) in &report.faults {
        writeln!(out, "{about}: {problem}")?;
    }
    anyhow::ensure!(
        report.faults.is_empty(),
        "{} faults were found",
        report.faults.len()
    );
    writeln!(out, "nothing is wrong")?;
    Ok(())
}

async fn backup(arguments: Backup) -> anyhow::Result<()> {
    let Backup { place, out } = arguments;
    anyhow::ensure!(!out.exists(), "{} is there already", out.display());
    let store = open(place).await?;
    let copied = store.copy_to(&out).await;
    store.close().await;
    copied.context("no copy was made; a PostgreSQL database is copied with pg_dump")?;
    writeln!(std::io::stdout().lock(), "copied into {}", out.display())?;
    Ok(())
}

fn describe(what: &Describe) -> anyhow::Result<()> {
    let document = match what.load_sheet {
        true => ostler_server::openapi::load_sheet_schema(),
        false => ostler_server::openapi::document(),
    };
    let mut output = std::io::stdout().lock();
    serde_json::to_writer_pretty(&mut output, &document)?;
    writeln!(output)?;
    Ok(())
}
