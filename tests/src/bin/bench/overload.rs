//! Four times as many callers as a server takes on at once, each asking again as soon as it is answered or refused: how
//! late the accepted calls get, how many are refused, what the server then holds.

use std::time::{Duration, Instant};

use ostler_proto::v1::DraftLoadSheetRequest;
use ostler_proto::v1::load_sheet_service_client::LoadSheetServiceClient;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use tonic::Code;

use crate::Figure;
use crate::load::{Fault, percentiles};
use crate::process::{DEMO, DEPARTURE, memory_mib};
use crate::reading::import;

/// How long the overload goes on.
const MEASURED: Duration = Duration::from_secs(5);

/// Callers for each call that the server takes on at once.
const TIMES: usize = 4;

/// Computed anew at every call: readiness of the convoy and a sheet.
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

/// What one caller met: times of accepted calls in milliseconds, and how many were refused.
async fn insist(channel: AuthorizedChannel, until: Instant) -> Result<(Vec<f64>, u32), Fault> {
    let (mut accepted, mut refused) = (Vec::new(), 0);
    while Instant::now() < until {
        let began = Instant::now();
        match draft(channel.clone()).await {
            Ok(()) => accepted.push(began.elapsed().as_secs_f64() * 1_000.0),
            Err(status) if status.code() == Code::Unavailable => refused += 1,
            Err(status) => return Err(status.into()),
        }
    }
    Ok((accepted, refused))
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
    let channel = server.authorized(&token).await?;
    let (_, unloaded_p99) = percentiles(|| {
        let call = draft(channel.clone());
        async { Ok(call.await?) }
    })
    .await?;
    let idle_mib = memory_mib(&server, "VmRSS")?;

    let at_once = std::thread::available_parallelism()?.get() * 32;
    let until = Instant::now() + MEASURED;
    let mut tasks = Vec::new();
    let mut channels = Vec::new();
    for _ in 0..8 {
        channels.push(server.authorized(&token).await?);
    }
    for channel in channels.iter().cycle().take(at_once * TIMES) {
        tasks.push(tokio::spawn(insist(channel.clone(), until)));
    }
    let (mut accepted, mut refused) = (Vec::new(), 0.0);
    for task in tasks {
        let (times, count) = task.await??;
        accepted.extend(times);
        refused += f64::from(count);
    }
    accepted.sort_unstable_by(f64::total_cmp);
    let p99 = *accepted
        .get(accepted.len() * 99 / 100)
        .ok_or("no call was accepted")?;
    let all = refused + accepted.len() as f64;
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
