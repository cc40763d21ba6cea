//! Long work: done away from the threads that answer calls, and ended when nobody waits any more. Only what is short is done on
//! them, and still in its turn.

use std::num::NonZero;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::thread::available_parallelism;
use std::time::{Duration, Instant};

use ostler_core::plan::search::{SearchProgress, Watch};
use ostler_core::stowage;
use tokio::runtime::{Handle, RuntimeFlavor};
use tokio::sync::Semaphore;
use tokio::sync::mpsc::Sender;
use tokio::task::block_in_place;

use super::{App, AppError};
use crate::limits::{BURST_WAIT, Refusals, Turns};
use crate::traces;

/// Progress is told this often at the most.
const PROGRESS_INTERVAL: Duration = Duration::from_millis(100);

/// Where steps of an answer go.
pub type Steps<T> = Sender<Result<T, AppError>>;

/// Does long work away from the threads that answer calls; `name` is what it is called in traces.
pub(super) async fn apart<T: Send + 'static>(
    name: &'static str,
    work: impl FnOnce() -> Result<T, AppError> + Send + 'static,
) -> Result<T, AppError> {
    let part = traces::part(name);
    tokio::task::spawn_blocking(move || part.in_scope(work))
        .await
        .map_err(|source| AppError::Corrupt {
            name: "the work".to_owned(),
            source: Box::new(source),
        })?
}

/// Calls that compute or are about to, for each processor: what more of them go on only makes each later.
const COMPUTING_EACH: usize = 3;

/// The turns of what calls compute.
pub(super) struct Computing {
    /// Who computes or is next.
    near: Turns,
    /// Who computes: one a processor.
    now: Arc<Semaphore>,
}

impl Computing {
    pub(super) fn new(refusals: Refusals) -> Self {
        let processors = available_parallelism().map_or(1, NonZero::get);
        let near = Arc::new(Semaphore::new(processors * COMPUTING_EACH));
        Self {
            near: Turns::of(near, BURST_WAIT, refusals),
            now: Arc::new(Semaphore::new(processors)),
        }
    }
}

impl App {
    /// [`apart`], for what every call computes: as many at once as there are processors, in the order of coming. More would
    /// only make each later, and the threads that answer are free to take calls in and to refuse them.
    ///
    /// # Errors
    /// [`AppError::Busy`] when too many compute already; those of `work`.
    pub(super) async fn compute<T: Send + 'static>(
        &self,
        name: &'static str,
        work: impl FnOnce() -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let turn = self.turn().await?;
        apart(name, move || {
            // Until the work is done, even when its caller goes.
            let _turn = turn;
            work()
        })
        .await
    }

    /// The same for what is short: nearly all of it is known.
    ///
    /// # Errors
    /// As [`App::compute`].
    pub(super) async fn compute_shortly<T: Send + 'static>(
        &self,
        name: &'static str,
        work: impl FnOnce() -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        // A runtime of a single thread has none to take over.
        if Handle::current().runtime_flavor() == RuntimeFlavor::CurrentThread {
            return self.compute(name, work).await;
        }
        let _turn = self.turn().await?;
        here(name, work)
    }

    /// A turn of computing.
    async fn turn(&self) -> Result<impl Send + 'static + use<>, AppError> {
        let near = self.computing.near.next().await.ok_or(AppError::Busy)?;
        // Nobody closes it; without a turn the work is done all the same.
        let turn = self.computing.now.clone().acquire_owned().await.ok();
        Ok((near, turn))
    }
}

/// Does short work on the thread that answers: to hand it to another and back would cost a good part of it. Another thread takes over what
/// else was waiting for this one.
fn here<T>(name: &'static str, work: impl FnOnce() -> Result<T, AppError>) -> Result<T, AppError> {
    let part = traces::part(name);
    let done = catch_unwind(AssertUnwindSafe(|| block_in_place(|| part.in_scope(work))));
    done.unwrap_or_else(|_| {
        Err(AppError::Corrupt {
            name: "the work".to_owned(),
            source: "it panicked".into(),
        })
    })
}

/// Ends work when its caller is gone or its time is up, and tells how it stands now and then.
pub(super) struct Watched<'w, Progress> {
    is_gone: &'w (dyn Fn() -> bool + Sync),
    tell: &'w (dyn Fn(Progress) + Sync),
    deadline: Option<Instant>,
    told: std::sync::Mutex<Option<Instant>>,
}

impl<'w, Progress> Watched<'w, Progress> {
    pub(super) fn new(
        is_gone: &'w (dyn Fn() -> bool + Sync),
        tell: &'w (dyn Fn(Progress) + Sync),
        limit: Option<Duration>,
    ) -> Self {
        Self {
            is_gone,
            tell,
            deadline: limit.map(|limit| Instant::now() + limit),
            told: std::sync::Mutex::new(None),
        }
    }

    fn must_end(&self) -> bool {
        (self.is_gone)() || self.deadline.is_some_and(|deadline| Instant::now() >= deadline)
    }

    fn told(&self, progress: Progress) {
        let now = Instant::now();
        let mut told = self
            .told
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if told.is_none_or(|before| now - before >= PROGRESS_INTERVAL) {
            *told = Some(now);
            (self.tell)(progress);
        }
    }
}

impl Watch for Watched<'_, SearchProgress> {
    fn is_over(&self) -> bool {
        self.must_end()
    }

    fn search_stands(&self, progress: SearchProgress) {
        self.told(progress);
    }
}

impl stowage::Watch for Watched<'_, stowage::Progress> {
    fn is_over(&self) -> bool {
        self.must_end()
    }

    fn stands(&self, progress: stowage::Progress) {
        self.told(progress);
    }
}
