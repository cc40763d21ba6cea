//! Pages: text, tables and drawings set in type, broken into pages, and written as PDF.
//!
//! It knows nothing of vehicles. A [`Document`] is a list of blocks from top to bottom; [`pdf`] sets them on pages of a
//! [`PageSize`]. The same document gives the same bytes: no clock and no outside randomness enters.
//!
//! Text runs in both directions and breaks wherever it must, so that nothing leaves its column. What the fonts cannot draw is
//! a visible box, and what cannot be printed at all, such as a control character, a visible mark. Text that is copied from
//! the page is what went in, but for those boxes.
//!
//! The fonts are DejaVu Sans Condensed, regular and bold: Latin, Greek, Cyrillic, Hebrew, Arabic, Armenian, Georgian and
//! Tifinagh among others. Their licence is beside them in `fonts/`.

mod document;
mod drawing;
mod fonts;
mod layout;
mod table;
mod text;
mod write;

pub use document::{Align, Block, Cell, Column, Document, PageSize, Row, Shade, Table, Text};
pub use drawing::{Drawing, Shape};

/// A document that cannot be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// A font inside the program cannot be used.
    #[error("the fonts cannot be read")]
    Fonts,
    /// A size that is no size of a page or a line.
    #[error("the page has no room: its size or margins are not usable")]
    Size,
    /// The PDF cannot be put together.
    #[error("the pages cannot be written as PDF: {0}")]
    Pdf(String),
}

/// Sets `document` on pages of `size` and writes them.
///
/// # Errors
/// When a page has no room or the library refuses.
pub fn pdf(document: &Document, size: PageSize) -> Result<Vec<u8>, PaperError> {
    let fonts = fonts::Fonts::new()?;
    let mut setter = text::Setter::new(&fonts);
    let pages = layout::lay_out(document, size, &mut setter)?;
    write::write(document, size, &pages, &fonts)
}
