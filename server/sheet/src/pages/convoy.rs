//! The summary of a convoy for its lead: what of every vehicle matters for the whole, on as few pages as it can be.

use ostler_paper::{Block, Cell, Document, Fonts, PageSize, Row, Shade, Table, Text, pdf};
use ostler_proto::v1::{Answer, Fluid, Gate, LoadAgainstLimit, LoadResult, LoadSheet, Verdict};

use super::conditions::cautions;
use super::sign_off::lines;
use super::{columns, heading_band, of_answer, verdict_cell};
use crate::SheetError;
use crate::words::{self, whole};

/// A sheet in a summary.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConvoySheet<'a> {
    /// The sheet: a draft, or what was frozen when it was issued.
    pub sheet: &'a LoadSheet,
    /// What it was issued from has changed since.
    pub overtaken: bool,
}

/// Writes the summary of the vehicles of `sheets`, drafts or issued sheets of one departure, as PDF. `without` are vehicles that go
/// and have no sheet.
///
/// # Errors
/// When the pages cannot be written.
pub fn convoy_pages(
    sheets: &[ConvoySheet<'_>],
    without: &[String],
    size: PageSize,
    fonts: &Fonts,
) -> Result<Vec<u8>, SheetError> {
    Ok(pdf(&document(sheets, without), size, fonts)?)
}

fn document(sheets: &[ConvoySheet<'_>], without: &[String]) -> Document {
    let empty = LoadSheet::default();
    let first = sheets.first().map_or(&empty, |first| first.sheet);
    let is_draft = sheets.iter().any(|of| of.sheet.draft);
    let departure = words::named(&first.departure_display_name, &first.departure);
    let dates = format!("{} to {}", first.departure_date, first.return_date);
    let people: usize = sheets.iter().map(|of| of.sheet.crew.len()).sum();
    let state = if is_draft {
        "DRAFT – from the record as it stands"
    } else {
        "from the issued load sheets"
    };
    let below = [[
        format!(
            "{dates}; {} vehicles, {people} people",
            sheets.len() + without.len()
        ),
        state.to_owned(),
    ]];
    let mut blocks = vec![heading_band(departure, verdict(sheets, without), &below)];
    blocks.extend(not_current(sheets, without));
    blocks.extend(vehicles(sheets));
    blocks.extend(way(first));
    blocks.extend(papers(sheets));
    blocks.extend(open(sheets));
    blocks.push(Block::Together(
        cautions(first.cautions.get(..1).unwrap_or_default())
            .into_iter()
            .chain([
                Block::Heading("Sign-off".to_owned()),
                lines(&["convoy lead", "medic"]),
            ])
            .collect(),
    ));
    let foot = if is_draft {
        format!("draft, computed from record {}", first.record_version)
    } else {
        let names: Vec<&str> = sheets.iter().map(|of| words::id(&of.sheet.name)).collect();
        format!("from the issued sheets {}", names.join(", "))
    };
    Document {
        title: format!("Convoy summary, {departure}"),
        head: [format!("Convoy summary · {departure}"), dates],
        foot,
        mark: is_draft.then(|| "DRAFT".to_owned()),
        blocks,
    }
}

/// The worst that the sheets say of the whole departure: issued at different times they may differ. With a vehicle that has no
/// sheet there is no go.
fn verdict(sheets: &[ConvoySheet<'_>], without: &[String]) -> Verdict {
    let badness = |verdict: &Verdict| match verdict {
        Verdict::Go => 0,
        Verdict::GoWithConditions => 1,
        Verdict::NoGo | Verdict::Unspecified => 2,
    };
    let said = sheets.iter().map(|of| of.sheet.departure_verdict());
    let missing = (!without.is_empty()).then_some(Verdict::NoGo);
    said.chain(missing).max_by_key(badness).unwrap_or_default()
}

/// What of issued sheets no longer holds, white on black.
fn not_current(sheets: &[ConvoySheet<'_>], without: &[String]) -> Option<Block> {
    let mut said: Vec<String> = without
        .iter()
        .map(|vehicle| format!("{} has no issued sheet.", words::id(vehicle)))
        .collect();
    said.extend(sheets.iter().filter(|of| of.overtaken).map(|of| {
        format!(
            "Sheet {} is overtaken: what it was issued from has changed.",
            words::id(&of.sheet.name)
        )
    }));
    if said.is_empty() {
        return None;
    }
    let text = Text::new(format!("NOT CURRENT. {}", said.join(" "))).bold();
    Some(Block::Table(Table {
        columns: columns(&[1.0]),
        head: Vec::new(),
        rows: vec![Row {
            cells: vec![Cell::new(text).shade(Shade::Black)],
            with_next: false,
        }],
        ruled: false,
    }))
}

/// The way in two columns of legs, read downwards.
fn way(sheet: &LoadSheet) -> Vec<Block> {
    let half = sheet.legs.len().div_ceil(2);
    let leg = |index: usize| -> [Cell; 4] {
        let Some(leg) = sheet.legs.get(index) else {
            return [(); 4].map(|()| Cell::plain(""));
        };
        [
            (index + 1).to_string(),
            format!("{} – {}", leg.start_place, leg.end_place),
            whole(leg.map_distance_km),
            words::decimal(leg.planned_days),
        ]
        .map(Cell::plain)
    };
    let rows = (0..half).map(|index| Row {
        cells: leg(index).into_iter().chain(leg(index + half)).collect(),
        with_next: false,
    });
    let head = ["leg", "from – to", "km", "days"];
    vec![
        Block::Heading("The way".to_owned()),
        Block::Table(Table {
            columns: columns(&[0.5, 4.0, -0.8, -0.8, 0.7, 4.0, -0.8, -0.8]),
            head: head.iter().chain(&head).map(|head| (*head).to_owned()).collect(),
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

/// A load over what is left to its limit, on the ground of its answer.
fn held(load: Option<&LoadAgainstLimit>) -> Cell {
    let Some(load) = load else {
        return of_answer(Answer::NotKnown, words::NOT_KNOWN);
    };
    let left = match load.margin_kg {
        Some(margin_kg) if margin_kg < 0.0 => format!("{} OVER", whole(-margin_kg)),
        Some(margin_kg) => format!("{} left", whole(margin_kg)),
        None => "limit not known".to_owned(),
    };
    of_answer(load.answer(), &format!("{}\n{left}", whole(load.load_kg)))
}

/// Litres of a fluid that can be drawn.
fn litres(sheet: &LoadSheet, wanted: Fluid) -> String {
    let fills: Vec<_> = sheet.fills.iter().filter(|fill| fill.fluid() == wanted).collect();
    if fills.is_empty() {
        return "–".to_owned();
    }
    let sum: Option<f64> = fills.iter().map(|fill| fill.usable_l).sum();
    sum.map_or_else(|| words::NOT_KNOWN.to_owned(), whole)
}

fn vehicles(sheets: &[ConvoySheet<'_>]) -> Vec<Block> {
    let rows = sheets.iter().map(|of| {
        let sheet = of.sheet;
        let name = words::named(&sheet.vehicle_display_name, &sheet.vehicle);
        let mut title = format!("{} {name}", words::id(&sheet.vehicle));
        if !sheet.draft {
            title = format!("{title}\nsheet No {}", sheet.number);
        }
        let drivers = sheet.crew.iter().filter(|member| member.driver).count();
        let own = sheet.conditions.iter().filter(|condition| !condition.of_convoy);
        let mut cells = vec![
            Cell::new(Text::new(title).bold()),
            verdict_cell(sheet.verdict(), 8.0),
            held(tightest(sheet, |load| load.total.as_ref())),
            held(tightest(sheet, |load| load.front_axle.as_ref())),
            held(tightest(sheet, |load| load.rear_axle.as_ref())),
        ];
        cells.extend(
            [
                litres(sheet, Fluid::Diesel),
                litres(sheet, Fluid::Petrol),
                litres(sheet, Fluid::Water),
                format!("{} / {drivers}", sheet.crew.len()),
                own.count().to_string(),
            ]
            .map(Cell::plain),
        );
        Row {
            cells,
            with_next: false,
        }
    });
    let head = [
        "vehicle",
        "verdict",
        "whole, kg",
        "front, kg",
        "rear, kg",
        "diesel, l",
        "petrol, l",
        "water, l",
        "people / drivers",
        "conditions",
    ];
    vec![
        Block::Heading(
            "Vehicles: loads where they are tightest on the way, and what can be drawn".to_owned(),
        ),
        Block::Table(Table {
            columns: columns(&[2.6, 1.7, -1.2, -1.2, -1.2, -0.9, -0.9, -0.9, -1.1, -1.45]),
            head: head.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }),
    ]
}

/// What blocks each vehicle and the convoy: a summary a gate, the findings stand on the sheets.
fn open(sheets: &[ConvoySheet<'_>]) -> Vec<Block> {
    let mut rows: Vec<Row> = Vec::new();
    for sheet in sheets.iter().map(|of| of.sheet) {
        let blocking = sheet
            .open_gates
            .iter()
            .filter(|gate| !gate.not_binding && matches!(gate.answer(), Answer::NotMet | Answer::NotKnown));
        rows.extend(
            blocking
                .filter(|_| sheet.verdict() == Verdict::NoGo)
                .map(|gate| summary_row(words::id(&sheet.vehicle), gate)),
        );
    }
    let mut of_convoy: Vec<&Gate> = Vec::new();
    for gate in sheets.iter().flat_map(|of| &of.sheet.convoy_gates) {
        // Sheets that were issued at different times may say different things; what they say alike stands once.
        if !of_convoy
            .iter()
            .any(|known| known.id == gate.id && known.summary == gate.summary)
        {
            of_convoy.push(gate);
        }
    }
    rows.extend(of_convoy.into_iter().map(|gate| summary_row("convoy", gate)));
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading("What stands in the way".to_owned()),
        Block::Table(Table {
            columns: columns(&[1.0, 1.7, 7.3]),
            head: ["answer", "question", "found"].map(str::to_owned).to_vec(),
            rows,
            ruled: true,
        }),
    ]
}

fn summary_row(whose: &str, gate: &Gate) -> Row {
    let small = |text: String| Cell::new(Text::new(text).size(8.8));
    Row {
        cells: vec![
            of_answer(gate.answer(), words::answer(gate.answer())),
            small(format!("{whose} {}", gate.id.replace('_', " "))),
            small(gate.summary.clone()),
        ],
        with_next: false,
    }
}

/// Papers that run out before the return, each once.
fn papers(sheets: &[ConvoySheet<'_>]) -> Vec<Block> {
    let mut names: Vec<String> = Vec::new();
    for paper in sheets.iter().flat_map(|of| &of.sheet.papers) {
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
