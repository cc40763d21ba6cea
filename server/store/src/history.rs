//! Who did what, when, and how it was before and after. Only ever appended to.

use sqlx::AssertSqlSafe;

use crate::StoreError;
use crate::db::{Connection, on};
use crate::sql::{Names, chunks, keep_prepared, values};

/// One change, as it is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HistoryEntry {
    /// Its place in the order of entries. Numbers only grow, with gaps.
    pub sequence: i64,
    /// The fleet it happened in.
    pub fleet: String,
    /// The resource it happened to, which may be gone since.
    pub resource: String,
    /// The kind of the resource.
    pub kind: String,
    /// When, in microseconds since 1970, UTC.
    pub time: i64,
    /// Who.
    pub actor: String,
    /// What was done, such as `create`.
    pub action: String,
    /// The request it came with, if that had an id.
    pub request_id: Option<String>,
    /// The body before; none when created.
    pub before: Option<Vec<u8>>,
    /// The body after; none when deleted.
    pub after: Option<Vec<u8>>,
}

/// A change to note. The fields are those of [`HistoryEntry`].
#[derive(Clone, Copy, Debug)]
pub struct NewHistory<'a> {
    /// The fleet it happened in.
    pub fleet: &'a str,
    /// The resource it happened to.
    pub resource: &'a str,
    /// The kind of the resource.
    pub kind: &'a str,
    /// When, in microseconds since 1970, UTC.
    pub time: i64,
    /// Who.
    pub actor: &'a str,
    /// What was done.
    pub action: &'a str,
    /// The request it came with, if that had an id.
    pub request_id: Option<&'a str>,
    /// The body before; none when created.
    pub before: Option<&'a [u8]>,
    /// The body after; none when deleted.
    pub after: Option<&'a [u8]>,
}

/// A page of history, newest first.
#[derive(Clone, Copy, Debug)]
pub struct HistoryQuery<'a> {
    /// Which fleet.
    pub fleet: &'a str,
    /// Only this resource, if given.
    pub resource: Option<&'a str>,
    /// The last sequence of the page before; none for the newest page.
    pub before_sequence: Option<i64>,
    /// The most entries to return.
    pub limit: u32,
}

/// The changes of a fleet after one moment and until another, newest first.
#[derive(Clone, Copy, Debug)]
pub struct HistorySpan<'a> {
    /// Which fleet.
    pub fleet: &'a str,
    /// Only later changes, in microseconds since 1970, UTC.
    pub after_time: i64,
    /// Changes of this moment count.
    pub until_time: i64,
    /// The most entries to return.
    pub limit: u32,
}

type Columns = (
    i64,
    String,
    String,
    String,
    i64,
    String,
    String,
    Option<String>,
    Option<Vec<u8>>,
    Option<Vec<u8>>,
);

impl From<Columns> for HistoryEntry {
    fn from(
        (sequence, fleet, resource, kind, time, actor, action, request_id, before, after): Columns,
    ) -> Self {
        Self {
            sequence,
            fleet,
            resource,
            kind,
            time,
            actor,
            action,
            request_id,
            before,
            after,
        }
    }
}

pub(crate) async fn query(
    connection: &mut Connection<'_>,
    query: &HistoryQuery<'_>,
) -> Result<Vec<HistoryEntry>, StoreError> {
    const OF_FLEET: &str =
        "SELECT sequence, fleet, resource, kind, time, actor, action, request_id, before, after
        FROM history WHERE fleet = $1 AND sequence < $2 ORDER BY sequence DESC LIMIT $3";
    const OF_RESOURCE: &str =
        "SELECT sequence, fleet, resource, kind, time, actor, action, request_id, before, after
        FROM history WHERE fleet = $1 AND sequence < $2 AND resource = $4 ORDER BY sequence DESC LIMIT $3";
    let found: Vec<Columns> = on!(connection, executor => {
        let statement = sqlx::query_as(if query.resource.is_some() { OF_RESOURCE } else { OF_FLEET })
            .bind(query.fleet)
            .bind(query.before_sequence.unwrap_or(i64::MAX))
            .bind(i64::from(query.limit));
        let statement = match query.resource {
            Some(resource) => statement.bind(resource),
            None => statement,
        };
        statement.fetch_all(executor).await
    })?;
    Ok(found.into_iter().map(HistoryEntry::from).collect())
}

