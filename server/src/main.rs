//! `ostlerd`: the command line of the server.

mod token_command;

use std::io::Write as _;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use anyhow::Context as _;
use clap::{Args, Parser, Subcommand};
use ostler_server::Opened;
use ostler_server::config::{self, Config};
use ostler_store::Location;
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
            Command::Token(arguments) => token_command::run(arguments).await,
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

fn describe() -> anyhow::Result<()> {
    let mut output = std::io::stdout().lock();
    serde_json::to_writer_pretty(&mut output, &ostler_server::openapi::document())?;
    writeln!(output)?;
    Ok(())
}
