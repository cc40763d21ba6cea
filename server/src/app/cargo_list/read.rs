//! From CSV to cargo items.

use std::collections::BTreeMap;

use csv::StringRecord;
use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::Name;
use ostler_proto::v1;

use super::cells::{Cells, shown};
use super::columns::{COLUMNS, Column, column_of, heading, headings};
use crate::app::fleet_file::suggestion;
use crate::app::kinds::{CargoItems, Kind};
use crate::contract::{self, Presence};

/// Most bytes of a list.
const BYTES_MAX: usize = 8 * 1024 * 1024;
/// Most lines of a list, the heading not counted.
const ROWS_MAX: usize = 50_000;
/// Most faults that are listed.
const FAULTS_MAX: usize = 1_000;
/// Field of a fault of the list as a whole, as requests name it.
const WHOLE: &str = "cargo_list";

/// A line of a cargo list.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) struct CargoRow {
    /// Name of the item.
    pub name: Name,
    /// The item; its identity fields are not set.
    pub item: v1::CargoItem,
    /// Its place among the items of the list, from 0.
    pub index: usize,
    /// The line it starts on, from 1.
    pub line: u64,
    /// Numbers of the columns, from 1.
    columns: BTreeMap<Column, usize>,
}

impl CargoRow {
    /// The item over the one that is stored: what the list has no column for stays as it is.
    pub(in crate::app) fn over(&self, stored: &v1::CargoItem) -> v1::CargoItem {
        // Every field is named, so that a new one cannot be lost by importing a list.
        let v1::CargoItem {
            name,
            etag,
            create_time,
            update_time,
            display_name,
            vehicle,
            zone,
            quantity,
            unit_mass,
            position,
            category,
            restraint,
            consumed,
            critical,
            hazard,
            shared_with,
            pinned,
            spare_wheel: _,
            spares: _,
            stowage_terms: _,
        } = self.item.clone();
        v1::CargoItem {
            name,
            etag,
            create_time,
            update_time,
            display_name,
            vehicle,
            zone,
            quantity,
            unit_mass,
            position,
            category,
            restraint: restraint_over(restraint, stored.restraint.as_ref()),
            consumed,
            critical,
            hazard,
            shared_with,
            pinned,
            spare_wheel: stored.spare_wheel.clone(),
            spares: stored.spares.clone(),
            stowage_terms: stored.stowage_terms.clone(),
        }
    }

    /// A violation of the field at `path` of the item, at its line and column in the list.
    pub(in crate::app) fn violation(&self, path: &str, problem: &str) -> Violation {
        violation(self.index, self.line, &self.columns, column_of(path), problem)
    }
}

/// The list has columns for the method and the capacity forward alone.
fn restraint_over(listed: Option<v1::Restraint>, stored: Option<&v1::Restraint>) -> Option<v1::Restraint> {
    let Some(stored) = stored else {
        return listed;
    };
    let listed = listed.unwrap_or_default();
    let restraint = v1::Restraint {
        method: listed.method,
        capacity_forward_n: listed.capacity_forward_n,
        ..stored.clone()
    };
    Some(restraint).filter(|restraint| *restraint != v1::Restraint::default())
}

fn violation(
    index: usize,
    line: u64,
    columns: &BTreeMap<Column, usize>,
    column: Column,
    problem: &str,
) -> Violation {
    let number = columns.get(&column).copied().unwrap_or(1);
    Violation {
        field: format!("{WHOLE}[{index}].{}", heading(column)),
        problem: format!("line {line}, column {number}: {problem}"),
    }
}

/// Reads a cargo list of `fleet`.
///
/// # Errors
/// Every fault with its line and column (counted in cells); up to 1,000 of them are listed.
pub(in crate::app) fn read(bytes: &[u8], fleet: &Name) -> Result<Vec<CargoRow>, InvalidInput> {
    if bytes.len() > BYTES_MAX {
        let problem = format!("must be at most {BYTES_MAX} bytes, has {}", bytes.len());
        return Err(InvalidInput::one(WHOLE, problem));
    }
    let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let mut lines = Lines {
        bytes,
        at: 0,
        line: 1,
    };
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes);
    let columns = reader
        .headers()
        .map_err(|error| unreadable(&error, &mut lines))
        .and_then(columns)?;
    let mut list = List {
        fleet,
        columns,
        rows: Vec::new(),
        first: BTreeMap::new(),
        violations: Vec::new(),
    };
    for (index, record) in reader.into_records().enumerate() {
        if index == ROWS_MAX {
            return Err(InvalidInput::one(
                WHOLE,
                format!("must have at most {ROWS_MAX} lines"),
            ));
        }
        match record {
            Ok(record) => list.row(index, lines.of(record.position()), &record),
            Err(error) => list.violations.extend(unreadable(&error, &mut lines).violations),
        }
        if list.violations.len() >= FAULTS_MAX {
            break;
        }
    }
    if list.violations.is_empty() {
        Ok(list.rows)
    } else {
        Err(InvalidInput {
            violations: list.violations,
        })
    }
}

