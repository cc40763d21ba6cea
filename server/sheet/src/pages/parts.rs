//! Parts that every page uses.

use ostler_paper::{Align, Block, Cell, Column, Row, Shade, Table, Text};
use ostler_proto::v1::{Answer, Verdict};

use crate::words;

/// Columns by their shares, those with a minus standing right.
pub(crate) fn columns(shares: &[f32]) -> Vec<Column> {
    shares
        .iter()
        .map(|share| Column {
            share: share.abs(),
            align: if *share < 0.0 { Align::Right } else { Align::Start },
        })
        .collect()
}

/// A row of running text.
pub(crate) fn cells<const N: usize>(texts: [&str; N]) -> Row {
    Row {
        cells: texts.into_iter().map(Cell::plain).collect(),
        with_next: false,
    }
}

/// The verdict, in large letters.
pub(crate) fn verdict_cell(verdict: Verdict, size: f32) -> Cell {
    let text = Text::new(words::verdict(verdict).to_uppercase())
        .bold()
        .size(size)
        .align(Align::Middle);
    Cell::new(text).shade(match verdict {
        Verdict::Go => Shade::None,
        Verdict::GoWithConditions => Shade::Light,
        Verdict::NoGo | Verdict::Unspecified => Shade::Black,
    })
}

/// An answer, on the ground that shows it from afar.
pub(crate) fn of_answer(answer: Answer, text: &str) -> Cell {
    let shade = match answer {
        Answer::Met => Shade::None,
        Answer::MetWithConditions => Shade::Light,
        Answer::NotMet | Answer::NotKnown | Answer::Unspecified => Shade::Black,
    };
    let text = Text::new(text);
    let text = if shade == Shade::None { text } else { text.bold() };
    Cell::new(text).shade(shade)
}

/// The band at the top of a first page: a large name and a verdict, lines below both.
pub(crate) fn heading_band(name: &str, verdict: Verdict, below: &[[String; 2]]) -> Block {
    let mut rows = vec![Row {
        cells: vec![
            Cell::new(Text::new(name).bold().size(19.0)),
            verdict_cell(verdict, 17.0),
        ],
        with_next: true,
    }];
    for [left, right] in below {
        rows.push(Row {
            cells: vec![
                Cell::plain(left.as_str()),
                Cell::new(Text::new(right.as_str()).align(Align::Middle)),
            ],
            with_next: true,
        });
    }
    Block::Table(Table {
        columns: columns(&[3.0, 2.0]),
        head: Vec::new(),
        rows,
        ruled: false,
    })
}
