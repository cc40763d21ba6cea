//! Forgetting the answers kept under request ids, beside the callers: at start and once an hour.
//!
//! An answer is kept for [`KEPT_DAYS`]: a caller that was cut off asks again within minutes, and one that was away, a
//! workshop without a line, say, within days. The same id after that is a new request.

use std::sync::Arc;
use std::time::Duration;

use ostler_store::{Store, StoreError};
use tokio::sync::watch;

use crate::clock::Clock;
use crate::grpc::status::chain;

/// Days for which the answer to a request is kept.
pub const KEPT_DAYS: i64 = 30;

/// Pause between two looks for old answers.
const PAUSE: Duration = Duration::from_secs(3_600);

/// Answers forgotten in one transaction. It keeps other writers of SQLite out for some milliseconds.
const BATCH: u32 = 500;

const DAY_MICROS: i64 = 86_400_000_000;

/// Forgets old answers until `stopped` is true.
pub async fn keep_forgetting(store: Store, clock: Arc<dyn Clock>, mut stopped: watch::Receiver<bool>) {
    loop {
        match forget_old(&store, clock.now_micros()).await {
            Ok(0) => {}
            Ok(count) => tracing::info!(count, "forgot old answers to requests"),
            // Nothing depends on it being done now.
            Err(error) => tracing::warn!(error = chain(&error), "old answers are forgotten later"),
        }
        tokio::select! {
            () = tokio::time::sleep(PAUSE) => {}
            _ = stopped.wait_for(|stopped| *stopped) => return,
        }
    }
}

/// Forgets the answers that are older than [`KEPT_DAYS`] at `now`, in microseconds since 1970, UTC, and says how many
/// there were.
///
/// # Errors
/// When the database cannot be written; what was forgotten until then stays so.
pub async fn forget_old(store: &Store, now: i64) -> Result<u64, StoreError> {
    let oldest = now.saturating_sub(KEPT_DAYS * DAY_MICROS);
    let mut total = 0;
    loop {
        let forgotten = store.forget_requests(oldest, BATCH).await?;
        total += forgotten;
        if forgotten < u64::from(BATCH) {
            return Ok(total);
        }
        // Whoever writes comes in between.
        tokio::task::yield_now().await;
    }
}
