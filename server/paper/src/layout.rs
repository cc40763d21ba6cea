//! Blocks on pages.

use crate::drawing::{Drawing, Shape, Stroke, Tone};
use crate::table::{self, SetRow};
use crate::text::{Line, Setter};
use crate::{Align, Block, Document, PageSize, PaperError, Shade, Text};

const HEAD: f32 = PageSize::HEAD;
const FOOT: f32 = PageSize::FOOT;

/// Room above and below a heading, points.
const HEADING_ABOVE: f32 = 9.0;
const HEADING_BELOW: f32 = 3.0;

/// Size of a heading, points.
const HEADING_SIZE: f32 = 12.5;

/// Most of a page that a heading waits for room for: some rows of what it stands over.
const KEPT_WITH_HEADING: f32 = 60.0;

/// Something at its place on a page, points from the top left corner.
#[derive(Debug, Clone)]
pub(crate) enum Mark {
    /// A set line: left edge of its box and its baseline.
    Line {
        x: f32,
        baseline: f32,
        line: Line,
        tone: Tone,
        /// Degrees by which it is turned, and about which place.
        turn: Option<(f32, (f32, f32))>,
    },
    /// A shape of a drawing that is no label.
    Shape {
        x: f32,
        y: f32,
        scale: f32,
        shape: Shape,
    },
}

/// The marks of one page.
#[derive(Debug, Clone, Default)]
pub(crate) struct Page {
    pub(crate) marks: Vec<Mark>,
}

/// Sets a document on pages.
pub(crate) fn lay_out(
    document: &Document,
    size: PageSize,
    setter: &mut Setter<'_>,
) -> Result<Vec<Page>, PaperError> {
    let usable = |length: f32| (200.0..=5_000.0).contains(&length);
    if !usable(size.width) || !usable(size.height) {
        return Err(PaperError::Size);
    }
    let mut desk = Desk {
        size,
        setter,
        pages: vec![Page::default()],
        y: PageSize::MARGIN + HEAD,
    };
    desk.blocks(&document.blocks);
    desk.heads_and_feet(document);
    Ok(desk.pages)
}

/// The page that is being filled.
pub(crate) struct Desk<'d, 's> {
    size: PageSize,
    pub(crate) setter: &'d mut Setter<'s>,
    pages: Vec<Page>,
    pub(crate) y: f32,
}

impl Desk<'_, '_> {
    pub(crate) fn width(&self) -> f32 {
        self.size.body_width()
    }

    fn bottom(&self) -> f32 {
        self.size.height - PageSize::MARGIN - FOOT
    }

    /// Room left on the page.
    pub(crate) fn room(&self) -> f32 {
        self.bottom() - self.y
    }

    /// Room of an empty page.
    pub(crate) fn whole(&self) -> f32 {
        self.bottom() - PageSize::MARGIN - HEAD
    }

    pub(crate) fn new_page(&mut self) {
        self.pages.push(Page::default());
        self.y = PageSize::MARGIN + HEAD;
    }

    fn is_at_top(&self) -> bool {
        self.y <= PageSize::MARGIN + HEAD + 0.01
    }

