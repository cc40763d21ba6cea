//! A vehicle that goes, and what its gates have in common with each other and with the convoy's.

use super::Finding;
use super::earlier::Earlier;
use super::gates::measured_heights;
use super::own::Own;
use crate::loads::{BeforeCargo, KnownLoads, LoadResult, states_of};
use crate::record::{Departure, Shared};
use crate::restraint::Aboard;
use crate::stance::standing::Standing;
use crate::supplies::{ExtraLoad, Planned, Room, VehicleFuel, extra_loads, room, vehicle_fuel};
use crate::tyres::convoy::{Ends, vehicle_ends};
use crate::tyres::wheel_loads::{WheelLoads, wheel_loads_at_rest};

/// A vehicle that goes and is on record.
pub(super) struct Going {
    pub(super) own: Own,
    pub(super) departure: Shared<Departure>,
    pub(super) before_cargo: Shared<BeforeCargo>,
    pub(super) states: Shared<Vec<LoadResult>>,
    pub(super) standing: Shared<Standing>,
    pub(super) measured_heights: Shared<Vec<Finding>>,
    pub(super) restrained: Shared<Aboard>,
    pub(super) wheel_loads: Shared<WheelLoads>,
    pub(super) ends: Shared<Ends>,
    pub(super) fuel: Shared<VehicleFuel>,
    pub(super) room: Shared<Room>,
}

impl Going {
    pub(super) fn of(own: Own, departure: &Shared<Departure>, earlier: &Earlier) -> Self {
        let name = own.vehicle.name.clone();
        let key = |question| (Some(&name), question);
        let known = (&own, departure);
        let fuel = earlier.vehicle_fuel.of(key("fuel"), &known, |(own, departure)| {
            vehicle_fuel(&own.record, departure, &own.vehicle)
        });
        let before_cargo = earlier
            .before_cargo
            .of(key("before cargo"), &known, |(own, departure)| {
                BeforeCargo::of(&own.record, departure, &own.vehicle)
            });
        let from = (&own, departure, &before_cargo);
        let states = earlier
            .states
            .of(key("states"), &from, |(own, departure, before_cargo)| {
                states_of(before_cargo, &own.record, departure, &own.vehicle)
            });
        let loaded = (&own, departure, &states);
        let standing = earlier.standing.of(key("standing"), &loaded, |(own, _, states)| {
            Standing::of(&own.record, &own.vehicle, states)
        });
        let stands = (&own.vehicle, &states, &standing);
        let wheel_loads =
            earlier
                .wheel_loads
                .of(key("wheel loads"), &stands, |(vehicle, states, standing)| {
                    wheel_loads_at_rest(vehicle, states, standing)
                });
        let restrained =
            earlier
                .restrained
                .of_again(key("restrained"), &known, |(own, departure), before| {
                    Aboard::of(&own.record, departure, &own.vehicle, before)
                });
        let measuring = (&own, departure, &earlier.diagnoses);
        let measured_heights = earlier.measured_heights.of(
            key("measured heights"),
            &measuring,
            |(own, departure, diagnoses)| measured_heights(&own.record, departure, &own.vehicle, diagnoses),
        );
        let room = earlier
            .rooms
            .of(key("room"), &loaded, |(own, departure, states)| {
                room(&own.record, departure, &own.vehicle, states)
            });
        let ends = earlier
            .ends
            .of(key("ends"), &(&own, &wheel_loads), |(own, wheel_loads)| {
                vehicle_ends(&own.record, &own.vehicle, wheel_loads)
            });
        Self {
            departure: departure.share(),
            own,
            before_cargo,
            states,
            standing,
            measured_heights,
            restrained,
            wheel_loads,
            ends,
            fuel,
            room,
        }
    }

    pub(super) fn loads(&self) -> KnownLoads<'_> {
        (&self.own.vehicle.name, &self.before_cargo, &self.states)
    }

    /// What the least fuel to carry in addition does to it, for each fuel of the plan.
    pub(super) fn extra(
        &self,
        planned: &Shared<Vec<Planned>>,
        earlier: &Earlier,
    ) -> Shared<Vec<Option<ExtraLoad>>> {
        let name = self.own.vehicle.name.clone();
        let inputs = (&self.own, &self.departure, &self.states, planned);
        let key = (Some(&name), "extra");
        earlier
            .extra
            .of(key, &inputs, |(own, departure, states, planned)| {
                extra_loads(&own.record, departure, &own.vehicle, states, planned)
            })
    }
}
