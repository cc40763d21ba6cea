//! `ostlerd`: the command line of the server.

use std::io::Write as _;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use anyhow::Context as _;
use clap::{Args, Parser, Subcommand, ValueEnum};
use ostler_proto::v1::Role;
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_server::config::{self, Config};
use ostler_server::{Opened, access};
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
    Token(TokenArguments),
    /// Print the API's plain HTTP form as an OpenAPI document.
    Describe,
}

#[derive(Debug, Args)]
struct Place {
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
    /// Address and port to listen on; port 0 picks a free one.
    #[arg(long, env = "OSTLERD_LISTEN", value_name = "ADDRESS", default_value_t = listen_default())]
    listen: SocketAddr,
    /// Listen beyond this machine without TLS: tokens and records then cross the network readable by
    /// anyone on it.
    #[arg(long, env = "OSTLERD_ALLOW_PLAIN_NETWORK")]
    allow_plain_network: bool,
    /// Print the configuration as it would be used, and stop.
    #[arg(long)]
    print_config: bool,
}

#[derive(Debug, Args)]
struct TokenArguments {
    #[command(flatten)]
    place: Place,
    #[command(subcommand)]
    command: TokenCommand,
}

#[derive(Debug, Subcommand)]
enum TokenCommand {
    /// Make a token and print it: it is shown this once.
    Add {
        /// Name of the token, as the history shows it.
        id: String,
        /// What its holder may do.
        #[arg(long, value_enum)]
        role: RoleArgument,
    },
    /// List the tokens.
    List,
    /// Revoke a token. Servers take notice within seconds.
    Revoke {
        /// Name of the token.
        id: String,
    },
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum RoleArgument {
    Reader,
    Workshop,
    Lead,
    Admin,
}

impl From<RoleArgument> for Role {
    fn from(argument: RoleArgument) -> Self {
        match argument {
            RoleArgument::Reader => Self::Reader,
            RoleArgument::Workshop => Self::Workshop,
            RoleArgument::Lead => Self::Lead,
            RoleArgument::Admin => Self::Admin,
        }
    }
}

fn listen_default() -> SocketAddr {
    SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), config::PORT_DEFAULT)
}

impl Place {
    fn resolve(self) -> anyhow::Result<(Location, PathBuf)> {
        let data_folder = self
            .data_folder
            .or_else(config::data_folder_default)
            .context("this account has no data folder: give one with --data-folder")?;
        let location = self
            .database
            .unwrap_or_else(|| config::database_default(&data_folder));
        Ok((location, data_folder))
    }
}

fn main() -> anyhow::Result<()> {
    let cli = Cli::parse();
    let filter = EnvFilter::try_from_env("OSTLERD_LOG").unwrap_or_else(|_| EnvFilter::new("info,sqlx=warn"));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .init();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match cli.command {
            Command::Serve(serve) => self::serve(serve).await,
            Command::Token(arguments) => token(arguments).await,
            Command::Describe => describe(),
        }
    })
}

async fn serve(arguments: Serve) -> anyhow::Result<()> {
    let Serve {
        place,
        listen,
        allow_plain_network,
        print_config,
    } = arguments;
    let (location, data_folder) = place.resolve()?;
    if print_config {
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "database = {:?}\ndata_folder = {:?}\nlisten = {:?}\nallow_plain_network = {allow_plain_network}",
            location.to_string(),
            data_folder.display().to_string(),
            listen.to_string()
        )?;
        return Ok(());
    }
    config::check_address(listen, allow_plain_network)
        .context("listen on 127.0.0.1, or say --allow-plain-network to do it all the same")?;
    let listener = TcpListener::bind(listen)
        .await
        .with_context(|| format!("cannot listen on {listen}"))?;
    let config = Config {
        location,
        data_folder,
        allow_plain_network,
    };
    let opened = Opened::open(&config, &listener).await?;
    let address = listener.local_addr()?;
    // Said only now: whoever waits for this line may call.
    {
        let mut out = std::io::stdout().lock();
        writeln!(out, "listening on {address}")?;
        out.flush()?;
    }
    tracing::info!(%address, database = %config.location, "serving");
    opened.serve(listener, asked_to_stop()).await?;
    tracing::info!("stopped");
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

async fn token(arguments: TokenArguments) -> anyhow::Result<()> {
    let (location, data_folder) = arguments.place.resolve()?;
    std::fs::create_dir_all(&data_folder)
        .with_context(|| format!("cannot make the data folder {}", data_folder.display()))?;
    let now = SystemClock::default().now_micros();
    let store = Store::open(&location, now)
        .await
        .context("cannot open the record")?;
    let outcome = token_command(&store, arguments.command, now).await;
    store.close().await;
    outcome
}

async fn token_command(store: &Store, command: TokenCommand, now_micros: i64) -> anyhow::Result<()> {
    let mut out = std::io::stdout();
    match command {
        TokenCommand::Add { id, role } => {
            let secret = access::add_token(store, &id, role.into(), now_micros)
                .await
                .with_context(|| format!("cannot make the token {id}"))?;
            writeln!(out, "{secret}")?;
        }
        TokenCommand::List => {
            for token in store.tokens().await? {
                let state = if token.revoke_time.is_some() {
                    "revoked"
                } else {
                    "valid"
                };
                writeln!(out, "{}\t{}\t{state}", token.id, token.role)?;
            }
        }
        TokenCommand::Revoke { id } => {
            anyhow::ensure!(
                store.revoke_token(&id, now_micros).await?,
                "there is no token {id} to revoke"
            );
        }
    }
    Ok(())
}

fn describe() -> anyhow::Result<()> {
    let mut output = std::io::stdout().lock();
    serde_json::to_writer_pretty(&mut output, &ostler_server::openapi::document())?;
    writeln!(output)?;
    Ok(())
}
