//! The departure as a whole: what its gates have in common, and the gates themselves.

use super::assess::worst_binding;
use super::clearing::name_jobs;
use super::earlier::Earlier;
use super::gates::{CONVOY_GATES, ConvoyInputs, VEHICLE_GATES, VehicleInputs};
use super::going::Going;
use super::settle::settle;
use super::{Gate, Packs, VehicleReadiness, Verdict};
use crate::answer::Answer;
use crate::loads::ConvoyLoads;
use crate::plan::outlook::PlanOutlook;
use crate::record::{Departure, Name, Record, Shared, Vehicle};
use crate::spares::recorded::{DepartureSpares, OnRecord};
use crate::supplies::{DepartureFuel, VehicleFuel, departure_water, least_extra_fuel, put_together, sharing};
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
        let known = going.iter().map(Going::loads);
        let loads = ConvoyLoads::known(record, departure, known);
        let water = earlier.water.of((None, "water"), &loads, |loads| {
            departure_water(&loads.record, &loads.departure)
        });
        let with_spares = with_spares(&loads.record, earlier);
        let spare_wheels = spare_wheels(&with_spares, departure, going, earlier);
        Self {
            inputs: ConvoyInputs {
                fuel: fuel(&loads, going, earlier),
                spare_parts: spare_parts(&with_spares, departure, &spare_wheels, earlier),
                spare_wheels,
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
        let gates = self.earlier.gates.of_each(None, &self.inputs, &CONVOY_GATES);
        let loads = &self.inputs.loads;
        let asked = (gates, &loads.record, &loads.departure, self.outlook);
        self.earlier
            .settled
            .of((None, "settled"), &asked, |asked| settled(asked, None))
    }

    /// The gates of a vehicle put together.
    pub(super) fn vehicle(&self, going: &Going) -> Shared<VehicleReadiness> {
        let name = going.own.vehicle.name.clone();
        let inputs = VehicleInputs {
            own: ConvoyLoads::known(&going.own.record, &going.departure, [going.loads()]),
            convoy: self.inputs.loads.share(),
            vehicle: going.own.vehicle.share(),
            packs: self.inputs.packs.share(),
            outlook: self.outlook.share(),
            fuel: self.inputs.fuel.share(),
            standing: going.standing.share(),
            wheel_loads: going.wheel_loads.share(),
            restrained: going.restrained.share(),
            measured_heights: going.measured_heights.share(),
        };
        let gates = self.earlier.gates.of_each(Some(&name), &inputs, &VEHICLE_GATES);
        let asked = (gates, &going.own.record, &going.departure, self.outlook);
        self.earlier.vehicles.of(
            (Some(&name), "vehicle"),
            &(asked, &going.own.vehicle),
            |(asked, vehicle)| of_vehicle(vehicle, settled(asked, Some(&vehicle.name))),
        )
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
            let vehicles = vehicles.iter().map(|fuel| VehicleFuel::clone(fuel)).collect();
            put_together(
                vehicles,
                (**sharing).clone(),
                planned,
                extra.iter().map(|loads| &**loads),
            )
        })
}

/// The record with no cargo but what carries spares, which is all that they can be found in.
fn with_spares(record: &Record, earlier: &Earlier) -> Record {
    let carrying = record
        .cargo_items
        .shared()
        .filter(|(_, item)| item.carries_spares());
    let carrying = carrying.map(|(name, item)| (name.clone(), item.clone()));
    Record {
        cargo_items: earlier.spare_cargo.of(&carrying.collect()),
        ..record.share()
    }
}

/// The spare wheels aboard against the wheel ends of every vehicle.
fn spare_wheels(
    with_spares: &Record,
    departure: &Shared<Departure>,
    going: &[Going],
    earlier: &Earlier,
) -> Shared<ConvoySpares> {
    let carried = (with_spares.share(), departure);
    let aboard = earlier
        .spare_wheels
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
        .spare_wheels
        .of((None, "compared"), &inputs, |(departure, aboard, ends)| {
            compared(
                departure,
                ConvoySpares::clone(aboard),
                ends.iter().map(|ends| (**ends).clone()),
            )
        })
}

/// The spares of the departure: what is fitted and aboard, and how long that lasts.
fn spare_parts(
    with_spares: &Record,
    departure: &Shared<Departure>,
    wheels: &Shared<ConvoySpares>,
    earlier: &Earlier,
) -> Shared<DepartureSpares> {
    let known = (with_spares.share(), departure, wheels);
    let on_record =
        earlier
            .spares_on_record
            .of((None, "on record"), &known, |(record, departure, wheels)| {
                OnRecord::of(record, departure, wheels)
            });
    let covered = earlier
        .spares_covered
        .of((None, "covered"), &on_record, |on_record| on_record.covered());
    earlier.spare_parts.of(
        (None, "spare parts"),
        &(on_record, covered),
        |(on_record, covered)| on_record.with(covered),
    )
}

/// The gates that were asked of a vehicle, or of the convoy, with the record, the departure and the outlook of its plan.
type Asked = (Vec<Shared<Gate>>, Record, Shared<Departure>, Shared<PlanOutlook>);

/// These gates with what is signed counted and jobs named.
fn settled((gates, record, departure, outlook): &Asked, vehicle: Option<&Name>) -> Vec<Gate> {
    let gates = gates.iter().map(|gate| Gate::clone(gate)).collect();
    name_jobs(record, outlook, settle(record, departure, vehicle, gates))
}

fn of_vehicle(vehicle: &Vehicle, gates: Vec<Gate>) -> VehicleReadiness {
    let worst = worst_binding(&gates).unwrap_or(Answer::NotKnown);
    VehicleReadiness {
        vehicle: vehicle.name.clone(),
        display_name: vehicle.display_name.clone(),
        verdict: Verdict::of(worst),
        gates,
    }
}
