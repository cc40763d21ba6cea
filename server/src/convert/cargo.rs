//! Cargo items.

use ostler_core::record::{CargoItem, Name, StowageTerms};
use ostler_proto::v1;

use super::common::{optional_mass, position};
use super::restraint::optional_restraint;
use super::spare_data::spare_content;
use super::{Converted, Within as _, each, missing, name, names, optional_id, optional_name, tyre_data};

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
        spares,
        stowage_terms: terms,
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
        spares: each("spares", spares, spare_content)?,
        stowage_terms: stowage_terms(terms.unwrap_or_default()).within("stowage_terms")?,
    })
}

fn stowage_terms(message: v1::StowageTerms) -> Converted<StowageTerms> {
    let v1::StowageTerms {
        not_on_roof,
        not_in_occupant_space,
        not_on_vehicles,
        not_in_zones,
        together,
    } = message;
    let mut terms = StowageTerms {
        not_on_roof,
        not_in_occupant_space,
        not_on_vehicles: names("not_on_vehicles", not_on_vehicles)?,
        not_in_zones: Vec::new(),
        together: optional_id("together", together)?,
    };
    for (index, place) in not_in_zones.into_iter().enumerate() {
        let v1::StowageZone { vehicle, zone } = place;
        let path = format!("not_in_zones[{index}]");
        let vehicle = self::name("vehicle", vehicle).within(&path)?;
        match optional_id("zone", zone).within(&path)? {
            Some(zone) => terms.not_in_zones.push((vehicle, zone)),
            None => terms.not_on_vehicles.push(vehicle),
        }
    }
    Ok(terms)
}
