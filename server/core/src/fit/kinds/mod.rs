//! The kinds of interfaces that come with the product. All are the trade's common practice, without a
//! published source.

mod driveline;
mod running_gear;
mod services;

use super::vocabulary::ValueType;

/// Id, name, type of value, essential by default, question, how to measure.
pub(super) type Row = (
    &'static str,
    &'static str,
    ValueType,
    bool,
    &'static str,
    &'static str,
);

/// All of them.
pub(super) fn kinds() -> impl Iterator<Item = &'static Row> {
    driveline::KINDS
        .iter()
        .chain(&running_gear::KINDS)
        .chain(&services::KINDS)
}
