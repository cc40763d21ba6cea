//! Answers kept for as long as the record they were computed from stays as it was.
//!
//! Before a kept answer is given out, the database is asked for the revisions of the scopes it was computed
//! from, so that it is never stale, whichever server wrote. Calls that come while such a question is under
//! way share the next one: the load on the database does not grow with the number of callers, and none of
//! them gets an answer from before its own call.

use std::collections::{BTreeMap, BTreeSet};
use std::future::Future;
use std::hash::Hash;
use std::sync::{Arc, Mutex, PoisonError};

use moka::sync::Cache;
use ostler_store::Store;
use tokio::sync::{Mutex as Computing, oneshot};

use super::AppError;

/// Revision of each scope that something was computed from.
pub(super) type Revisions = BTreeMap<String, i64>;

/// Kept answers of one sort.
pub(super) struct Kept<K, V> {
    answers: Cache<K, Arc<Answer<V>>>,
    /// Who computes an answer holds its lock: the others wait for what comes of it.
    computing: Cache<K, Arc<Computing<()>>>,
}

/// A kept answer.
#[derive(Debug)]
struct Answer<V> {
    revisions: Revisions,
    value: V,
}

impl<K, V> Kept<K, V>
where
    K: Clone + Hash + Eq + Send + Sync + 'static,
    V: Clone + Send + Sync + 'static,
{
    /// Keeps at most `most` answers; those that were asked for least go first.
    pub(super) fn most(most: u64) -> Self {
        Self {
            answers: Cache::new(most),
            computing: Cache::new(most),
        }
    }

    /// The answer kept under `key`, or what `compute` makes of the record: only once for all who ask at the same time. A
    /// caller who goes away while he computes leaves it to the next.
    ///
    /// `seen` are revisions of a moment after the caller's call began, if he knows any; `compute` is told those that were found
    /// here. Nobody who has them need ask the database for them again.
    ///
    /// # Errors
    /// When the database cannot be read, or `compute` fails.
    pub(super) async fn get_or<Computed>(
        &self,
        key: &K,
        now: &RevisionReader,
        seen: Option<Revisions>,
        compute: impl FnOnce(Option<Revisions>) -> Computed + Send,
    ) -> Result<V, AppError>
    where
        Computed: Future<Output = Result<(Revisions, V), AppError>> + Send,
    {
        let (stale, mut seen) = match self.find(key, now, seen).await? {
            Found::Fresh(value) => return Ok(value),
            Found::Stale(answer, seen) => (Some(answer), Some(seen)),
            Found::Nothing(seen) => (None, seen),
        };
        let computing = self.computing.get_with_by_ref(key, Arc::default);
        let _turn = computing.lock().await;
        // Somebody may have computed meanwhile.
        if self.answers.get(key).as_ref().map(Arc::as_ptr) != stale.as_ref().map(Arc::as_ptr) {
            seen = match self.find(key, now, None).await? {
                Found::Fresh(value) => return Ok(value),
                Found::Stale(_, seen) => Some(seen),
                Found::Nothing(seen) => seen,
            };
        }
        // On the heap, and only now: what is computed holds a whole record on its way, and most calls are answered above.
        let (revisions, value) = Box::pin(compute(seen)).await?;
        let kept = Answer {
            revisions,
            value: value.clone(),
        };
        self.answers.insert(key.clone(), Arc::new(kept));
        Ok(value)
    }

    /// What is kept under `key`, and whether the record is still as it was computed from.
    async fn find(
        &self,
        key: &K,
        now: &RevisionReader,
        seen: Option<Revisions>,
    ) -> Result<Found<V>, AppError> {
        let Some(answer) = self.answers.get(key) else {
            return Ok(Found::Nothing(seen));
        };
        let seen = match seen {
            Some(seen) => seen,
            None => now.revisions(answer.revisions.keys().cloned().collect()).await?,
        };
        Ok(match seen == answer.revisions {
            true => Found::Fresh(answer.value.clone()),
            false => Found::Stale(answer, seen),
        })
    }
}

/// What is kept under a key.
enum Found<V> {
    /// It holds.
    Fresh(V),
    /// It holds no longer; with the revisions that tell so.
    Stale(Arc<Answer<V>>, Revisions),
    /// Nothing; with the revisions that were seen before.
    Nothing(Option<Revisions>),
}

/// Asks the database for revisions, one question at a time for all who wait.
#[derive(Clone)]
pub(super) struct RevisionReader {
    store: Store,
    queue: Arc<Mutex<Queue>>,
}

