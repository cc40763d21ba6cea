//! What is where, and the fluids.

use ostler_paper::{Block, Cell, Row, Shade, Table, Text};
use ostler_proto::v1::{Answer, LoadSheet, SheetItem, SheetZone};

use super::columns;
use super::loads::small;
use crate::words::{self, decimal, maybe_whole, whole};

/// The cargo, zone by zone; numbers are those of the drawing.
pub(super) fn zones(sheet: &LoadSheet) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("What is where, and how it is held".to_owned())];
    if sheet.zones.is_empty() {
        blocks.push(Block::Text(Text::new("No cargo is on record.")));
        return blocks;
    }
    let mut rows = Vec::new();
    for (index, zone) in sheet.zones.iter().enumerate() {
        rows.push(zone_row(index + 1, zone));
        rows.extend(zone.items.iter().map(item_row));
    }
    let head = ["no.", "thing", "kg", "held by", "holds"];
    blocks.push(Block::Table(Table {
        columns: columns(&[-0.55, 4.6, -0.85, 3.2, 1.3]),
        head: head.map(str::to_owned).to_vec(),
        rows,
        ruled: true,
    }));
    blocks
}

fn zone_row(number: usize, zone: &SheetZone) -> Row {
    let roof = if zone.on_roof { ", on the roof" } else { "" };
    let name = Text::new(format!("{number}  {}{roof}", zone.display_name))
        .bold()
        .size(10.5);
    let mass = match zone.limit_kg {
        Some(limit_kg) => format!("{} of {} kg", whole(zone.mass_kg), whole(limit_kg)),
        None => format!("{} kg, no limit stated", whole(zone.mass_kg)),
    };
    let is_over = zone.limit_kg.is_some_and(|limit_kg| zone.mass_kg > limit_kg);
    Row {
        cells: vec![
            Cell::new(name.align(ostler_paper::Align::Start))
                .span(2)
                .shade(Shade::Light),
            Cell::plain("").shade(Shade::Light),
            Cell::new(Text::new(mass).bold()).span(2).shade(if is_over {
                Shade::Black
            } else {
                Shade::Light
            }),
        ],
        with_next: true,
    }
}

fn item_row(item: &SheetItem) -> Row {
    let mut thing = words::named(&item.display_name, &item.cargo_item).to_owned();
    if item.critical {
        thing.push_str(" – MUST BE ABOARD");
    }
    if item.consumed {
        thing.push_str(" – used up under way");
    }
    if !item.hazard.is_empty() {
        thing = format!("{thing}\nDANGER: {}", item.hazard);
    }
    let thing = Text::new(thing);
    let thing = if item.critical { thing.bold() } else { thing };
    let held = if item.restraint.is_empty() {
        words::NOT_KNOWN
    } else {
        &item.restraint
    };
    let (holds, shade) = match item.held() {
        Answer::Met => ("yes", Shade::None),
        Answer::MetWithConditions => ("in doubt", Shade::Light),
        Answer::NotMet => ("NO", Shade::Black),
        Answer::NotKnown | Answer::Unspecified => ("not known", Shade::Black),
    };
    Row {
        cells: vec![
            Cell::plain(format!("{} ×", item.quantity)),
            Cell::new(thing),
            Cell::plain(item.mass_kg.map_or_else(|| "?".to_owned(), one_decimal)),
            Cell::plain(held),
            Cell::new(Text::new(holds).bold()).shade(shade),
        ],
        with_next: false,
    }
}

/// A tenth of a kilogram for what is light, none for what is not.
fn one_decimal(mass_kg: f64) -> String {
    if mass_kg < 10.0 {
        decimal((mass_kg * 10.0).round() / 10.0)
    } else {
        whole(mass_kg)
    }
}

/// The tanks, in the order in which they are emptied.
pub(super) fn fluids(sheet: &LoadSheet) -> Vec<Block> {
    if sheet.fills.is_empty() {
        return Vec::new();
    }
    let rows = sheet.fills.iter().map(|fill| {
        let turn = format!("{} {}", words::fluid(fill.fluid()), fill.drawdown);
        let unknown = fill.volume_l.is_none();
        let aboard = Cell::new(Text::new(maybe_whole(fill.volume_l)).bold());
        Row {
            cells: vec![
                Cell::new(Text::new(turn).bold()),
                Cell::plain(words::named(&fill.display_name, &fill.tank)),
                aboard.shade(if unknown { Shade::Black } else { Shade::None }),
                Cell::plain(maybe_whole(fill.usable_l)),
                Cell::plain(whole(fill.capacity_l)),
                Cell::plain(maybe_whole(fill.mass_kg)),
            ],
            with_next: false,
        }
    });
    let head = [
        "empty in this order",
        "tank or container",
        "litres aboard",
        "can be drawn",
        "takes",
        "kg",
    ];
    vec![
        Block::Heading("Fuel and water".to_owned()),
        Block::Table(Table {
            columns: columns(&[1.6, 3.6, -1.2, -1.2, -0.9, -0.9]),
            head: head.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }),
        Block::Text(small(
            "Kilograms with the container where it is not part of the vehicle as weighed.",
        )),
    ]
}
