//! What the database says of scopes: their revisions, and the rows of what has changed.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use ostler_store::{Loaded, MAX_KNOWN, Row, Store};
use tokio::runtime::Handle;
use tokio::sync::oneshot;

use super::AppError;

/// Revision of each scope that something was computed from.
pub(super) type Revisions = BTreeMap<String, i64>;

/// What the database said of scopes at one moment.
#[derive(Debug, Clone)]
pub(super) struct Seen {
    /// The revision of each; a scope that was never written is absent.
    pub(super) revisions: Revisions,
    /// What had changed then, when that was asked as well.
    changed: Option<Changed>,
}

#[derive(Debug, Clone)]
struct Changed {
    since: Revisions,
    /// All rows of every scope that has a higher revision than `since` has; perhaps others.
    rows: Arc<[Arc<Row>]>,
}

/// Scopes with the rows of those of them that have changed.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Anew {
    pub(super) revisions: Revisions,
    pub(super) rows: Vec<Arc<Row>>,
}

impl From<Loaded> for Anew {
    fn from(loaded: Loaded) -> Self {
        Self {
            revisions: loaded.revisions,
            rows: loaded.rows.into_iter().map(Arc::new).collect(),
        }
    }
}

impl Seen {
    /// The scopes, with all rows of those that have changed since they had the revisions that are `known`. `None`: that was not
    /// asked.
    pub(super) fn since(&self, known: &Revisions) -> Option<Anew> {
        let changed = self.changed.as_ref().filter(|changed| changed.since == *known)?;
        let is_changed = |scope: &String| known.get(scope) != self.revisions.get(scope);
        // Revisions only ever grow; should one have been set back, what is here says nothing of it.
        let mut scopes = self.revisions.iter();
        let is_there = scopes.all(|(scope, now)| known.get(scope).is_some_and(|then| then <= now));
        (is_there && known.len() == self.revisions.len()).then(|| Anew {
            rows: changed
                .rows
                .iter()
                .filter(|row| self.revisions.contains_key(&row.scope) && is_changed(&row.scope))
                .cloned()
                .collect(),
            revisions: self.revisions.clone(),
        })
    }
}

impl From<Revisions> for Seen {
    fn from(revisions: Revisions) -> Self {
        Self {
            revisions,
            changed: None,
        }
    }
}

/// What a question is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wants {
    /// To know whether something holds.
    Revisions,
    /// To have what has changed as well, when it does not.
    Rows,
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
    /// Somebody asks; whoever comes meanwhile is asked for next.
    answering: bool,
}

struct Waiting {
    known: Revisions,
    wants: Wants,
    /// Gets none when the question failed.
    answer: oneshot::Sender<Option<Seen>>,
}

impl RevisionReader {
    pub(super) fn new(store: Store) -> Self {
        Self {
            store,
            queue: Arc::default(),
        }
    }

    /// What has become of scopes that had the revisions that are `known`, at some moment after this call.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub(super) async fn seen(&self, known: Revisions, wants: Wants) -> Result<Seen, AppError> {
        let (answer, answered) = oneshot::channel();
        let alone: Vec<String> = known.keys().cloned().collect();
        let waiting = Waiting { known, wants, answer };
        let idle = {
            let mut queue = self.queue.lock().unwrap_or_else(PoisonError::into_inner);
            queue.waiting.push(waiting);
            !std::mem::replace(&mut queue.answering, true)
        };
        if idle {
            Asking(self.clone()).for_all().await;
        }
        match answered.await {
            Ok(Some(seen)) => Ok(seen),
            // The shared question failed: ask alone, for an error of one's own.
            Ok(None) | Err(_) => Ok(self.store.revisions(&alone).await?.into()),
        }
    }

    /// Takes on all who wait now.
    fn take_waiting(&self) -> Vec<Waiting> {
        let mut queue = self.queue.lock().unwrap_or_else(PoisonError::into_inner);
        std::mem::take(&mut queue.waiting)
    }

    /// Whether somebody came meanwhile; if not, the next to come asks.
    fn is_anyone_waiting(&self) -> bool {
        let mut queue = self.queue.lock().unwrap_or_else(PoisonError::into_inner);
        queue.answering = !queue.waiting.is_empty();
        queue.answering
    }

    /// The scopes of which rows are wanted, each with the lowest revision that somebody knows of it: who knows a higher one finds
    /// its rows among the others.
    fn lowest_known(&self, waiting: &[Waiting]) -> Revisions {
        let mut lowest = Revisions::new();
        // Rows are a standby's business where there is one.
        let wanting = waiting
            .iter()
            .filter(|one| one.wants == Wants::Rows && !self.store.has_replica());
        for (scope, known) in wanting.flat_map(|one| &one.known) {
            let lowest = lowest.entry(scope.clone()).or_insert(*known);
            *lowest = (*lowest).min(*known);
        }
        match lowest.len() > MAX_KNOWN {
            true => Revisions::new(),
            false => lowest,
        }
    }
}

/// Whoever asks for all who wait, one at a time: the caller who finds nobody asking, and then tasks of their own. Who goes away
/// before the end leaves those he asked for to ask alone; those who came meanwhile are asked for in any case.
struct Asking(RevisionReader);

