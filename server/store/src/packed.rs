//! Rows of SQLite in one row.
//!
//! A connection to SQLite hands over row by row from a thread of its own, and each row may wake who waits for it: to read a
//! vehicle's sixty-odd took longer that way than all that is then made of them. So they come as one: what stands in their columns,
//! and their bodies one behind the other.

use std::collections::BTreeMap;

use sqlx::{AssertSqlSafe, SqliteConnection};

use crate::error::classify;
use crate::scopes::{Loaded, NO_REVISION, Wanted, not_read};
use crate::{Row, StoreError};

/// Stands between rows: the record separator of ASCII. No name, kind or scope holds it ([`crate::NewRow`]).
const ROW: char = '\u{1e}';

/// Stands between the columns of a row: the unit separator of ASCII, likewise.
const COLUMN: char = '\u{1f}';

/// The two columns in which scopes come: all but their bodies, and these.
type Packed = (String, Vec<u8>);

/// Reads scopes, in one statement and so of one moment. The rows come in no order.
///
/// # Errors
/// When the database cannot be read, or holds what cannot have been written.
pub(crate) async fn load(
    connection: &mut SqliteConnection,
    scopes: &[String],
    wanted: Wanted<'_>,
) -> Result<Loaded, StoreError> {
    let query = sqlx::query_as(AssertSqlSafe(statement())).bind(known(scopes, wanted)?);
    unpacked(&query.fetch_one(connection).await.map_err(classify)?)
}

/// What the statement is told of each scope, as JSON: a revision with which its rows are not wanted, or null if they never are.
fn known(scopes: &[String], wanted: Wanted<'_>) -> Result<String, StoreError> {
    let known = |scope: &String| match wanted {
        Wanted::All => Some(NO_REVISION),
        Wanted::OtherThan(known) => known.get(scope).copied(),
        Wanted::None => None,
    };
    let known: BTreeMap<&String, Option<i64>> = scopes.iter().map(|scope| (scope, known(scope))).collect();
    serde_json::to_string(&known).map_err(|source| classify(sqlx::Error::Encode(source.into())))
}

/// The text of the statement, the same for any scopes.
///
/// A scope comes once without a row where none is wanted, and otherwise with each of its rows: then more columns follow. One in which
/// a transaction writes first has rows before it has a revision. A parent stands last, for where there is none its column is left
/// out, as an empty one would be. Both texts are made in one pass, so that their parts stand in the same order. A body goes through a
/// text and back, which changes no byte of it.
///
/// Joined, for that took three quarters of the time of revisions in a column of their own and rows by `IN (SELECT …)` (118 rows of six
/// scopes, SQLite 3.54.1). A scope whose rows are not wanted is looked for as null, which finds none: as a condition beside the scope it
/// is held against each row of it, and to learn that six scopes of 363 rows are as they were took 34 us instead of 5 (SQLite 3.51.3).
fn statement() -> String {
    format!(
        "SELECT
            COALESCE(string_agg(concat_ws('{COLUMN}', COALESCE(revision.value, {NO_REVISION}), known.key, name, kind, octet_length(body),
                resource.revision, create_time, update_time, resource.parent), '{ROW}'), ''),
            CAST(COALESCE(string_agg(CAST(body AS TEXT), ''), '') AS BLOB)
        FROM json_each($1) AS known
        LEFT JOIN revision ON revision.scope = known.key
        LEFT JOIN resource ON resource.scope = CASE WHEN known.value <> COALESCE(revision.value, -1) THEN known.key END"
    )
}

