//! Building the few statements whose length depends on how much there is.
//!
//! Only numbers (`$1`, `$2`, …) are ever put into a text here; every value is bound.

use std::ops::Range;

use crate::StoreError;

/// The most names one statement takes: half of what SQLite allows to bind (32,766), as a power of two.
pub const MAX_NAMES: usize = 16_384;

/// Most scopes of one query that are known at some revision: these are bound beside the names.
pub const MAX_KNOWN: usize = MAX_NAMES / 2;

/// How many rows one `INSERT` carries, and how many bytes of them, so that memory stays bounded.
const MAX_ROWS: usize = 256;
const MAX_BYTES: usize = 4 << 20;

/// A list of names for `IN (…)`.
///
/// Its length is rounded up to a power of two by repeating the last name, so that a connection
/// prepares and keeps a handful of statements instead of one for every length.
pub(crate) struct Names<'a> {
    names: &'a [String],
    padded: usize,
}

impl<'a> Names<'a> {
    pub(crate) fn new(names: &'a [String]) -> Result<Self, StoreError> {
        if names.len() > MAX_NAMES {
            return Err(StoreError::TooMany {
                count: names.len(),
                limit: MAX_NAMES,
            });
        }
        Ok(Self {
            names,
            padded: names.len().next_power_of_two(),
        })
    }

    /// `$1, $2, …`
    pub(crate) fn placeholders(&self) -> String {
        placeholders(0..self.padded)
    }

    /// `$4, $5, …`: those of a list whose first one has the number `first`.
    pub(crate) fn placeholders_from(&self, first: usize) -> String {
        placeholders(first - 1..first - 1 + self.padded)
    }

    /// The number of the first placeholder after the list.
    pub(crate) fn next(&self) -> usize {
        self.padded + 1
    }

    /// What stands beside each of what [`Names::iter`] binds, of what stands beside the names.
    pub(crate) fn in_step<'v, T: Copy>(
        &self,
        beside: &'v [T],
    ) -> impl Iterator<Item = Option<T>> + use<'v, T> {
        let last = beside.last();
        (0..self.padded).map(move |index| beside.get(index).or(last).copied())
    }

    /// What to bind, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = Option<&'a str>> {
        let last = self.names.last().map(String::as_str);
        (0..self.padded).map(move |index| self.names.get(index).map(String::as_str).or(last))
    }
}

/// `$1, $2, …` for the zero-based `range`.
fn placeholders(range: Range<usize>) -> String {
    let numbers: Vec<String> = range.map(|index| format!("${}", index + 1)).collect();
    numbers.join(", ")
}

/// `($1, $2), ($3, $4), …`: the `VALUES` of `rows` rows of `columns` columns.
pub(crate) fn values(rows: usize, columns: usize) -> String {
    let rows: Vec<String> = (0..rows)
        .map(|row| format!("({})", placeholders(row * columns..(row + 1) * columns)))
        .collect();
    rows.join(", ")
}

/// Whether a connection should keep an `INSERT` of this many rows prepared: what single calls write, and the whole chunks of
/// what is imported, not the odd remainders.
pub(crate) fn keep_prepared(rows: usize) -> bool {
    rows <= 16 || rows == MAX_ROWS
}

/// Cuts rows into what one `INSERT` carries.
pub(crate) fn chunks<T>(rows: &[T], bytes: impl Fn(&T) -> usize) -> impl Iterator<Item = &[T]> {
    let mut rest = rows;
    std::iter::from_fn(move || {
        let mut total = 0;
        let within = rest.iter().take(MAX_ROWS).take_while(|row| {
            total += bytes(row);
            total <= MAX_BYTES
        });
        // A row above the limit goes alone.
        let count = within.count().max(1).min(rest.len());
        let (chunk, tail) = rest.split_at(count);
        rest = tail;
        (!chunk.is_empty()).then_some(chunk)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_padded_with_its_last_name() {
        let names = ["a".to_owned(), "b".to_owned(), "c".to_owned()];
        let list = Names::new(&names).unwrap();
        assert_eq!(list.placeholders(), "$1, $2, $3, $4");
        assert_eq!(list.next(), 5);
        let bound: Vec<_> = list.iter().collect();
        assert_eq!(bound, [Some("a"), Some("b"), Some("c"), Some("c")]);
    }

    #[test]
    fn an_empty_list_matches_nothing() {
        let list = Names::new(&[]).unwrap();
        assert_eq!(list.placeholders(), "$1");
        assert_eq!(list.iter().collect::<Vec<_>>(), [None]);
    }

    #[test]
    fn too_many_names_are_refused() {
        let names = vec![String::new(); MAX_NAMES + 1];
        assert!(matches!(
            Names::new(&names),
            Err(StoreError::TooMany {
                count: 16_385,
                limit: 16_384
            })
        ));
        assert!(Names::new(&names[1..]).is_ok());
    }

    #[test]
    fn values_number_their_placeholders_row_by_row() {
        assert_eq!(values(2, 3), "($1, $2, $3), ($4, $5, $6)");
    }

    #[test]
    fn chunks_hold_every_row_once_within_both_limits() {
        let rows: Vec<usize> = (0..1_000)
            .map(|index| if index % 7 == 0 { MAX_BYTES / 3 } else { 10 })
            .collect();
        let cut: Vec<&[usize]> = chunks(&rows, |bytes| *bytes).collect();
        assert_eq!(cut.concat(), rows);
        for chunk in &cut {
            assert!(chunk.len() <= MAX_ROWS);
            assert!(chunk.iter().sum::<usize>() <= MAX_BYTES);
        }
        assert_eq!(
            chunks(&[MAX_BYTES * 2, 1], |bytes| *bytes)
                .map(<[_]>::len)
                .collect::<Vec<_>>(),
            [1, 1]
        );
        assert_eq!(chunks(&[(); 0], |()| 1).count(), 0);
    }
}
