//! Text for people, at most 80 columns wide.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::{Block, Cell, Records, Style, WIDTH_MAX, clean, number};

/// Renders `blocks`.
pub(super) fn render(blocks: &[Block], style: Style) -> String {
    let mut text = String::new();
    for block in blocks {
        match block {
            Block::Gap => text.push('\n'),
            Block::Line {
                indent,
                text: line,
                tone,
            } => {
                for wrapped in wrap(*indent, line) {
                    let body = wrapped.trim_start();
                    let (margin, _) = wrapped.split_at(wrapped.len() - body.len());
                    text.push_str(margin);
                    text.push_str(&style.paint(*tone, body));
                    text.push('\n');
                }
            }
            Block::Table(records) => {
                text.push_str(&table(records));
                text.push('\n');
            }
        }
    }
    text
}

/// `text` in lines that fit; lines after the first hang two columns deeper.
fn wrap(indent: usize, text: &str) -> Vec<String> {
    let margin = " ".repeat(indent);
    let hanging = " ".repeat(indent + 2);
    let options = textwrap::Options::new(WIDTH_MAX)
        .initial_indent(&margin)
        .subsequent_indent(&hanging);
    clean(text)
        .lines()
        .flat_map(|line| textwrap::wrap(line, &options))
        .map(|line| line.trim_end().to_owned())
        .collect()
}

fn table(records: &Records) -> String {
    let mut table = Table::new();
    let mut preset = presets::NOTHING;
    preset = preset.header_separator(comfy_table::LineStyle::none().fill('-').junction('-'));
    table
        .load_style(preset)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH_MAX as u16)
        .set_header(records.headers.iter().map(|header| clean(header)));
    for row in &records.rows {
        table.add_row(row.iter().map(shown));
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        let numeric = |row: &Vec<Cell>| matches!(row.get(index), Some(Cell::Number(_) | Cell::Count(_)));
        if records.rows.iter().any(numeric) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.trim_fmt()
}

fn shown(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => clean(text),
        Cell::Number(value) => number(*value),
        Cell::Count(value) => value.to_string(),
        Cell::None(words) => (*words).to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::Tone;

    /// Columns that a terminal needs for `line`.
    fn width(line: &str) -> usize {
        textwrap::core::display_width(line)
    }

    #[test]
    fn long_text_fits_80_columns() {
        let long = "The rear axle carries more than its rating allows because of the water. ".repeat(9);
        let unbroken = "x".repeat(300);
        let wide = "\u{8eca}".repeat(90);
        let mut records = Records::new(["vehicle", "what was found", "remedy", "kg", "records"]);
        records.push([
            Cell::text("v1"),
            Cell::text(long.clone()),
            Cell::text(unbroken.clone()),
            Cell::Number(-1_234_567.891),
            Cell::text(wide.clone()),
        ]);
        let blocks = [
            Block::toned(4, Tone::Bad, long),
            Block::line(30, unbroken),
            Block::line(2, wide),
            Block::Table(records),
        ];
        let text = render(&blocks, Style::plain());
        assert!(text.lines().count() > 20);
        for line in text.lines() {
            assert!(width(line) <= WIDTH_MAX, "{} columns: {line}", width(line));
        }
    }

    #[test]
    fn tables_align_numbers_and_spell_what_is_not_known() {
        let mut records = Records::new(["axle", "load kg", "limit kg"]);
        records.push([Cell::text("front"), Cell::Number(1201.04), Cell::Number(1300.0)]);
        records.push([Cell::text("rear"), Cell::Number(98.765), Cell::known(None)]);
        insta::assert_snapshot!(table(&records), @r"
        axle    load kg    limit kg
        -----------------------------
        front      1201        1300
        rear      98.77   not known
        ");
    }
}
