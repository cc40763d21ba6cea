//! What a transaction writes, and what it makes of a record.

use std::collections::BTreeMap;
use std::sync::Arc;

use ostler_store::{Change, NewRow, Row};

use super::kept_records::KeptRecord;
use super::revisions::Anew;

/// What a transaction does to a row.
#[derive(Debug, Clone)]
pub(super) enum Written {
    /// It is new.
    New(Row),
    /// It has this name, and now this scope and body.
    Changed {
        name: String,
        scope: String,
        body: Vec<u8>,
        time: i64,
    },
    /// It had this name.
    Deleted(String),
}

impl Written {
    /// A resource that is created.
    pub(super) fn new(row: &NewRow<'_>) -> Self {
        Self::New(new_row(row))
    }

    /// A resource that is changed.
    pub(super) fn changed(change: &Change<'_>) -> Self {
        Self::Changed {
            name: change.name.to_owned(),
            scope: change.scope.to_owned(),
            body: change.body.to_vec(),
            time: change.time,
        }
    }
}

/// A row as it is when it is new.
pub(super) fn new_row(row: &NewRow<'_>) -> Row {
    Row {
        name: row.name.to_owned(),
        kind: row.kind.to_owned(),
        parent: row.parent.map(str::to_owned),
        scope: row.scope.to_owned(),
        revision: 1,
        create_time: row.time,
        update_time: row.time,
        body: row.body.to_vec(),
    }
}

/// A row as it is when it has been changed.
pub(super) fn changed_row(before: Row, scope: String, body: Vec<u8>, time: i64) -> Row {
    Row {
        scope,
        body,
        revision: before.revision + 1,
        update_time: time,
        ..before
    }
}

/// The rows of the scopes of a record that are written to.
struct Changing<'b> {
    before: &'b KeptRecord,
    /// Of each scope in the order of their names.
    rows: BTreeMap<String, Vec<Arc<Row>>>,
}

impl Changing<'_> {
    fn is_of_record(&self, scope: &str) -> bool {
        self.before.revisions.contains_key(scope)
    }

    /// The rows of a scope that is written to.
    fn changing(&mut self, scope: &str) -> &mut Vec<Arc<Row>> {
        let before = self.before.rows.get(scope);
        let begin = || before.map_or_else(Vec::new, |rows| rows.to_vec());
        self.rows.entry(scope.to_owned()).or_insert_with(begin)
    }

    fn take(&mut self, name: &str) -> Option<Arc<Row>> {
        let found = self.before.revisions.keys().find_map(|scope| {
            let before = || self.before.rows.get(scope).map_or(&[][..], |rows| rows);
            let rows = self.rows.get(scope).map_or_else(before, Vec::as_slice);
            Some((scope.clone(), place(rows, name).ok()?))
        });
        let (scope, place) = found?;
        Some(self.changing(&scope).remove(place))
    }

    fn put(&mut self, row: Row) {
        if self.is_of_record(&row.scope) {
            let rows = self.changing(&row.scope);
            let (Ok(place) | Err(place)) = place(rows, &row.name);
            rows.insert(place, Arc::new(row));
        }
    }
}

/// Where a row of this name is, or else belongs.
fn place(rows: &[Arc<Row>], name: &str) -> Result<usize, usize> {
    rows.binary_search_by(|row| row.name.as_str().cmp(name))
}

/// What is new in a departure's record when it changes by what is `written` alone. `None`: nothing, or that cannot be told.
pub(super) fn after(before: &KeptRecord, written: &[Written]) -> Option<Anew> {
    let mut changing = Changing {
        before,
        rows: BTreeMap::new(),
    };
    for written in written.iter().cloned() {
        match written {
            Written::New(row) => changing.put(row),
            Written::Changed {
                name,
                scope,
                body,
                time,
            } => match changing.take(&name) {
                Some(row) => changing.put(changed_row(Arc::unwrap_or_clone(row), scope, body, time)),
                // It comes from somewhere else.
                None if changing.is_of_record(&scope) => return None,
                None => {}
            },
            Written::Deleted(name) => drop(changing.take(&name)),
        }
    }
    let mut revisions = before.revisions.clone();
    for scope in changing.rows.keys() {
        *revisions.get_mut(scope)? += 1;
    }
    let rows: Vec<Arc<Row>> = changing.rows.into_values().flatten().collect();
    (revisions != before.revisions).then_some(Anew { revisions, rows })
}

#[cfg(test)]
mod tests {
    use ostler_store::{Loaded, Location, Store};
    use proptest::prelude::*;

    use super::*;
    use crate::app::backing::{Backing, Writing};
    use crate::app::tests::demo::departure;
    use crate::app::{fleet_file, kind_table};

    /// A change of a row.
    #[derive(Debug, Clone)]
    enum Edit {
        Delete,
        /// It says what another of its kind says.
        Say(prop::sample::Index),
        /// It goes into the scope of another row.
        Move(prop::sample::Index),
    }

