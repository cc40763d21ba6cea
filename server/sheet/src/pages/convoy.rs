//! The summary of a convoy: every vehicle on one page or two, for its lead.

use ostler_paper::{Block, Cell, Document, PageSize, Row, Table, Text, pdf};
use ostler_proto::v1::{Answer, Fluid, Gate, LoadAgainstLimit, LoadResult, LoadSheet, Verdict};

use super::conditions::cautions;
use super::loads::against;
use super::sign_off::lines;
use super::{cells, columns, heading_band, of_answer, verdict_cell};
use crate::SheetError;
use crate::words::{self, whole};

/// Writes the summary of the vehicles of `sheets`, drafts of one departure, as PDF.
///
/// # Errors
/// When the pages cannot be written.
pub fn convoy_pages(sheets: &[LoadSheet], size: PageSize) -> Result<Vec<u8>, SheetError> {
    Ok(pdf(&document(sheets), size)?)
}

fn document(sheets: &[LoadSheet]) -> Document {
    let empty = LoadSheet::default();
    let first = sheets.first().unwrap_or(&empty);
    let departure = words::named(&first.departure_display_name, &first.departure);
    let dates = format!("{} to {}", first.departure_date, first.return_date);
    let people: usize = sheets.iter().map(|sheet| sheet.crew.len()).sum();
    let below = [[
        format!("{dates}; {} vehicles, {people} people", sheets.len()),
        "DRAFT – from the record as it stands".to_owned(),
    ]];
    let mut blocks = vec![heading_band(departure, first.departure_verdict(), &below)];
    blocks.extend(way(first));
    blocks.extend(vehicles(sheets));
    blocks.extend(supplies(sheets));
    blocks.extend(open(sheets));
    blocks.extend(papers(sheets));
    blocks.extend(cautions(first.cautions.get(..1).unwrap_or_default()));
    blocks.push(Block::Together(vec![
        Block::Heading("Sign-off".to_owned()),
        lines(&["convoy lead", "medic"]),
    ]));
    Document {
        title: format!("Convoy summary, {departure}"),
        head: [format!("Convoy summary · {departure}"), dates],
        foot: format!("draft, computed from record {}", first.record_version),
        mark: Some("DRAFT".to_owned()),
        blocks,
    }
}

fn way(sheet: &LoadSheet) -> Vec<Block> {
    let rows = sheet.legs.iter().enumerate().map(|(index, leg)| {
        cells([
            &(index + 1).to_string(),
            &format!("{} – {}", leg.start_place, leg.end_place),
            &whole(leg.map_distance_km),
            &words::decimal(leg.planned_days),
        ])
    });
    vec![
        Block::Heading("The way".to_owned()),
        Block::Table(Table {
            columns: columns(&[0.4, 6.0, -1.0, -1.0]),
            head: ["leg", "from – to", "km", "days"].map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }),
    ]
}

/// The state in which a load is tightest against its limit; one without a limit counts as tightest.
fn tightest(
    sheet: &LoadSheet,
    of: impl Fn(&LoadResult) -> Option<&LoadAgainstLimit>,
) -> Option<&LoadAgainstLimit> {
    let mut worst: Option<&LoadAgainstLimit> = None;
    for load in &sheet.loads {
        let now = of(load)?;
        let left = |load: &LoadAgainstLimit| load.margin_kg.unwrap_or(f64::NEG_INFINITY);
        if worst.is_none_or(|worst| left(now) < left(worst)) {
            worst = Some(now);
        }
    }
    worst
}

fn vehicles(sheets: &[LoadSheet]) -> Vec<Block> {
    let rows = sheets.iter().map(|sheet| {
        let name = words::named(&sheet.vehicle_display_name, &sheet.vehicle);
        let name = Text::new(format!("{} {name}", words::id(&sheet.vehicle))).bold();
        let mut row = vec![Cell::new(name), verdict_cell(sheet.verdict(), 9.5)];
        row.extend(against(tightest(sheet, |load| load.total.as_ref())));
        row.extend(against(tightest(sheet, |load| load.front_axle.as_ref())));
        row.extend(against(tightest(sheet, |load| load.rear_axle.as_ref())));
        Row {
            cells: row,
            with_next: false,
        }
    });
    let head = [
        "vehicle",
        "verdict",
        "whole, kg",
        "left",
        "front",
        "left",
        "rear",
        "left",
    ];
    vec![
        Block::Heading("Vehicles, each load where it is tightest on the way".to_owned()),
        Block::Table(Table {
            columns: columns(&[3.2, 1.7, -1.0, -0.9, -1.0, -0.9, -1.0, -0.9]),
            head: head.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }),
    ]
}

