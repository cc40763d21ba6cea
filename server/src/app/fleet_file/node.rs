//! The nodes of a fleet file, each with its place in the text.

use std::fmt;

/// A place in the text; lines and columns start at 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::app) struct Place {
    /// Line.
    pub line: usize,
    /// Column, in characters.
    pub column: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "line {}, column {}", self.line, self.column)
    }
}

/// A node with its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    pub(super) place: Place,
    pub(super) content: Content,
}

/// What a node holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Content {
    /// A text as it stands in the file, quotes and escapes resolved.
    Scalar { text: String, quoted: bool },
    /// A list.
    Sequence(Vec<Node>),
    /// Entries in their order.
    Mapping(Vec<(Key, Node)>),
}

/// A key of a mapping.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Key {
    pub(super) place: Place,
    pub(super) text: String,
}

/// What a scalar without quotes means, after the core schema of YAML 1.2.2, section 10.3 (read).
///
/// Words that other readers take for yes or no, or for a number in another base, are told apart so
/// that they are neither guessed at nor written without quotes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Plain {
    /// Nothing, `~`, `null`.
    Null,
    /// `true`, `false`.
    Bool(bool),
    /// A decimal number.
    Number(f64),
    /// Something that readers disagree about: `yes`, `0x1f`, `.inf`, `12:30`.
    Doubtful,
    /// A text.
    Text,
}

/// Says what `text` means without quotes.
pub(super) fn plain(text: &str) -> Plain {
    match text {
        "" | "~" | "null" | "Null" | "NULL" => return Plain::Null,
        "true" | "True" | "TRUE" => return Plain::Bool(true),
        "false" | "False" | "FALSE" => return Plain::Bool(false),
        _ => {}
    }
    if is_decimal(text) {
        return text.parse().map_or(Plain::Doubtful, Plain::Number);
    }
    if is_doubtful(text) {
        Plain::Doubtful
    } else {
        Plain::Text
    }
}

/// An optional sign, digits with at most one point, an optional exponent.
fn is_decimal(text: &str) -> bool {
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (
            mantissa,
            Some(exponent.strip_prefix(['-', '+']).unwrap_or(exponent)),
        ),
        None => (unsigned, None),
    };
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    digits(whole)
        && digits(fraction)
        && !(whole.is_empty() && fraction.is_empty())
        && exponent.is_none_or(|exponent| !exponent.is_empty() && digits(exponent))
}

fn is_doubtful(text: &str) -> bool {
    let lower = text.to_ascii_lowercase();
    if matches!(
        lower.as_str(),
        "y" | "n" | "yes" | "no" | "on" | "off" | "<<" | "=" | ".nan" | ".inf" | "true" | "false" | "null"
    ) {
        return true;
    }
    let unsigned = lower.strip_prefix(['-', '+']).unwrap_or(&lower);
    let base = unsigned.starts_with("0x") || unsigned.starts_with("0o") || unsigned.starts_with("0b");
    // Sexagesimal and underscored numbers of YAML 1.1.
    let starts_as_number = unsigned.starts_with(|first: char| first.is_ascii_digit() || first == '.');
    let old_number = starts_as_number
        && unsigned.contains([':', '_'])
        && unsigned
            .bytes()
            .all(|byte| byte.is_ascii_digit() || matches!(byte, b':' | b'_' | b'.'));
    base || old_number || unsigned == ".inf"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_scalars_mean_what_the_core_schema_says() {
        for (text, meaning) in [
            ("", Plain::Null),
            ("~", Plain::Null),
            ("true", Plain::Bool(true)),
            ("12", Plain::Number(12.0)),
            ("-1.5e3", Plain::Number(-1500.0)),
            (".5", Plain::Number(0.5)),
            ("12.", Plain::Number(12.0)),
            ("yes", Plain::Doubtful),
            ("Off", Plain::Doubtful),
            ("0x1F", Plain::Doubtful),
            (".inf", Plain::Doubtful),
            ("-.INF", Plain::Doubtful),
            (".NaN", Plain::Doubtful),
            ("12:30", Plain::Doubtful),
            ("1_000", Plain::Doubtful),
            ("2027-05-24", Plain::Text),
            ("inf", Plain::Text),
            ("nan", Plain::Text),
            ("1e", Plain::Text),
            (".", Plain::Text),
            ("-", Plain::Text),
            ("M14x1.5", Plain::Text),
        ] {
            assert_eq!(plain(text), meaning, "{text:?}");
        }
        assert_eq!(
            plain("1e999"),
            Plain::Number(f64::INFINITY),
            "left to the range check"
        );
    }
}
