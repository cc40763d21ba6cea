//! Four times as many calls a second as a server can answer, begun at a steady rate whatever becomes of those before: how
//! late the accepted calls get, how many are refused, what the server then holds.

use std::time::{Duration, Instant};

use ostler_proto::v1::DraftLoadSheetRequest;
use ostler_proto::v1::load_sheet_service_client::LoadSheetServiceClient;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use tonic::Code;

use crate::Figure;
use crate::load::{Fault, percentiles, rate};
use crate::process::{DEMO, DEPARTURE, memory_mib};
use crate::reading::import;

/// How long the overload goes on.
const MEASURED: Duration = Duration::from_secs(5);

/// How long the same goes on before, unmeasured.
const WARMING: Duration = Duration::from_secs(1);

/// How many times its capacity is asked of it.
const TIMES: f64 = 4.0;

/// Connections that the calls are spread over.
const CONNECTIONS: usize = 8;

/// Computed anew at every call: a sheet, of a readiness that is kept.
async fn draft(channel: AuthorizedChannel) -> Result<(), tonic::Status> {
    let request = DraftLoadSheetRequest {
        departure: DEPARTURE.to_owned(),
        vehicle: "fleets/orrin/vehicles/v1".to_owned(),
    };
    LoadSheetServiceClient::new(channel)
        .draft_load_sheet(request)
        .await
        .map(drop)
}

/// What became of a call that was begun in the measured time: its milliseconds, or none where it was refused.
type Ended = Option<f64>;

/// Begins a call every `pause`, whatever becomes of those before, and says how those of the measured time ended.
async fn press(channels: &[AuthorizedChannel], pause: Duration) -> Result<Vec<Ended>, Fault> {
    let mut tasks = Vec::new();
    let start = Instant::now();
    for channel in channels.iter().cycle() {
        let begins = start + pause.mul_f64(tasks.len() as f64);
        if begins >= start + WARMING + MEASURED {
            break;
        }
        // Late by the timer's grain, a call is begun at once, so that the rate is kept.
        tokio::time::sleep_until(begins.into()).await;
        let channel = channel.clone();
        let counts = begins >= start + WARMING;
        tasks.push(tokio::spawn(async move {
            let began = Instant::now();
            let outcome = draft(channel).await;
            (counts, began.elapsed().as_secs_f64() * 1_000.0, outcome)
        }));
    }
    let mut ended = Vec::new();
    for task in tasks {
        let (counts, ms, outcome) = task.await?;
        match outcome {
            _ if !counts => {}
            Ok(()) => ended.push(Some(ms)),
            Err(status) if status.code() == Code::Unavailable => ended.push(None),
            Err(status) => return Err(status.into()),
        }
    }
    Ok(ended)
}

/// Measures and prints.
///
/// # Errors
/// When a call fails otherwise than by being refused.
pub(crate) async fn measure() -> Result<(), Fault> {
    let folder = tempfile::tempdir()?;
    // All callers have one token; what is measured is what the whole server takes on.
    let launch = Launch::on(folder.path())
        .variable("OSTLERD_LOG", "warn")
        .variable("OSTLERD_CALLS_IN_FLIGHT", "0");
    let server = Server::start(launch).await;
    let token = admin_token(folder.path());
    import(server.authorized(&token).await?, std::fs::read(DEMO)?).await?;
    let mut channels = Vec::new();
    for _ in 0..CONNECTIONS {
        channels.push(server.authorized(&token).await?);
    }
    let (_, unloaded_p99) = percentiles(|| {
        let call = channels.first().cloned().map(draft);
        async { Ok(call.ok_or("there is no connection")?.await?) }
    })
    .await?;
    let idle_mib = memory_mib(&server, "VmRSS")?;
    // What callers get done who call again as soon as they are answered.
    let callers = channels.iter().cycle().take(CONNECTIONS);
    let callers = callers.cloned().map(|channel| {
        move || {
            let call = draft(channel.clone());
            async { Ok(call.await?) }
        }
    });
    let capacity = rate(callers.collect()).await?;
    let ended = press(&channels, Duration::from_secs_f64(1.0 / (TIMES * capacity))).await?;
    let all = ended.len() as f64;
    let mut accepted: Vec<f64> = ended.into_iter().flatten().collect();
    let refused = all - accepted.len() as f64;
    accepted.sort_unstable_by(f64::total_cmp);
    let p99 = *accepted
        .get(accepted.len() * 99 / 100)
        .ok_or("no call was accepted")?;
    for (name, value, unit, reference, reference_name) in [
        (
            "overload_accepted_p99_ms",
            p99,
            "ms",
            unloaded_p99,
            "unloaded_p99_ms",
        ),
        ("overload_refused", refused, "calls", all, "all_calls"),
        (
            "overload_answered_per_s",
            accepted.len() as f64 / MEASURED.as_secs_f64(),
            "1/s",
            capacity,
            "capacity_per_s",
        ),
        (
            "overload_peak_memory_mib",
            memory_mib(&server, "VmHWM")?,
            "MiB",
            idle_mib,
            "idle_memory_mib",
        ),
    ] {
        let figure = Figure {
            name,
            value,
            unit,
            reference,
            reference_name,
        };
        figure.print();
    }
    Ok(())
}
