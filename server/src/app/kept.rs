//! Answers kept for as long as the record they were computed from stays as it was.
//!
//! Before a kept answer is given out, the database is asked for the revisions of the scopes it was computed
//! from, so that it is never stale, whichever server wrote. Calls that come while such a question is under
//! way share the next one: the load on the database does not grow with the number of callers, and none of
//! them gets an answer from before its own call.

use std::collections::{BTreeMap, BTreeSet};
use std::hash::Hash;
use std::sync::{Arc, Mutex, PoisonError};

use moka::sync::Cache;
use ostler_store::Store;
use tokio::sync::oneshot;

use super::AppError;

/// Revision of each scope that something was computed from.
pub(super) type Revisions = BTreeMap<String, i64>;

/// Kept answers of one sort.
pub(super) struct Kept<K, V> {
    answers: Cache<K, Arc<Answer<V>>>,
}

/// A kept answer.
#[derive(Debug)]
struct Answer<V> {
    revisions: Revisions,
    value: V,
}

impl<K, V> Kept<K, V>
where
    K: Hash + Eq + Send + Sync + 'static,
    V: Clone + Send + Sync + 'static,
{
    /// Keeps at most `most` answers; those that were asked for least go first.
    pub(super) fn most(most: u64) -> Self {
        Self {
            answers: Cache::new(most),
        }
    }

    /// The answer kept under `key`, if the record is still as it was computed from.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub(super) async fn get(&self, key: &K, now: &RevisionReader) -> Result<Option<V>, AppError> {
        let Some(answer) = self.answers.get(key) else {
            return Ok(None);
        };
        let scopes = answer.revisions.keys().cloned().collect();
        let fresh = now.revisions(scopes).await? == answer.revisions;
        Ok(fresh.then(|| answer.value.clone()))
    }

    /// Keeps `value`, computed from a record at `revisions`.
    pub(super) fn keep(&self, key: K, revisions: Revisions, value: V) {
        self.answers.insert(key, Arc::new(Answer { revisions, value }));
    }
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
