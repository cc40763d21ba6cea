//! Parts.

use ostler_core::record::{Name, Part};
use ostler_proto::v1;

use super::common::{hand, interface, optional_mass};
use super::{Converted, by_id, each, id};

pub(crate) fn part(name: Name, message: v1::Part) -> Converted<Part> {
    let v1::Part {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        number,
        variant,
        kind,
        mass,
        interfaces,
        figures,
        hand: made_for,
        note,
    } = message;
    Ok(Part {
        name,
        display_name,
        number,
        variant,
        kind: id("kind", kind)?,
        mass: optional_mass("mass", mass)?,
        interfaces: each("interfaces", interfaces, interface)?,
        figures: by_id("figures", figures, Ok)?,
        hand: hand(made_for),
        note,
    })
}
