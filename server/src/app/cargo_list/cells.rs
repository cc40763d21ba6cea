//! The cells of a line as a cargo item.

use std::collections::BTreeMap;

use csv::StringRecord;
use ostler_core::record::{Id, Name};
use ostler_proto::v1;

use super::columns::{Column, unguard};
use crate::app::kinds::{Kind, Vehicles};

/// Most characters of a cell that a fault repeats.
const SHOWN_MAX: usize = 60;

/// The cells of one line, and what is wrong with them.
pub(super) struct Cells<'a> {
    record: &'a StringRecord,
    columns: &'a BTreeMap<Column, usize>,
    pub(super) problems: Vec<(Column, String)>,
}

impl<'a> Cells<'a> {
    /// The cells of a line, nothing found wrong yet.
    pub(super) fn new(record: &'a StringRecord, columns: &'a BTreeMap<Column, usize>) -> Self {
        Self {
            record,
            columns,
            problems: Vec::new(),
        }
    }

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

    /// The item's id.
    pub(super) fn id(&mut self) -> Option<Id> {
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

    /// The item; what cannot be read is left open.
    pub(super) fn item(&mut self, fleet: &Name) -> v1::CargoItem {
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
            ..v1::Restraint::default()
        })
    }
}

/// The beginning of a text.
pub(super) fn shown(text: &str) -> String {
    text.chars().take(SHOWN_MAX).collect()
}
