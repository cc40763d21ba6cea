//! Whole scopes, as they stood at one moment: their revisions, and rows as far as they are wanted.

use std::collections::BTreeMap;

use sqlx::{AssertSqlSafe, PgConnection};

use crate::db::Connection;
use crate::error::classify;
use crate::resources::{COLUMNS, Columns};
use crate::sql::{MAX_KNOWN, MAX_NAMES, Names};
use crate::{Row, StoreError, packed};

/// Scopes as they stood at one moment.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Loaded {
    /// Every row that was asked for, in the order of their names (bytes).
    pub rows: Vec<Row>,
    /// The revision of each scope; a scope that was never written is absent.
    pub revisions: BTreeMap<String, i64>,
}

/// Which rows of the scopes are wanted.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Wanted<'a> {
    /// All of them.
    All,
    /// Those of the scopes that are listed and have another revision than the one beside.
    OtherThan(&'a BTreeMap<String, i64>),
    /// None: the revisions alone.
    None,
}

impl Wanted<'_> {
    fn known_count(&self) -> usize {
        match self {
            Self::OtherThan(known) => known.len(),
            Self::All | Self::None => 0,
        }
    }
}

/// What no scope has: they count from 1.
pub(crate) const NO_REVISION: i64 = 0;

/// Stands between the revisions that are read as one text: no scope holds it.
const BETWEEN: char = '\u{1f}';

/// Reads scopes, in one statement and so of one moment.
pub(crate) async fn load(
    connection: &mut Connection<'_>,
    scopes: &[String],
    wanted: Wanted<'_>,
) -> Result<Loaded, StoreError> {
    for (count, limit) in [(scopes.len(), MAX_NAMES), (wanted.known_count(), MAX_KNOWN)] {
        if count > limit {
            return Err(StoreError::TooMany { count, limit });
        }
    }
    let mut loaded = match connection {
        Connection::Sqlite(executor) => packed::load(executor, scopes, wanted).await?,
        Connection::Postgres(executor) => row_by_row(executor, scopes, wanted).await?,
    };
    loaded.rows.sort_by(|one, other| one.name.cmp(&other.name));
    Ok(loaded)
}

async fn row_by_row(
    connection: &mut PgConnection,
    scopes: &[String],
    wanted: Wanted<'_>,
) -> Result<Loaded, StoreError> {
    let list = Names::new(scopes)?;
    let (own, values): (Vec<String>, Vec<i64>) = match wanted {
        Wanted::OtherThan(known) => known
            .iter()
            .map(|(scope, revision)| (scope.clone(), *revision))
            .unzip(),
        Wanted::All | Wanted::None => (Vec::new(), Vec::new()),
    };
    let known = Names::new(&own)?;
    let mut query = sqlx::query_as(AssertSqlSafe(statement(&list, &known, wanted)));
    for scope in list.iter() {
        query = query.bind(scope);
    }
    if !own.is_empty() {
        for scope in known.iter() {
            query = query.bind(scope);
        }
        for value in known.in_step(&values) {
            query = query.bind(value);
        }
    }
    of_rows(query.fetch_all(connection).await.map_err(classify)?)
}

fn of_rows(found: Vec<Columns>) -> Result<Loaded, StoreError> {
    let mut loaded = Loaded::default();
    for row in found.into_iter().map(Row::from) {
        if row.kind.is_empty() {
            loaded.revisions = revisions(&row.scope)?;
        } else {
            loaded.rows.push(row);
        }
    }
    Ok(loaded)
}

/// The revisions of scopes as one text.
fn revisions_of(list: &str) -> String {
    format!(
        "SELECT COALESCE(string_agg(value || ' ' || scope, '{BETWEEN}'), '') FROM revision WHERE scope IN ({list})"
    )
}

/// Which scopes rows are wanted of. `None`: of none.
fn scopes_wanted(list: String, known: &Names<'_>, first: usize, wanted: Wanted<'_>) -> Option<String> {
    match wanted {
        Wanted::All => Some(list),
        Wanted::OtherThan(known) if known.is_empty() => None,
        Wanted::OtherThan(_) => Some(changed(known, first)),
        Wanted::None => None,
    }
}

/// The text of a statement that reads `scopes` row by row; the revisions come as one without a kind, which no resource can be.
fn statement(scopes: &Names<'_>, known: &Names<'_>, wanted: Wanted<'_>) -> String {
    let list = scopes.placeholders();
    let revisions = format!(
        "SELECT '', '', NULL, ({}), CAST(0 AS BIGINT), CAST(0 AS BIGINT), CAST(0 AS BIGINT), ''::bytea",
        revisions_of(&list)
    );
    match scopes_wanted(list, known, scopes.next(), wanted) {
        Some(wanted) => {
            format!("SELECT {COLUMNS} FROM resource WHERE scope IN ({wanted}) UNION ALL {revisions}")
        }
        None => revisions,
    }
}

/// The scopes whose revision is another than that which is bound behind them; the first of them at `first`.
fn changed(known: &Names<'_>, first: usize) -> String {
    let count = known.next() - 1;
    let known: Vec<String> = (first..first + count)
        .map(|scope| format!("(${scope}, ${})", scope + count))
        .collect();
    format!(
        "SELECT scope FROM revision JOIN (VALUES {}) AS known ON scope = known.column1 WHERE value <> known.column2",
        known.join(", ")
    )
}

/// The revisions in a text that [`revisions_of`] asked for.
fn revisions(text: &str) -> Result<BTreeMap<String, i64>, StoreError> {
    let revision = |text: &str| {
        let (value, scope) = text.split_once(' ')?;
        Some((scope.to_owned(), value.parse().ok()?))
    };
    let all = text.split(BETWEEN).filter(|text| !text.is_empty()).map(revision);
    let all: Option<BTreeMap<String, i64>> = all.collect();
    all.ok_or_else(|| not_read("a revision that is none"))
}

/// What the database gave cannot be what was written.
pub(crate) fn not_read(what: &'static str) -> StoreError {
    classify(sqlx::Error::Decode(what.into()))
}
