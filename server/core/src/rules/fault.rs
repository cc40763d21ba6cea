//! What is wrong with a rule pack.

use std::fmt;

use crate::check::InvalidInput;

/// A place in the text of an expression.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Character in the line, from 1.
    pub column: usize,
}

/// One thing wrong with an expression.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ExpressionFault {
    pub(super) position: Position,
    pub(super) problem: String,
}

/// One thing wrong with a rule pack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackFault {
    /// Path of the field: `topics[1].categories[0].when`.
    pub field: String,
    /// Where in the field's expression. `None`: the fault is not in an expression's text.
    pub position: Option<Position>,
    /// What is wrong, as a predicate of the field.
    pub problem: String,
}

impl fmt::Display for PackFault {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.position {
            Some(Position { line, column }) => {
                write!(formatter, "{}:{line}:{column}: {}", self.field, self.problem)
            }
            None => write!(formatter, "{}: {}", self.field, self.problem),
        }
    }
}

/// A rule pack that is refused, with everything that is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", .faults.iter().map(PackFault::to_string).collect::<Vec<_>>().join("; "))]
pub struct InvalidPack {
    /// At least one fault, in the order of the pack.
    pub faults: Vec<PackFault>,
}

impl From<InvalidPack> for InvalidInput {
    fn from(pack: InvalidPack) -> Self {
        let violations = pack
            .faults
            .into_iter()
            .map(|fault| crate::check::Violation {
                field: fault.field,
                problem: match fault.position {
                    Some(Position { line, column }) => {
                        format!("at line {line}, column {column}: {}", fault.problem)
                    }
                    None => fault.problem,
                },
            })
            .collect();
        Self { violations }
    }
}

/// The one of `known` that `word` was most likely meant to be, when one is near.
pub(super) fn nearest<'known>(word: &str, known: impl Iterator<Item = &'known str>) -> Option<&'known str> {
    known
        .map(|candidate| (edits(word, candidate), candidate))
        .filter(|(distance, candidate)| *distance * 2 <= candidate.len().max(word.len()))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Number of letters to insert, delete or replace to make one word of the other (Levenshtein).
fn edits(left: &str, right: &str) -> usize {
    let right: Vec<char> = right.chars().collect();
    let mut row: Vec<usize> = (0..=right.len()).collect();
    for (index, letter) in left.chars().enumerate() {
        let mut diagonal = index;
        row[0] = index + 1;
        for (column, other) in right.iter().enumerate() {
            let replaced = diagonal + usize::from(letter != *other);
            diagonal = row[column + 1];
            row[column + 1] = replaced.min(diagonal + 1).min(row[column] + 1);
        }
    }
    row[right.len()]
}
