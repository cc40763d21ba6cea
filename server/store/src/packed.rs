//! Rows of SQLite in one row.
//!
//! A connection to SQLite hands over row by row from a thread of its own, and each row may wake who waits for it: to read a
//! vehicle's sixty-odd took longer that way than all that is then made of them. So they come as one: their numbers and the
//! lengths of their texts, their texts one behind the other, their bodies one behind the other.

use crate::scopes::Loaded;
use crate::{Row, StoreError, scopes};

/// What is asked of `resource` to get its rows as one: [`unpacked`] takes what comes.
///
/// The three are made in one pass, so that their parts stand in the same order. A body goes through a text and back, which
/// changes no byte of it.
pub(crate) const COLUMNS: &str = "
    COALESCE(string_agg(octet_length(name) || ' ' || octet_length(kind) || ' ' || COALESCE(octet_length(parent), 'none')
        || ' ' || octet_length(scope) || ' ' || octet_length(body) || ' ' || revision || ' ' || create_time
        || ' ' || update_time, ';'), ''),
    COALESCE(string_agg(name || kind || COALESCE(parent, '') || scope, ''), ''),
    CAST(COALESCE(string_agg(CAST(body AS TEXT), ''), '') AS BLOB)";

/// Scopes as they come: their revisions, and the three columns of their rows.
pub(crate) type Packed = (String, String, String, Vec<u8>);

/// The scopes that were packed; their rows in no order.
///
/// # Errors
/// [`StoreError::Corrupt`] when the lengths do not fit what they are the lengths of.
pub(crate) fn unpacked((revisions, numbers, texts, bodies): &Packed) -> Result<Loaded, StoreError> {
    let mut rest = Rest { texts, bodies };
    let rows = numbers.split(';').filter(|numbers| !numbers.is_empty());
    let rows: Option<Vec<Row>> = rows.map(|numbers| rest.row(numbers)).collect();
    match rows.filter(|_| rest.texts.is_empty() && rest.bodies.is_empty()) {
        Some(rows) => Ok(Loaded {
            rows,
            revisions: scopes::revisions(revisions)?,
        }),
        None => Err(scopes::not_read("rows that are none")),
    }
}

/// What has not been unpacked yet.
struct Rest<'a> {
    texts: &'a str,
    bodies: &'a [u8],
}

impl Rest<'_> {
    /// The next row, by its numbers.
    fn row(&mut self, numbers: &str) -> Option<Row> {
        let mut numbers = numbers.split(' ');
        let [name, kind] = [numbers.next()?.parse().ok()?, numbers.next()?.parse().ok()?];
        let parent = match numbers.next()? {
            "none" => None,
            length => Some(length.parse().ok()?),
        };
        let [scope, body] = [numbers.next()?.parse().ok()?, numbers.next()?.parse().ok()?];
        Some(Row {
            name: self.text(name)?,
            kind: self.text(kind)?,
            parent: match parent {
                Some(length) => Some(self.text(length)?),
                None => None,
            },
            scope: self.text(scope)?,
            revision: numbers.next()?.parse().ok()?,
            create_time: numbers.next()?.parse().ok()?,
            update_time: numbers.next()?.parse().ok()?,
            body: self.body(body)?,
        })
    }

    fn text(&mut self, length: usize) -> Option<String> {
        let (text, rest) = self.texts.split_at_checked(length)?;
        self.texts = rest;
        Some(text.to_owned())
    }

    fn body(&mut self, length: usize) -> Option<Vec<u8>> {
        let (body, rest) = self.bodies.split_at_checked(length)?;
        self.bodies = rest;
        Some(body.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packed(numbers: &str, texts: &str, bodies: &[u8]) -> Packed {
        (
            "3 f".to_owned(),
            numbers.to_owned(),
            texts.to_owned(),
            bodies.to_owned(),
        )
    }

    #[test]
    fn lengths_part_what_stands_together() {
        let loaded = unpacked(&packed(
            "3 4 none 1 2 7 8 9;2 4 1 1 0 1 2 3",
            "a1ökindfb kindpf",
            b"\0;",
        ));
        assert!(loaded.is_err(), "a length that splits a letter");
        let loaded = unpacked(&packed(
            "4 4 none 1 2 7 8 9;2 4 1 1 0 1 2 3",
            "a1ökindfb kindpf",
            b"\0;",
        ));
        let loaded = loaded.unwrap();
        assert_eq!(loaded.revisions, [("f".to_owned(), 3)].into());
        let [first, second] = loaded.rows.try_into().unwrap();
        assert_eq!(
            (first.name.as_str(), first.parent, first.body),
            ("a1ö", None, b"\0;".to_vec())
        );
        assert_eq!(
            (second.name.as_str(), second.parent.as_deref()),
            ("b ", Some("p"))
        );
        assert_eq!((first.revision, first.create_time, first.update_time), (7, 8, 9));
    }

    #[test]
    fn what_does_not_fit_is_no_row() {
        assert_eq!(unpacked(&packed("", "", b"")).unwrap().rows, []);
        for (numbers, texts, bodies) in [
            ("1 1 none 1 0 1 1", "nks", ""),
            ("1 1 none 1 0 1 1 1", "nk", ""),
            ("1 1 none 1 0 1 1 1", "nksx", ""),
            ("1 1 none 1 1 1 1 1", "nks", ""),
            ("1 1 none 1 0 1 1 1", "nks", "b"),
            ("1 1 none 1 -1 1 1 1", "nks", ""),
            ("1 1 none 1 0 1 1 x", "nks", ""),
        ] {
            let packed = packed(numbers, texts, bodies.as_bytes());
            assert!(
                matches!(unpacked(&packed), Err(StoreError::Corrupt { .. })),
                "{numbers}"
            );
        }
    }
}
