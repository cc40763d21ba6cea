//! Conversions between the messages of the API and the record and results of the core: plain
//! functions, one file per resource. Messages are taken apart field by field, so that a new field
//! fails to compile until it is handled.
//!
//! Resources are stored as their own API messages, so these functions also read the database.
//! Forms and ranges were checked before (`contract`); what is refused here was never in range.

pub(crate) mod acceptance;
pub(crate) mod assessment;
pub(crate) mod cargo;
pub(crate) mod common;
pub(crate) mod defect;
pub(crate) mod departure;
pub(crate) mod driveline;
pub(crate) mod electrical;
pub(crate) mod evidence;
pub(crate) mod fleet;
pub(crate) mod fuel;
pub(crate) mod gearing;
pub(crate) mod given;
pub(crate) mod given_suspension;
pub(crate) mod job;
pub(crate) mod loads;
pub(crate) mod note;
pub(crate) mod part;
pub(crate) mod plan;
pub(crate) mod policy;
pub(crate) mod power;
pub(crate) mod readiness;
pub(crate) mod regulated_item;
pub(crate) mod restraint;
pub(crate) mod rule_pack;
pub(crate) mod sheet;
pub(crate) mod spare_data;
pub(crate) mod spares;
pub(crate) mod stability;
pub(crate) mod stance;
pub(crate) mod stowage;
pub(crate) mod substitution;
pub(crate) mod suspension;
pub(crate) mod tank;
pub(crate) mod tyre_data;
pub(crate) mod tyres;
pub(crate) mod vehicle;
pub(crate) mod water;
pub(crate) mod weighing;
pub(crate) mod workshop;

use ostler_core::check::InvalidInput;
use ostler_core::record::{Date, Id, Name};

/// Outcome of a conversion; the path of a violation is relative to the message.
pub(crate) type Converted<T> = Result<T, InvalidInput>;

/// Converts a message field by field, putting the field's name before the path of a violation.
pub(crate) trait Within<T> {
    fn within(self, field: &str) -> Converted<T>;
}

impl<T> Within<T> for Converted<T> {
    fn within(self, field: &str) -> Self {
        self.map_err(|refused| refused.within(field))
    }
}

pub(crate) fn id(field: &str, text: String) -> Converted<Id> {
    Id::new(text).within(field)
}

pub(crate) fn optional_id(field: &str, text: String) -> Converted<Option<Id>> {
    if text.is_empty() {
        Ok(None)
    } else {
        id(field, text).map(Some)
    }
}

pub(crate) fn name(field: &str, text: String) -> Converted<Name> {
    Name::new(text).within(field)
}

pub(crate) fn optional_name(field: &str, text: String) -> Converted<Option<Name>> {
    if text.is_empty() {
        Ok(None)
    } else {
        name(field, text).map(Some)
    }
}

pub(crate) fn names(field: &str, texts: Vec<String>) -> Converted<Vec<Name>> {
    texts
        .into_iter()
        .enumerate()
        .map(|(index, text)| name(&format!("{field}[{index}]"), text))
        .collect()
}

pub(crate) fn date(field: &str, text: &str) -> Converted<Date> {
    text.parse()
        .map_err(|_| InvalidInput::one(field, format!("must be a date YYYY-MM-DD, is {text:?}")))
}

pub(crate) fn optional_date(field: &str, text: &str) -> Converted<Option<Date>> {
    if text.is_empty() {
        Ok(None)
    } else {
        date(field, text).map(Some)
    }
}

/// The violation of a field that must be set.
pub(crate) fn missing(field: &str) -> InvalidInput {
    InvalidInput::one(field, "must be set")
}

/// Converts each element of a list, its index in the path.
pub(crate) fn each<M, T>(
    field: &str,
    messages: Vec<M>,
    convert: impl Fn(M) -> Converted<T>,
) -> Converted<Vec<T>> {
    messages
        .into_iter()
        .enumerate()
        .map(|(index, message)| convert(message).within(&format!("{field}[{index}]")))
        .collect()
}

/// Converts the values of a map keyed by ids.
pub(crate) fn by_id<M, T>(
    field: &str,
    map: std::collections::BTreeMap<String, M>,
    convert: impl Fn(M) -> Converted<T>,
) -> Converted<std::collections::BTreeMap<Id, T>> {
    map.into_iter()
        .map(|(key, message)| {
            let path = format!("{field}[{key:?}]");
            Ok((id(&path, key)?, convert(message).within(&path)?))
        })
        .collect()
}
