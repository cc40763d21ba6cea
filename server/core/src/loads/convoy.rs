//! The loads of a departure's vehicles, computed once for everything that asks about them.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::aboard::Cargo;
use super::before_cargo::{BeforeCargo, Detail};
use super::result::LoadResult;
use super::states::{states_in_sums, states_of};
use crate::record::{CargoItem, Departure, Name, Record, Shared, Vehicle};

/// The vehicles of a departure at every moment of it, each computed when it is first asked for.
#[derive(Debug)]
pub struct ConvoyLoads {
    /// The record.
    pub record: Record,
    /// The departure.
    pub departure: Shared<Departure>,
    going: BTreeMap<Name, Going>,
}

/// What is known of a vehicle that goes.
#[derive(Debug, Default)]
struct Going {
    before_cargo: OnceLock<Shared<BeforeCargo>>,
    states: OnceLock<Shared<Vec<LoadResult>>>,
}

/// The load states of a vehicle, and the same before its cargo was on it.
pub(crate) type KnownLoads<'a> = (&'a Name, &'a Shared<BeforeCargo>, &'a Shared<Vec<LoadResult>>);

impl ConvoyLoads {
    /// The loads of `departure` on `record`.
    pub fn of(record: &Record, departure: &Departure) -> Self {
        let going = departure.vehicles.iter();
        Self {
            record: record.clone(),
            departure: departure.clone().into(),
            going: going
                .map(|going| (going.vehicle.clone(), Going::default()))
                .collect(),
        }
    }

    /// The same with the load states that are `known`, which are what [`states()`](super::states()) makes of this record and
    /// departure. Those of other vehicles are computed whenever they are asked for.
    pub(crate) fn known<'a>(
        record: &Record,
        departure: &Shared<Departure>,
        known: impl IntoIterator<Item = KnownLoads<'a>>,
    ) -> Self {
        let known = known.into_iter().map(|(vehicle, before_cargo, states)| {
            let going = Going {
                before_cargo: before_cargo.share().into(),
                states: states.share().into(),
            };
            (vehicle.clone(), going)
        });
        Self {
            record: record.share(),
            departure: departure.share(),
            going: known.collect(),
        }
    }

    /// The load states ([`states()`](super::states())) of a vehicle of the record as the record has it.
    pub fn states(&self, vehicle: &Vehicle) -> Cow<'_, [LoadResult]> {
        let compute = |before: &BeforeCargo| states_of(before, &self.record, &self.departure, vehicle);
        match self.going.get(&vehicle.name) {
            Some(kept) => Cow::Borrowed(kept.states.get_or_init(|| {
                let before = self.before_cargo(kept, vehicle);
                compute(before).into()
            })),
            // It does not go, or goes with others; few ask about it.
            None => Cow::Owned(compute(&BeforeCargo::of(&self.record, &self.departure, vehicle))),
        }
    }

    fn before_cargo<'a>(&self, kept: &'a Going, vehicle: &Vehicle) -> &'a BeforeCargo {
        kept.before_cargo
            .get_or_init(|| BeforeCargo::of(&self.record, &self.departure, vehicle).into())
    }

    /// Whether what a vehicle burns follows its mass ([`BeforeCargo::follows_mass`]).
    pub(super) fn follows_mass(&self, vehicle: &Vehicle) -> bool {
        let kept = self.going.get(&vehicle.name);
        kept.is_some_and(|kept| self.before_cargo(kept, vehicle).follows_mass())
    }

    /// The load states of a vehicle of the record with an item where it was `moved` to, without their lines.
    pub(crate) fn with_moved(&self, moved: &CargoItem, vehicle: &Vehicle) -> Vec<LoadResult> {
        let kept = self.going.get(&vehicle.name);
        match kept.map(|kept| self.before_cargo(kept, vehicle)) {
            Some(before) if !before.follows_mass() => before.laden(
                &Cargo::with_moved(&self.record, moved, vehicle, Detail::Sums),
                &self.departure,
                vehicle,
            ),
            _ => {
                let mut record = self.record.clone();
                record.cargo_items.insert(moved.name.clone(), moved.clone());
                states_in_sums(&record, &self.departure, vehicle)
            }
        }
    }

    /// A copy of which, and for which, nothing is noted as read ([`Shared`]).
    pub(crate) fn share(&self) -> Self {
        Self::known(&self.record, &self.departure, self.known_loads())
    }

    /// What is known of each vehicle, in their order.
    pub(crate) fn known_loads(&self) -> impl Iterator<Item = KnownLoads<'_>> {
        let known = self.going.iter();
        known.filter_map(|(vehicle, going)| Some((vehicle, going.before_cargo.get()?, going.states.get()?)))
    }
}
