//! Regulated items.

use ostler_core::record::{Name, RegulatedItem};
use ostler_proto::v1;

use super::common::facts;
use super::{Converted, each, id, optional_name};

pub fn regulated_item(name: Name, message: v1::RegulatedItem) -> Converted<RegulatedItem> {
    let v1::RegulatedItem {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        vehicle,
        topic,
        facts: known,
        slots,
        note,
    } = message;
    Ok(RegulatedItem {
        name,
        display_name,
        vehicle: optional_name("vehicle", vehicle)?,
        topic: id("topic", topic)?,
        facts: facts("facts", known)?,
        slots: each("slots", slots, |slot| id("", slot))?,
        note,
    })
}
