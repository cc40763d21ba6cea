//! Keeps a number of calls under way for a while and counts them.

use std::error::Error;
use std::future::Future;
use std::time::{Duration, Instant};

/// What may go wrong in a measurement.
pub(crate) type Fault = Box<dyn Error + Send + Sync>;

/// How long a figure is measured.
const MEASURED: Duration = Duration::from_secs(2);

/// How long the same runs before, unmeasured.
const WARMING: Duration = Duration::from_millis(500);

/// Calls a second when every caller makes one call after the other, all of them at the same time.
///
/// # Errors
/// The first call that fails.
pub(crate) async fn rate<Caller, Call>(callers: Vec<Caller>) -> Result<f64, Fault>
where
    Caller: FnMut() -> Call + Send + 'static,
    Call: Future<Output = Result<(), Fault>> + Send + 'static,
{
    let start = Instant::now() + WARMING;
    let end = start + MEASURED;
    let tasks: Vec<_> = callers
        .into_iter()
        .map(|mut call| {
            tokio::spawn(async move {
                let mut count = 0_u32;
                loop {
                    call().await?;
                    let now = Instant::now();
                    if now >= end {
                        return Ok::<_, Fault>(count);
                    }
                    count += u32::from(now >= start);
                }
            })
        })
        .collect();
    let mut count = 0.0;
    for task in tasks {
        count += f64::from(task.await??);
    }
    Ok(count / MEASURED.as_secs_f64())
}

/// Milliseconds of one call after the other: the time that half of them stay below, and that of 99 in 100.
///
/// # Errors
/// The first call that fails.
pub(crate) async fn percentiles<Call>(mut call: impl FnMut() -> Call) -> Result<(f64, f64), Fault>
where
    Call: Future<Output = Result<(), Fault>>,
{
    let start = Instant::now() + WARMING;
    let mut times = Vec::new();
    while Instant::now() < start + MEASURED {
        let before = Instant::now();
        call().await?;
        if before >= start {
            times.push(before.elapsed());
        }
    }
    times.sort_unstable();
    let at = |share: usize| {
        let time = times
            .get(times.len() * share / 100)
            .ok_or("no call ended in time")?;
        Ok::<_, Fault>(time.as_secs_f64() * 1000.0)
    };
    Ok((at(50)?, at(99)?))
}
