//! What a server takes on: how often a token may call, how much goes on at once, and what is said to the rest.
//!
//! A call that is refused here was not begun: it may be sent again after the pause that the refusal names (`RetryInfo`).

mod held;
mod turns;

use std::num::NonZeroU32;
use std::sync::Arc;
use std::time::Duration;

use governor::clock::{Clock as _, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use moka::sync::Cache;
use ostler_proto::v1::ErrorReason;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tonic::{Code, Status};

use crate::contract;
use crate::grpc::status;
pub(crate) use held::Held;
pub use turns::Refusals;
pub(crate) use turns::{BURST_WAIT, SHORT_WAIT, Turns};

/// Most tokens whose calls in flight are counted; one that was not seen for an hour is forgotten.
const TOKENS_MAX: u64 = 10_000;

/// See [`TOKENS_MAX`].
const FORGOTTEN_AFTER: Duration = Duration::from_secs(3_600);

/// Pause that a refusal names where nothing better is known.
pub(crate) const PAUSE: Duration = Duration::from_millis(250);

/// What a server takes on. 0: no limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Calls of one token a second, over any second; twice as many may come at once after a pause.
    pub calls_per_second: u32,
    /// Calls of one token that go on at once.
    pub calls_in_flight: u32,
    /// Streams of one token that go on at once.
    pub streams_in_flight: u32,
    /// Calls of all tokens that go on at once, streams left out: more wait a little, then are refused. What they compute has
    /// turns of its own (`app::long_work`), for most of them wait for the database.
    pub server_calls_in_flight: u32,
}

impl Default for Limits {
    /// No limit of rate; 256 calls and 64 streams of one token; 32 calls at once for each processor.
    fn default() -> Self {
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        Self {
            calls_per_second: 0,
            calls_in_flight: 256,
            streams_in_flight: 64,
            server_calls_in_flight: u32::try_from(processors).unwrap_or(1).saturating_mul(32),
        }
    }
}

/// What a call that goes on holds until its answer is sent or dropped.
#[derive(Debug, Default)]
pub(crate) struct Turn {
    _own: Option<OwnedSemaphorePermit>,
    _server: Option<OwnedSemaphorePermit>,
}

/// Keeps the limits.
pub(crate) struct Keeper {
    limits: Limits,
    rate: Option<DefaultKeyedRateLimiter<String>>,
    calls: Cache<String, Arc<Semaphore>>,
    streams: Cache<String, Arc<Semaphore>>,
    server: Option<Turns>,
}

impl Keeper {
    pub(crate) fn new(limits: Limits, refusals: Refusals) -> Self {
        let rate = NonZeroU32::new(limits.calls_per_second).map(|per_second| {
            let burst = per_second.saturating_add(per_second.get());
            RateLimiter::keyed(Quota::per_second(per_second).allow_burst(burst))
        });
        let counts = || {
            Cache::builder()
                .max_capacity(TOKENS_MAX)
                .time_to_idle(FORGOTTEN_AFTER)
                .build()
        };
        let server = (limits.server_calls_in_flight > 0)
            .then(|| Turns::of(semaphore(limits.server_calls_in_flight), SHORT_WAIT, refusals));
        Self {
            limits,
            rate,
            calls: counts(),
            streams: counts(),
            server,
        }
    }

