//! The programs as processes: how soon a server serves, what it holds when nobody asks, what a command costs beyond the
//! start of a process. The references are the goals: at most 1 is reached.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use ostler_tests::process::{Launch, Server, admin_token, program};

use crate::Figure;
use crate::load::Fault;
use crate::reading::import;

/// The demo fleet, below this package.
pub(crate) const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../server/demo/orrin.yaml");

/// Its departure.
pub(crate) const DEPARTURE: &str = "fleets/orrin/departures/crossing-2027";

/// Runs of each measurement; the one in the middle counts.
const RUNS: usize = 21;

/// By then a server that was started is idle: what it computes for those who may ask is done.
pub(crate) const IDLE_AFTER: Duration = Duration::from_secs(1);

const KIB_IN_MIB: f64 = 1_024.0;

/// A line of `/proc/PID/status` in MiB.
pub(crate) fn memory_mib(server: &Server, line: &str) -> Result<f64, Fault> {
    let status = std::fs::read_to_string(format!("/proc/{}/status", server.process_id()))?;
    let rest = status.lines().find_map(|text| text.strip_prefix(line));
    let kib: f64 = rest
        .and_then(|rest| rest.trim_start_matches(':').split_whitespace().next())
        .ok_or("the process does not tell its memory")?
        .parse()?;
    Ok(kib / KIB_IN_MIB)
}

/// Milliseconds that a command takes, the middle of [`RUNS`].
fn middle_ms(mut run: impl FnMut() -> Result<(), Fault>) -> Result<f64, Fault> {
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let began = Instant::now();
        run()?;
        times.push(began.elapsed());
    }
    times.sort_unstable();
    let middle = times.get(RUNS / 2).ok_or("nothing was run")?;
    Ok(middle.as_secs_f64() * 1_000.0)
}

fn run(command: &mut Command) -> Result<(), Fault> {
    command.stdin(Stdio::null()).stdout(Stdio::null());
    // What is not ready ends with another code; what matters is that it was answered.
    match command.status()?.code() {
        Some(0 | 3 | 4) => Ok(()),
        code => Err(format!("the command ended with {code:?}").into()),
    }
}

/// Measures and prints.
///
/// # Errors
/// When something does not start.
pub(crate) async fn measure() -> Result<(), Fault> {
    let folder = tempfile::tempdir()?;
    let launch = Launch::on(folder.path()).variable("OSTLERD_LOG", "warn");
    let server = Server::start(launch.clone()).await;
    let token = admin_token(folder.path());
    import(server.authorized(&token).await?, std::fs::read(DEMO)?).await?;
    server.ask_to_stop();
    drop(server.end());

    let mut times = Vec::new();
    let mut running = None;
    for _ in 0..RUNS {
        if let Some(server) = running.take() {
            drop(Server::kill(server));
        }
        let began = Instant::now();
        running = Some(Server::start(launch.clone()).await);
        times.push(began.elapsed().as_secs_f64() * 1_000.0);
    }
    times.sort_unstable_by(f64::total_cmp);
    let server = running.ok_or("no server was started")?;
    let goal = |name, value, unit, reference| Figure {
        name,
        value,
        unit,
        reference,
        reference_name: "goal",
    };
    let start_ms = *times.get(RUNS / 2).ok_or("no server was started")?;
    goal("start_to_serving_ms", start_ms, "ms", 150.0).print();
    tokio::time::sleep(IDLE_AFTER).await;
    goal("idle_memory_mib", memory_mib(&server, "VmRSS")?, "MiB", 40.0).print();

    let empty_ms = middle_ms(|| run(&mut Command::new("true")))?;
    let ready_ms = middle_ms(|| {
        run(Command::new(program("ostler"))
            .args(["ready", "crossing-2027", "--server"])
            .arg(server.address().to_string())
            .arg("--token-file")
            .arg(folder.path().join("admin-token")))
    })?;
    goal("ready_over_empty_process_ms", ready_ms - empty_ms, "ms", 15.0).print();
    Ok(())
}