    pub(crate) fn mark(&mut self, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push(mark);
        }
    }

    fn blocks(&mut self, blocks: &[Block]) {
        for (index, block) in blocks.iter().enumerate() {
            match block {
                Block::Heading(text) => {
                    let next = blocks.get(index + 1).map_or(0.0, |next| self.least(next));
                    self.heading(text, next);
                }
                Block::Text(text) => self.text(text),
                Block::Table(table) => table::place(self, table),
                Block::Drawing(drawing) => self.drawing(drawing),
                Block::Together(inner) => {
                    let height: f32 = inner.iter().map(|block| self.height(block)).sum();
                    if height > self.room() && height <= self.whole() {
                        self.new_page();
                    }
                    self.blocks(inner);
                }
                Block::Gap(_) | Block::NewPage if self.is_at_top() => {}
                Block::Gap(gap) => self.y += gap,
                Block::NewPage => self.new_page(),
            }
        }
    }

    /// Height of a block on a page of its own.
    fn height(&mut self, block: &Block) -> f32 {
        let width = self.width();
        match block {
            Block::Heading(text) => self.heading_height(text),
            Block::Text(text) => height(&self.setter.set(text, width)),
            Block::Table(table) => {
                let rows = table::set(self, table);
                rows.iter().map(SetRow::height).sum()
            }
            Block::Drawing(drawing) => drawing.height * scale(drawing, width),
            Block::Together(inner) => inner.iter().map(|block| self.height(block)).sum(),
            Block::Gap(gap) => *gap,
            Block::NewPage => 0.0,
        }
    }

    /// What of a block must stand below its heading.
    fn least(&mut self, block: &Block) -> f32 {
        let whole = self.height(block);
        match block {
            Block::Drawing(_) | Block::Together(_) => whole,
            _ => whole.min(KEPT_WITH_HEADING),
        }
    }

    fn heading_height(&mut self, text: &str) -> f32 {
        let width = self.width();
        let lines = self.setter.set(&Text::new(text).bold().size(HEADING_SIZE), width);
        HEADING_ABOVE + height(&lines) + HEADING_BELOW
    }

    fn heading(&mut self, text: &str, next: f32) {
        let own = self.heading_height(text);
        if own + next > self.room() && !self.is_at_top() {
            self.new_page();
        }
        if !self.is_at_top() {
            self.y += HEADING_ABOVE;
        }
        self.text(&Text::new(text).bold().size(HEADING_SIZE));
        let (y, width) = (self.y, self.width());
        self.rule(y, width, 1.2);
        self.y += HEADING_BELOW;
    }

    /// A line across the body.
    pub(crate) fn rule(&mut self, y: f32, width: f32, stroke: f32) {
        self.mark(Mark::Shape {
            x: PageSize::MARGIN,
            y,
            scale: 1.0,
            shape: Shape::line((0.0, 0.0), (width, 0.0), Stroke::black(stroke)),
        });
    }

    fn text(&mut self, text: &Text) {
        let width = self.width();
        for line in self.setter.set(text, width) {
            if line.height > self.room() && !self.is_at_top() {
                self.new_page();
            }
            let y = self.y;
            self.y += line.height;
            self.line(line, PageSize::MARGIN, y, Tone::Black);
        }
    }

    /// Puts a line with its top at `y`.
    pub(crate) fn line(&mut self, line: Line, x: f32, y: f32, tone: Tone) {
        self.turned(line, x, y, tone, None);
    }

    fn turned(&mut self, line: Line, x: f32, y: f32, tone: Tone, turn: Option<(f32, (f32, f32))>) {
        let baseline = y + line.baseline;
        self.mark(Mark::Line {
            x,
            baseline,
            line,
            tone,
            turn,
        });
    }

    fn drawing(&mut self, drawing: &Drawing) {
        let scale = scale(drawing, self.width());
        let height = drawing.height * scale;
        if height > self.room() && !self.is_at_top() {
            self.new_page();
        }
        let x = PageSize::MARGIN + (self.width() - drawing.width * scale) / 2.0;
        let y = self.y;
        for shape in &drawing.shapes {
            match shape {
                Shape::Label {
                    x: left,
                    y: top,
                    width,
                    text,
                    tone,
                    turn_deg,
                } => {
                    let text = text.clone().size(text.size * scale);
                    let corner = (x + left * scale, y + top * scale);
                    let turn = (*turn_deg != 0.0).then_some((*turn_deg, corner));
                    let mut top = corner.1;
                    for line in self.setter.set(&text, width * scale) {
                        let height = line.height;
                        self.turned(line, corner.0, top, *tone, turn);
                        top += height;
                    }
                }
                other => self.mark(Mark::Shape {
                    x,
                    y,
                    scale,
                    shape: other.clone(),
                }),
            }
        }
        self.y += height;
    }

    /// Heads and feet, when the number of pages is known.
    fn heads_and_feet(&mut self, document: &Document) {
        let count = self.pages.len();
        let half = self.width() * 0.3;
        let (left, right) = (PageSize::MARGIN, PageSize::MARGIN + self.width() - half);
        let foot_y = self.size.height - PageSize::MARGIN - FOOT + 8.0;
        let wide = self.width() * 0.8;
        let [head_left, head_right] = &document.head;
        let small = |text: &str| Text::new(text).size(8.0);
        let head_left = first_line(
            self.setter,
            &small(head_left).bold(),
            self.size.body_width() * 0.68,
        );
        let head_right = first_line(self.setter, &small(head_right).align(Align::Right).bold(), half);
        let foot_left = first_line(self.setter, &small(&document.foot).size(7.0), wide);
        for index in 0..count {
            let number = small(&format!("page {} of {count}", index + 1)).align(Align::Right);
            let number = first_line(self.setter, &number, half);
            let parts = [
                (&head_left, left, PageSize::MARGIN),
                (&head_right, right, PageSize::MARGIN),
                (&foot_left, left, foot_y),
                (&number, right, foot_y),
            ];
            let mut marks: Vec<Mark> = Vec::new();
            for (line, x, y) in parts {
                marks.extend(line.clone().map(|line| Mark::Line {
                    x,
                    baseline: y + line.baseline,
                    line,
                    tone: Tone::Black,
                    turn: None,
                }));
            }
            for y in [PageSize::MARGIN + HEAD - 8.0, foot_y - 3.0] {
                marks.push(Mark::Shape {
                    x: left,
                    y,
                    scale: 1.0,
                    shape: Shape::line((0.0, 0.0), (self.size.body_width(), 0.0), Stroke::black(0.6)),
                });
            }
            let boxes = self.pages.get(index).and_then(|page| boxes(page, &marks));
            if let Some(said) = boxes {
                let note = first_line(
                    self.setter,
                    &small(&said).size(7.0).bold(),
                    self.size.body_width(),
                );
                marks.extend(note.map(|line| Mark::Line {
                    x: left,
                    baseline: foot_y + 8.0 + line.baseline,
                    line,
                    tone: Tone::Black,
                    turn: None,
                }));
            }
            if let Some(page) = self.pages.get_mut(index) {
                page.marks.extend(marks);
            }
        }
    }
}