    /// A turn for a call of `token` to the method at `path`.
    ///
    /// # Errors
    /// `RESOURCE_EXHAUSTED` when the token calls too often or has too much going on, `UNAVAILABLE` when the server has.
    pub(crate) async fn turn(&self, token: &str, path: &str) -> Result<Turn, Status> {
        if let Some(rate) = &self.rate {
            rate.check_key(&token.to_owned()).map_err(|not_until| {
                let pause = not_until.wait_time_from(DefaultClock::default().now());
                refusal(ErrorReason::CalledTooOften, "this token calls too often", pause)
            })?;
        }
        let streams = contract::is_stream(path);
        let (counts, most) = match streams {
            true => (&self.streams, self.limits.streams_in_flight),
            false => (&self.calls, self.limits.calls_in_flight),
        };
        let own = if most == 0 {
            None
        } else {
            let count = counts.get_with_by_ref(token, || semaphore(most));
            let message = "too much of this token goes on already";
            let taken = count.try_acquire_owned();
            Some(taken.map_err(|_| refusal(ErrorReason::TooMuchAtOnce, message, PAUSE))?)
        };
        let server = match &self.server {
            Some(server) if !streams => Some(server.next().await.ok_or_else(status::busy)?),
            _ => None,
        };
        Ok(Turn {
            _own: own,
            _server: server,
        })
    }
}

fn semaphore(most: u32) -> Arc<Semaphore> {
    Arc::new(Semaphore::new(
        usize::try_from(most).unwrap_or(Semaphore::MAX_PERMITS),
    ))
}

fn refusal(reason: ErrorReason, message: &str, pause: Duration) -> Status {
    status::later(Code::ResourceExhausted, reason, message, pause)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GET: &str = "/ostler.v1.FleetService/GetFleet";
    const WATCH: &str = "/ostler.v1.ReadinessService/WatchReadiness";

    fn reason(refused: &Status) -> String {
        use tonic_types::StatusExt as _;
        let details = refused.get_error_details();
        assert!(
            details
                .retry_info()
                .is_some_and(|info| info.retry_delay.is_some()),
            "{refused:?}"
        );
        details.error_info().unwrap().reason.clone()
    }

    fn limits(calls_per_second: u32, calls_in_flight: u32, server_calls_in_flight: u32) -> Keeper {
        let limits = Limits {
            calls_per_second,
            calls_in_flight,
            streams_in_flight: 1,
            server_calls_in_flight,
        };
        Keeper::new(limits, Refusals::default())
    }

    #[tokio::test]
    async fn what_goes_on_is_counted_by_token_and_given_back() {
        let keeper = limits(0, 2, 0);
        let first = keeper.turn("a", GET).await.unwrap();
        let _second = keeper.turn("a", GET).await.unwrap();
        let refused = keeper.turn("a", GET).await.unwrap_err();
        assert_eq!(
            (refused.code(), reason(&refused).as_str()),
            (Code::ResourceExhausted, "TOO_MUCH_AT_ONCE")
        );
        assert!(keeper.turn("b", GET).await.is_ok());
        // Streams are counted for themselves: a watch does not keep its token from asking.
        let _stream = keeper.turn("a", WATCH).await.unwrap();
        assert!(keeper.turn("a", WATCH).await.is_err());
        drop(first);
        assert!(keeper.turn("a", GET).await.is_ok());
    }

    #[tokio::test]
    async fn too_frequent_calls_are_told_when_to_come_again() {
        let keeper = limits(1, 0, 0);
        for _ in 0..2 {
            keeper.turn("a", GET).await.unwrap();
        }
        let refused = keeper.turn("a", GET).await.unwrap_err();
        assert_eq!(
            (refused.code(), reason(&refused).as_str()),
            (Code::ResourceExhausted, "CALLED_TOO_OFTEN")
        );
        assert!(keeper.turn("b", GET).await.is_ok());
    }

    #[tokio::test]
    async fn a_busy_server_lets_calls_wait_a_little_and_then_refuses() {
        let keeper = limits(0, 0, 1);
        let going_on = keeper.turn("a", GET).await.unwrap();
        let refused = keeper.turn("b", GET).await.unwrap_err();
        assert_eq!(
            (refused.code(), reason(&refused).as_str()),
            (Code::Unavailable, "SERVER_BUSY")
        );
        let _watching = keeper.turn("b", WATCH).await.unwrap();
        let waiting = keeper.turn("b", GET);
        let (waited, ()) = tokio::join!(waiting, async move { drop(going_on) });
        assert!(waited.is_ok());
    }
}
