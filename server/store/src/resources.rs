//! Resources: one row each, the content an opaque body.

use std::collections::BTreeSet;

use sqlx::AssertSqlSafe;

use crate::StoreError;
use crate::batch::{Batch, Value};
use crate::db::{Connection, on};
use crate::sql::{Names, chunks, keep_prepared, values};

/// A resource as it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The full name, such as `fleets/orrin/vehicles/v1`.
    pub name: String,
    /// A short word for what it is, such as `vehicle`.
    pub kind: String,
    /// The resource it belongs to, whose name is the beginning of its own; none for a fleet.
    pub parent: Option<String>,
    /// The fleet, vehicle or departure whose record it is read with.
    pub scope: String,
    /// 1 when created, one more at every change.
    pub revision: i64,
    /// When it was created, in microseconds since 1970, UTC.
    pub create_time: i64,
    /// When it was last changed, in microseconds since 1970, UTC.
    pub update_time: i64,
    /// The content, encoded by the caller.
    pub body: Vec<u8>,
}

impl Row {
    /// This row, for a change to say what it was made from.
    #[must_use]
    pub const fn seen(&self) -> Seen {
        Seen {
            revision: self.revision,
            create_time: self.create_time,
        }
    }
}

/// Which state of a row somebody has seen. What is deleted and created anew under its name begins at revision 1 again, so the
/// time of creation belongs to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seen {
    /// Its revision.
    pub revision: i64,
    /// When it was created, in microseconds since 1970, UTC.
    pub create_time: i64,
}

/// A resource to create.
#[derive(Clone, Copy, Debug)]
pub struct NewRow<'a> {
    /// The full name; not empty, no NUL and no separator of ASCII (U+001C to U+001F).
    pub name: &'a str,
    /// A short word for what it is; not empty, no NUL and no separator of ASCII (U+001C to U+001F).
    pub kind: &'a str,
    /// The resource it belongs to. It must exist by the time of the commit, and `name` must
    /// begin with it and a slash.
    pub parent: Option<&'a str>,
    /// The fleet, vehicle or departure whose record it is read with; not empty, no NUL and no separator of ASCII (U+001C to U+001F).
    pub scope: &'a str,
    /// The content.
    pub body: &'a [u8],
    /// The time of creation, in microseconds since 1970, UTC.
    pub time: i64,
}

impl NewRow<'_> {
    /// # Errors
    /// [`StoreError::Invalid`] for a word that holds what no word may: these may stand between words.
    pub(crate) fn check(&self) -> Result<(), StoreError> {
        check_words(&[self.name, self.kind, self.scope])
    }
}

impl Change<'_> {
    /// # Errors
    /// As [`NewRow::check`].
    pub(crate) fn check(&self) -> Result<(), StoreError> {
        check_words(&[self.scope])
    }
}

fn check_words(words: &[&str]) -> Result<(), StoreError> {
    let is_separator = |letter| ('\u{1c}'..='\u{1f}').contains(&letter);
    match words.iter().any(|word| word.contains(is_separator)) {
        true => Err(StoreError::Invalid {
            source: "a word holds a separator of ASCII".into(),
        }),
        false => Ok(()),
    }
}

/// A change of a resource.
#[derive(Clone, Copy, Debug)]
pub struct Change<'a> {
    /// Which resource.
    pub name: &'a str,
    /// What the caller has seen; the change is refused when it is that no longer.
    pub seen: Seen,
    /// The scope, which may differ from the one before; as [`NewRow::scope`].
    pub scope: &'a str,
    /// The new content.
    pub body: &'a [u8],
    /// The time of the change, in microseconds since 1970, UTC.
    pub time: i64,
}

/// A page of resources of one kind under one parent, in the order of their names (bytes).
#[derive(Clone, Copy, Debug)]
pub struct List<'a> {
    /// Which kind.
    pub kind: &'a str,
    /// The exact parent; none for resources without one.
    pub parent: Option<&'a str>,
    /// The last name of the page before; none for the first page.
    pub after: Option<&'a str>,
    /// The most rows to return.
    pub limit: u32,
}

pub(crate) const COLUMNS: &str = "name, kind, parent, scope, revision, create_time, update_time, body";

pub(crate) type Columns = (String, String, Option<String>, String, i64, i64, i64, Vec<u8>);

impl From<Columns> for Row {
    fn from((name, kind, parent, scope, revision, create_time, update_time, body): Columns) -> Self {
        Self {
            name,
            kind,
            parent,
            scope,
            revision,
            create_time,
            update_time,
            body,
        }
    }
}

