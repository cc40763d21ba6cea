//! Tables on pages.

use crate::document::{Cell, Column, Row, Table};
use crate::drawing::{Shape, Stroke};
use crate::layout::{Desk, Mark, height, tone_on};
use crate::text::Line;
use crate::{Align, PageSize, Shade, Text};

/// Room inside a cell, points.
const INSIDE_X: f32 = 3.0;
const INSIDE_Y: f32 = 2.0;

/// A set cell: its left edge and width in the body, and its lines.
pub(crate) struct SetCell {
    x: f32,
    width: f32,
    shade: Shade,
    /// Its lines stand in the middle of the row's height as well.
    middle: bool,
    lines: Vec<Line>,
}

/// A set row.
pub(crate) struct SetRow {
    cells: Vec<SetCell>,
    with_next: bool,
}

impl SetRow {
    pub(crate) fn height(&self) -> f32 {
        let tallest = self
            .cells
            .iter()
            .map(|cell| height(&cell.lines))
            .fold(0.0, f32::max);
        tallest + 2.0 * INSIDE_Y
    }
}

/// Sets the head, where there is one, and the rows of `table`.
pub(crate) fn set(desk: &mut Desk<'_, '_>, table: &Table) -> Vec<SetRow> {
    let mut rows = Vec::with_capacity(table.rows.len() + 1);
    if !table.head.is_empty() {
        rows.push(set_row(desk, &table.columns, &head(table)));
    }
    for row in &table.rows {
        rows.push(set_row(desk, &table.columns, row));
    }
    rows
}

fn head(table: &Table) -> Row {
    let cells = table.head.iter().map(|title| {
        let text = Text::new(title.as_str()).bold().size(8.5);
        Cell::new(text).shade(Shade::Light)
    });
    Row {
        cells: cells.collect(),
        with_next: true,
    }
}

fn set_row(desk: &mut Desk<'_, '_>, columns: &[Column], row: &Row) -> SetRow {
    let shares: f32 = columns.iter().map(|column| column.share).sum();
    let unit = desk.width() / shares.max(f32::MIN_POSITIVE);
    let mut x = 0.0;
    let mut next = 0;
    let mut cells = Vec::with_capacity(row.cells.len());
    for cell in &row.cells {
        let end = (next + cell.span.max(1)).min(columns.len());
        let Some(covered) = columns.get(next..end).filter(|covered| !covered.is_empty()) else {
            break;
        };
        let width = covered.iter().map(|column| column.share).sum::<f32>() * unit;
        let mut text = cell.text.clone();
        if text.align == Align::Start && covered.len() == 1 {
            text.align = covered[0].align;
        }
        let inner = (width - 2.0 * INSIDE_X).max(1.0);
        cells.push(SetCell {
            x,
            width,
            shade: cell.shade,
            middle: text.align == Align::Middle,
            lines: desk.setter.set(&text, inner),
        });
        x += width;
        next = end;
    }
    SetRow {
        cells,
        with_next: row.with_next,
    }
}

/// Puts a table onto the desk.
pub(crate) fn place(desk: &mut Desk<'_, '_>, table: &Table) {
    let rows = set(desk, table);
    let has_head = !table.head.is_empty();
    let head_height = if has_head {
        rows.first().map_or(0.0, SetRow::height)
    } else {
        0.0
    };
    for (index, row) in rows.iter().enumerate() {
        let is_head = has_head && index == 0;
        let next = rows.get(index + 1).filter(|_| row.with_next);
        let needed = row.height() + next.map_or(0.0, SetRow::height);
        let longest = desk.whole() - head_height;
        if needed > desk.room() && (needed <= longest || row.height() <= longest) {
            let fits_alone = row.height() <= desk.room() && needed > longest;
            if !fits_alone {
                desk.new_page();
                if has_head && !is_head {
                    place_lines(desk, &rows[0], &full(&rows[0]), table.ruled);
                }
            }
        }
        place_row(desk, row, has_head.then(|| &rows[0]), table.ruled);
    }
}

/// Number of lines of each cell.
fn full(row: &SetRow) -> Vec<std::ops::Range<usize>> {
    row.cells.iter().map(|cell| 0..cell.lines.len()).collect()
}

/// Puts a row, over several pages where it is longer than one.
fn place_row(desk: &mut Desk<'_, '_>, row: &SetRow, head: Option<&SetRow>, ruled: bool) {
    if row.height() <= desk.room() {
        place_lines(desk, row, &full(row), ruled);
        return;
    }
    let mut begun: Vec<usize> = vec![0; row.cells.len()];
    while row
        .cells
        .iter()
        .zip(&begun)
        .any(|(cell, begun)| *begun < cell.lines.len())
    {
        let room = desk.room() - 2.0 * INSIDE_Y;
        let ranges: Vec<std::ops::Range<usize>> = row
            .cells
            .iter()
            .zip(&begun)
            .map(|(cell, begun)| *begun..*begun + fitting(cell.lines.get(*begun..).unwrap_or_default(), room))
            .collect();
        if ranges.iter().all(std::ops::Range::is_empty) {
            if desk.room() >= desk.whole() - head.map_or(0.0, SetRow::height) - 0.01 {
                // A line taller than a page: it cannot be set at all.
                return;
            }
        } else {
            place_lines(desk, row, &ranges, ruled);
            begun = ranges.iter().map(|range| range.end).collect();
        }
        let is_done = row
            .cells
            .iter()
            .zip(&begun)
            .all(|(cell, begun)| *begun >= cell.lines.len());
        if !is_done {
            desk.new_page();
            if let Some(head) = head {
                place_lines(desk, head, &full(head), ruled);
            }
        }
    }
}

/// How many of `lines` fit into `room`.
fn fitting(lines: &[Line], room: f32) -> usize {
    let mut used = 0.0;
    lines
        .iter()
        .take_while(|line| {
            used += line.height;
            used <= room
        })
        .count()
}

fn place_lines(desk: &mut Desk<'_, '_>, row: &SetRow, ranges: &[std::ops::Range<usize>], ruled: bool) {
    let chosen = |cell: &SetCell, range: &std::ops::Range<usize>| -> Vec<Line> {
        cell.lines.get(range.clone()).unwrap_or_default().to_vec()
    };
    let tallest = row
        .cells
        .iter()
        .zip(ranges)
        .map(|(cell, range)| height(&chosen(cell, range)))
        .fold(0.0, f32::max);
    let row_height = tallest + 2.0 * INSIDE_Y;
    let top = desk.y;
    for (cell, range) in row.cells.iter().zip(ranges) {
        let x = PageSize::MARGIN + cell.x;
        if cell.shade != Shade::None {
            desk.mark(Mark::Shape {
                x,
                y: top,
                scale: 1.0,
                shape: Shape::rectangle(0.0, 0.0, cell.width, row_height, cell.shade, Stroke::NONE),
            });
        }
        let lines = chosen(cell, range);
        let above = if cell.middle {
            (tallest - height(&lines)) / 2.0
        } else {
            0.0
        };
        let mut y = top + INSIDE_Y + above;
        for line in lines {
            let height = line.height;
            desk.line(line, x + INSIDE_X, y, tone_on(cell.shade));
            y += height;
        }
    }
    desk.y += row_height;
    if ruled {
        let (y, width) = (desk.y, desk.width());
        desk.rule(y, width, 0.35);
    }
}
