//! Pages: text, tables and drawings set in type, broken into pages, and written as PDF.
//!
//! It knows nothing of vehicles. A [`Document`] is a list of blocks from top to bottom; [`pdf`] sets them on pages of a
//! [`PageSize`]. The same document gives the same bytes: no clock and no outside randomness enters.
//!
//! Text runs in both directions and breaks wherever it must, so that nothing leaves its column. What the fonts cannot draw is
//! a visible box, and what cannot be printed at all, such as a control character, a visible mark. Text that is copied from
//! the page is what went in, but for those boxes.
//!
//! The fonts inside are DejaVu Sans Condensed, regular and bold: Latin, Greek, Cyrillic, Hebrew, Arabic, Armenian, Georgian and
//! Tifinagh among others. Their licence is beside them in `fonts/`. [`Fonts::and`] adds others for what these lack; a page on which
//! boxes are left says for which characters they stand.
//!
//! A [`Drawing`] is part of a document, or an SVG document of its own ([`svg()`]).

mod document;
mod drawing;
mod fonts;
mod layout;
mod svg;
mod table;
mod text;
mod write;

pub use document::{Align, Block, Cell, Column, Document, PageSize, Row, Shade, Table, Text};
pub use drawing::{Drawing, Ruler, Shape, Stroke, Tone};
pub use fonts::Fonts;
pub use svg::svg;

/// A document that cannot be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// A font inside the program cannot be used.
    #[error("the fonts cannot be read")]
    Fonts,
    /// A font that was added cannot be used.
    #[error("file {index} of the added fonts is no font that can be used")]
    Font {
        /// Its place among those added.
        index: usize,
    },
    /// A size that is no size of a page or a line.
    #[error("the page has no room: its size or margins are not usable")]
    Size,
    /// The PDF cannot be put together.
    #[error("the pages cannot be written as PDF: {0}")]
    Pdf(String),
}

/// Sets `document` on pages of `size` in `fonts` and writes them.
///
/// # Errors
/// When a page has no room or the library refuses.
pub fn pdf(document: &Document, size: PageSize, fonts: &Fonts) -> Result<Vec<u8>, PaperError> {
    let mut setter = text::Setter::new(fonts);
    let pages = layout::lay_out(document, size, &mut setter)?;
    write::write(document, size, &pages, fonts)
}
