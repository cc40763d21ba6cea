//! From CSV to cargo items.

use std::collections::BTreeMap;

use csv::StringRecord;
use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::{Id, Name};
use ostler_proto::v1;

use super::columns::{COLUMNS, Column, column_of, heading, headings, unguard};
use crate::app::fleet_file::suggestion;
use crate::app::kinds::{CargoItems, Kind, Vehicles};
use crate::contract::{self, Presence};

/// Most bytes of a list.
const BYTES_MAX: usize = 8 * 1024 * 1024;
/// Most lines of a list, the heading not counted.
const ROWS_MAX: usize = 50_000;
/// Most faults that are listed.
const FAULTS_MAX: usize = 1_000;
/// Most characters of a cell that a fault repeats.
const SHOWN_MAX: usize = 60;

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
    /// A violation of the field at `path` of the item, at its line and column in the list.
    pub(in crate::app) fn violation(&self, path: &str, problem: &str) -> Violation {
        violation(self.index, self.line, &self.columns, column_of(path), problem)
    }
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
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes);
    let columns = reader
        .headers()
        .map_err(|error| unreadable(&error))
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
            Ok(record) => list.row(index, &record),
            Err(error) => list.violations.extend(unreadable(&error).violations),
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

fn unreadable(error: &csv::Error) -> InvalidInput {
    let place = error
        .position()
        .map_or_else(String::new, |position| format!("line {}: ", position.line()));
    let problem = match error.kind() {
        csv::ErrorKind::Utf8 { err, .. } => format!("{place}cell {} is not UTF-8", err.field() + 1),
        _ => format!("{place}is not CSV"),
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

fn shown(text: &str) -> String {
    text.chars().take(SHOWN_MAX).collect()
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
    fn row(&mut self, index: usize, record: &StringRecord) {
        let line = record.position().map_or(0, csv::Position::line);
        let mut cells = Cells {
            record,
            columns: &self.columns,
            problems: Vec::new(),
        };
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

struct Cells<'a> {
    record: &'a StringRecord,
    columns: &'a BTreeMap<Column, usize>,
    problems: Vec<(Column, String)>,
}

impl Cells<'_> {
    fn cell(&self, column: Column) -> &str {
        let index = self.columns.get(&column).and_then(|number| number.checked_sub(1));
        index.and_then(|index| self.record.get(index)).unwrap_or_default()
    }

    fn text(&self, column: Column) -> String {
        unguard(self.cell(column)).to_owned()
    }

    fn refuse(&mut self, column: Column, wanted: &str) {
        let problem = format!("must be {wanted}, is {:?}", shown(self.cell(column)));
        self.problems.push((column, problem));
    }

    fn id(&mut self) -> Option<Id> {
        let id = Id::new(self.cell(Column::Id).trim()).ok();
        if id.is_none() {
            self.refuse(Column::Id, "an id of lower-case letters, digits, `-`, `_` or `.`");
        }
        id
    }

    fn number(&mut self, column: Column) -> Option<f64> {
        let cell = self.cell(column).trim();
        if cell.is_empty() {
            return None;
        }
        match cell.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                self.refuse(column, "a number with a point for decimals");
                None
            }
        }
    }

    fn yes(&mut self, column: Column) -> bool {
        match self.cell(column).trim().to_ascii_lowercase().as_str() {
            "true" => true,
            "" | "false" => false,
            _ => {
                self.refuse(column, "`true`, `false` or empty");
                false
            }
        }
    }

    fn item(&mut self, fleet: &Name) -> v1::CargoItem {
        let vehicle = self.text(Column::Vehicle);
        let shared_with = self.text(Column::SharedWith);
        v1::CargoItem {
            display_name: self.text(Column::DisplayName),
            vehicle: self.vehicle(fleet, Column::Vehicle, vehicle.trim()),
            zone: self.text(Column::Zone).trim().to_owned(),
            quantity: self.quantity(),
            unit_mass: self.mass(),
            position: self.position(),
            category: self.text(Column::Category),
            restraint: self.restraint(),
            consumed: self.yes(Column::Consumed),
            critical: self.yes(Column::Critical),
            hazard: self.text(Column::Hazard),
            shared_with: shared_with
                .split_whitespace()
                .map(|id| self.vehicle(fleet, Column::SharedWith, id))
                .collect(),
            pinned: self.yes(Column::Pinned),
            ..v1::CargoItem::default()
        }
    }

    fn vehicle(&mut self, fleet: &Name, column: Column, id: &str) -> String {
        if id.is_empty() {
            return String::new();
        }
        match Id::new(id) {
            Ok(id) => fleet.child(Vehicles::COLLECTION, &id).into(),
            Err(_) => {
                self.refuse(column, "the id of a vehicle");
                String::new()
            }
        }
    }

    fn quantity(&mut self) -> i32 {
        match self.cell(Column::Quantity).trim().parse() {
            Ok(quantity) => quantity,
            Err(_) => {
                self.refuse(Column::Quantity, "a whole number");
                0
            }
        }
    }

    fn mass(&mut self) -> Option<v1::Mass> {
        let mass_kg = self.number(Column::UnitMassKg);
        let tolerance_kg = self.number(Column::MassToleranceKg);
        let provenance = match self.cell(Column::MassProvenance).trim() {
            "" => v1::MassProvenance::Unspecified,
            "weighed" => v1::MassProvenance::Weighed,
            "catalogue" => v1::MassProvenance::Catalogue,
            "estimated" => v1::MassProvenance::Estimated,
            _ => {
                self.refuse(Column::MassProvenance, "one of weighed, catalogue, estimated");
                v1::MassProvenance::Unspecified
            }
        };
        let told = provenance != v1::MassProvenance::Unspecified || tolerance_kg.is_some();
        if mass_kg.is_none() && told && self.cell(Column::UnitMassKg).trim().is_empty() {
            self.refuse(Column::UnitMassKg, "set where its provenance or tolerance is");
        }
        let provenance = provenance.into();
        mass_kg.map(|mass_kg| v1::Mass {
            mass_kg,
            provenance,
            tolerance_kg,
        })
    }

    fn position(&mut self) -> Option<v1::Position> {
        let (x_mm, y_mm, z_mm) = (
            self.number(Column::XMm),
            self.number(Column::YMm),
            self.number(Column::ZMm),
        );
        if let (Some(x_mm), Some(y_mm)) = (x_mm, y_mm) {
            return Some(v1::Position { x_mm, y_mm, z_mm });
        }
        let any = x_mm.is_some() || y_mm.is_some() || z_mm.is_some();
        for column in [Column::XMm, Column::YMm] {
            if any && self.cell(column).trim().is_empty() {
                self.refuse(column, "set where another coordinate is");
            }
        }
        None
    }

    fn restraint(&mut self) -> Option<v1::Restraint> {
        let method = self.text(Column::RestraintMethod);
        let capacity_forward_n = self.number(Column::RestraintCapacityForwardN);
        (!method.is_empty() || capacity_forward_n.is_some()).then_some(v1::Restraint {
            method,
            capacity_forward_n,
        })
    }
}
