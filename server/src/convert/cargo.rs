//! Cargo items.

use ostler_core::record::{CargoItem, Name};
use ostler_proto::v1;

use super::common::{optional_mass, position};
use super::restraint::optional_restraint;
use super::{Converted, Within, missing, names, optional_id, optional_name, tyre_data};

pub(crate) fn cargo_item(name: Name, message: v1::CargoItem) -> Converted<CargoItem> {
    let v1::CargoItem {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        vehicle,
        zone,
        quantity,
        unit_mass,
        position: place,
        category,
        restraint: held,
        consumed,
        critical,
        hazard,
        shared_with,
        pinned,
        spare_wheel,
    } = message;
    Ok(CargoItem {
        name,
        display_name,
        vehicle: optional_name("vehicle", vehicle)?,
        zone: optional_id("zone", zone)?,
        quantity: u32::try_from(quantity).map_err(|_| missing("quantity"))?,
        unit_mass: optional_mass("unit_mass", unit_mass)?,
        position: place.map(position),
        category,
        restraint: optional_restraint("restraint", held)?,
        consumed,
        critical,
        hazard,
        shared_with: names("shared_with", shared_with)?,
        pinned,
        spare_wheel: spare_wheel
            .map(tyre_data::spare)
            .transpose()
            .within("spare_wheel")?,
    })
}