impl Asking {
    async fn for_all(self) {
        let reader = &self.0;
        let waiting = reader.take_waiting();
        let known = reader.lowest_known(&waiting);
        let scopes: BTreeSet<&String> = waiting.iter().flat_map(|one| one.known.keys()).collect();
        let scopes: Vec<String> = scopes.into_iter().cloned().collect();
        let found = reader.store.revisions_and_changed(&scopes, &known).await.ok();
        let found = found.map(|found| {
            let rows: Arc<[Arc<Row>]> = found.rows.into_iter().map(Arc::new).collect();
            (found.revisions, rows)
        });
        for Waiting {
            known: since,
            wants,
            answer,
        } in waiting
        {
            let own = found.as_ref().map(|(revisions, rows)| {
                let own = since.keys().filter_map(|scope| revisions.get_key_value(scope));
                let is_complete = wants == Wants::Rows && since.keys().all(|scope| known.contains_key(scope));
                Seen {
                    revisions: own.map(|(scope, revision)| (scope.clone(), *revision)).collect(),
                    changed: is_complete.then(|| Changed {
                        since,
                        rows: rows.clone(),
                    }),
                }
            });
            // Who no longer waits needs no answer.
            drop(answer.send(own));
        }
    }
}

impl Drop for Asking {
    fn drop(&mut self) {
        // Outside a runtime, when all of it ends, nobody waits any more.
        if let (true, Ok(runtime)) = (self.0.is_anyone_waiting(), Handle::try_current()) {
            // A task that is never begun, for the runtime ends, is to begin no other.
            let reader = self.0.clone();
            runtime.spawn(async move {
                // Whoever is about to ask comes first and is answered along: under load this takes in many.
                tokio::task::yield_now().await;
                Self(reader).for_all().await;
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use ostler_store::{Location, NewRow};

    use super::*;

    const SCOPES: [&str; 3] = ["fleets/f", "fleets/f/vehicles/a", "fleets/f/vehicles/b"];

    async fn write(store: &Store, scope: &str, number: u32) {
        let name = format!("{scope}/parts/p{number}");
        let row = NewRow {
            name: &name,
            kind: "part",
            parent: None,
            scope,
            body: b"body",
            time: 1,
        };
        let mut transaction = store.begin().await.unwrap();
        transaction.insert(&row).await.unwrap();
        transaction.commit().await.unwrap();
    }

    async fn store(folder: &tempfile::TempDir) -> Store {
        let location = Location::SqliteFile(folder.path().join("record.db"));
        let store = Store::open(&location, 0).await.unwrap();
        for scope in SCOPES {
            write(&store, scope, 0).await;
        }
        store
    }

    /// Whoever asks, knowing what he knows, is told what the database would tell him alone.
    #[tokio::test]
    async fn what_is_seen_together_is_what_each_would_be_told_alone() {
        let folder = tempfile::tempdir().unwrap();
        let store = store(&folder).await;
        let all: Vec<String> = SCOPES.map(str::to_owned).to_vec();
        let mut known = vec![store.revisions(&all).await.unwrap()];
        for (number, scope) in (1..).zip([SCOPES[1], SCOPES[0], SCOPES[1]]) {
            write(&store, scope, number).await;
            known.push(store.revisions(&all).await.unwrap());
        }
        // One knows less of the world than the others.
        known.push([(SCOPES[2].to_owned(), 1)].into());
        let reader = RevisionReader::new(store.clone());
        let asked = known.iter().map(|known| reader.seen(known.clone(), Wants::Rows));
        for (seen, known) in futures_util::future::join_all(asked)
            .await
            .into_iter()
            .zip(&known)
        {
            let scopes: Vec<String> = known.keys().cloned().collect();
            let alone = store.load_changed(&scopes, known).await.unwrap();
            let seen = seen.unwrap();
            assert_eq!(seen.revisions, alone.revisions);
            assert_eq!(seen.since(known).unwrap(), Anew::from(alone));
        }
    }

    #[tokio::test]
    async fn what_was_not_asked_is_not_seen() {
        let folder = tempfile::tempdir().unwrap();
        let store = store(&folder).await;
        let all: Vec<String> = SCOPES.map(str::to_owned).to_vec();
        let known = store.revisions(&all).await.unwrap();
        let reader = RevisionReader::new(store.clone());
        let revisions_only = reader.seen(known.clone(), Wants::Revisions).await.unwrap();
        assert_eq!(revisions_only.revisions, known);
        assert_eq!(revisions_only.since(&known), None);
        let seen = reader.seen(known.clone(), Wants::Rows).await.unwrap();
        let mut other = known.clone();
        other.insert(SCOPES[0].to_owned(), 9);
        assert_eq!(seen.since(&other), None, "asked about another state");
        // A revision that is lower than the one known, as after a copy of the database was put back: nothing is told of what has changed.
        let seen = reader.seen(other.clone(), Wants::Rows).await.unwrap();
        assert_eq!(seen.since(&other), None);
    }

    /// Whoever asks for the others may go away at any moment of it.
    #[tokio::test]
    async fn who_goes_away_leaves_nobody_waiting() {
        let folder = tempfile::tempdir().unwrap();
        let store = store(&folder).await;
        let known = Revisions::from([(SCOPES[0].to_owned(), 1)]);
        let reader = RevisionReader::new(store);
        for looks in 0..20 {
            let mut first = Box::pin(reader.seen(known.clone(), Wants::Rows));
            let mut second = Box::pin(reader.seen(known.clone(), Wants::Rows));
            let mut answered = futures_util::poll!(&mut first).is_ready();
            let answered_too = futures_util::poll!(&mut second).is_ready();
            for _ in 0..looks {
                tokio::task::yield_now().await;
                answered = answered || futures_util::poll!(&mut first).is_ready();
            }
            drop(first);
            if !answered_too {
                let waited = tokio::time::timeout(std::time::Duration::from_secs(10), second).await;
                assert_eq!(
                    waited.unwrap().unwrap().revisions,
                    known,
                    "after {looks} looks, {answered}"
                );
            }
            // And the next is asked for as if nothing had been.
            assert_eq!(
                reader.seen(known.clone(), Wants::Rows).await.unwrap().revisions,
                known
            );
        }
    }
}
