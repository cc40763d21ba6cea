//! What is to be set: blocks from top to bottom.

use crate::Drawing;

/// Size of a page, points of 1/72 inch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageSize {
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

impl PageSize {
    /// A4: 210 by 297 mm.
    pub const A4: Self = Self {
        width: 595.276,
        height: 841.89,
    };
    /// Letter: 8.5 by 11 inches.
    pub const LETTER: Self = Self {
        width: 612.0,
        height: 792.0,
    };
    /// The same turned: its longer side across.
    #[must_use]
    pub fn landscape(self) -> Self {
        Self {
            width: self.height,
            height: self.width,
        }
    }

    /// Height of the body between head and foot, points.
    pub fn body_height(self) -> f32 {
        self.height - 2.0 * Self::MARGIN - Self::HEAD - Self::FOOT
    }

    /// Room for the head of a page, and for its foot, points.
    pub(crate) const HEAD: f32 = 26.0;
    pub(crate) const FOOT: f32 = 22.0;
    /// Space around the body, points.
    pub const MARGIN: f32 = 40.0;

    /// Width of the body, points.
    pub fn body_width(self) -> f32 {
        self.width - 2.0 * Self::MARGIN
    }
}

/// A document.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Its title, which viewers show.
    pub title: String,
    /// Head of every page, left and right.
    pub head: [String; 2],
    /// Foot of every page, left; the number of the page stands right.
    pub foot: String,
    /// A word across every page, behind the text.
    pub mark: Option<String>,
    /// What it says.
    pub blocks: Vec<Block>,
}

/// One block.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// Heading of a section; it stays with what follows.
    Heading(String),
    /// A paragraph.
    Text(Text),
    /// A table.
    Table(Table),
    /// A drawing, in the middle of the page; it is not broken.
    Drawing(Drawing),
    /// Blocks that stay on one page where they fit on one.
    Together(Vec<Block>),
    /// Empty space, points.
    Gap(f32),
    /// What follows starts on a new page.
    NewPage,
}

/// A text in one size and weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// What it says; a line feed begins a new line.
    pub text: String,
    /// Size of the type, points.
    pub size: f32,
    /// Bold.
    pub bold: bool,
    /// Where its lines stand.
    pub align: Align,
}

impl Text {
    /// Size of running text, points.
    pub const SIZE: f32 = 9.5;

    /// Running text.
    pub fn new(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            size: Self::SIZE,
            bold: false,
            align: Align::Start,
        }
    }

    /// The same in bold.
    #[must_use]
    pub fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    /// The same in another size, points.
    #[must_use]
    pub fn size(mut self, size: f32) -> Self {
        self.size = size;
        self
    }

    /// The same with its lines elsewhere.
    #[must_use]
    pub fn align(mut self, align: Align) -> Self {
        self.align = align;
        self
    }
}

/// Where the lines of a text stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// At the side where its script begins.
    Start,
    /// In the middle.
    Middle,
    /// At the right.
    Right,
}

/// Ground of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shade {
    /// Paper, or whatever lies behind.
    None,
    /// White, over what lies behind.
    White,
    /// Light grey.
    Light,
    /// Black, its text white.
    Black,
}

/// A table. Rows break between pages, and where one is longer than a page, inside; its head is repeated.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Heads of the columns. Empty: it has none.
    pub head: Vec<String>,
    /// Its rows.
    pub rows: Vec<Row>,
    /// Lines between rows.
    pub ruled: bool,
}

/// A column of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Its share of the width; the shares are weighed against each other.
    pub share: f32,
    /// Where its texts stand.
    pub align: Align,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// Its cells, from the left.
    pub cells: Vec<Cell>,
    /// It stays with the row after it.
    pub with_next: bool,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// What it says. A cell of one column that stands at the `Start` takes the alignment of its column.
    pub text: Text,
    /// How many columns it covers, 1 or more.
    pub span: usize,
    /// Its ground.
    pub shade: Shade,
}

impl Cell {
    /// A cell of one column.
    pub fn new(text: Text) -> Self {
        Self {
            text,
            span: 1,
            shade: Shade::None,
        }
    }

    /// A cell of running text.
    pub fn plain(text: impl Into<String>) -> Self {
        Self::new(Text::new(text))
    }

    /// The same over several columns.
    #[must_use]
    pub fn span(mut self, span: usize) -> Self {
        self.span = span;
        self
    }

    /// The same on another ground.
    #[must_use]
    pub fn shade(mut self, shade: Shade) -> Self {
        self.shade = shade;
        self
    }
}

impl From<Text> for Cell {
    fn from(text: Text) -> Self {
        Self::new(text)
    }
}
