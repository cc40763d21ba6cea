//! From the text of an expression to its syntax tree, within bounds.
//!
//! The parser recurses, so text that nests deeply or chains many operators would exhaust its stack.
//! Such text is refused by a scan over its characters before the parser sees it.

use cel::Env;
use cel::common::ast::{IdedExpr, SourceInfo};

use super::fault::{ExpressionFault, Position};

/// Most bytes of an expression.
pub(super) const EXPRESSION_BYTES_MAX: usize = 1_000;

/// Most brackets open at one place of an expression.
pub(super) const BRACKET_DEPTH_MAX: usize = 16;

/// Most operators of an expression.
pub(super) const OPERATORS_MAX: usize = 120;

/// Most operators that stand before one operand, such as `!!!x`.
const PREFIX_OPERATORS_MAX: usize = 8;

/// A syntax tree and where each of its parts stands.
pub(super) struct Parsed {
    pub(super) expression: IdedExpr,
    offsets: SourceInfo,
    source: String,
}

impl Parsed {
    /// Where the part `id` of the tree begins.
    pub(super) fn position(&self, id: u64) -> Position {
        let start = self.offsets.offset_for(id).map_or(0, |(start, _)| start as usize);
        position_at(&self.source, start)
    }
}

/// Parses `source`. Macros are left as the calls they are written as.
pub(super) fn parse(source: &str) -> Result<Parsed, Vec<ExpressionFault>> {
    scan(source).map_err(|fault| vec![fault])?;
    let parser = Env::default().with_optional_support(false).parser();
    match parser.parse_with_source_info(source) {
        Ok((expression, offsets)) => Ok(Parsed {
            expression,
            offsets,
            source: source.to_owned(),
        }),
        Err(refused) => Err(refused
            .errors
            .iter()
            .map(|error| ExpressionFault {
                position: Position {
                    line: usize::try_from(error.pos.0).unwrap_or(0).max(1),
                    column: usize::try_from(error.pos.1).unwrap_or(0).max(1),
                },
                problem: error.msg.lines().next().unwrap_or("cannot be read").to_owned(),
            })
            .collect()),
    }
}

fn position_at(source: &str, offset: usize) -> Position {
    let mut position = Position { line: 1, column: 1 };
    for character in source.chars().take(offset) {
        if character == '\n' {
            position.line += 1;
            position.column = 1;
        } else {
            position.column += 1;
        }
    }
    position
}

struct Scan<'source> {
    source: &'source str,
    depth: usize,
    operators: usize,
    prefix: usize,
    quote: Option<char>,
}

impl Scan<'_> {
    fn refuse(&self, offset: usize, problem: String) -> ExpressionFault {
        ExpressionFault {
            position: position_at(self.source, offset),
            problem,
        }
    }

    fn open(&mut self, offset: usize) -> Result<(), ExpressionFault> {
        self.depth += 1;
        if self.depth > BRACKET_DEPTH_MAX {
            return Err(self.refuse(offset, format!("nests deeper than {BRACKET_DEPTH_MAX} brackets")));
        }
        Ok(())
    }

    fn operator(&mut self, offset: usize) -> Result<(), ExpressionFault> {
        self.operators += 1;
        self.prefix += 1;
        if self.operators > OPERATORS_MAX {
            return Err(self.refuse(offset, format!("has more than {OPERATORS_MAX} operators")));
        }
        if self.prefix > PREFIX_OPERATORS_MAX {
            return Err(self.refuse(
                offset,
                format!("has more than {PREFIX_OPERATORS_MAX} operators in a row"),
            ));
        }
        Ok(())
    }
}

/// Refuses text that is too long, nests too deeply or chains too many operators.
fn scan(source: &str) -> Result<(), ExpressionFault> {
    let mut scan = Scan {
        source,
        depth: 0,
        operators: 0,
        prefix: 0,
        quote: None,
    };
    if source.len() > EXPRESSION_BYTES_MAX {
        let problem = format!("is longer than {EXPRESSION_BYTES_MAX} bytes");
        return Err(scan.refuse(0, problem));
    }
    let characters: Vec<char> = source.chars().collect();
    let mut offset = 0;
    while let Some(&character) = characters.get(offset) {
        let before = offset.checked_sub(1).and_then(|at| characters.get(at)).copied();
        let next = characters.get(offset + 1).copied();
        if let Some(quote) = scan.quote {
            if character == '\\' {
                offset += 1;
            } else if character == quote {
                scan.quote = None;
            }
            offset += 1;
            continue;
        }
        match character {
            '"' | '\'' => {
                let prefixed = before.is_some_and(|before| before.is_ascii_alphanumeric());
                let tripled = next == Some(character) && characters.get(offset + 2) == Some(&character);
                if prefixed || tripled {
                    let problem = "texts are written in single or double quotes, without a prefix".to_owned();
                    return Err(scan.refuse(offset, problem));
                }
                scan.prefix = 0;
                scan.quote = Some(character);
            }
            '/' if next == Some('/') => {
                return Err(scan.refuse(offset, "comments are not supported".to_owned()));
            }
            '(' | '[' | '{' => scan.open(offset)?,
            ')' | ']' | '}' => scan.depth = scan.depth.saturating_sub(1),
            '&' | '|' | '=' if before == Some(character) => {}
            '=' if before.is_some_and(|before| matches!(before, '!' | '<' | '>')) => {}
            '&' | '|' | '=' | '!' | '<' | '>' | '+' | '-' | '*' | '/' | '%' | '?' | ':' | '.' => {
                let in_number = character == '.' && before.is_some_and(|before| before.is_ascii_digit());
                if !in_number {
                    scan.operator(offset)?;
                }
            }
            other if other.is_whitespace() => {}
            _ => {
                // A word may be the operator `in`; every word counts once, which is no less safe.
                let starts_word = character.is_ascii_alphabetic()
                    && !before.is_some_and(|before| before.is_ascii_alphanumeric() || before == '_');
                if starts_word && character == 'i' && next == Some('n') {
                    scan.operator(offset)?;
                }
                scan.prefix = 0;
            }
        }
        offset += 1;
    }
    Ok(())
}
