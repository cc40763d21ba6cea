//! Drafts a load sheet.

use super::aboard::{fills, zones};
use super::conditions::{conditions, hazard_cautions, papers};
use super::{CAUTIONS, LoadSheet, SheetCrew, SheetOutline, SheetWheels};
use crate::answer::Answer;
use crate::loads::{self, Carried, LoadAgainstLimit, LoadResult};
use crate::readiness::{Gate, Readiness, Verdict};
use crate::record::{Departure, Record, Vehicle};
use crate::stance::Wheel;
use crate::stance::recorded::{Springs, stand};
use crate::stance::vehicle::AxlePosition;
use crate::tyres::trip::trip_tyres;
use crate::tyres::wheel_loads::tyres_at_an_end;
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Drafts the load sheet of `vehicle` for `departure`, whose whole readiness is `readiness`.
///
/// Never fails: what is not known is shown as not known and keeps the verdict at no-go.
pub fn draft(record: &Record, departure: &Departure, vehicle: &Vehicle, readiness: &Readiness) -> LoadSheet {
    let own = readiness.vehicles.iter().find(|own| own.vehicle == vehicle.name);
    let (verdict, gates) = own.map_or((Verdict::NoGo, [].as_slice()), |own| (own.verdict, &own.gates));
    let hazards = hazard_cautions(record, vehicle);
    let states = loads::states(record, departure, vehicle);
    let specification = &vehicle.specification;
    LoadSheet {
        departure: departure.name.clone(),
        departure_display_name: departure.display_name.clone(),
        departure_date: departure.departure_date,
        return_date: departure.return_date,
        legs: departure.legs.clone(),
        vehicle: vehicle.name.clone(),
        vehicle_display_name: vehicle.display_name.clone(),
        role: vehicle.role.clone(),
        wheels: states
            .iter()
            .map(|state| wheels(record, vehicle, state))
            .collect(),
        tyres: trip_tyres(record, departure, vehicle, &states).axles,
        outline: SheetOutline {
            wheelbase_mm: specification.wheelbase_mm,
            front_track_mm: specification.front_track_mm,
            rear_track_mm: specification.rear_track_mm,
            tyres_at_an_end: AxlePosition::ALL.map(|axle| tyres_at_an_end(vehicle, axle)),
        },
        loads: without_later_lines(states),
        zones: zones(record, departure, vehicle),
        fills: fills(record, departure, vehicle),
        crew: crew(departure, vehicle),
        conditions: conditions(record, departure, vehicle),
        papers: papers(record, departure, vehicle),
        open_gates: open(gates),
        convoy_gates: open(&readiness.gates),
        verdict,
        departure_verdict: readiness.verdict,
        cautions: CAUTIONS
            .iter()
            .map(|caution| (*caution).to_owned())
            .chain(hazards)
            .collect(),
    }
}

fn open(gates: &[Gate]) -> Vec<Gate> {
    gates
        .iter()
        .filter(|gate| gate.answer != Answer::Met)
        .cloned()
        .collect()
}

/// The loads of every moment; the single masses behind them for the departure alone, where they are all aboard.
fn without_later_lines(mut states: Vec<LoadResult>) -> Vec<LoadResult> {
    for later in states.iter_mut().skip(1) {
        later.lines.clear();
    }
    states
}

/// The wheels in a load state: on their springs where those are on record, else halves of the axles.
fn wheels(record: &Record, vehicle: &Vehicle, state: &LoadResult) -> SheetWheels {
    let stance = stand(record, vehicle, &Carried::of(state), Springs::AsFitted).ok();
    let half_kg = |load: &Option<LoadAgainstLimit>| load.as_ref().map(|load| load.load_kg / 2.0);
    let (front_kg, rear_kg) = (half_kg(&state.front_axle), half_kg(&state.rear_axle));
    let loads_kg = match &stance {
        Some(stance) => Wheel::ALL.map(|wheel| Some(stance.wheel(wheel).load_n / STANDARD_GRAVITY_M_PER_S2)),
        None => [front_kg, front_kg, rear_kg, rear_kg],
    };
    SheetWheels {
        load_state: state.load_state.clone(),
        from_stance: stance.is_some(),
        loads_kg,
    }
}

fn crew(departure: &Departure, vehicle: &Vehicle) -> Vec<SheetCrew> {
    let mut crew: Vec<SheetCrew> = departure
        .crew
        .iter()
        .filter(|member| member.vehicle.as_ref() == Some(&vehicle.name))
        .map(|member| SheetCrew {
            role: member.role.clone(),
            driver: member.driver,
        })
        .collect();
    crew.sort_by_key(|member| !member.driver);
    crew
}