    fn edits() -> impl Strategy<Value = Vec<(prop::sample::Index, Edit)>> {
        let of = || any::<prop::sample::Index>();
        let edit = prop_oneof![
            Just(Edit::Delete),
            of().prop_map(Edit::Say),
            of().prop_map(Edit::Move),
        ];
        prop::collection::vec((of(), edit), 1..12)
    }

    /// The rows of the demo, with nothing that one of them would need of another.
    fn demo_rows() -> Vec<kind_table::Prepared> {
        let file = fleet_file::read(include_bytes!("../../demo/orrin.yaml")).unwrap();
        let rows = file.resources.iter().map(|resource| {
            let kind = kind_table::entry(resource.word).unwrap();
            kind.prepare(&resource.name, &resource.message).unwrap()
        });
        rows.collect()
    }

    fn new<'r>(row: &'r kind_table::Prepared, time: i64) -> NewRow<'r> {
        NewRow {
            name: &row.name,
            kind: row.word,
            parent: None,
            scope: &row.scope,
            body: &row.body,
            time,
        }
    }

    /// Does it; what is not there is created again.
    async fn carry_out(
        backing: &mut Backing,
        first: &[kind_table::Prepared],
        at: prop::sample::Index,
        edit: &Edit,
        time: i64,
    ) {
        let row = at.get(first);
        let Some(stored) = backing.get(&row.name).await.unwrap() else {
            return backing.create(&new(row, time), &[]).await.unwrap();
        };
        let (body, scope) = match edit {
            Edit::Delete => return backing.delete(&stored.name, stored.seen()).await.unwrap(),
            Edit::Say(other) => {
                let alike: Vec<_> = first.iter().filter(|other| other.word == stored.kind).collect();
                (&other.get(&alike).body, &stored.scope)
            }
            Edit::Move(other) => (&stored.body, &other.get(first).scope),
        };
        let change = Change {
            name: &stored.name,
            seen: stored.seen(),
            scope,
            body,
            time,
        };
        backing.update(&change).await.map(drop).unwrap();
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// Whatever a transaction creates, changes, moves and deletes: what is expected of it is what the database has then. Of the
        /// vehicles one is none of the record's.
        #[test]
        fn what_is_expected_is_what_comes(transactions in prop::collection::vec(edits(), 1..6)) {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
            runtime.block_on(async {
                let folder = tempfile::tempdir().unwrap();
                let location = Location::SqliteFile(folder.path().join("record.db"));
                let store = Store::open(&location, 0).await.unwrap();
                let first = demo_rows();
                let mut transaction = store.begin().await.unwrap();
                let rows: Vec<NewRow<'_>> = first.iter().map(|row| new(row, 1)).collect();
                transaction.insert_all(&rows).await.unwrap();
                transaction.commit().await.unwrap();
                let mut scopes: Vec<String> = first.iter().map(|row| row.scope.clone()).collect();
                scopes.sort();
                scopes.dedup();
                let left_out = scopes.pop().unwrap();
                assert!(left_out.contains("/vehicles/"), "{left_out}");
                let all = store.load(&scopes).await.unwrap();
                let mut kept = KeptRecord::of(&departure().fleet(), all.into()).unwrap();
                for (time, edits) in (2..).zip(transactions) {
                    let transaction = store.begin().await.unwrap();
                    let mut backing = Backing::Database(Box::new(Writing::in_transaction(transaction)));
                    for (at, edit) in &edits {
                        carry_out(&mut backing, &first, *at, edit, time).await;
                    }
                    let Backing::Database(writing) = backing else { unreachable!() };
                    let expected = after(&kept, writing.written().unwrap());
                    writing.transaction.commit().await.unwrap();
                    let Loaded { mut rows, revisions } = store.load_changed(&scopes, &kept.revisions).await.unwrap();
                    match expected {
                        Some(mut expected) => {
                            expected.rows.sort_by(|one, other| one.name.cmp(&other.name));
                            rows.sort_by(|one, other| one.name.cmp(&other.name));
                            prop_assert_eq!(&expected.revisions, &revisions);
                            prop_assert_eq!(expected.rows, rows.into_iter().map(Arc::new).collect::<Vec<_>>());
                        }
                        None => {
                            let known = |row: &kind_table::Prepared| kept.rows.values().any(|rows| place(rows, &row.name).is_ok());
                            let is_nothing = revisions == kept.revisions;
                            prop_assert!(is_nothing || !edits.iter().all(|(at, _)| known(at.get(&first))));
                        }
                    }
                    let all = store.load(&scopes).await.unwrap();
                    let Ok(now) = KeptRecord::of(&departure().fleet(), all.into()) else { break };
                    kept = now;
                }
                Ok(())
            })?;
        }
    }
}
