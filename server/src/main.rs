//! `ostlerd`: the command line of the server.

mod check_command;
mod serve_command;
mod token_command;

use std::io::{IsTerminal as _, Write as _};
use std::path::PathBuf;

use anyhow::Context as _;
use clap::{Args, Parser, Subcommand, ValueEnum};
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_server::config;
use ostler_server::config::file::ConfigFile;
use ostler_server::traces::Traces;
use ostler_store::{Location, Store};
use tracing_subscriber::layer::SubscriberExt as _;
use tracing_subscriber::util::SubscriberInitExt as _;
use tracing_subscriber::{EnvFilter, Layer as _};

/// Keeps the record of fleets being prepared and answers whether they are ready.
#[derive(Debug, Parser)]
#[command(name = "ostlerd", version = ostler_server::release::text(), arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the API.
    Serve(serve_command::Serve),
    /// Make, list and revoke access tokens. Works on the database itself, beside a running server.
    Token(token_command::TokenArguments),
    /// Check a whole database: that the history, replayed, gives the record, that its chain of seals is unbroken, that
    /// everything can be read, and that issued load sheets are as issued. Works beside a running server; writes nothing.
    Check(check_command::Check),
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

fn main() -> anyhow::Result<()> {
    let cli = Cli::parse();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match cli.command {
            Command::Serve(serve) => serve_command::run(serve).await,
            Command::Token(arguments) => {
                log_as(LogFormat::Text, None);
                token_command::run(arguments).await
            }
            Command::Check(arguments) => check_command::run(arguments).await,
            Command::Backup(backup) => self::backup(backup).await,
            Command::Describe(what) => describe(&what),
        }
    })
}

/// Begins the log, on standard error, and the traces.
fn log_as(format: LogFormat, traces: Option<&Traces>) {
    let filter = EnvFilter::try_from_env("OSTLERD_LOG").unwrap_or_else(|_| EnvFilter::new("info,sqlx=warn"));
    let log = tracing_subscriber::fmt::layer()
        .with_ansi(std::io::stderr().is_terminal())
        .with_writer(std::io::stderr);
    let log = match format {
        LogFormat::Text => log.boxed(),
        LogFormat::Json => log.json().flatten_event(true).boxed(),
    };
    tracing_subscriber::registry()
        .with(log.with_filter(filter))
        .with(traces.map(Traces::layer))
        .init();
}

/// Opens the record of a command that works beside a server.
async fn open(place: Place) -> anyhow::Result<Store> {
    log_as(LogFormat::Text, None);
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
