//! Answers kept for as long as the record they were computed from stays as it was.
//!
//! Before a kept answer is given out, the database is asked for the revisions of the scopes it was computed
//! from, so that it is never stale, whichever server wrote. Calls that come while such a question is under
//! way share the next one: the load on the database does not grow with the number of callers, and none of
//! them gets an answer from before its own call.

use std::future::Future;
use std::hash::Hash;
use std::sync::Arc;

use moka::sync::Cache;
use tokio::sync::Mutex as Computing;

use super::AppError;
use super::revisions::{RevisionReader, Revisions, Seen, Wants};

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

impl<V> Answer<V> {
    /// Whether the record is as it was computed from.
    fn holds(&self, seen: &Seen) -> bool {
        self.revisions == seen.revisions
    }
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
    /// `seen` is what the database said at a moment after the caller's call began, if he knows; `compute` is told what was found
    /// here. Nobody who has it need ask again.
    ///
    /// # Errors
    /// When the database cannot be read, or `compute` fails.
    pub(super) async fn get_or<Computed>(
        &self,
        key: &K,
        now: &RevisionReader,
        seen: Option<Seen>,
        compute: impl FnOnce(Option<Seen>) -> Computed + Send,
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
        let kept = self.answers.get(key);
        if kept.as_ref().map(Arc::as_ptr) != stale.as_ref().map(Arc::as_ptr) {
            // From what the caller has seen already, or else from what is seen now.
            if let (Some(kept), Some(seen)) = (&kept, &seen)
                && kept.holds(seen)
            {
                return Ok(kept.value.clone());
            }
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

    /// What is wanted by who asks about `key`: while somebody computes it anew, the others need no rows for that.
    fn wanted_by_who_asks(&self, key: &K) -> Wants {
        let computing = self.computing.get(key);
        match computing.is_some_and(|computing| computing.try_lock().is_err()) {
            true => Wants::Revisions,
            false => Wants::Rows,
        }
    }

    /// What is kept under `key`, and whether the record is still as it was computed from.
    async fn find(&self, key: &K, now: &RevisionReader, seen: Option<Seen>) -> Result<Found<V>, AppError> {
        let Some(answer) = self.answers.get(key) else {
            return Ok(Found::Nothing(seen));
        };
        let seen = match seen {
            Some(seen) => seen,
            None => {
                now.seen(answer.revisions.clone(), self.wanted_by_who_asks(key))
                    .await?
            }
        };
        Ok(match answer.holds(&seen) {
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
    Stale(Arc<Answer<V>>, Seen),
    /// Nothing; with the revisions that were seen before.
    Nothing(Option<Seen>),
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};
    use std::time::Duration;

    use ostler_store::{Location, Store};
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
        let kept_one = kept.get_or(&"other", &now, Some(as_then.into()), |_| async { unreachable!() });
        assert_eq!(kept_one.await.unwrap(), 8);
        let anew = kept.get_or(&"other", &now, None, |seen| async move {
            assert_eq!(seen.unwrap().revisions, Revisions::new());
            Ok((Revisions::new(), 9))
        });
        assert_eq!(anew.await.unwrap(), 9);
    }
    #[tokio::test]
    async fn who_has_seen_the_record_as_it_was_computed_from_asks_no_more() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&Location::SqliteFile(folder.path().join("record.db")), 0)
            .await
            .unwrap();
        let now = RevisionReader::new(store.clone());
        let kept = Kept::most(10);
        let stale = Revisions::from([("fleets/none".to_owned(), 4)]);
        let first = kept.get_or(&"verdict", &now, None, |_| async { Ok((stale, 7)) });
        assert_eq!(first.await.unwrap(), 7);
        let ask = || {
            kept.get_or(&"verdict", &now, None, |_| async {
                // Until the other has asked and waits; from then on nobody can ask.
                sleep(Duration::from_millis(300)).await;
                store.close().await;
                Ok((Revisions::new(), 8))
            })
        };
        let (one, other) = tokio::join!(ask(), ask());
        assert_eq!((one.unwrap(), other.unwrap()), (8, 8));
        assert!(ask().await.is_err());
    }
}
