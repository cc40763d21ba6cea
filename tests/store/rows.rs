//! Rows the tests write, and short ways to write and read them.

use ostler_store::{Change, NewHistory, NewRequest, NewRow, Row, Seen, Store, StoreError, Transaction};

/// A time for everything that needs one.
pub(crate) const TIME: i64 = 1_790_000_000_000_000;

/// A fleet of its own scope.
pub(crate) fn fleet(name: &str) -> NewRow<'_> {
    NewRow {
        name,
        kind: "fleet",
        parent: None,
        scope: name,
        body: b"fleet",
        time: TIME,
    }
}

/// A vehicle of its own scope. `name` must be that of a vehicle under `parent`.
pub(crate) fn vehicle<'a>(parent: &'a str, name: &'a str, body: &'a [u8]) -> NewRow<'a> {
    NewRow {
        name,
        kind: "vehicle",
        parent: Some(parent),
        scope: name,
        body,
        time: TIME,
    }
}

/// A row of another kind in the scope of its parent.
pub(crate) fn under<'a>(kind: &'a str, parent: &'a str, name: &'a str) -> NewRow<'a> {
    NewRow {
        name,
        kind,
        parent: Some(parent),
        scope: parent,
        body: b"body",
        time: TIME,
    }
}

/// A change of a row that stays in its scope.
pub(crate) fn change<'a>(row: &'a Row, body: &'a [u8]) -> Change<'a> {
    Change {
        name: &row.name,
        seen: row.seen(),
        scope: &row.scope,
        body,
        time: row.update_time + 1,
    }
}

/// A history entry about a resource.
pub(crate) fn entry<'a>(fleet: &'a str, resource: &'a str, action: &'a str) -> NewHistory<'a> {
    NewHistory {
        fleet,
        resource,
        kind: "vehicle",
        time: TIME,
        actor: "tokens/anna",
        action,
        request_id: None,
        before: None,
        after: Some(b"after"),
    }
}

/// Commits rows and nothing else.
pub(crate) async fn write(store: &Store, rows: &[NewRow<'_>]) -> Result<(), StoreError> {
    let mut transaction: Transaction = store.begin().await?;
    transaction.insert_all(rows).await?;
    transaction.commit().await
}

/// Commits one change.
pub(crate) async fn update(store: &Store, change: &Change<'_>) -> Result<i64, StoreError> {
    let mut transaction = store.begin().await?;
    let revision = transaction.update(change).await?;
    transaction.commit().await?;
    Ok(revision)
}

/// A row that was created at [`TIME`], at a revision.
pub(crate) const fn at(revision: i64) -> Seen {
    Seen {
        revision,
        create_time: TIME,
    }
}

/// Commits one deletion of a row that was created at [`TIME`].
pub(crate) async fn delete(store: &Store, name: &str, revision: i64) -> Result<(), StoreError> {
    let mut transaction = store.begin().await?;
    transaction.delete(name, at(revision)).await?;
    transaction.commit().await
}

/// The names of rows.
pub(crate) fn names(rows: &[Row]) -> Vec<&str> {
    rows.iter().map(|row| row.name.as_str()).collect()
}

/// Owned texts.
pub(crate) fn texts(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// Writes all that is left of a transaction in one, and commits it.
///
/// # Errors
/// Those of either.
pub(crate) async fn end(
    mut transaction: Transaction,
    entries: &[NewHistory<'_>],
    request: Option<&NewRequest<'_>>,
) -> Result<(), StoreError> {
    transaction.write_all(entries, request).await?;
    transaction.commit().await
}
