//! Loads per leg, tyres and pressures.

use ostler_paper::{Align, Block, Cell, Row, Shade, Table, Text};
use ostler_proto::v1::{Answer, AxleTyres, LoadAgainstLimit, LoadResult, LoadSheet};

use super::{cells, columns};
use crate::words::{self, maybe_whole, whole};

/// Loads of every moment against their limits.
pub(super) fn loads(sheet: &LoadSheet) -> Vec<Block> {
    let mut rows = Vec::new();
    if let Some(first) = sheet.loads.first() {
        rows.push(limits(first));
    }
    rows.extend(sheet.loads.iter().map(|load| moment(sheet, load)));
    let head = [
        "kilograms",
        "whole",
        "left",
        "front axle",
        "left",
        "rear axle",
        "left",
        "roof",
        "left",
    ];
    let mut blocks = vec![
        Block::Heading("Loads on the way".to_owned()),
        Block::Table(Table {
            columns: columns(&[3.5, -1.0, -0.85, -1.25, -0.85, -1.2, -0.85, -0.85, -0.85]),
            head: head.map(str::to_owned).to_vec(),
            rows,
            ruled: true,
        }),
        Block::Text(small(
            "Left is the limit less the load. White on black: over the limit, or not known. Grey: within the margin asked, or in \
             doubt by its uncertainty.",
        )),
    ];
    let mut told: Vec<&String> = Vec::new();
    for sentence in sheet.loads.iter().flat_map(|load| &load.missing) {
        if !told.contains(&sentence) {
            told.push(sentence);
            blocks.push(Block::Text(Text::new(format!("Not known: {sentence}.")).bold()));
        }
    }
    blocks
}

/// The limits, above the loads.
fn limits(load: &LoadResult) -> Row {
    let limit = |held: Option<&LoadAgainstLimit>| {
        let limit_kg = held.and_then(|held| held.limit_kg);
        [
            Cell::new(Text::new(maybe_whole(limit_kg)).bold()).shade(Shade::Light),
            Cell::plain("").shade(Shade::Light),
        ]
    };
    let mut row = vec![Cell::new(Text::new("limit").bold()).shade(Shade::Light)];
    for held in [&load.total, &load.front_axle, &load.rear_axle, &load.roof] {
        row.extend(limit(held.as_ref()));
    }
    Row {
        cells: row,
        with_next: true,
    }
}

fn moment(sheet: &LoadSheet, load: &LoadResult) -> Row {
    let mut row = vec![Cell::plain(words::moment(sheet, &load.load_state))];
    for held in [&load.total, &load.front_axle, &load.rear_axle, &load.roof] {
        row.extend(against(held.as_ref()));
    }
    Row {
        cells: row,
        with_next: false,
    }
}

/// A load and what is left to its limit.
fn against(held: Option<&LoadAgainstLimit>) -> [Cell; 2] {
    let Some(held) = held else {
        return [words::NOT_KNOWN, "?"].map(|text| Cell::new(Text::new(text).bold()).shade(Shade::Black));
    };
    let left = match held.margin_kg {
        Some(margin_kg) => whole(margin_kg),
        None => "?".to_owned(),
    };
    let shade = match held.answer() {
        Answer::Met => Shade::None,
        Answer::MetWithConditions => Shade::Light,
        Answer::NotMet | Answer::NotKnown | Answer::Unspecified => Shade::Black,
    };
    let left = Text::new(left);
    let left = if shade == Shade::None { left } else { left.bold() };
    [Cell::plain(whole(held.load_kg)), Cell::new(left).shade(shade)]
}

/// What the tyres carry, and the pressures.
pub(super) fn tyres(sheet: &LoadSheet) -> Vec<Block> {
    if sheet.tyres.is_empty() {
        return Vec::new();
    }
    let carried = sheet.tyres.iter().map(|axle| carries(sheet, axle)).collect();
    let head = [
        "axle",
        "heaviest wheel, kg",
        "when",
        "tyre carries, kg",
        "needs at least, cold",
    ];
    let mut blocks = vec![
        Block::Heading("Tyres and pressures".to_owned()),
        Block::Table(Table {
            columns: columns(&[0.8, -1.3, 3.0, -1.3, 2.0]),
            head: head.map(str::to_owned).to_vec(),
            rows: carried,
            ruled: true,
        }),
        Block::Gap(4.0),
    ];
    let steps = sheet
        .tyres
        .iter()
        .map(|axle| axle.planned.len())
        .max()
        .unwrap_or(0);
    if steps == 0 {
        blocks.push(Block::Text(
            Text::new("Pressures are not planned on record.").bold(),
        ));
        return blocks;
    }
    let head = ["on", "front, cold", "rear, cold", "fastest"];
    blocks.push(Block::Table(Table {
        columns: columns(&[2.4, 2.0, 2.0, 1.2]),
        head: head.map(str::to_owned).to_vec(),
        rows: (0..steps).map(|step| planned(sheet, step)).collect(),
        ruled: true,
    }));
    blocks
}

fn carries(sheet: &LoadSheet, axle: &AxleTyres) -> Row {
    let basis = if axle.from_stance {
        ""
    } else {
        ", half of the axle"
    };
    let when = match axle.load_state.as_str() {
        "" => String::new(),
        state => format!("{}{basis}", words::moment(sheet, state)),
    };
    let needs = axle
        .needed_kpa
        .map_or_else(|| words::NOT_KNOWN.to_owned(), words::pressure);
    cells([
        &axle.axle,
        &maybe_whole(axle.wheel_load_kg),
        &when,
        &maybe_whole(axle.capacity_kg),
        &needs,
    ])
}

fn planned(sheet: &LoadSheet, step: usize) -> Row {
    let first = sheet.tyres.iter().find_map(|axle| axle.planned.get(step));
    let surfaces = first
        .map(|planned| planned.surfaces.join(", "))
        .unwrap_or_default();
    let fastest = first.map(|planned| format!("{} km/h", whole(planned.speed_max_km_per_h)));
    let mut row = vec![Cell::new(Text::new(surfaces.replace('_', " ")).bold())];
    for axle in sheet.tyres.iter().take(2) {
        let Some(planned) = axle.planned.get(step) else {
            row.push(Cell::plain(""));
            continue;
        };
        let below = planned.below_needed_kpa.filter(|below| *below > 0.0);
        let mut text = words::pressure(planned.pressure_kpa);
        if let Some(below) = below {
            text = format!("{text}, {} kPa below need", whole(below));
        }
        let shade = if below.is_some() {
            Shade::Light
        } else {
            Shade::None
        };
        row.push(Cell::new(Text::new(text).bold()).shade(shade));
    }
    row.push(Cell::new(
        Text::new(fastest.unwrap_or_default()).align(Align::Start),
    ));
    Row {
        cells: row,
        with_next: false,
    }
}

/// Small print.
pub(super) fn small(text: &str) -> Text {
    Text::new(text).size(8.0)
}
