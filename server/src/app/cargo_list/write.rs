//! From cargo items to CSV.

use ostler_core::record::Name;
use ostler_proto::v1;

use super::columns::{COLUMNS, Column, guard, headings};

/// Writes cargo items as a list, in their order.
///
/// # Errors
/// When a cell cannot be written; in memory, it always can.
pub(in crate::app) fn write(items: &[(Name, v1::CargoItem)]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(headings())?;
    for (name, item) in items {
        writer.write_record(COLUMNS.iter().map(|(column, ..)| cell(name, item, *column)))?;
    }
    writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))
}

fn cell(name: &Name, item: &v1::CargoItem, column: Column) -> String {
    let mass = item.unit_mass.as_ref();
    let position = item.position.as_ref();
    let restraint = item.restraint.as_ref();
    match column {
        Column::Id => name.id().to_owned(),
        Column::DisplayName => guard(&item.display_name),
        Column::Vehicle => id(&item.vehicle).to_owned(),
        Column::Zone => item.zone.clone(),
        Column::Quantity => item.quantity.to_string(),
        Column::UnitMassKg => number(mass.map(|mass| mass.mass_kg)),
        Column::MassProvenance => mass.map_or("", |mass| provenance(mass.provenance())).to_owned(),
        Column::MassToleranceKg => number(mass.and_then(|mass| mass.tolerance_kg)),
        Column::XMm => number(position.map(|position| position.x_mm)),
        Column::YMm => number(position.map(|position| position.y_mm)),
        Column::ZMm => number(position.and_then(|position| position.z_mm)),
        Column::Category => guard(&item.category),
        Column::RestraintMethod => guard(restraint.map_or("", |restraint| &restraint.method)),
        Column::RestraintCapacityForwardN => {
            number(restraint.and_then(|restraint| restraint.capacity_forward_n))
        }
        Column::Consumed => yes(item.consumed),
        Column::Critical => yes(item.critical),
        Column::Hazard => guard(&item.hazard),
        Column::SharedWith => item
            .shared_with
            .iter()
            .map(|name| id(name))
            .collect::<Vec<_>>()
            .join(" "),
        Column::Pinned => yes(item.pinned),
    }
}

fn id(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

fn yes(yes: bool) -> String {
    if yes { "true".to_owned() } else { String::new() }
}

fn provenance(provenance: v1::MassProvenance) -> &'static str {
    match provenance {
        v1::MassProvenance::Unspecified => "",
        v1::MassProvenance::Weighed => "weighed",
        v1::MassProvenance::Catalogue => "catalogue",
        v1::MassProvenance::Estimated => "estimated",
    }
}
