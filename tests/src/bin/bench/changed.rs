//! The first verdict after a change: what its caller waits, and what the server itself says that it took.

use std::net::{SocketAddr, TcpListener};
use std::time::{Duration, Instant};

use ostler_proto::v1::cargo_service_client::CargoServiceClient;
use ostler_proto::v1::{CargoItem, ReadinessView, UpdateCargoItemRequest};
use ostler_tests::plain_http::Caller;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};

use crate::Figure;
use crate::load::{Fault, percentiles};
use crate::process::DEMO;
use crate::reading::{empty, import, readiness};

/// Cargo of the demo.
const CARGO_ITEM: &str = "fleets/orrin/cargoItems/c012";

/// Changes that are asked after.
const CHANGES: u32 = 200;

/// What the server says of all its verdicts together: the time from a call's arrival to the end of its answer.
const SECONDS: &str = "ostlerd_call_seconds_sum{method=\"ostler.v1.ReadinessService/GetReadiness\"}";

/// A server, and where it serves its measurements.
struct Measured {
    channel: AuthorizedChannel,
    measurements: SocketAddr,
    _server: Server,
}

impl Measured {
    async fn start(launch: Launch, token: impl FnOnce() -> String) -> Result<Self, Fault> {
        // A port that was free a moment ago.
        let measurements = TcpListener::bind("127.0.0.1:0")?.local_addr()?;
        let launch = launch
            .variable("OSTLERD_LOG", "warn")
            .argument("--metrics")
            .argument(&measurements.to_string());
        let server = Server::start(launch).await;
        Ok(Self {
            channel: server.authorized(&token()).await?,
            measurements,
            _server: server,
        })
    }

    /// Milliseconds that its verdicts took until now.
    async fn verdicts_ms(&self) -> Result<f64, Fault> {
        let page = Caller::new(self.measurements, None)
            .send("GET", "/metrics", &[], "")
            .await;
        let page = std::str::from_utf8(&page.body)?;
        let seconds = page.lines().find_map(|line| line.strip_prefix(SECONDS));
        let seconds = seconds.map_or(Ok(0.0), |seconds| seconds.trim().parse::<f64>())?;
        Ok(seconds * 1_000.0)
    }
}

/// Measures and prints.
///
/// # Errors
/// When a call fails.
pub(crate) async fn measure() -> Result<(), Fault> {
    let folder = tempfile::tempdir()?;
    let token = || admin_token(folder.path());
    let own = Measured::start(Launch::on(folder.path()), token).await?;
    import(own.channel.clone(), std::fs::read(DEMO)?).await?;
    let (empty_ms, _) = percentiles(|| empty(own.channel.clone())).await?;
    // The same database, by a server of its own.
    let other = Measured::start(Launch::on(folder.path()), token).await?;
    for (name, name_at_caller, changed_by, others) in [
        (
            "verdict_after_change_server_p50_ms",
            "verdict_after_change_p50_ms",
            &own,
            Duration::ZERO,
        ),
        (
            "verdict_after_change_and_others_server_p50_ms",
            "verdict_after_change_and_others_p50_ms",
            &own,
            Duration::from_millis(10),
        ),
        (
            "verdict_after_change_of_another_server_server_p50_ms",
            "verdict_after_change_of_another_server_p50_ms",
            &other,
            Duration::ZERO,
        ),
    ] {
        let (server_ms, caller_ms) = first_verdict(&changed_by.channel, &own, others).await?;
        for (name, value) in [(name, server_ms), (name_at_caller, caller_ms)] {
            let figure = Figure {
                name,
                value,
                unit: "ms",
                reference: empty_ms,
                reference_name: "empty_rpc_p50_ms",
            };
            figure.print();
        }
    }
    Ok(())
}

/// The middle times in milliseconds, at the server and at the caller, of the first verdict of `asked` after a change and so long of
/// `others`, which are empty calls.
async fn first_verdict(
    changed_by: &AuthorizedChannel,
    asked: &Measured,
    others: Duration,
) -> Result<(f64, f64), Fault> {
    let (mut at_server, mut at_caller) = (Vec::new(), Vec::new());
    for number in 0..CHANGES {
        let before_ms = asked.verdicts_ms().await?;
        let request = UpdateCargoItemRequest {
            cargo_item: Some(CargoItem {
                name: CARGO_ITEM.to_owned(),
                display_name: format!("change {number}, {others:?}"),
                ..Default::default()
            }),
            ..Default::default()
        };
        CargoServiceClient::new(changed_by.clone())
            .update_cargo_item(request)
            .await?;
        let changed = Instant::now();
        while changed.elapsed() < others {
            empty(asked.channel.clone()).await?;
        }
        let began = Instant::now();
        readiness(asked.channel.clone(), ReadinessView::Verdicts).await?;
        at_caller.push(began.elapsed().as_secs_f64() * 1_000.0);
        at_server.push(asked.verdicts_ms().await? - before_ms);
    }
    let middle = |mut times_ms: Vec<f64>| {
        times_ms.sort_unstable_by(f64::total_cmp);
        times_ms
            .get(times_ms.len() / 2)
            .copied()
            .ok_or("nothing was asked")
    };
    Ok((middle(at_server)?, middle(at_caller)?))
}
