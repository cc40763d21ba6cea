//! Title, signatures and sources.

use ostler_paper::{Block, Cell, Row, Table, Text};
use ostler_proto::v1::LoadSheet;

use super::loads::small;
use super::{cells, columns, heading_band};
use crate::words;

/// The band at the top of the first page.
pub(super) fn title(sheet: &LoadSheet, vehicle: &str, departure: &str) -> Block {
    let state = if sheet.draft {
        "DRAFT – not issued, not to be driven by".to_owned()
    } else {
        let time = sheet.issue_time.map(|time| time.to_string()).unwrap_or_default();
        format!("No {}, issued {time}", sheet.number)
    };
    let role = if sheet.role.is_empty() {
        String::new()
    } else {
        format!(" – {}", sheet.role)
    };
    let whole = format!("whole departure: {}", words::verdict(sheet.departure_verdict()));
    heading_band(
        vehicle,
        sheet.verdict(),
        &[
            [format!("{}{role}", words::id(&sheet.vehicle)), state],
            [
                format!("{departure}, {} to {}", sheet.departure_date, sheet.return_date),
                whole,
            ],
        ],
    )
}

/// Why a no-go vehicle has a sheet.
pub(super) fn reason(sheet: &LoadSheet) -> Option<Block> {
    (!sheet.reason.is_empty()).then(|| {
        let text = format!("Issued although the verdict is no-go, because: {}", sheet.reason);
        Block::Text(Text::new(text).bold().size(11.0))
    })
}

/// Who signed, and lines for those who sign by hand.
pub(super) fn sign_off(sheet: &LoadSheet) -> Vec<Block> {
    let mut together = vec![Block::Heading("Sign-off".to_owned())];
    if !sheet.signatures.is_empty() {
        let rows = sheet.signatures.iter().map(|signature| {
            let time = signature
                .sign_time
                .map(|time| time.to_string())
                .unwrap_or_default();
            cells([
                &signature.role,
                &signature.display_name,
                &format!("token {}", signature.token),
                &time,
            ])
        });
        together.push(Block::Table(Table {
            columns: columns(&[2.0, 3.0, 2.0, 2.4]),
            head: ["signed as", "by", "with", "at"].map(str::to_owned).to_vec(),
            rows: rows.collect(),
            ruled: true,
        }));
        together.push(Block::Gap(4.0));
    }
    together.push(lines(&["driver", "load checked by", "convoy lead"]));
    vec![Block::Together(together)]
}

/// Lines to sign on.
pub(crate) fn lines(roles: &[&str]) -> Block {
    let rows = roles.iter().map(|role| Row {
        cells: vec![
            Cell::plain(format!("\u{a0}\n{role}")),
            Cell::plain(""),
            Cell::plain(""),
            Cell::plain(""),
        ],
        with_next: false,
    });
    Block::Table(Table {
        columns: columns(&[2.0, 3.0, 1.6, 3.0]),
        head: ["by hand", "name", "date", "signature"]
            .map(str::to_owned)
            .to_vec(),
        rows: rows.collect(),
        ruled: true,
    })
}

/// What the sheet was computed from.
pub(super) fn sources(sheet: &LoadSheet) -> Vec<Block> {
    let mut text = format!("Computed from record {}", sheet.record_version);
    if let Some(load) = sheet.loads.first() {
        text = format!(
            "{text}; {}; baseline {}",
            load.formula_version,
            words::id(&load.baseline)
        );
    }
    for pack in &sheet.rule_packs {
        text = format!(
            "{text}; rule pack {} version {}",
            words::id(&pack.rule_pack),
            pack.version
        );
    }
    if !sheet.supersedes.is_empty() {
        text = format!("{text}; supersedes {}", words::id(&sheet.supersedes));
    }
    vec![Block::Text(small(&format!("{text}.")).size(7.0))]
}
