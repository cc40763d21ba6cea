//! Reading a short trade designation character by character, with errors that say where and what.

use super::designation::Hundredths;

/// Longest designation read, in characters. The longest real one is under half of it.
pub(super) const LENGTH_MAX: usize = 80;

/// A designation that cannot be read: where it went wrong and what would have been right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("at character {position}: expected {expected}, found {found}")]
pub struct DesignationError {
    /// Place of the character that does not fit, counted from 1.
    pub position: usize,
    /// What was expected there.
    pub expected: String,
    /// What stands there: the rest of the word, or `the end`.
    pub found: String,
}

/// A reading position in an upper-cased designation.
#[derive(Debug, Clone)]
pub(super) struct Cursor {
    characters: Vec<char>,
    at: usize,
}

impl Cursor {
    /// A cursor at the first character that is not a space.
    pub(super) fn new(text: &str) -> Result<Self, DesignationError> {
        let characters: Vec<char> = text
            .chars()
            .take(LENGTH_MAX + 1)
            .map(|c| c.to_ascii_uppercase())
            .collect();
        let mut cursor = Self { characters, at: 0 };
        if cursor.characters.len() > LENGTH_MAX {
            cursor.at = LENGTH_MAX;
            return Err(cursor.expected(format!("at most {LENGTH_MAX} characters")));
        }
        cursor.skip_spaces();
        Ok(cursor)
    }

    pub(super) fn position(&self) -> usize {
        self.at
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.characters.get(self.at).copied()
    }

    pub(super) fn at_end(&self) -> bool {
        self.at >= self.characters.len()
    }

    pub(super) fn advance(&mut self) {
        self.at += 1;
    }

    pub(super) fn skip_spaces(&mut self) {
        while self.peek().is_some_and(char::is_whitespace) {
            self.advance();
        }
    }

    /// Takes any one of `choices`, if one stands here.
    pub(super) fn take_any(&mut self, choices: &[char]) -> Option<char> {
        let found = self.peek().filter(|c| choices.contains(c))?;
        self.advance();
        Some(found)
    }

    /// Takes `word` (upper case) if it stands here.
    pub(super) fn take_word(&mut self, word: &str) -> bool {
        let mut ahead = self.at;
        for expected in word.chars() {
            if self.characters.get(ahead) != Some(&expected) {
                return false;
            }
            ahead += 1;
        }
        self.at = ahead;
        true
    }

    /// Takes `word` if it stands here and the word ends with it.
    pub(super) fn take_whole_word(&mut self, word: &str) -> bool {
        let before = self.at;
        if self.take_word(word) && self.peek().is_none_or(char::is_whitespace) {
            return true;
        }
        self.at = before;
        false
    }

    /// A number of at most four whole digits and two decimals.
    pub(super) fn decimal(&mut self, expected: &str) -> Result<Hundredths, DesignationError> {
        let start = self.at;
        let whole = self.digits(4).ok_or_else(|| self.expected(expected))?;
        let mut hundredths = whole * 100;
        if self.peek() == Some('.') {
            self.advance();
            let decimals_start = self.at;
            let decimals = self
                .digits(2)
                .ok_or_else(|| self.expected("one or two decimals"))?;
            hundredths += if self.at - decimals_start == 1 {
                decimals * 10
            } else {
                decimals
            };
        }
        if self.peek().is_some_and(|c| c.is_ascii_digit()) {
            self.at = start;
            return Err(self.expected(format!("{expected}, with at most four digits and two decimals")));
        }
        Ok(Hundredths(hundredths))
    }

    /// A whole number of at most four digits.
    pub(super) fn whole(&mut self, expected: &str) -> Result<u32, DesignationError> {
        let start = self.at;
        let value = self.digits(4).ok_or_else(|| self.expected(expected))?;
        if self.peek().is_some_and(|c| c.is_ascii_digit()) {
            self.at = start;
            return Err(self.expected(expected));
        }
        Ok(value)
    }

    fn digits(&mut self, most: usize) -> Option<u32> {
        let start = self.at;
        let mut value = 0;
        while let Some(digit) = self
            .peek()
            .and_then(|c| c.to_digit(10))
            .filter(|_| self.at - start < most)
        {
            value = value * 10 + digit;
            self.advance();
        }
        (self.at > start).then_some(value)
    }

    /// The error that something else was expected here.
    pub(super) fn expected(&self, expected: impl Into<String>) -> DesignationError {
        self.expected_at(self.at, expected)
    }

    /// The error that something else was expected at an earlier place.
    pub(super) fn expected_at(&self, at: usize, expected: impl Into<String>) -> DesignationError {
        let rest: String = self
            .characters
            .iter()
            .skip(at)
            .take_while(|c| !c.is_whitespace())
            .take(16)
            .collect();
        let found = match (rest.is_empty(), at >= self.characters.len()) {
            (_, true) => "the end".to_owned(),
            (true, false) => "a space".to_owned(),
            (false, false) => format!("`{rest}`"),
        };
        DesignationError {
            position: at + 1,
            expected: expected.into(),
            found,
        }
    }
}