pub(crate) async fn between(
    connection: &mut Connection<'_>,
    span: &HistorySpan<'_>,
) -> Result<Vec<HistoryEntry>, StoreError> {
    const SQL: &str = "SELECT sequence, fleet, resource, kind, time, actor, action, request_id, before, after
        FROM history WHERE fleet = $1 AND time > $2 AND time <= $3 ORDER BY sequence DESC LIMIT $4";
    let found: Vec<Columns> = on!(connection, executor => {
        sqlx::query_as(SQL)
            .bind(span.fleet)
            .bind(span.after_time)
            .bind(span.until_time)
            .bind(i64::from(span.limit))
            .fetch_all(executor)
            .await
    })?;
    Ok(found.into_iter().map(HistoryEntry::from).collect())
}

/// The last change of each resource of a fleet until `time`, in the order of the changes.
pub(crate) async fn as_of(
    connection: &mut Connection<'_>,
    fleet: &str,
    time: i64,
) -> Result<Vec<HistoryEntry>, StoreError> {
    const SQL: &str = "SELECT sequence, fleet, resource, kind, time, actor, action, request_id, before, after
        FROM history WHERE sequence IN
            (SELECT MAX(sequence) FROM history WHERE fleet = $1 AND time <= $2 GROUP BY resource)
        ORDER BY sequence";
    let found: Vec<Columns> = on!(connection, executor => {
        sqlx::query_as(SQL).bind(fleet).bind(time).fetch_all(executor).await
    })?;
    Ok(found.into_iter().map(HistoryEntry::from).collect())
}

/// The last change of each of `resources`, newest first.
pub(crate) async fn last_of(
    connection: &mut Connection<'_>,
    resources: &[String],
) -> Result<Vec<HistoryEntry>, StoreError> {
    let names = Names::new(resources)?;
    let sql = format!(
        "SELECT sequence, fleet, resource, kind, time, actor, action, request_id, before, after
        FROM history WHERE sequence IN
            (SELECT MAX(sequence) FROM history WHERE resource IN ({}) GROUP BY resource)
        ORDER BY sequence DESC",
        names.placeholders()
    );
    let found: Vec<Columns> = on!(connection, executor => {
        let mut query = sqlx::query_as(AssertSqlSafe(sql));
        for name in names.iter() {
            query = query.bind(name);
        }
        query.fetch_all(executor).await
    })?;
    Ok(found.into_iter().map(HistoryEntry::from).collect())
}

/// Appends the entries in their order.
pub(crate) async fn append(
    connection: &mut Connection<'_>,
    entries: &[NewHistory<'_>],
) -> Result<(), StoreError> {
    let bytes =
        |entry: &NewHistory<'_>| entry.before.map_or(0, <[u8]>::len) + entry.after.map_or(0, <[u8]>::len);
    for chunk in chunks(entries, bytes) {
        let sql = format!(
            "INSERT INTO history (fleet, resource, kind, time, actor, action, request_id, before, after) VALUES {}",
            values(chunk.len(), 9)
        );
        on!(&mut *connection, executor => {
            let mut query = sqlx::query(AssertSqlSafe(sql)).persistent(keep_prepared(chunk.len()));
            for entry in chunk {
                query = query
                    .bind(entry.fleet)
                    .bind(entry.resource)
                    .bind(entry.kind)
                    .bind(entry.time)
                    .bind(entry.actor)
                    .bind(entry.action)
                    .bind(entry.request_id)
                    .bind(entry.before)
                    .bind(entry.after);
            }
            query.execute(executor).await.map(drop)
        })?;
    }
    Ok(())
}
