//! Whose turn it is when the whole server is busy.
//!
//! A burst is worth a wait: it is over before the last of it would be late. Where more comes than can be done, a wait
//! only makes every answer late and helps nobody, for as many are refused in the end. The two are told apart by what
//! happened last: a server that has just refused a call, wherever it was, has more to do than it can, and lets the next ones wait
//! no longer than it takes to fill a place that comes free.

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

/// When a server refused a call last, whichever of its turns it was that did not come.
///
/// Known to all of them: those who let few in keep from the others that there are too many, and what they let in would wait there as
/// if it were a burst.
#[derive(Debug, Clone, Default)]
pub struct Refusals(Arc<Mutex<Option<Instant>>>);

impl Refusals {
    fn note(&self) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
    }

    fn are_recent(&self) -> bool {
        let last = *self.0.lock().unwrap_or_else(PoisonError::into_inner);
        last.is_some_and(|last| last.elapsed() < REFUSAL_COUNTS)
    }
}

/// The turns of all calls, in the order in which they came.
pub(crate) struct Turns {
    free: Arc<Semaphore>,
    burst_wait: Duration,
    refusals: Refusals,
}

impl Turns {
    /// As many at once as `free` has permits; a burst may wait for as long as `burst_wait`.
    pub(crate) const fn of(free: Arc<Semaphore>, burst_wait: Duration, refusals: Refusals) -> Self {
        Self {
            free,
            burst_wait,
            refusals,
        }
    }

    /// The next turn; none when it does not come in time.
    pub(crate) async fn next(&self) -> Option<OwnedSemaphorePermit> {
        let turn = tokio::time::timeout(self.wait(), self.free.clone().acquire_owned()).await;
        let turn = turn.ok().and_then(Result::ok);
        if turn.is_none() {
            self.refusals.note();
        }
        turn
    }

    /// How long a call may wait that comes now.
    fn wait(&self) -> Duration {
        match self.refusals.are_recent() {
            true => SHORT_WAIT,
            false => self.burst_wait,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turns(burst_wait: Duration, refusals: &Refusals) -> Turns {
        Turns::of(Arc::new(Semaphore::new(1)), burst_wait, refusals.clone())
    }

    #[tokio::test]
    async fn a_burst_waits_and_what_goes_on_and_on_is_refused_soon() {
        let turns = turns(BURST_WAIT, &Refusals::default());
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
    #[tokio::test]
    async fn who_was_let_in_while_others_were_refused_waits_no_longer_than_they() {
        let refusals = Refusals::default();
        let (gate, computing) = (turns(SHORT_WAIT, &refusals), turns(BURST_WAIT, &refusals));
        assert_eq!(computing.wait(), BURST_WAIT);
        let _held = gate.next().await.unwrap();
        assert!(gate.next().await.is_none());
        assert_eq!(computing.wait(), SHORT_WAIT);
    }
}
