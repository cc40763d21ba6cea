//! Whole scopes, as they stood at one moment: their revisions, and rows as far as they are wanted.

use std::collections::BTreeMap;

use sqlx::AssertSqlSafe;

use crate::db::{Connection, on};
use crate::error::classify;
use crate::resources::{COLUMNS, Columns};
use crate::sql::{MAX_KNOWN, Names};
use crate::{Row, StoreError};

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
    let list = Names::new(scopes)?;
    let (own, values): (Vec<String>, Vec<i64>) = match wanted {
        Wanted::OtherThan(known) => known
            .iter()
            .map(|(scope, revision)| (scope.clone(), *revision))
            .unzip(),
        Wanted::All | Wanted::None => (Vec::new(), Vec::new()),
    };
    if own.len() > MAX_KNOWN {
        return Err(StoreError::TooMany {
            count: own.len(),
            limit: MAX_KNOWN,
        });
    }
    let known = Names::new(&own)?;
    let sql = statement(&list, &known, wanted);
    let found: Vec<Columns> = on!(connection, executor => {
        let mut query = sqlx::query_as(AssertSqlSafe(sql));
        for scope in list.iter() {
            query = query.bind(scope);
        }
        query = query.bind(Vec::<u8>::new());
        if !own.is_empty() {
            for scope in known.iter() {
                query = query.bind(scope);
            }
            for value in known.in_step(&values) {
                query = query.bind(value);
            }
        }
        query.fetch_all(executor).await
    })?;
    let mut loaded = Loaded::default();
    for row in found.into_iter().map(Row::from) {
        if row.kind.is_empty() {
            loaded.revisions = revisions(&row.scope)?;
        } else {
            loaded.rows.push(row);
        }
    }
    loaded.rows.sort_by(|one, other| one.name.cmp(&other.name));
    Ok(loaded)
}

/// The text of a statement that reads `scopes`, and rows of those of `known` that have changed.
///
/// The revisions come as one row without a kind, which no resource can be. SQLite's connections hand over row by row, and each may
/// wake who waits for it: seven rows took longer than all else about them.
fn statement(scopes: &Names<'_>, known: &Names<'_>, wanted: Wanted<'_>) -> String {
    let (list, empty) = (scopes.placeholders(), scopes.next());
    let revisions = format!(
        "SELECT '', '', NULL, COALESCE(string_agg(value || ' ' || scope, '{BETWEEN}'), ''),
         CAST(0 AS BIGINT), CAST(0 AS BIGINT), CAST(0 AS BIGINT), ${empty} FROM revision WHERE scope IN ({list})"
    );
    let changed = match wanted {
        Wanted::All => list,
        Wanted::None => return revisions,
        Wanted::OtherThan(known) if known.is_empty() => return revisions,
        Wanted::OtherThan(_) => changed(known, empty + 1),
    };
    format!("SELECT {COLUMNS} FROM resource WHERE scope IN ({changed}) UNION ALL {revisions}")
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

fn revisions(text: &str) -> Result<BTreeMap<String, i64>, StoreError> {
    let revision = |text: &str| {
        let (value, scope) = text.split_once(' ')?;
        Some((scope.to_owned(), value.parse().ok()?))
    };
    let all = text.split(BETWEEN).filter(|text| !text.is_empty()).map(revision);
    let all: Option<BTreeMap<String, i64>> = all.collect();
    all.ok_or_else(|| classify(sqlx::Error::Decode("a revision that is none".into())))
}
