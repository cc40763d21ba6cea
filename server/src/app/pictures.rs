//! What pictures of loads show, from results.

use ostler_core::loads::{CAUTION, LimitedLoad, LoadResult};
use ostler_core::record::{Departure, Record, Vehicle};
use ostler_core::stance::Stance;
use ostler_core::stance::recorded::NotStanding;
use ostler_core::tyres::trip::trip_tyres;
use ostler_sheet::{Fonts, LoadRun, RunningLoad, load_run, plan_of, plan_view};

/// A vehicle from above in one of its `states`.
pub(super) fn plan_picture(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    state: &LoadResult,
    stood: &Result<Stance, NotStanding>,
    fonts: &Fonts,
) -> String {
    let capacities_kg = trip_tyres(record, departure, vehicle, states)
        .axles
        .map(|axle| axle.capacity_kg);
    let mut view = plan_of(vehicle, state, stood.as_ref().ok(), capacities_kg);
    match stood {
        Ok(_) => {}
        Err(NotStanding::Missing(missing)) => {
            view.remarks.extend(
                missing
                    .first()
                    .map(|first| format!("Wheel loads are not known: {first}.")),
            );
        }
        Err(NotStanding::Problem(error)) => view
            .remarks
            .push(format!("It does not stand on its springs: {error}.")),
    }
    view.remarks.push(CAUTION.to_owned());
    plan_view(&view, fonts)
}

/// Gross mass and axle loads over a trip.
pub(super) fn run_picture(
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    fonts: &Fonts,
) -> String {
    let running = |name: &str, limited: &LimitedLoad| RunningLoad {
        name: name.to_owned(),
        limit_kg: states.first().and_then(|state| limited.of(state)?.limit_kg),
        loads_kg: states
            .iter()
            .map(|state| limited.of(state).map(|load| (load.load_kg, load.uncertainty_kg)))
            .collect(),
    };
    let run = LoadRun {
        title: format!("{}: loads over {}", vehicle.display_name, departure.display_name),
        states: states.iter().map(|state| state.load_state.clone()).collect(),
        loads: vec![
            running("total", &LimitedLoad::Total),
            running("front axle", &LimitedLoad::FrontAxle),
            running("rear axle", &LimitedLoad::RearAxle),
        ],
    };
    load_run(&run, fonts)
}
