//! Whose turn it is when the whole server is busy.
//!
//! A burst is worth a wait: it is over before the last of it would be late. Where more comes than can be done, a wait
//! only makes every answer late and helps nobody, for as many are refused in the end. The two are told apart by what
//! happened last: a server that has just refused a call has more to do than it can, and lets the next ones wait no longer than
//! it takes to fill a place that comes free.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::Instant;

/// How long a call of a burst may wait for its turn to compute.
pub(crate) const BURST_WAIT: Duration = Duration::from_millis(100);

/// How long a call may wait while others are refused.
pub(crate) const SHORT_WAIT: Duration = Duration::from_millis(3);

/// How long a refusal counts.
const REFUSAL_COUNTS: Duration = Duration::from_secs(1);

/// The turns of all calls, in the order in which they came.
pub(crate) struct Turns {
    free: Arc<Semaphore>,
    burst_wait: Duration,
    refused: Mutex<Option<Instant>>,
}

impl Turns {
    /// As many at once as `free` has permits; a burst may wait for as long as `burst_wait`.
    pub(crate) const fn of(free: Arc<Semaphore>, burst_wait: Duration) -> Self {
        Self {
            free,
            burst_wait,
            refused: Mutex::new(None),
        }
    }

    /// The next turn; none when it does not come in time.
    pub(crate) async fn next(&self) -> Option<OwnedSemaphorePermit> {
        let turn = tokio::time::timeout(self.wait(), self.free.clone().acquire_owned()).await;
        let turn = turn.ok().and_then(Result::ok);
        if turn.is_none() {
            *self.refused.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
        }
        turn
    }

    /// How long a call may wait that comes now.
    fn wait(&self) -> Duration {
        let refused = *self.refused.lock().unwrap_or_else(PoisonError::into_inner);
        match refused {
            Some(refused) if refused.elapsed() < REFUSAL_COUNTS => SHORT_WAIT,
            _ => self.burst_wait,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_burst_waits_and_what_goes_on_and_on_is_refused_soon() {
        let turns = Turns::of(Arc::new(Semaphore::new(1)), BURST_WAIT);
        assert_eq!(turns.wait(), BURST_WAIT);
        let held = turns.next().await.unwrap();
        let began = Instant::now();
        assert!(turns.next().await.is_none());
        assert!(began.elapsed() >= BURST_WAIT, "the first was given its time");
        assert_eq!(turns.wait(), SHORT_WAIT);
        // Who waits gets the place that comes free, in the order of coming.
        let (first, second, ()) = tokio::join!(turns.next(), turns.next(), async { drop(held) });
        assert!(first.is_some() && second.is_none());
        drop(first);
        // A while without a refusal, and a burst may wait again.
        tokio::time::sleep(REFUSAL_COUNTS).await;
        assert_eq!(turns.wait(), BURST_WAIT);
    }
}
