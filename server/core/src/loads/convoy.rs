//! The loads of a departure's vehicles, computed once for everything that asks about them.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::LoadResult;
use super::states::states;
use crate::record::{Departure, Name, Record, Vehicle};

/// The vehicles of a departure at every moment of it, each computed when it is first asked for.
#[derive(Debug)]
pub struct ConvoyLoads<'a> {
    /// The record.
    pub record: &'a Record,
    /// The departure.
    pub departure: &'a Departure,
    going: BTreeMap<&'a Name, OnceLock<Vec<LoadResult>>>,
}

impl<'a> ConvoyLoads<'a> {
    /// The loads of `departure` on `record`.
    pub fn of(record: &'a Record, departure: &'a Departure) -> Self {
        let going = departure.vehicles.iter();
        Self {
            record,
            departure,
            going: going.map(|going| (&going.vehicle, OnceLock::new())).collect(),
        }
    }

    /// The load states ([`states()`]) of a vehicle of the record as the record has it.
    pub fn states(&self, vehicle: &Vehicle) -> Cow<'_, [LoadResult]> {
        let compute = || states(self.record, self.departure, vehicle);
        match self.going.get(&vehicle.name) {
            Some(kept) => Cow::Borrowed(kept.get_or_init(compute)),
            // It does not go; few ask about it.
            None => Cow::Owned(compute()),
        }
    }
}
