//! A report on pages.

use ostler_paper::{Block, Cell, Document, Row, Table, Text};

use super::{Content, Entry, Part};
use crate::pages::{columns, heading_band, of_answer};

/// Who decides.
pub(super) const SIGNERS: [&str; 3] = ["convoy lead", "workshop lead", "medic"];

pub(super) fn document(content: &Content) -> Document {
    let below = [[content.below.clone(), "readiness report".to_owned()]];
    let mut blocks = vec![
        heading_band(&content.title, content.verdict, &below),
        Block::Gap(6.0),
    ];
    for part in &content.parts {
        match part {
            Part::Heading(text) => blocks.push(Block::Heading(text.clone())),
            Part::Paragraph(text) => {
                blocks.push(Block::Text(Text::new(text.as_str())));
                blocks.push(Block::Gap(3.0));
            }
            Part::Table { head, shares, rows } => blocks.push(Block::Table(Table {
                columns: columns(shares),
                head: head.iter().map(|text| (*text).to_owned()).collect(),
                rows: rows.iter().map(|row| set(row)).collect(),
                ruled: true,
            })),
            Part::Signatures => blocks.push(Block::Together(vec![decision()])),
        }
    }
    Document {
        title: content.title.clone(),
        head: [content.title.clone(), content.below.clone()],
        foot: format!("computed from record {}", content.version),
        mark: None,
        blocks,
    }
}

fn set(row: &[Entry]) -> Row {
    let cells = row.iter().map(|entry| match entry.answer {
        Some(answer) => of_answer(answer, &entry.text),
        None => Cell::plain(entry.text.as_str()),
    });
    Row {
        cells: cells.collect(),
        with_next: false,
    }
}

fn decision() -> Block {
    let rows = SIGNERS.iter().map(|role| Row {
        cells: vec![
            Cell::plain(format!("\u{a0}\n{role}")),
            Cell::plain("\u{a0}\n☐ go   ☐ no-go"),
            Cell::plain(""),
            Cell::plain(""),
            Cell::plain(""),
        ],
        with_next: false,
    });
    Block::Table(Table {
        columns: columns(&[1.8, 1.8, 2.6, 1.4, 2.6]),
        head: ["role", "decides", "name", "date", "signature"]
            .map(str::to_owned)
            .to_vec(),
        rows: rows.collect(),
        ruled: true,
    })
}
