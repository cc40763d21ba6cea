//! Sealing the history, beside the writers: a fraction of a second after they committed, at start, and when the server stops.

use std::time::{Duration, Instant};

use ostler_store::{Store, StoreError};
use tokio::sync::watch;

use crate::grpc::status::chain;

/// Pause between two looks for entries that wait.
const PAUSE: Duration = Duration::from_millis(200);

/// Entries sealed in one transaction. It keeps other writers of SQLite out for some milliseconds.
const BATCH: u32 = 256;

/// How long a server that stops goes on sealing; the rest is sealed at the next start.
const AT_THE_END: Duration = Duration::from_secs(5);

/// Seals what is committed, by whichever server, until `stopped` is true, and then once more.
pub async fn keep_sealing(store: Store, mut stopped: watch::Receiver<bool>) {
    // A fault that stays is said once.
    let mut said = String::new();
    loop {
        match store.seal_waiting(BATCH).await {
            // More waits: no pause, but whoever writes comes in between. Less than a batch was all there was; what is written
            // meanwhile waits for the next look, or the sealer would be the busiest writer of all.
            Ok(sealed) if sealed >= BATCH as usize && !*stopped.borrow() => {
                tokio::task::yield_now().await;
                continue;
            }
            Ok(_) => said.clear(),
            Err(error) => tell(&error, &mut said),
        }
        tokio::select! {
            () = tokio::time::sleep(PAUSE) => {}
            _ = stopped.wait_for(|stopped| *stopped) => break,
        }
    }
    if let Err(error) = seal_all(&store, AT_THE_END).await {
        tell(&error, &mut said);
    }
}

/// Seals what waits, for at most `patience`, and says how many entries these were.
///
/// # Errors
/// When the database cannot be written.
pub async fn seal_all(store: &Store, patience: Duration) -> Result<usize, StoreError> {
    let began = Instant::now();
    let mut total = 0;
    while began.elapsed() < patience {
        match store.seal_waiting(BATCH).await? {
            0 => break,
            sealed => total += sealed,
        }
    }
    Ok(total)
}

fn tell(error: &StoreError, said: &mut String) {
    let text = chain(error);
    if error.is_retryable() {
        tracing::debug!(error = text, "the history is sealed later");
    } else if *said != text {
        tracing::error!(error = text, "the history cannot be sealed");
        *said = text;
    }
}