/// Code points that a note of boxes names; further ones are counted.
const BOXES_NAMED: usize = 16;

/// For which characters boxes stand on a page. `None`: there are none.
fn boxes(page: &Page, also: &[Mark]) -> Option<String> {
    let lines = page.marks.iter().chain(also).filter_map(|mark| match mark {
        Mark::Line { line, .. } => Some(line),
        Mark::Shape { .. } => None,
    });
    let missing: std::collections::BTreeSet<char> = lines.flat_map(Line::without_glyph).collect();
    if missing.is_empty() {
        return None;
    }
    let named: Vec<String> = missing
        .iter()
        .take(BOXES_NAMED)
        .map(|character| format!("U+{:04X}", u32::from(*character)))
        .collect();
    let more = match missing.len().saturating_sub(BOXES_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    Some(format!(
        "Boxes: the fonts of this server have no glyph for {}{more}",
        named.join(", ")
    ))
}

/// The first line of a text; what does not fit on it ends in dots.
fn first_line(setter: &mut Setter<'_>, text: &Text, width: f32) -> Option<Line> {
    let mut shorter = text.clone();
    let mut characters: Vec<char> = text.text.chars().collect();
    loop {
        let mut lines = setter.set(&shorter, width);
        if lines.len() <= 1 || characters.len() < 8 {
            return (!lines.is_empty()).then(|| lines.swap_remove(0));
        }
        let keep = (characters.len() * 9 / 10).min(characters.len() - 1);
        characters.truncate(keep);
        shorter.text = characters.iter().collect::<String>() + "…";
    }
}

pub(crate) fn height(lines: &[Line]) -> f32 {
    lines.iter().map(|line| line.height).sum()
}

fn scale(drawing: &Drawing, width: f32) -> f32 {
    (width / drawing.width.max(1.0)).min(1.0)
}

/// The grey of text on a ground.
pub(crate) fn tone_on(shade: Shade) -> Tone {
    if shade == Shade::Black {
        Tone::White
    } else {
        Tone::Black
    }
}