fn supplies(sheets: &[LoadSheet]) -> Vec<Block> {
    let litres = |sheet: &LoadSheet, wanted: Fluid| -> String {
        let fills: Vec<_> = sheet.fills.iter().filter(|fill| fill.fluid() == wanted).collect();
        if fills.is_empty() {
            return "–".to_owned();
        }
        let sum: Option<f64> = fills.iter().map(|fill| fill.usable_l).sum();
        sum.map_or_else(|| words::NOT_KNOWN.to_owned(), whole)
    };
    let rows = sheets.iter().map(|sheet| {
        let drivers = sheet.crew.iter().filter(|member| member.driver).count();
        let name = words::named(&sheet.vehicle_display_name, &sheet.vehicle);
        cells([
            &format!("{} {name}", words::id(&sheet.vehicle)),
            &litres(sheet, Fluid::Diesel),
            &litres(sheet, Fluid::Petrol),
            &litres(sheet, Fluid::Water),
            &sheet.crew.len().to_string(),
            &drivers.to_string(),
            &sheet
                .conditions
                .iter()
                .filter(|condition| !condition.of_convoy)
                .count()
                .to_string(),
        ])
    });
    let head = [
        "vehicle",
        "diesel, l",
        "petrol, l",
        "water, l",
        "people",
        "drivers",
        "conditions",
    ];
    vec![
        Block::Heading("What can be drawn, and who rides".to_owned()),
        Block::Table(Table {
            columns: columns(&[3.2, -1.0, -1.0, -1.0, -0.9, -0.9, -1.2]),
            head: head.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }),
    ]
}

/// What blocks each vehicle and the convoy: a summary a gate, the findings stand on the sheets.
fn open(sheets: &[LoadSheet]) -> Vec<Block> {
    let mut rows: Vec<Row> = Vec::new();
    for sheet in sheets.iter().filter(|sheet| sheet.verdict() == Verdict::NoGo) {
        let blocking = sheet
            .open_gates
            .iter()
            .filter(|gate| !gate.not_binding && matches!(gate.answer(), Answer::NotMet | Answer::NotKnown));
        for gate in blocking {
            rows.push(summary_row(words::id(&sheet.vehicle), gate));
        }
    }
    let convoy = sheets.first().map(|first| first.convoy_gates.as_slice());
    rows.extend(
        convoy
            .unwrap_or_default()
            .iter()
            .map(|gate| summary_row("convoy", gate)),
    );
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading("What stands in the way".to_owned()),
        Block::Table(Table {
            columns: columns(&[1.2, 1.8, 6.6]),
            head: ["answer", "question", "found"].map(str::to_owned).to_vec(),
            rows,
            ruled: true,
        }),
    ]
}

fn summary_row(whose: &str, gate: &Gate) -> Row {
    Row {
        cells: vec![
            of_answer(gate.answer(), words::answer(gate.answer())),
            Cell::plain(format!("{whose} {}", gate.id.replace('_', " "))),
            Cell::plain(gate.summary.as_str()),
        ],
        with_next: false,
    }
}

/// Papers that run out before the return, each once.
fn papers(sheets: &[LoadSheet]) -> Vec<Block> {
    let mut names: Vec<String> = Vec::new();
    for paper in sheets.iter().flat_map(|sheet| &sheet.papers) {
        let runs_out = paper.valid() != Answer::Met;
        let name = words::named(&paper.display_name, &paper.evidence);
        let line = format!(
            "{name} ({}), valid until {}",
            paper.reference, paper.valid_until_date
        );
        if runs_out && !names.contains(&line) {
            names.push(line);
        }
    }
    if names.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("Papers that run out before the return".to_owned())];
    blocks.extend(
        names
            .into_iter()
            .map(|name| Block::Text(Text::new(format!("•  {name}")).bold())),
    );
    blocks
}
