//! The columns of a cargo list, and the cells that both ways share.

/// A column of the list and the field of a cargo item that it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Column {
    Id,
    DisplayName,
    Vehicle,
    Zone,
    Quantity,
    UnitMassKg,
    MassProvenance,
    MassToleranceKg,
    XMm,
    YMm,
    ZMm,
    Category,
    RestraintMethod,
    RestraintCapacityForwardN,
    Consumed,
    Critical,
    Hazard,
    SharedWith,
    Pinned,
}

use Column::*;

/// Columns in the order in which they are written, their headings, and the paths of their fields.
pub(super) const COLUMNS: [(Column, &str, &str); 19] = [
    (Id, "id", "name"),
    (DisplayName, "display_name", "display_name"),
    (Vehicle, "vehicle", "vehicle"),
    (Zone, "zone", "zone"),
    (Quantity, "quantity", "quantity"),
    (UnitMassKg, "unit_mass_kg", "unit_mass.mass_kg"),
    (MassProvenance, "mass_provenance", "unit_mass.provenance"),
    (MassToleranceKg, "mass_tolerance_kg", "unit_mass.tolerance_kg"),
    (XMm, "x_mm", "position.x_mm"),
    (YMm, "y_mm", "position.y_mm"),
    (ZMm, "z_mm", "position.z_mm"),
    (Category, "category", "category"),
    (RestraintMethod, "restraint_method", "restraint.method"),
    (
        RestraintCapacityForwardN,
        "restraint_capacity_forward_n",
        "restraint.capacity_forward_n",
    ),
    (Consumed, "consumed", "consumed"),
    (Critical, "critical", "critical"),
    (Hazard, "hazard", "hazard"),
    (SharedWith, "shared_with", "shared_with"),
    (Pinned, "pinned", "pinned"),
];

/// The headings.
pub(super) fn headings() -> impl Iterator<Item = &'static str> {
    COLUMNS.iter().map(|(_, heading, _)| *heading)
}

/// The heading of a column.
pub(super) fn heading(column: Column) -> &'static str {
    COLUMNS
        .iter()
        .find(|(candidate, ..)| *candidate == column)
        .map_or("", |(_, heading, _)| heading)
}

/// The column that holds the field at `path` of a cargo item; that of the id when none does.
pub(super) fn column_of(path: &str) -> Column {
    let field = path.split('[').next().unwrap_or(path);
    COLUMNS
        .iter()
        .find(|(.., candidate)| *candidate == field)
        .map_or(Id, |(column, ..)| *column)
}

/// Puts an apostrophe before a text that a spreadsheet would take for a formula.
pub(super) fn guard(text: &str) -> String {
    if is_formula(text) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// Takes away the apostrophe of [`guard`], and no other.
pub(super) fn unguard(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if is_formula(text) => text,
        _ => cell,
    }
}

/// Whether a spreadsheet may take a text for a formula; apostrophes before it do not count, so that a
/// text that has one of its own comes back with it.
fn is_formula(text: &str) -> bool {
    text.trim_start_matches('\'')
        .starts_with(['=', '+', '-', '@', '\t', '\r', '\n'])
}