fn rows(columns: Vec<Columns>) -> Vec<Row> {
    columns.into_iter().map(Row::from).collect()
}

pub(crate) async fn get(connection: &mut Connection<'_>, name: &str) -> Result<Option<Row>, StoreError> {
    const SQL: &str = "SELECT name, kind, parent, scope, revision, create_time, update_time, body
        FROM resource WHERE name = $1";
    let found: Option<Columns> =
        on!(connection, executor => sqlx::query_as(SQL).bind(name).fetch_optional(executor).await)?;
    Ok(found.map(Row::from))
}

/// Those of `names` that exist, in the order of their names.
pub(crate) async fn many(connection: &mut Connection<'_>, names: &[String]) -> Result<Vec<Row>, StoreError> {
    let names = Names::new(names)?;
    let sql = format!(
        "SELECT {COLUMNS} FROM resource WHERE name IN ({}) ORDER BY name",
        names.placeholders()
    );
    let found: Vec<Columns> = on!(connection, executor => {
        let mut query = sqlx::query_as(AssertSqlSafe(sql));
        for name in names.iter() {
            query = query.bind(name);
        }
        query.fetch_all(executor).await
    })?;
    Ok(rows(found))
}

/// Those of `names` that exist, and what those of `sources` refer to; some perhaps twice.
pub(crate) async fn many_with_targets(
    connection: &mut Connection<'_>,
    names: &[String],
    sources: &[String],
) -> Result<Vec<Row>, StoreError> {
    let (names, sources) = (Names::new(names)?, Names::new(sources)?);
    let sql = format!(
        "SELECT {COLUMNS} FROM resource WHERE name IN ({})
        UNION ALL SELECT {COLUMNS} FROM reference JOIN resource ON name = target WHERE source IN ({})",
        names.placeholders(),
        sources.placeholders_from(names.next())
    );
    let found: Vec<Columns> = on!(connection, executor => {
        let mut query = sqlx::query_as(AssertSqlSafe(sql));
        for name in names.iter().chain(sources.iter()) {
            query = query.bind(name);
        }
        query.fetch_all(executor).await
    })?;
    Ok(rows(found))
}

pub(crate) async fn existing(
    connection: &mut Connection<'_>,
    names: &[String],
) -> Result<BTreeSet<String>, StoreError> {
    let names = Names::new(names)?;
    let sql = format!(
        "SELECT name FROM resource WHERE name IN ({})",
        names.placeholders()
    );
    let found: Vec<String> = on!(connection, executor => {
        let mut query = sqlx::query_scalar(AssertSqlSafe(sql));
        for name in names.iter() {
            query = query.bind(name);
        }
        query.fetch_all(executor).await
    })?;
    Ok(found.into_iter().collect())
}

pub(crate) async fn list(connection: &mut Connection<'_>, list: &List<'_>) -> Result<Vec<Row>, StoreError> {
    // Two texts, because no index helps with "equal or both NULL".
    const UNDER: &str = "SELECT name, kind, parent, scope, revision, create_time, update_time, body
        FROM resource WHERE kind = $1 AND name > $2 AND parent = $4 ORDER BY name LIMIT $3";
    const TOP: &str = "SELECT name, kind, parent, scope, revision, create_time, update_time, body
        FROM resource WHERE kind = $1 AND name > $2 AND parent IS NULL ORDER BY name LIMIT $3";
    let found: Vec<Columns> = on!(connection, executor => {
        let query = sqlx::query_as(if list.parent.is_some() { UNDER } else { TOP })
            .bind(list.kind)
            .bind(list.after.unwrap_or(""))
            .bind(i64::from(list.limit));
        let query = match list.parent {
            Some(parent) => query.bind(parent),
            None => query,
        };
        query.fetch_all(executor).await
    })?;
    Ok(rows(found))
}

/// Every row below `name`, however deep, the deepest first.
///
/// A range of names instead of a pattern: `name/` up to `name0`, 0 being the character after the slash.
pub(crate) async fn descendants(connection: &mut Connection<'_>, name: &str) -> Result<Vec<Row>, StoreError> {
    const SQL: &str = "SELECT name, kind, parent, scope, revision, create_time, update_time, body
        FROM resource WHERE name > $1 AND name < $2 ORDER BY name";
    let (from, to) = (format!("{name}/"), format!("{name}0"));
    let found: Vec<Columns> = on!(connection, executor => {
        sqlx::query_as(SQL).bind(&from).bind(&to).fetch_all(executor).await
    })?;
    let mut found = rows(found);
    found.sort_by_key(|row| std::cmp::Reverse(row.name.matches('/').count()));
    Ok(found)
}

