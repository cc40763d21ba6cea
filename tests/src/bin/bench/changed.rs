//! The first verdict after a change, and the first of a server that was started: what its caller waits, and what the server itself says
//! that it took.

use std::net::{SocketAddr, TcpListener};
use std::time::{Duration, Instant};

use ostler_proto::v1::cargo_service_client::CargoServiceClient;
use ostler_proto::v1::{CargoItem, ReadinessView, UpdateCargoItemRequest};
use ostler_tests::plain_http::Caller;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};

use crate::Figure;
use crate::load::{Fault, percentiles};
use crate::process::{DEMO, IDLE_AFTER};
use crate::reading::{empty, import, readiness};

/// Cargo of the demo.
const CARGO_ITEM: &str = "fleets/orrin/cargoItems/c012";

/// Changes that are asked after.
const CHANGES: u32 = 200;

/// Starts of a server that is asked after.
const STARTS: u32 = 11;

/// What others change is looked for more often.
const LOOKED: Duration = Duration::from_millis(300);

/// What the server says of all its verdicts together: the time from a call's arrival to the end of its answer.
const SECONDS: &str = "ostlerd_call_seconds_sum{method=\"ostler.v1.ReadinessService/GetReadiness\"}";

/// A server, and where it serves its measurements.
struct Measured {
    channel: AuthorizedChannel,
    measurements: SocketAddr,
    server: Server,
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
            server,
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

    /// Asks for a verdict, and adds what that took at the server and at the caller.
    async fn verdict(&self, times_ms: &mut [Vec<f64>; 2]) -> Result<(), Fault> {
        let before_ms = self.verdicts_ms().await?;
        let began = Instant::now();
        readiness(self.channel.clone(), ReadinessView::Verdicts).await?;
        let at_caller_ms = began.elapsed().as_secs_f64() * 1_000.0;
        let at_server_ms = self.verdicts_ms().await? - before_ms;
        for (times_ms, time_ms) in times_ms.iter_mut().zip([at_server_ms, at_caller_ms]) {
            times_ms.push(time_ms);
        }
        Ok(())
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
    let at_once = Duration::ZERO;
    let mut kinds = [
        Kind::new(
            [
                "verdict_after_change_server_p50_ms",
                "verdict_after_change_caller_p50_ms",
            ],
            &own,
            at_once,
        ),
        Kind::new(
            [
                "verdict_after_change_and_others_server_p50_ms",
                "verdict_after_change_and_others_caller_p50_ms",
            ],
            &own,
            Duration::from_millis(10),
        ),
        Kind::new(
            [
                "verdict_after_change_elsewhere_server_p50_ms",
                "verdict_after_change_elsewhere_caller_p50_ms",
            ],
            &other,
            at_once,
        ),
        Kind::new(
            [
                "verdict_after_change_elsewhere_and_others_server_p50_ms",
                "verdict_after_change_elsewhere_and_others_caller_p50_ms",
            ],
            &other,
            LOOKED,
        ),
    ];
    // In turns, for a machine changes its pace from second to second.
    for number in 0..CHANGES {
        for kind in &mut kinds {
            kind.measure(number, &own).await?;
        }
    }
    for kind in kinds {
        print(kind.names, kind.times_ms, empty_ms)?;
    }
    drop((own, other));
    let mut first_ms = [Vec::new(), Vec::new()];
    for _ in 0..STARTS {
        let started = Measured::start(Launch::on(folder.path()), token).await?;
        tokio::time::sleep(IDLE_AFTER).await;
        started.verdict(&mut first_ms).await?;
        drop(started.server.kill());
    }
    let names = [
        "verdict_first_after_start_server_p50_ms",
        "verdict_first_after_start_caller_p50_ms",
    ];
    print(names, first_ms, empty_ms)
}

/// Prints the middle of times at the server and at the caller.
fn print(names: [&'static str; 2], times_ms: [Vec<f64>; 2], empty_ms: f64) -> Result<(), Fault> {
    for (name, times_ms) in names.into_iter().zip(times_ms) {
        let figure = Figure {
            name,
            value: middle(times_ms)?,
            unit: "ms",
            reference: empty_ms,
            reference_name: "empty_rpc_p50_ms",
        };
        figure.print();
    }
    Ok(())
}

/// What a verdict is asked for after.
struct Kind<'m> {
    /// Of the figures at the server and at the caller.
    names: [&'static str; 2],
    changed_by: &'m Measured,
    /// How long others call before it is asked for.
    others: Duration,
    times_ms: [Vec<f64>; 2],
}

impl<'m> Kind<'m> {
    fn new(names: [&'static str; 2], changed_by: &'m Measured, others: Duration) -> Self {
        Self {
            names,
            changed_by,
            others,
            times_ms: [Vec::new(), Vec::new()],
        }
    }

    /// Changes a name, and takes the time of the first verdict of `asked` after that.
    async fn measure(&mut self, number: u32, asked: &Measured) -> Result<(), Fault> {
        let request = UpdateCargoItemRequest {
            cargo_item: Some(CargoItem {
                name: CARGO_ITEM.to_owned(),
                display_name: format!("change {number}, {}", self.names[0]),
                ..Default::default()
            }),
            ..Default::default()
        };
        CargoServiceClient::new(self.changed_by.channel.clone())
            .update_cargo_item(request)
            .await?;
        let changed = Instant::now();
        while changed.elapsed() < self.others {
            empty(asked.channel.clone()).await?;
        }
        asked.verdict(&mut self.times_ms).await
    }
}

fn middle(mut times_ms: Vec<f64>) -> Result<f64, Fault> {
    times_ms.sort_unstable_by(f64::total_cmp);
    Ok(times_ms
        .get(times_ms.len() / 2)
        .copied()
        .ok_or("nothing was asked")?)
}
