//! What is printed: one document, shown as text for people, as JSON, or as CSV.

mod csv;
mod json;
mod style;
mod table;
mod words;

use prost_reflect::{DynamicMessage, ReflectMessage};

use crate::cli::Format;
use crate::errors::CliError;

pub(crate) use style::Style;
pub(crate) use words::{clean, count, number, word};

/// Most columns of anything printed for people.
pub(crate) const WIDTH_MAX: usize = 80;

/// What a command prints on standard output, in each form.
#[derive(Debug, Clone)]
pub(crate) struct Document {
    /// For people.
    pub blocks: Vec<Block>,
    /// The answer of the API, for its JSON form.
    pub answer: Answer,
    /// One flat table.
    pub records: Records,
}

impl Document {
    /// A document about the answer `message`.
    pub(crate) fn of<M: ReflectMessage + Default>(message: &M, blocks: Vec<Block>, records: Records) -> Self {
        Self {
            blocks,
            answer: Answer::of(message),
            records,
        }
    }

    /// The same about an answer whose kind was chosen while the command ran.
    pub(crate) fn of_dynamic(message: DynamicMessage, blocks: Vec<Block>, records: Records) -> Self {
        Self {
            blocks,
            answer: Answer::Dynamic(message),
            records,
        }
    }

    /// Its text in `format`, with a line break at the end unless there is nothing.
    ///
    /// # Errors
    /// When it cannot be written as CSV, or the answer has no JSON form.
    pub(crate) fn render(&self, format: Format, style: Style) -> Result<String, CliError> {
        match format {
            Format::Table => Ok(table::render(&self.blocks, style)),
            Format::Json => Ok(format!("{}\n", self.answer.text()?)),
            Format::Csv => csv::render(&self.records),
        }
    }
}

/// What the JSON form is made of.
#[derive(Debug, Clone)]
pub(crate) enum Answer {
    /// An answer that becomes JSON only when that is asked for: reading the descriptors of the whole API, by which its form is
    /// made, costs more than all else that a command does.
    Encoded {
        /// The message.
        bytes: Vec<u8>,
        /// Makes JSON of it.
        json: fn(&[u8]) -> Result<String, CliError>,
    },
    /// A message whose type is known only by its descriptor.
    Dynamic(DynamicMessage),
    /// JSON of the command's own.
    Json(String),
}

impl Answer {
    /// An answer of the API.
    fn of<M: ReflectMessage + Default>(message: &M) -> Self {
        Self::Encoded {
            bytes: message.encode_to_vec(),
            json: |bytes| {
                let message = M::decode(bytes).map_err(|error| CliError::Answer {
                    problem: format!("it cannot be read again: {error}"),
                })?;
                json::text(&message.transcode_to_dynamic())
            },
        }
    }

    fn text(&self) -> Result<String, CliError> {
        match self {
            Self::Encoded { bytes, json } => json(bytes),
            Self::Dynamic(message) => json::text(message),
            Self::Json(text) => Ok(text.clone()),
        }
    }
}

/// A piece of text for people.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Block {
    /// One line; wrapped lines hang below its text.
    Line {
        /// Columns that it is moved in.
        indent: usize,
        /// What it says.
        text: String,
        /// What colour underlines what it says. The words alone carry the meaning.
        tone: Tone,
    },
    /// A table.
    Table(Records),
    /// An empty line.
    Gap,
}

impl Block {
    /// A line without colour.
    pub(crate) fn line(indent: usize, text: impl Into<String>) -> Self {
        Self::toned(indent, Tone::Plain, text)
    }

    /// A line.
    pub(crate) fn toned(indent: usize, tone: Tone, text: impl Into<String>) -> Self {
        Self::Line {
            indent,
            text: text.into(),
            tone,
        }
    }

    /// What a computed answer ends on: what to mind, and the formula it came from.
    pub(crate) fn closing(cautions: &[String], formula_version: &str) -> impl Iterator<Item = Self> {
        let formula = format!("Formula: {formula_version}.");
        let lines = cautions.iter().cloned().chain([formula]);
        lines.map(|line| Self::toned(0, Tone::Dim, line))
    }
}

/// What a line is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tone {
    /// Nothing of note.
    Plain,
    /// A heading.
    Heading,
    /// In order.
    Good,
    /// To mind.
    Caution,
    /// In the way.
    Bad,
    /// By the way.
    Dim,
}

/// Rows under headers. The headers of CSV are part of the contract with scripts.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Records {
    /// Names of the columns.
    pub headers: Vec<String>,
    /// The rows, each as long as `headers`.
    pub rows: Vec<Vec<Cell>>,
}

impl Records {
    /// No rows under `headers`.
    pub(crate) fn new<H: Into<String>>(headers: impl IntoIterator<Item = H>) -> Self {
        Self {
            headers: headers.into_iter().map(Into::into).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub(crate) fn push(&mut self, row: impl IntoIterator<Item = Cell>) {
        self.rows.push(row.into_iter().collect());
    }
}

/// A value in a row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cell {
    /// Text.
    Text(String),
    /// A measured or computed number: rounded for people, whole for scripts.
    Number(f64),
    /// A whole number.
    Count(i64),
    /// Nothing: empty for scripts, the given words for people.
    None(&'static str),
}

impl Cell {
    /// Text.
    pub(crate) fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A number, or `not known`.
    pub(crate) fn known(number: Option<f64>) -> Self {
        number.map_or(Self::None("not known"), Self::Number)
    }

    /// A number, or nothing.
    pub(crate) fn maybe(number: Option<f64>) -> Self {
        number.map_or(Self::None(""), Self::Number)
    }

    /// `yes` or `no`.
    pub(crate) fn yes_no(yes: bool) -> Self {
        Self::text(if yes { "yes" } else { "no" })
    }

    /// Texts joined by `; `.
    pub(crate) fn list(texts: &[String]) -> Self {
        Self::text(texts.join("; "))
    }
}
