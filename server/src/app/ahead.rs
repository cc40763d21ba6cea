//! Verdicts that are computed before they are asked for again.
//!
//! Whoever leads a trip asks for the verdict again and again, and a workshop's change in between makes it anew. So what was asked
//! for lately is computed once more when the record has changed: who asks next finds it kept. It is kept as any other answer is, with
//! the revisions it was computed from, and held against them when it is asked for.
//!
//! Where somebody has asked since the last change he is likely to ask after this one too, and it is computed at once, from what the change
//! is [expected](super::expected) to make of the record. Where nobody has, many changes come together, and are computed for when nobody
//! goes on writing.

use std::collections::BTreeMap;
use std::future::Future;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tokio::time::{Instant, sleep};

use super::expected::Expected;
use super::{App, AppError};

/// How long nobody writes before anything is computed for changes that nobody asks in between: it is done once for all of them.
const QUIET: Duration = Duration::from_millis(2);

/// What was asked for longer ago is left to who asks again.
const LATELY: Duration = Duration::from_secs(600);

/// Most questions that are computed ahead; of more, the latest.
const QUESTIONS_MAX: usize = 8;

/// A departure, and a vehicle of it or nothing.
pub(super) type Question = (String, String);

/// What was asked for lately, and whether somebody is about to compute it.
#[derive(Debug, Clone)]
pub(super) struct Ahead {
    state: Arc<Mutex<State>>,
    /// Somebody has asked since anything was computed ahead.
    was_asked: Arc<AtomicBool>,
    quiet: Duration,
    lately: Duration,
}

impl Default for Ahead {
    fn default() -> Self {
        Self {
            state: Arc::default(),
            was_asked: Arc::default(),
            quiet: QUIET,
            lately: LATELY,
        }
    }
}

#[derive(Debug, Default)]
struct State {
    asked: BTreeMap<Question, Instant>,
    /// Changes so far.
    changes: u64,
    is_running: bool,
}

impl State {
    /// What was asked for within a time until now. What was asked for before that is forgotten.
    fn asked_within(&mut self, lately: Duration) -> Vec<Question> {
        self.asked.retain(|_, at| at.elapsed() < lately);
        self.asked.keys().cloned().collect()
    }
}

impl Ahead {
    /// Notes that somebody asked, and whether he `waited` for what was computed for him. Where nothing has changed since somebody
    /// else asked, there is nothing to note.
    pub(super) fn note_asked(&self, question: impl FnOnce() -> Question, waited: bool) {
        let is_first = !self.was_asked.swap(true, Ordering::Relaxed);
        if !(is_first || waited) {
            return;
        }
        let question = question();
        let mut state = self.lock();
        state.asked.insert(question, Instant::now());
        if state.asked.len() > QUESTIONS_MAX {
            let oldest = state.asked.iter().min_by_key(|(_, at)| **at);
            if let Some(oldest) = oldest.map(|(question, _)| question.clone()) {
                state.asked.remove(&oldest);
            }
        }
    }

    /// What the next change is computed for at once; nothing while anybody still computes for others.
    pub(super) fn next(&self) -> Vec<Question> {
        if !self.was_asked.load(Ordering::Relaxed) {
            return Vec::new();
        }
        let state = self.lock();
        match state.is_running {
            true => Vec::new(),
            false => state.asked.keys().cloned().collect(),
        }
    }

    /// What was asked for lately; nothing is said while anybody computes that already.
    pub(super) fn asked_lately(&self) -> Option<Vec<Question>> {
        let mut state = self.lock();
        (!state.is_running).then(|| state.asked_within(self.lately))
    }

    /// Notes that the record has changed, and says whether that is to be followed by [`Ahead::run`]: something was asked for, and
    /// nobody runs yet.
    fn note_change(&self) -> bool {
        let mut state = self.lock();
        if state.asked.is_empty() {
            return false;
        }
        state.changes += 1;
        !std::mem::replace(&mut state.is_running, true)
    }

    /// Does `compute` for everything that was asked for lately, and again for changes that came meanwhile.
    async fn run<Computed>(self, compute: impl Fn(Question) -> Computed + Send)
    where
        Computed: Future<Output = ()> + Send,
    {
        loop {
            let before = self.lock().changes;
            if !self.was_asked.swap(false, Ordering::Relaxed) {
                sleep(self.quiet).await;
                if self.lock().changes != before {
                    continue;
                }
            }
            let (changes, asked) = {
                let mut state = self.lock();
                let asked = state.asked_within(self.lately);
                (state.changes, asked)
            };
            for question in asked {
                compute(question).await;
            }
            let mut state = self.lock();
            if state.changes == changes {
                state.is_running = false;
                return;
            }
        }
    }

