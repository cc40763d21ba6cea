//! Parts.

use ostler_core::record::{Adapter, InterfaceCrossing, Name, Part};
use ostler_proto::v1;

use super::common::{hand, interface, optional_mass};
use super::gearing::gearing;
use super::spare_data::spare_demand;
use super::{Converted, Within, by_id, each, id, tyre_data};

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
        adapter: bridges,
        gearing: ratios,
        tyre,
        wheel,
        spare_demand: demand,
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
        adapter: bridges.map(adapter).transpose().within("adapter")?,
        gearing: ratios.map(gearing),
        tyre: tyre.map(tyre_data::marking).transpose().within("tyre")?,
        wheel: wheel.map(tyre_data::wheel),
        spare_demand: demand.and_then(spare_demand),
    })
}

fn adapter(message: v1::Adapter) -> Converted<Adapter> {
    let v1::Adapter {
        crossings,
        fitting_hours,
        lead_days,
    } = message;
    Ok(Adapter {
        crossings: each("crossings", crossings, crossing)?,
        fitting_hours,
        lead_days,
    })
}

fn crossing(message: v1::Crossing) -> Converted<InterfaceCrossing> {
    let v1::Crossing {
        takes_up,
        offers,
        lengthens,
    } = message;
    Ok(InterfaceCrossing {
        takes_up: takes_up.map(interface).transpose().within("takes_up")?,
        offers: offers.map(interface).transpose().within("offers")?,
        lengthens: lengthens.map(interface).transpose().within("lengthens")?,
    })
}