/// The scopes that were packed.
///
/// # Errors
/// [`StoreError::Corrupt`] when this is not how rows are packed.
fn unpacked((rows, bodies): &Packed) -> Result<Loaded, StoreError> {
    let mut loaded = Loaded::default();
    let mut bodies = bodies.as_slice();
    // The rows of a scope come together.
    let mut last = None;
    for columns in rows.split(ROW).filter(|columns| !columns.is_empty()) {
        let mut columns = columns.split(COLUMN);
        let scope = (columns.next(), columns.next());
        let (Some(revision), Some(scope)) = scope else {
            return Err(not_read("a scope that is none"));
        };
        if last != Some(scope) {
            let revision = revision.parse();
            let revision = revision.map_err(|_| not_read("a revision that is none"))?;
            if revision != NO_REVISION {
                loaded.revisions.insert(scope.to_owned(), revision);
            }
            last = Some(scope);
        }
        if let Some(name) = columns.next() {
            let row = row(scope, name, columns, &mut bodies);
            loaded
                .rows
                .push(row.ok_or_else(|| not_read("a row that is none"))?);
        }
    }
    match bodies {
        [] => Ok(loaded),
        _ => Err(not_read("a body of no row")),
    }
}

/// A row by its `columns` from the kind on; its body is taken from the beginning of `bodies`.
fn row<'c>(
    scope: &str,
    name: &str,
    mut columns: impl Iterator<Item = &'c str>,
    bodies: &mut &[u8],
) -> Option<Row> {
    let kind = columns.next()?;
    let body;
    (body, *bodies) = bodies.split_at_checked(columns.next()?.parse().ok()?)?;
    let mut number = || columns.next()?.parse().ok();
    let [revision, create_time, update_time] = [number()?, number()?, number()?];
    let parent = columns.next().map(str::to_owned);
    columns.next().is_none().then(|| Row {
        name: name.to_owned(),
        kind: kind.to_owned(),
        parent,
        scope: scope.to_owned(),
        revision,
        create_time,
        update_time,
        body: body.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows with a blank between columns and a `;` between rows.
    fn packed(rows: &str, bodies: &[u8]) -> Packed {
        let separators = |letter| match letter {
            ' ' => COLUMN,
            ';' => ROW,
            other => other,
        };
        (rows.chars().map(separators).collect(), bodies.to_owned())
    }

    #[test]
    fn what_stands_together_is_parted() {
        let text = "3 f a1ö kind 2 7 8 9;3 f b kind 0 1 2 3 p;4 g;0 h";
        let loaded = unpacked(&packed(text, b"\0\x1e")).unwrap();
        assert_eq!(
            loaded.revisions,
            [("f".to_owned(), 3), ("g".to_owned(), 4)].into()
        );
        let [first, second] = loaded.rows.try_into().unwrap();
        assert_eq!(
            (first.name.as_str(), first.parent, first.body),
            ("a1ö", None, b"\0\x1e".to_vec())
        );
        assert_eq!(
            (
                second.name.as_str(),
                second.parent.as_deref(),
                second.scope.as_str()
            ),
            ("b", Some("p"), "f")
        );
        assert_eq!((first.revision, first.create_time, first.update_time), (7, 8, 9));
    }

    #[test]
    fn what_does_not_fit_is_no_row() {
        assert_eq!(unpacked(&packed("", b"")).unwrap(), Loaded::default());
        for (rows, bodies) in [
            ("3", ""),
            ("x f", ""),
            ("3 f n", ""),
            ("3 f n k 0 1 1", ""),
            ("3 f n k 0 1 1 1 p q", ""),
            ("3 f n n k 0 1 1 1", ""),
            ("3 f n n k 0 1 1 1 p", ""),
            ("3 f f n k 0 1 1 1", ""),
            ("3 f n;n k 0 1 1 1", ""),
            ("3 f n k 1 1 1 1", ""),
            ("3 f n k 0 1 1 1", "b"),
            ("3 f n k -1 1 1 1", ""),
            ("3 f n k 0 1 1 x", ""),
        ] {
            let packed = packed(rows, bodies.as_bytes());
            assert!(
                matches!(unpacked(&packed), Err(StoreError::Corrupt { .. })),
                "{rows}"
            );
        }
    }
}