    /// Forgets a question that has no answer.
    pub(super) fn forget(&self, question: &Question) {
        self.lock().asked.remove(question);
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl App {
    /// Has what was asked for lately computed again, for a change has been committed of which all that is `expected` was expected.
    pub(super) fn compute_ahead(&self, expected: Vec<Expected>) {
        if !self.ahead.note_change() {
            return;
        }
        let app = self.clone();
        let expected = Arc::new(Mutex::new(expected));
        tokio::spawn(self.ahead.clone().run(move |question| {
            let (app, expected) = (app.clone(), expected.clone());
            async move {
                // What cannot be computed is told to whoever asks.
                if *app.stopping.borrow() || app.compute_again(&question, &expected).await.is_err() {
                    app.ahead.forget(&question);
                }
            }
        }));
    }

    async fn compute_again(
        &self,
        question: &Question,
        expected: &Mutex<Vec<Expected>>,
    ) -> Result<(), AppError> {
        let (departure, vehicle) = question.clone();
        let asked = (departure, vehicle, self.today());
        let expected = {
            let mut all = expected.lock().unwrap_or_else(PoisonError::into_inner);
            let own = all.iter().position(|expected| expected.asked == asked);
            own.map(|own| all.swap_remove(own))
        };
        // What was expected in vain is computed as if it had not been.
        if let Some(expected) = expected
            && let Ok(true) = self.keep_expected(expected).await
        {
            return Ok(());
        }
        self.keep_readiness(&asked).await.map(drop)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use tokio::time::timeout;

    use super::*;
    use crate::app::Call;
    use crate::app::tests::demo::{DemoApp, call, weigh_cargo};
    use crate::app::unit::Unit;

    fn question(departure: impl ToString) -> Question {
        (departure.to_string(), String::new())
    }

    /// Changes, and what is computed for them.
    struct Tried {
        ahead: Ahead,
        computed: Arc<AtomicU32>,
    }

    impl Tried {
        fn of(quiet: Duration, lately: Duration) -> Self {
            let ahead = Ahead {
                quiet,
                lately,
                ..Ahead::default()
            };
            Self {
                ahead,
                computed: Arc::default(),
            }
        }

        fn change(&self) {
            if self.ahead.note_change() {
                let computed = self.computed.clone();
                tokio::spawn(self.ahead.clone().run(move |_| {
                    computed.fetch_add(1, Ordering::SeqCst);
                    std::future::ready(())
                }));
            }
        }

        fn computed(&self) -> u32 {
            self.computed.load(Ordering::SeqCst)
        }

        async fn until_nobody_runs(&self) {
            let waiting = async {
                while self.ahead.lock().is_running {
                    sleep(Duration::from_millis(1)).await;
                }
            };
            timeout(Duration::from_secs(30), waiting).await.unwrap();
        }
    }

    #[tokio::test]
    async fn changes_that_come_together_are_computed_for_once() {
        let tried = Tried::of(Duration::from_millis(300), LATELY);
        assert!(!tried.ahead.note_change(), "nobody has asked");
        tried.ahead.note_asked(|| question("a"), true);
        tried.ahead.note_asked(|| question("b"), true);
        // The first is computed for at once, for somebody has asked since the last; the others together, each question once.
        for (at_once, in_the_end) in [(2, 4), (4, 6)] {
            for _ in 0..100 {
                tried.change();
                tokio::task::yield_now().await;
            }
            assert_eq!(tried.computed(), at_once, "somebody goes on writing");
            tried.until_nobody_runs().await;
            assert_eq!(tried.computed(), in_the_end);
        }
    }

    #[tokio::test]
    async fn where_somebody_asks_after_each_change_it_is_computed_at_once() {
        let tried = Tried::of(Duration::from_secs(3_600), LATELY);
        for computed in 1..=3 {
            assert_eq!(tried.ahead.next(), [], "nobody has asked since");
            tried.ahead.note_asked(|| question("a"), computed == 1);
            assert_eq!(tried.ahead.next(), [question("a")]);
            tried.change();
            assert_eq!(tried.ahead.next(), [], "it is computed");
            tried.until_nobody_runs().await;
            assert_eq!(tried.computed(), computed);
        }
    }

    #[tokio::test]
    async fn the_latest_of_many_are_computed_and_none_that_was_asked_for_long_ago() {
        let tried = Tried::of(Duration::from_millis(1), LATELY);
        for number in 0..2 * QUESTIONS_MAX {
            tried.ahead.note_asked(|| question(number), true);
        }
        tried.change();
        tried.until_nobody_runs().await;
        assert_eq!(tried.computed(), 8);
        let tried = Tried::of(Duration::from_millis(1), Duration::ZERO);
        tried.ahead.note_asked(|| question("a"), true);
        tried.change();
        tried.until_nobody_runs().await;
        assert_eq!(tried.computed(), 0);
        assert!(!tried.ahead.note_change(), "nothing is left to compute");
    }

    /// With nobody asking, what was asked for before is kept again as the record is now.
    #[tokio::test(flavor = "multi_thread")]
    async fn a_verdict_is_kept_again_before_anybody_asks() {
        let demo = DemoApp::new().await;
        let (app, asked) = (&demo.app, demo.asked());
        let mut version = app.readiness_of(asked.clone()).await.unwrap().version.clone();
        // At once for the first, for somebody has asked; later for the second.
        for mass_kg in [31.0, 32.0] {
            app.write(&call(), async |unit: &mut Unit| weigh_cargo(unit, mass_kg).await)
                .await
                .unwrap();
            let kept = async {
                loop {
                    match demo.kept().await {
                        Some(answers) => return answers.version.clone(),
                        None => sleep(Duration::from_millis(1)).await,
                    }
                }
            };
            let kept = timeout(Duration::from_secs(60), kept).await.unwrap();
            assert_ne!(std::mem::replace(&mut version, kept.clone()), kept);
        }
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn a_dry_run_is_no_change() {
        let demo = DemoApp::new().await;
        demo.app.readiness_of(demo.asked()).await.unwrap();
        let dry = Call {
            validate_only: true,
            ..call()
        };
        let written = demo
            .app
            .write(&dry, async |unit: &mut Unit| weigh_cargo(unit, 31.0).await);
        written.await.unwrap();
        assert_eq!(demo.app.ahead.lock().changes, 0);
        assert!(demo.kept().await.is_some());
    }
}
