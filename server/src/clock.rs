//! Time comes in here and nowhere else.

use std::sync::atomic::{AtomicI64, Ordering};

/// Says what time it is.
pub trait Clock: Send + Sync + 'static {
    /// Microseconds since 1970, UTC.
    fn now_micros(&self) -> i64;
}

/// The machine's clock, never running backwards within a process.
#[derive(Debug, Default)]
pub struct SystemClock {
    latest: AtomicI64,
}

impl Clock for SystemClock {
    fn now_micros(&self) -> i64 {
        let now = jiff::Timestamp::now().as_microsecond();
        self.latest.fetch_max(now, Ordering::Relaxed).max(now)
    }
}
