//! Conditions, what is open, papers, people and cautions.

use ostler_paper::{Block, Cell, Row, Table, Text};
use ostler_proto::v1::{Answer, Gate, LoadSheet};

use super::{cells, columns, of_answer};
use crate::words;

/// Conditions that somebody accepted.
pub(super) fn accepted(sheet: &LoadSheet) -> Vec<Block> {
    if sheet.conditions.is_empty() {
        return Vec::new();
    }
    let rows = sheet.conditions.iter().map(|condition| {
        let accepted = condition.condition.clone().unwrap_or_default();
        let whose = if condition.of_convoy { "Convoy: " } else { "" };
        let signed = match condition.signed_by.as_str() {
            "" => String::new(),
            token => format!(", token {token}"),
        };
        let mut row = cells([
            "",
            &format!("{whose}{}", condition.subject),
            &format!("{}, {}", accepted.owner, accepted.check_interval),
            &format!("{}, {}{signed}", accepted.accepted_by, accepted.accepted_date),
        ]);
        row.cells[0] = Cell::new(Text::new(accepted.condition).bold());
        row
    });
    let head = ["keep to", "because", "who keeps it, how often", "accepted by"];
    vec![
        Block::Heading("Conditions accepted".to_owned()),
        Block::Table(Table {
            columns: columns(&[2.6, 3.2, 1.9, 1.9]),
            head: head.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }),
    ]
}

/// Everything that is not met, not known, or a condition that nobody has signed for.
pub(super) fn open(sheet: &LoadSheet) -> Vec<Block> {
    let mut rows = open_rows("", &sheet.open_gates);
    rows.extend(open_rows("convoy: ", &sheet.convoy_gates));
    if rows.is_empty() {
        return Vec::new();
    }
    let head = ["answer", "question", "found", "what clears it"];
    vec![
        Block::Heading("Still open".to_owned()),
        Block::Table(Table {
            columns: columns(&[1.3, 1.5, 4.0, 2.8]),
            head: head.map(str::to_owned).to_vec(),
            rows,
            ruled: true,
        }),
    ]
}

/// The open findings of `gates`, a row each.
fn open_rows(whose: &str, gates: &[Gate]) -> Vec<Row> {
    let mut rows = Vec::new();
    for gate in gates {
        let binding = if gate.not_binding { " (not binding)" } else { "" };
        let open = gate
            .findings
            .iter()
            .filter(|finding| finding.acceptance.is_empty() && finding.answer() != Answer::Met);
        for finding in open {
            let text = match finding.answer() {
                Answer::MetWithConditions => "condition",
                other => words::answer(other),
            };
            rows.push(Row {
                cells: vec![
                    of_answer(finding.answer(), text),
                    Cell::plain(format!("{whose}{}{binding}", gate.id.replace('_', " "))),
                    Cell::plain(finding.text.as_str()),
                    Cell::plain(finding.remedy.as_str()),
                ],
                with_next: false,
            });
        }
    }
    rows
}

/// Papers to carry, and who rides.
pub(super) fn papers_and_crew(sheet: &LoadSheet) -> Vec<Block> {
    let mut blocks = Vec::new();
    if !sheet.papers.is_empty() {
        let rows = sheet.papers.iter().map(|paper| {
            let (text, answer) = match (paper.valid_until_date.as_str(), paper.valid()) {
                ("", _) => ("does not expire".to_owned(), Answer::Met),
                (date, Answer::Met) => (date.to_owned(), Answer::Met),
                (date, answer) => (format!("{date}, BEFORE RETURN"), answer),
            };
            Row {
                cells: vec![
                    Cell::plain("☐"),
                    Cell::plain(words::named(&paper.display_name, &paper.evidence)),
                    Cell::plain(paper.reference.as_str()),
                    of_answer(answer, &text),
                ],
                with_next: false,
            }
        });
        let head = ["", "paper", "number or place", "valid until"];
        blocks.push(Block::Heading("Papers to carry".to_owned()));
        blocks.push(Block::Table(Table {
            columns: columns(&[0.3, 4.0, 2.6, 2.2]),
            head: head.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }));
    }
    if !sheet.crew.is_empty() {
        let people: Vec<String> = sheet
            .crew
            .iter()
            .map(|member| match member.driver {
                true => format!("{} (drives)", member.role),
                false => member.role.clone(),
            })
            .collect();
        blocks.push(Block::Heading("Aboard".to_owned()));
        blocks.push(Block::Text(Text::new(people.join(", "))));
    }
    blocks
}

/// What to mind.
pub(super) fn cautions(cautions: &[String]) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Mind".to_owned())];
    blocks.extend(
        cautions
            .iter()
            .map(|caution| Block::Text(Text::new(format!("•  {caution}")))),
    );
    blocks
}
