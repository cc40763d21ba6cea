//! A vehicle that goes, and what its gates have in common with each other and with the convoy's.

use super::earlier::Earlier;
use super::gates::Standing;
use super::own::Own;
use crate::loads::{LoadResult, states};
use crate::record::{Departure, Shared};
use crate::supplies::{ExtraLoad, Planned, Room, VehicleFuel, extra_loads, room, vehicle_fuel};
use crate::tyres::convoy::{Ends, vehicle_ends};
use crate::tyres::wheel_loads::{WheelLoads, wheel_loads};

/// A vehicle that goes and is on record.
pub(super) struct Going {
    pub(super) own: Own,
    pub(super) departure: Shared<Departure>,
    pub(super) states: Shared<Vec<LoadResult>>,
    pub(super) standing: Shared<Standing>,
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
        let states = earlier.states.of(key("states"), &known, |(own, departure)| {
            states(&own.record, departure, &own.vehicle)
        });
        let loaded = (&own, departure, &states);
        let standing = earlier
            .standing
            .of(key("standing"), &loaded, |(own, departure, states)| {
                Standing::of(&own.record, departure, &own.vehicle, states)
            });
        let wheel_loads = earlier
            .wheel_loads
            .of(key("wheel loads"), &loaded, |(own, _, states)| {
                wheel_loads(&own.record, &own.vehicle, states)
            });
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
            states,
            standing,
            wheel_loads,
            ends,
            fuel,
            room,
        }
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