#[derive(Default)]
struct Queue {
    waiting: Vec<Waiting>,
    /// A task is answering; it takes whoever waits when it is done.
    answering: bool,
}

struct Waiting {
    scopes: Vec<String>,
    /// Gets none when the question failed.
    answer: oneshot::Sender<Option<Revisions>>,
}

impl RevisionReader {
    pub(super) fn new(store: Store) -> Self {
        Self {
            store,
            queue: Arc::default(),
        }
    }

    /// The revision of each of `scopes` at some moment after this call; a scope that was never written is absent.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub(super) async fn revisions(&self, scopes: Vec<String>) -> Result<Revisions, AppError> {
        let (answer, answered) = oneshot::channel();
        let alone = scopes.clone();
        let idle = {
            let mut queue = self.queue.lock().unwrap_or_else(PoisonError::into_inner);
            queue.waiting.push(Waiting { scopes, answer });
            !std::mem::replace(&mut queue.answering, true)
        };
        if idle {
            // A task of its own, so that a caller who goes away does not leave the others waiting.
            tokio::spawn(self.clone().answer());
        }
        match answered.await {
            Ok(Some(revisions)) => Ok(revisions),
            // The shared question failed: ask alone, for an error of one's own.
            Ok(None) | Err(_) => Ok(self.store.revisions(&alone).await?),
        }
    }

    async fn answer(self) {
        loop {
            // Whoever is about to ask comes first and is answered along: under load this takes in many, and otherwise no time.
            tokio::task::yield_now().await;
            let waiting = {
                let mut queue = self.queue.lock().unwrap_or_else(PoisonError::into_inner);
                queue.answering = !queue.waiting.is_empty();
                std::mem::take(&mut queue.waiting)
            };
            if waiting.is_empty() {
                return;
            }
            let scopes: BTreeSet<&String> = waiting.iter().flat_map(|one| &one.scopes).collect();
            let scopes: Vec<String> = scopes.into_iter().cloned().collect();
            let found = self.store.revisions(&scopes).await.ok();
            for Waiting { scopes, answer } in waiting {
                let own = found.as_ref().map(|found| {
                    scopes
                        .into_iter()
                        .filter_map(|scope| found.get(&scope).map(|revision| (scope, *revision)))
                        .collect()
                });
                // Who no longer waits needs no answer.
                drop(answer.send(own));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};
    use std::time::Duration;

    use ostler_store::Location;
    use tokio::time::{sleep, timeout};

    use super::*;

    #[tokio::test]
    async fn who_asks_at_the_same_time_waits_for_one_computation() {
        let folder = tempfile::tempdir().unwrap();
        let location = Location::SqliteFile(folder.path().join("record.db"));
        let now = RevisionReader::new(Store::open(&location, 0).await.unwrap());
        let kept = Kept::most(10);
        let computed = AtomicU32::new(0);
        let ask = || {
            kept.get_or(&"verdict", &now, None, |_| async {
                computed.fetch_add(1, Ordering::SeqCst);
                sleep(Duration::from_millis(50)).await;
                Ok((Revisions::new(), 7))
            })
        };
        // One who goes away while he computes keeps nobody waiting.
        assert!(timeout(Duration::from_millis(5), ask()).await.is_err());
        let (first, second, third) = tokio::join!(ask(), ask(), ask());
        assert_eq!([first, second, third].map(Result::unwrap), [7; 3]);
        assert_eq!(computed.load(Ordering::SeqCst), 2);
        // What is kept counts as long as the record is as it was.
        assert_eq!(ask().await.unwrap(), 7);
        let stale = kept.get_or(&"other", &now, None, |_| async {
            Ok((Revisions::from([("fleets/none".to_owned(), 4)]), 8))
        });
        assert_eq!(stale.await.unwrap(), 8);
        // Who has seen the record as it was computed from has an answer without asking, and who has seen it otherwise computes.
        let as_then = Revisions::from([("fleets/none".to_owned(), 4)]);
        let kept_one = kept.get_or(&"other", &now, Some(as_then), |_| async { unreachable!() });
        assert_eq!(kept_one.await.unwrap(), 8);
        let anew = kept.get_or(&"other", &now, None, |seen| async move {
            assert_eq!(seen, Some(Revisions::new()));
            Ok((Revisions::new(), 9))
        });
        assert_eq!(anew.await.unwrap(), 9);
    }
}
