//! The departure as a whole: what its gates have in common, and the gates themselves.

use super::assess::worst_binding;
use super::clearing::name_jobs;
use super::earlier::Earlier;
use super::gates::{CONVOY_GATES, ConvoyInputs, VEHICLE_GATES, VehicleInputs};
use super::going::Going;
use super::results::{Input, Inputs};
use super::settle::settle;
use super::{Gate, Packs, VehicleReadiness, Verdict};
use crate::answer::Answer;
use crate::loads::ConvoyLoads;
use crate::plan::outlook::PlanOutlook;
use crate::record::{Departure, Name, Record, Shared, Vehicle};
use crate::supplies::{
    DepartureFuel, Planned, VehicleFuel, departure_water, least_extra_fuel, put_together, sharing,
};
use crate::tyres::convoy::{ConvoySpares, compared, spares_aboard, unknown_end};

/// A departure, with what its gates have in common.
pub(super) struct Convoy<'a> {
    inputs: ConvoyInputs,
    outlook: &'a Shared<PlanOutlook>,
    earlier: &'a Earlier,
}

impl<'a> Convoy<'a> {
    pub(super) fn of(
        record: &Record,
        departure: &Shared<Departure>,
        going: &[Going],
        outlook: &'a Shared<PlanOutlook>,
        packs: Shared<Packs>,
        earlier: &'a Earlier,
    ) -> Self {
        let known = going.iter().map(|of| (&of.own.vehicle.name, &of.states));
        let loads = ConvoyLoads::known(record, departure, known);
        let water = earlier.water.of((None, "water"), &loads, |loads| {
            departure_water(&loads.record, &loads.departure)
        });
        Self {
            inputs: ConvoyInputs {
                fuel: fuel(&loads, going, earlier),
                spares: spares(&loads, going, earlier),
                packs,
                water,
                loads,
            },
            outlook,
            earlier,
        }
    }

    /// The gates of the convoy itself, settled.
    pub(super) fn gates(&self) -> Shared<Vec<Gate>> {
        let ask = |(question, gate)| self.earlier.gates.of((None, question), &self.inputs, gate);
        let asked = Asked {
            gates: CONVOY_GATES.into_iter().map(ask).collect(),
            record: self.inputs.loads.record.share(),
            departure: self.inputs.loads.departure.share(),
            outlook: self.outlook.share(),
            vehicle: None,
        };
        self.earlier.settled.of((None, "settled"), &asked, Asked::settled)
    }

    /// The gates of a vehicle put together.
    pub(super) fn vehicle(&self, going: &Going) -> Shared<VehicleReadiness> {
        let name = going.own.vehicle.name.clone();
        let inputs = VehicleInputs {
            own: ConvoyLoads::known(&going.own.record, &going.departure, [(&name, &going.states)]),
            convoy: self.inputs.loads.share(),
            vehicle: going.own.vehicle.share(),
            packs: self.inputs.packs.share(),
            outlook: self.outlook.share(),
            fuel: self.inputs.fuel.share(),
            standing: going.standing.share(),
            wheel_loads: going.wheel_loads.share(),
            diagnoses: self.earlier.diagnoses.clone(),
        };
        let ask = |(question, gate)| self.earlier.gates.of((Some(&name), question), &inputs, gate);
        let asked = Asked {
            gates: VEHICLE_GATES.into_iter().map(ask).collect(),
            record: going.own.record.share(),
            departure: going.departure.share(),
            outlook: self.outlook.share(),
            vehicle: Some(going.own.vehicle.share()),
        };
        self.earlier
            .vehicles
            .of((Some(&name), "vehicle"), &asked, Asked::put_together)
    }
}

