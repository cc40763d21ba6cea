//! What tyres and wheels on record must keep to.

use crate::check::Check;
use crate::record::{Departure, DepartureVehicle, SpareWheel, TyreMarking};
use crate::tyres::reduced::{SpeedStep, check_plan};

/// A tyre: a maker's table that rises.
pub(super) fn marking(check: &mut Check, tyre: Option<&TyreMarking>) {
    if let Some(table) = tyre.and_then(|tyre| tyre.pressure_table.as_ref()) {
        check.merge("tyre.pressure_table", table.check());
    }
}

/// A spare: a wheel, a tyre or both.
pub(super) fn spare(check: &mut Check, spare: Option<&SpareWheel>) {
    if spare.is_some_and(|spare| spare.wheel_part.is_none() && spare.tyre_part.is_none()) {
        check.refuse("spare_wheel.wheel_part", "or `tyre_part` must be set");
    }
}

/// Planned pressures: each surface once, and of two reduced ones the lower never with more speed.
pub(super) fn pressures(check: &mut Check, index: usize, going: &DepartureVehicle) {
    let path = format!("vehicles[{index}].tyre_pressures");
    let surfaces = going.tyre_pressures.iter().flat_map(|step| &step.surfaces);
    super::unique(check, &path, surfaces.map(|surface| &**surface));
    for front in [true, false] {
        let plan: Vec<SpeedStep> = going
            .tyre_pressures
            .iter()
            .filter(|step| step.reduced)
            .map(|step| SpeedStep {
                pressure_kpa: if front { step.front_kpa } else { step.rear_kpa },
                speed_max_km_per_h: step.speed_max_km_per_h,
            })
            .collect();
        let mut plans = Check::new();
        check_plan(&mut plans, &plan);
        if !plans.passes() {
            let problem = "must not plan more speed for a reduced pressure than for the same or a higher one";
            check.refuse(&*path, problem);
            return;
        }
    }
}

/// The policy: what serves in emergency is not narrower than what counts as alike.
pub(super) fn policy(check: &mut Check, departure: &Departure) {
    let Some(tyres) = &departure.policy.tyres else {
        return;
    };
    if let Some((alike, emergency)) = tyres
        .diameter_difference_max_percent
        .zip(tyres.diameter_difference_emergency_percent)
        && emergency < alike
    {
        check.refuse(
            "policy.tyres.diameter_difference_emergency_percent",
            format!("must be at least diameter_difference_max_percent, {alike}"),
        );
    }
}