pub(crate) async fn insert(connection: &mut Connection<'_>, new: &[NewRow<'_>]) -> Result<(), StoreError> {
    new.iter().try_for_each(NewRow::check)?;
    for chunk in chunks(new, |row| row.body.len()) {
        // A taken name is left out instead of failing the statement, which tells which it was.
        let sql = format!(
            "INSERT INTO resource ({COLUMNS}) VALUES {} ON CONFLICT (name) DO NOTHING RETURNING name",
            values(chunk.len(), 8)
        );
        let inserted: Vec<String> = on!(&mut *connection, executor => {
            let mut query = sqlx::query_scalar(AssertSqlSafe(sql)).persistent(keep_prepared(chunk.len()));
            for row in chunk {
                query = query
                    .bind(row.name)
                    .bind(row.kind)
                    .bind(row.parent)
                    .bind(row.scope)
                    .bind(1_i64)
                    .bind(row.time)
                    .bind(row.time)
                    .bind(row.body);
            }
            query.fetch_all(executor).await
        })?;
        if inserted.len() < chunk.len() {
            let mut inserted: BTreeSet<&str> = inserted.iter().map(String::as_str).collect();
            let taken = chunk.iter().find(|row| !inserted.remove(row.name));
            let name = taken.map_or_else(String::new, |row| row.name.to_owned());
            return Err(StoreError::AlreadyExists { name });
        }
    }
    Ok(())
}

/// Adds a resource to what is written together, which fails when its name is taken.
pub(crate) fn add<'a>(batch: &mut Batch<'a>, row: &NewRow<'a>) {
    let values = [
        Value::Text(row.name),
        Value::Text(row.kind),
        Value::OptionalText(row.parent),
        Value::Text(row.scope),
        Value::Number(1),
        Value::Number(row.time),
        Value::Number(row.time),
        Value::Bytes(row.body),
    ];
    batch.insert(&format!("resource ({COLUMNS})"), [values], "");
}

/// The new revision, and the scope the row was in before if it has moved.
pub(crate) async fn update(
    connection: &mut Connection<'_>,
    change: &Change<'_>,
) -> Result<(i64, Option<String>), StoreError> {
    const SQL: &str = "UPDATE resource SET scope = $3, body = $4, update_time = $5, revision = revision + 1
        WHERE name = $1 AND revision = $2 AND create_time = $7 AND scope = $6 RETURNING revision";
    const SCOPE: &str = "SELECT scope FROM resource WHERE name = $1 AND revision = $2 AND create_time = $3";
    change.check()?;
    let stale = || StoreError::Stale {
        name: change.name.to_owned(),
    };
    // Nearly always the scope stays; only when that finds nothing is the old one looked up.
    let mut moved_from: Option<String> = None;
    loop {
        let updated: Option<i64> = on!(&mut *connection, executor => {
            sqlx::query_scalar(SQL)
                .bind(change.name)
                .bind(change.seen.revision)
                .bind(change.scope)
                .bind(change.body)
                .bind(change.time)
                .bind(moved_from.as_deref().unwrap_or(change.scope))
                .bind(change.seen.create_time)
                .fetch_optional(executor)
                .await
        })?;
        if let Some(revision) = updated {
            return Ok((revision, moved_from));
        }
        if moved_from.is_some() {
            return Err(stale());
        }
        moved_from = on!(&mut *connection, executor => {
            sqlx::query_scalar(SCOPE)
                .bind(change.name)
                .bind(change.seen.revision)
                .bind(change.seen.create_time)
                .fetch_optional(executor)
                .await
        })?;
        if moved_from.is_none() {
            return Err(stale());
        }
    }
}

/// The scope the row was in.
pub(crate) async fn delete(
    connection: &mut Connection<'_>,
    name: &str,
    seen: Seen,
) -> Result<String, StoreError> {
    const SQL: &str =
        "DELETE FROM resource WHERE name = $1 AND revision = $2 AND create_time = $3 RETURNING scope";
    let deleted: Option<String> = on!(connection, executor => {
        sqlx::query_scalar(SQL)
            .bind(name)
            .bind(seen.revision)
            .bind(seen.create_time)
            .fetch_optional(executor)
            .await
    })?;
    deleted.ok_or_else(|| StoreError::Stale {
        name: name.to_owned(),
    })
}
