//! `ostlerd serve`: what a server is told, and serving until it is asked to stop.

use std::io::Write as _;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use anyhow::Context as _;
use clap::{Args, ValueEnum as _};
use ostler_server::Opened;
use ostler_server::config::file::ConfigFile;
use ostler_server::config::tls::Tls;
use ostler_server::config::{self, Config};
use ostler_server::limits::Limits;
use ostler_server::release;
use ostler_server::traces::{Collector, Traces};
use ostler_store::Location;
use tokio::net::TcpListener;

use crate::{LogFormat, Place, log_as};

#[derive(Debug, Args)]
pub(crate) struct Serve {
    #[command(flatten)]
    place: Place,
    /// Hot standby of the PostgreSQL database, by URL, that whole records are read from wherever it is as far as the
    /// database itself. Default: none.
    #[arg(
        long,
        env = "OSTLERD_READ_DATABASE",
        value_name = "URL",
        hide_env_values = true
    )]
    read_database: Option<Location>,
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
    /// Collector that traces go to, by OTLP over gRPC: http://HOST:4317, or https:// with --traces-ca. Default: nowhere.
    #[arg(long, env = "OSTLERD_TRACES", value_name = "URL")]
    traces: Option<String>,
    /// Certificates (PEM) that vouch for the collector.
    #[arg(long, env = "OSTLERD_TRACES_CA", value_name = "FILE")]
    traces_ca: Option<PathBuf>,
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
    /// Calls that may go on at once in all; 0: any number. Default: 4 for each processor.
    #[arg(long, env = "OSTLERD_SERVER_CALLS_IN_FLIGHT", value_name = "N")]
    server_calls_in_flight: Option<u32>,
    /// Form of the log. Default: text.
    #[arg(long, env = "OSTLERD_LOG_FORMAT", value_name = "FORM")]
    log_format: Option<LogFormat>,
    /// Print the configuration as it would be used, and stop.
    #[arg(long)]
    print_config: bool,
}

fn listen_default() -> SocketAddr {
    SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), config::PORT_DEFAULT)
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
        let read_location = match (self.read_database, &file.read_database) {
            (None, Some(url)) => {
                let parsed = url.parse::<Location>();
                Some(parsed.context("`read_database` of the configuration file is no place of a record")?)
            }
            (given, _) => given,
        };
        let traces_ca = self.traces_ca.or_else(|| file.traces_ca.clone());
        let traces = self.traces.or_else(|| file.traces.clone());
        anyhow::ensure!(
            traces.is_some() || traces_ca.is_none(),
            "--traces-ca needs --traces"
        );
        let traces = traces.map(|endpoint| Collector::read(&endpoint, traces_ca.as_deref()));
        let config = Config {
            allow_plain_network: self.allow_plain_network || file.allow_plain_network.unwrap_or(false),
            tls,
            limits,
            metrics: self.metrics.or(file.metrics),
            read_location,
            fonts: self.fonts.or_else(|| file.fonts.clone()),
            traces: traces.transpose().context("traces have nowhere to go")?,
            ..Config::new(location, data_folder)
        };
        Ok((config, listen))
    }
}

/// Serves until asked to stop.
///
/// # Errors
/// When the configuration or the record cannot be used, or serving fails.
pub(crate) async fn run(arguments: Serve) -> anyhow::Result<()> {
    let file = arguments.place.file()?;
    let in_file = file
        .log_format
        .as_deref()
        .map(|word| LogFormat::from_str(word, false));
    let in_file = in_file
        .transpose()
        .map_err(|problem| anyhow::anyhow!("`log_format`: {problem}"))?;
    let format = arguments.log_format.or(in_file).unwrap_or_default();
    let print_config = arguments.print_config;
    let (config, listen) = arguments.resolve(&file)?;
    if print_config {
        return print(&config, listen);
    }
    let traces = config.traces.as_ref().map(Traces::to);
    let traces = traces.transpose().context("traces have nowhere to go")?;
    log_as(format, traces.as_ref());
    let served = serve_on(&config, listen).await;
    if let Some(traces) = traces {
        traces.end().await;
    }
    served
}

async fn serve_on(config: &Config, listen: SocketAddr) -> anyhow::Result<()> {
    config::check_address(listen, config)
        .context("listen on 127.0.0.1, give --tls-certificate and --tls-key, or say --allow-plain-network to do it all the same")?;
    let listener = TcpListener::bind(listen)
        .await
        .with_context(|| format!("cannot listen on {listen}"))?;
    let opened = Opened::open(config, &listener).await?;
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
    tracing::info!(
        %address,
        database = %config.location,
        tls = config.tls.is_some(),
        version = release::VERSION,
        revision = release::REVISION,
        "serving"
    );
    opened.serve(listener, asked_to_stop()).await?;
    tracing::info!("stopped");
    Ok(())
}

/// Prints the configuration; what is secret in it is left out.
fn print(config: &Config, listen: SocketAddr) -> anyhow::Result<()> {
    let Config {
        location,
        read_location,
        data_folder,
        allow_plain_network,
        tls,
        limits,
        metrics,
        traces,
        fonts,
    } = config;
    let client_certificates = tls.as_ref().is_some_and(|tls| tls.client_ca_pem.is_some());
    let mut out = std::io::stdout().lock();
    writeln!(out, "database = {:?}", location.to_string())?;
    if let Some(standby) = read_location {
        writeln!(out, "read_database = {:?}", standby.to_string())?;
    }
    writeln!(out, "data_folder = {:?}", data_folder.display().to_string())?;
    writeln!(out, "listen = {:?}", listen.to_string())?;
    writeln!(out, "allow_plain_network = {allow_plain_network}")?;
    if let Some(metrics) = metrics {
        writeln!(out, "metrics = {:?}", metrics.to_string())?;
    }
    if let Some(fonts) = fonts {
        writeln!(out, "fonts = {:?}", fonts.display().to_string())?;
    }
    if let Some(collector) = traces {
        writeln!(out, "traces = {:?}", collector.to_string())?;
    }
    writeln!(
        out,
        "# tls: {}, client certificates: {client_certificates}, traces over tls: {}",
        tls.is_some(),
        traces.as_ref().is_some_and(Collector::is_tls)
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
