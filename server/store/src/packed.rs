//! Rows of SQLite in one row.
//!
//! A connection to SQLite hands over row by row from a thread of its own, and each row may wake who waits for it: to read a
//! vehicle's sixty-odd took longer that way than all that is then made of them. So they come as one: what stands in their columns,
//! and their bodies one behind the other.

use crate::scopes::{self, Loaded};
use crate::{Row, StoreError};

/// Stands between rows: the record separator of ASCII. No name, kind or scope holds a control character
/// (`ostler_core::record::Name`); where one does, its row is taken for none.
const ROW: char = '\u{1e}';

/// Stands between the columns of a row: the unit separator of ASCII, likewise.
const COLUMN: char = '\u{1f}';

/// What is asked of `resource` to get its rows as one: [`unpacked`] takes what comes.
///
/// A parent stands last, for where there is none its column is left out. Both texts are made in one pass, so that their parts stand in
/// the same order. A body goes through a text and back, which changes no byte of it.
pub(crate) fn columns() -> String {
    format!(
        "COALESCE(string_agg(concat_ws('{COLUMN}', name, kind, scope, octet_length(body), revision, create_time, update_time, parent),
            '{ROW}'), ''),
        CAST(COALESCE(string_agg(CAST(body AS TEXT), ''), '') AS BLOB)"
    )
}

/// Scopes as they come: their revisions, and the two columns of their rows.
pub(crate) type Packed = (String, String, Vec<u8>);

/// The scopes that were packed; their rows in no order.
///
/// # Errors
/// [`StoreError::Corrupt`] when this is not how rows are packed.
pub(crate) fn unpacked((revisions, rows, bodies): &Packed) -> Result<Loaded, StoreError> {
    let mut bodies = bodies.as_slice();
    let rows = rows.split(ROW).filter(|columns| !columns.is_empty());
    let rows: Option<Vec<Row>> = rows.map(|columns| row(columns, &mut bodies)).collect();
    match rows.filter(|_| bodies.is_empty()) {
        Some(rows) => Ok(Loaded {
            rows,
            revisions: scopes::revisions(revisions)?,
        }),
        None => Err(scopes::not_read("rows that are none")),
    }
}

/// A row by its `columns`; its body is taken from the beginning of `bodies`.
fn row(columns: &str, bodies: &mut &[u8]) -> Option<Row> {
    let mut columns = columns.split(COLUMN);
    let [name, kind, scope] = [columns.next()?, columns.next()?, columns.next()?];
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
        (
            "3 f".to_owned(),
            rows.chars().map(separators).collect(),
            bodies.to_owned(),
        )
    }

    #[test]
    fn what_stands_together_is_parted() {
        let loaded = unpacked(&packed("a1ö kind f 2 7 8 9;b kind f 0 1 2 3 p", b"\0\x1e")).unwrap();
        assert_eq!(loaded.revisions, [("f".to_owned(), 3)].into());
        let [first, second] = loaded.rows.try_into().unwrap();
        assert_eq!(
            (first.name.as_str(), first.parent, first.body),
            ("a1ö", None, b"\0\x1e".to_vec())
        );
        assert_eq!((second.name.as_str(), second.parent.as_deref()), ("b", Some("p")));
        assert_eq!((first.revision, first.create_time, first.update_time), (7, 8, 9));
    }

    #[test]
    fn what_does_not_fit_is_no_row() {
        assert_eq!(unpacked(&packed("", b"")).unwrap().rows, []);
        for (rows, bodies) in [
            ("n k s 0 1 1", ""),
            ("n k s 0 1 1 1 p q", ""),
            ("n n k s 0 1 1 1", ""),
            ("n n k s 0 1 1 1 p", ""),
            ("n;n k s 0 1 1 1", ""),
            ("n k s 1 1 1 1", ""),
            ("n k s 0 1 1 1", "b"),
            ("n k s -1 1 1 1", ""),
            ("n k s 0 1 1 x", ""),
        ] {
            let packed = packed(rows, bodies.as_bytes());
            assert!(
                matches!(unpacked(&packed), Err(StoreError::Corrupt { .. })),
                "{rows}"
            );
        }
    }
}
