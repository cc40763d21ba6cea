//! Who did what, when, and how it was before and after. Only ever appended to.

use sqlx::AssertSqlSafe;

use crate::StoreError;
use crate::batch::{Batch, Value};
use crate::db::{Connection, on};
use crate::sql::{Names, chunks};

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
    /// Its place in the chain of its fleet, 1, 2, 3, … without gaps; none until it is sealed.
    pub position: Option<i64>,
    /// Its seal there; none until it is sealed.
    pub seal: Option<Vec<u8>>,
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

impl NewHistory<'_> {
    /// Bytes of its bodies.
    pub(crate) fn body_bytes(&self) -> usize {
        self.before.map_or(0, <[u8]>::len) + self.after.map_or(0, <[u8]>::len)
    }
}

/// A page of history, newest first.
#[derive(Clone, Copy, Debug)]
pub struct HistoryQuery<'a> {
    /// Which fleet.
    pub fleet: &'a str,
    /// Only these.
    pub filter: HistoryFilter<'a>,
    /// The last sequence of the page before; none for the newest page.
    pub before_sequence: Option<i64>,
    /// The most entries to return.
    pub limit: u32,
}

impl<'a> HistoryQuery<'a> {
    /// The newest `limit` entries of a fleet, or of one resource of it.
    #[must_use]
    pub const fn newest(fleet: &'a str, resource: Option<&'a str>, limit: u32) -> Self {
        Self {
            fleet,
            filter: HistoryFilter {
                resource,
                ..HistoryFilter::ALL
            },
            before_sequence: None,
            limit,
        }
    }
}

/// Which entries; what is none lets all through.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct HistoryFilter<'a> {
    /// Of this resource.
    pub resource: Option<&'a str>,
    /// Of resources of this kind.
    pub kind: Option<&'a str>,
    /// By this person.
    pub actor: Option<&'a str>,
    /// That did this.
    pub action: Option<&'a str>,
    /// Of this moment or later, in microseconds since 1970, UTC.
    pub from_time: Option<i64>,
    /// Before this moment, in microseconds since 1970, UTC.
    pub before_time: Option<i64>,
}

impl HistoryFilter<'_> {
    /// All entries.
    pub const ALL: Self = Self {
        resource: None,
        kind: None,
        actor: None,
        action: None,
        from_time: None,
        before_time: None,
    };

    /// The conditions, each after an `AND`, with placeholders from `next` on.
    fn conditions(&self, next: usize) -> String {
        let given = [
            ("resource =", self.resource.is_some()),
            ("kind =", self.kind.is_some()),
            ("actor =", self.actor.is_some()),
            ("action =", self.action.is_some()),
            ("time >=", self.from_time.is_some()),
            ("time <", self.before_time.is_some()),
        ];
        let given = given.into_iter().filter(|(_, given)| *given);
        given
            .zip(next..)
            .map(|((condition, _), number)| format!(" AND {condition} ${number}"))
            .collect()
    }

    fn texts(&self) -> impl Iterator<Item = &str> {
        [self.resource, self.kind, self.actor, self.action]
            .into_iter()
            .flatten()
    }

    fn times(&self) -> impl Iterator<Item = i64> {
        [self.from_time, self.before_time].into_iter().flatten()
    }
}

/// Sealed entries of a fleet in the order of its chain.
#[derive(Clone, Copy, Debug)]
pub struct SealedQuery<'a> {
    /// Which fleet.
    pub fleet: &'a str,
    /// Only these.
    pub filter: HistoryFilter<'a>,
    /// Only after this position.
    pub after_position: i64,
    /// Only up to this position.
    pub until_position: i64,
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

/// Binds what a filter asks for, in the order of [`HistoryFilter::conditions`]. A macro, because the two databases'
/// statements are of different types.
macro_rules! filtered {
    ($statement:expr, $filter:expr) => {{
        let mut statement = $statement;
        for text in $filter.texts() {
            statement = statement.bind(text);
        }
        for time in $filter.times() {
            statement = statement.bind(time);
        }
        statement
    }};
}

/// What is read of an entry, from `history LEFT JOIN seal`.
pub(crate) const COLUMNS: &str =
    "history.sequence, history.fleet, resource, kind, time, actor, action, request_id, before, after,
    seal.position, seal.hash";

/// Where it is read from.
const SOURCE: &str = "history LEFT JOIN seal ON seal.sequence = history.sequence";

pub(crate) type Columns = (
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
    Option<i64>,
    Option<Vec<u8>>,
);

impl From<Columns> for HistoryEntry {
    fn from(
        (sequence, fleet, resource, kind, time, actor, action, request_id, before, after, position, seal): Columns,
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
            position,
            seal,
        }
    }
}