/// Numbers of lines. The reader's own ones stay behind where lines end in a carriage return and a line feed.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// The line of a record; records come in order.
    fn of(&mut self, position: Option<&csv::Position>) -> u64 {
        let start = position
            .and_then(|position| usize::try_from(position.byte()).ok())
            .unwrap_or(self.at);
        while let Some(byte) = self.bytes.get(self.at) {
            let ends = matches!(byte, b'\n' | b'\r');
            if self.at >= start && !ends {
                break;
            }
            self.line += u64::from(*byte == b'\n');
            self.at += 1;
        }
        self.line
    }
}

fn unreadable(error: &csv::Error, lines: &mut Lines<'_>) -> InvalidInput {
    let line = lines.of(error.position());
    let problem = match error.kind() {
        csv::ErrorKind::Utf8 { err, .. } => format!("line {line}: cell {} is not UTF-8", err.field() + 1),
        _ => format!("line {line}: is not CSV"),
    };
    InvalidInput::one(WHOLE, problem)
}

/// The numbers of the columns, from 1.
fn columns(record: &StringRecord) -> Result<BTreeMap<Column, usize>, InvalidInput> {
    let mut violations = Vec::new();
    let mut refuse = |number: usize, problem: String| {
        violations.push(Violation {
            field: WHOLE.to_owned(),
            problem: format!("line 1, column {number}: {problem}"),
        });
    };
    let mut columns = BTreeMap::new();
    for (index, cell) in record.iter().enumerate().take(FAULTS_MAX) {
        let cell = cell.trim();
        match COLUMNS.iter().find(|(_, heading, _)| *heading == cell) {
            None => {
                let problem = format!(
                    "{:?} is no column of a cargo list; {}",
                    shown(cell),
                    suggestion(cell, headings())
                );
                refuse(index + 1, problem);
            }
            Some((column, heading, _)) => {
                if columns.insert(*column, index + 1).is_some() {
                    refuse(index + 1, format!("the column `{heading}` stands a second time"));
                }
            }
        }
    }
    let missing: Vec<&str> = COLUMNS
        .iter()
        .filter(|(column, ..)| !columns.contains_key(column))
        .map(|(_, heading, _)| *heading)
        .collect();
    if !missing.is_empty() {
        let separators = if record.len() == 1 {
            "; cells are separated by commas"
        } else {
            ""
        };
        refuse(
            record.len() + 1,
            format!("lacks the columns {}{separators}", missing.join(", ")),
        );
    }
    if violations.is_empty() {
        Ok(columns)
    } else {
        Err(InvalidInput { violations })
    }
}

struct List<'a> {
    fleet: &'a Name,
    columns: BTreeMap<Column, usize>,
    rows: Vec<CargoRow>,
    /// Line of each id.
    first: BTreeMap<String, u64>,
    violations: Vec<Violation>,
}

impl List<'_> {
    fn row(&mut self, index: usize, line: u64, record: &StringRecord) {
        let mut cells = Cells::new(record, &self.columns);
        if record.len() != self.columns.len() {
            let problem = format!(
                "must have {} cells like the heading, has {}",
                self.columns.len(),
                record.len()
            );
            cells.problems.push((Column::Id, problem));
        }
        let id = cells.id();
        let item = cells.item(self.fleet);
        let mut problems = cells.problems;
        if let Err(refused) = contract::check(&item, Presence::Full) {
            for violation in refused.violations {
                let column = column_of(&violation.field);
                if !problems.iter().any(|(faulty, _)| *faulty == column) {
                    problems.push((column, violation.problem));
                }
            }
        }
        if let Some(id) = &id
            && let Some(first) = self.first.insert(id.to_string(), line)
        {
            problems.push((
                Column::Id,
                format!("{id} stands a second time; the first is on line {first}"),
            ));
        }
        problems.sort_by_key(|(column, _)| self.columns.get(column).copied());
        for (column, problem) in problems {
            self.violations
                .push(violation(index, line, &self.columns, column, &problem));
        }
        if let Some(id) = id {
            let name = self.fleet.child(CargoItems::COLLECTION, &id);
            self.rows.push(CargoRow {
                name,
                item,
                index,
                line,
                columns: self.columns.clone(),
            });
        }
    }
}
