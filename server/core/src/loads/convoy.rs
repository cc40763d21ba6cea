//! The loads of a departure's vehicles, computed once for everything that asks about them.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::LoadResult;
use super::states::states;
use crate::record::{Departure, Name, Record, Shared, Vehicle};

/// The vehicles of a departure at every moment of it, each computed when it is first asked for.
#[derive(Debug)]
pub struct ConvoyLoads {
    /// The record.
    pub record: Record,
    /// The departure.
    pub departure: Shared<Departure>,
    going: BTreeMap<Name, OnceLock<Shared<Vec<LoadResult>>>>,
}

impl ConvoyLoads {
    /// The loads of `departure` on `record`.
    pub fn of(record: &Record, departure: &Departure) -> Self {
        let going = departure.vehicles.iter();
        Self {
            record: record.clone(),
            departure: departure.clone().into(),
            going: going
                .map(|going| (going.vehicle.clone(), OnceLock::new()))
                .collect(),
        }
    }

    /// The same with the load states that are `known`, which are what [`states()`] makes of this record and departure. Those
    /// of other vehicles are computed whenever they are asked for.
    pub(crate) fn known<'a>(
        record: &Record,
        departure: &Shared<Departure>,
        known: impl IntoIterator<Item = (&'a Name, &'a Shared<Vec<LoadResult>>)>,
    ) -> Self {
        let known = known.into_iter();
        Self {
            record: record.share(),
            departure: departure.share(),
            going: known
                .map(|(vehicle, states)| (vehicle.clone(), OnceLock::from(states.share())))
                .collect(),
        }
    }

    /// The load states ([`states()`]) of a vehicle of the record as the record has it.
    pub fn states(&self, vehicle: &Vehicle) -> Cow<'_, [LoadResult]> {
        let compute = || states(&self.record, &self.departure, vehicle);
        match self.going.get(&vehicle.name) {
            Some(kept) => Cow::Borrowed(kept.get_or_init(|| compute().into())),
            // It does not go, or goes with others; few ask about it.
            None => Cow::Owned(compute()),
        }
    }

    /// A copy of which, and for which, nothing is noted as read ([`Shared`]).
    pub(crate) fn share(&self) -> Self {
        let known = self.going.iter();
        let known = known.filter_map(|(vehicle, states)| Some((vehicle, states.get()?)));
        Self::known(&self.record, &self.departure, known)
    }

    /// The load states that are known.
    pub(crate) fn known_states(&self) -> impl Iterator<Item = &Shared<Vec<LoadResult>>> {
        self.going.values().filter_map(OnceLock::get)
    }
}