pub(crate) async fn query(
    connection: &mut Connection<'_>,
    query: &HistoryQuery<'_>,
) -> Result<Vec<HistoryEntry>, StoreError> {
    let sql = format!(
        "SELECT {COLUMNS} FROM {SOURCE} WHERE history.fleet = $1 AND history.sequence < $2{}
        ORDER BY history.sequence DESC LIMIT $3",
        query.filter.conditions(4)
    );
    let found: Vec<Columns> = on!(connection, executor => {
        let statement = sqlx::query_as(AssertSqlSafe(sql))
            .bind(query.fleet)
            .bind(query.before_sequence.unwrap_or(i64::MAX))
            .bind(i64::from(query.limit));
        filtered!(statement, query.filter).fetch_all(executor).await
    })?;
    Ok(found.into_iter().map(HistoryEntry::from).collect())
}

pub(crate) async fn sealed(
    connection: &mut Connection<'_>,
    query: &SealedQuery<'_>,
) -> Result<Vec<HistoryEntry>, StoreError> {
    let sql = format!(
        "SELECT {COLUMNS} FROM seal JOIN history ON history.sequence = seal.sequence
        WHERE seal.fleet = $1 AND seal.position > $2 AND seal.position <= $3{} ORDER BY seal.position LIMIT $4",
        query.filter.conditions(5)
    );
    let found: Vec<Columns> = on!(connection, executor => {
        let statement = sqlx::query_as(AssertSqlSafe(sql))
            .bind(query.fleet)
            .bind(query.after_position)
            .bind(query.until_position)
            .bind(i64::from(query.limit));
        filtered!(statement, query.filter).fetch_all(executor).await
    })?;
    Ok(found.into_iter().map(HistoryEntry::from).collect())
}

/// The last change of a resource until `time`.
pub(crate) async fn last_until(
    connection: &mut Connection<'_>,
    fleet: &str,
    resource: &str,
    time: i64,
) -> Result<Option<HistoryEntry>, StoreError> {
    let sql = format!(
        "SELECT {COLUMNS} FROM {SOURCE} WHERE history.fleet = $1 AND resource = $2 AND time <= $3
        ORDER BY history.sequence DESC LIMIT 1"
    );
    let found: Option<Columns> = on!(connection, executor => {
        sqlx::query_as(AssertSqlSafe(sql)).bind(fleet).bind(resource).bind(time).fetch_optional(executor).await
    })?;
    Ok(found.map(HistoryEntry::from))
}

pub(crate) async fn between(
    connection: &mut Connection<'_>,
    span: &HistorySpan<'_>,
) -> Result<Vec<HistoryEntry>, StoreError> {
    let sql = format!(
        "SELECT {COLUMNS} FROM {SOURCE} WHERE history.fleet = $1 AND time > $2 AND time <= $3
        ORDER BY history.sequence DESC LIMIT $4"
    );
    let found: Vec<Columns> = on!(connection, executor => {
        sqlx::query_as(AssertSqlSafe(sql))
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
    let sql = format!(
        "SELECT {COLUMNS} FROM {SOURCE} WHERE history.sequence IN
            (SELECT MAX(sequence) FROM history WHERE fleet = $1 AND time <= $2 GROUP BY resource)
        ORDER BY history.sequence"
    );
    let found: Vec<Columns> = on!(connection, executor => {
        sqlx::query_as(AssertSqlSafe(sql)).bind(fleet).bind(time).fetch_all(executor).await
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
        "SELECT {COLUMNS} FROM {SOURCE} WHERE history.sequence IN
            (SELECT MAX(sequence) FROM history WHERE resource IN ({}) GROUP BY resource)
        ORDER BY history.sequence DESC",
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

/// Adds the entries, in their order, to what is written together.
pub(crate) fn add<'a>(batch: &mut Batch<'a>, entries: &[NewHistory<'a>]) {
    let rows = entries.iter().map(|entry| {
        [
            Value::Text(entry.fleet),
            Value::Text(entry.resource),
            Value::Text(entry.kind),
            Value::Number(entry.time),
            Value::Text(entry.actor),
            Value::Text(entry.action),
            Value::OptionalText(entry.request_id),
            Value::OptionalBytes(entry.before),
            Value::OptionalBytes(entry.after),
        ]
    });
    batch.insert(
        "history (fleet, resource, kind, time, actor, action, request_id, before, after)",
        rows,
        "",
    );
}

/// Appends the entries in their order.
pub(crate) async fn append(
    connection: &mut Connection<'_>,
    entries: &[NewHistory<'_>],
) -> Result<(), StoreError> {
    for chunk in chunks(entries, NewHistory::body_bytes) {
        let mut batch = Batch::default();
        add(&mut batch, chunk);
        batch.execute(connection, |_| None).await?;
    }
    Ok(())
}