/// The fuel of the departure, vehicle by vehicle and then shared.
fn fuel(loads: &ConvoyLoads, going: &[Going], earlier: &Earlier) -> Shared<DepartureFuel> {
    let departure = &loads.departure;
    let vehicles: Vec<_> = going.iter().map(|of| &of.fuel).collect();
    let shared = (departure, &vehicles);
    let sharing = earlier
        .sharing
        .of((None, "sharing"), &shared, |(departure, vehicles)| {
            sharing(
                departure,
                &vehicles.iter().map(|fuel| &**fuel).collect::<Vec<_>>(),
            )
        });
    let rooms: Vec<_> = going.iter().map(|of| &of.room).collect();
    let short = (&loads.record.fleet, departure, &rooms, &sharing);
    let planned = earlier
        .planned
        .of((None, "planned"), &short, |(fleet, departure, rooms, sharing)| {
            let rooms: Vec<_> = rooms.iter().map(|room| &**room).collect();
            least_extra_fuel(fleet, departure, &rooms, sharing)
        });
    let extra: Vec<_> = going.iter().map(|of| of.extra(&planned, earlier)).collect();
    let parts = (&vehicles, &sharing, &planned, &extra);
    earlier
        .fuel
        .of((None, "fuel"), &parts, |(vehicles, sharing, planned, extra)| {
            let of_fuel = |(index, of): (usize, &Planned)| {
                let mut fuel = of.fuel.clone();
                let loads = extra.iter().filter_map(|loads| loads.get(index)?.clone());
                fuel.loads.extend(loads);
                fuel
            };
            let extra = planned.iter().enumerate().map(of_fuel).collect();
            let vehicles = vehicles.iter().map(|fuel| VehicleFuel::clone(fuel)).collect();
            put_together(vehicles, (**sharing).clone(), extra)
        })
}

/// The spare wheels aboard against the wheel ends of every vehicle.
fn spares(loads: &ConvoyLoads, going: &[Going], earlier: &Earlier) -> Shared<ConvoySpares> {
    let departure = &loads.departure;
    let carried = (&loads.record, departure);
    let aboard = earlier
        .spares
        .of((None, "aboard"), &carried, |(record, departure)| {
            spares_aboard(record, departure)
        });
    let ends_of = |name: &Name| match going.iter().find(|of| of.own.vehicle.name == *name) {
        Some(of) => of.ends.share(),
        None => unknown_end(name).into(),
    };
    let ends: Vec<_> = departure.vehicles.iter().map(|of| ends_of(&of.vehicle)).collect();
    let inputs = (departure, &aboard, &ends);
    earlier
        .spares
        .of((None, "compared"), &inputs, |(departure, aboard, ends)| {
            compared(
                departure,
                ConvoySpares::clone(aboard),
                ends.iter().map(|ends| (**ends).clone()),
            )
        })
}

/// The gates that were asked of a vehicle, or of the convoy, before what is signed is counted and jobs are named.
struct Asked {
    gates: Vec<Shared<Gate>>,
    record: Record,
    departure: Shared<Departure>,
    outlook: Shared<PlanOutlook>,
    vehicle: Option<Shared<Vehicle>>,
}

impl Asked {
    fn settled(&self) -> Vec<Gate> {
        let gates = self.gates.iter().map(|gate| Gate::clone(gate)).collect();
        let vehicle = self.vehicle.as_ref().map(|vehicle| &vehicle.name);
        let gates = settle(&self.record, &self.departure, vehicle, gates);
        name_jobs(&self.record, &self.outlook, gates)
    }

    fn put_together(&self) -> VehicleReadiness {
        let gates = self.settled();
        let worst = worst_binding(&gates).unwrap_or(Answer::NotKnown);
        let vehicle = self.vehicle.as_ref();
        VehicleReadiness {
            vehicle: vehicle.map_or_else(|| self.departure.name.clone(), |vehicle| vehicle.name.clone()),
            display_name: vehicle.map_or_else(String::new, |vehicle| vehicle.display_name.clone()),
            verdict: Verdict::of(worst),
            gates,
        }
    }
}

impl Inputs for Asked {
    type Own = Self;

    fn own(&self) -> Self {
        Self {
            gates: self.gates.own(),
            record: self.record.share(),
            departure: self.departure.share(),
            outlook: self.outlook.share(),
            vehicle: self.vehicle.own(),
        }
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.record.list(all);
        self.departure.list(all);
        self.outlook.list(all);
        self.vehicle.list(all);
        self.gates.list(all);
    }
}
