//! Given springs and suspensions that cannot be computed with, refused by the fields of the request they stand in.
//!
//! What is on record and cannot be computed with is a problem of its answer; at the bench it is the caller's to put right.

use ostler_core::check::{InvalidInput, Violation};
use ostler_core::loads::Carried;
use ostler_core::record::Part;
use ostler_core::stance::Wheel;
use ostler_core::stance::recorded::{
    Springs, helper_of, spring_of, spring_part, spring_slot, sprung_vehicle,
};

use super::Converted;
use super::given::Given;

/// Refuses what no stance follows from: springs, whatever else is known, and the whole where all is known.
pub(crate) fn refuse_unusable(given: &Given, carried: &Carried) -> Converted<()> {
    let mut violations: Vec<Violation> = Vec::new();
    for wheel in Wheel::ALL {
        if let Some(part) = spring_part(&given.record, &given.vehicle, wheel) {
            let slot = spring_slot(wheel);
            violations.extend(faults(part).into_iter().map(|fault| Violation {
                field: figure_path(slot, part, &fault.field),
                problem: fault.problem,
            }));
        }
    }
    if violations.is_empty()
        && let Ok(sprung) = sprung_vehicle(&given.record, &given.vehicle, carried, Springs::AsFitted)
        && let Err(refused) = sprung.check()
    {
        violations.extend(refused.violations.into_iter().map(|fault| Violation {
            field: suspension_path(&fault.field),
            problem: fault.problem,
        }));
    }
    if violations.is_empty() {
        return Ok(());
    }
    Err(InvalidInput { violations })
}

/// What is wrong with the figures of a spring. A figure that is missing is told by the answer.
fn faults(part: &Part) -> Vec<Violation> {
    let Ok(spring) = spring_of(part) else {
        return Vec::new();
    };
    let mut faults = Vec::new();
    if let Err(refused) = spring.check() {
        faults.extend(refused.violations);
    }
    if let Some(Err(refused)) = helper_of(part).map(|helper| helper.check()) {
        faults.extend(refused.within("helper").violations);
    }
    faults
}

/// The figure of a part that a field of its spring comes from.
fn figure_path(slot: &str, part: &Part, field: &str) -> String {
    let is_leaf_pack = part.figures.keys().any(|figure| &**figure == "free_camber_mm");
    let figure = match field {
        "initial_rate_n_per_mm" => "rate_n_per_mm",
        "final_rate_n_per_mm" => "second_rate_n_per_mm",
        "transition_compression_mm" => "second_rate_from_mm",
        "free_length_mm" if is_leaf_pack => "free_camber_mm",
        "helper.preload_n" => "helper_preload_n",
        "helper.rate_n_per_mm" => "helper_rate_n_per_mm",
        own => own,
    };
    format!("vehicle.fitted[{slot:?}].figures[{figure:?}]")
}

/// The field of a request that a field of the sprung vehicle comes from.
fn suspension_path(field: &str) -> String {
    let specification = "vehicle.specification";
    let Some((axle @ ("front" | "rear"), of_axle)) = field.split_once('.') else {
        return match field.strip_prefix("sprung.") {
            // Mass and centre follow from everything that is given.
            Some(_) => "load".to_owned(),
            None => format!("{specification}.{field}"),
        };
    };
    let of_wheel = of_axle
        .strip_prefix("left.")
        .or_else(|| of_axle.strip_prefix("right."));
    let own = match of_wheel.unwrap_or(of_axle) {
        "track_mm" => return format!("{specification}.{axle}_track_mm"),
        "tyre.loaded_radius_mm" => "loaded_radius_mm",
        "spring_length_at_reference_mm" => "spring_length_mm",
        "bump_stop.gap_mm" => "bump_travel_mm",
        "bump_stop.rate_n_per_mm" => "bump_stop_rate_n_per_mm",
        "droop_limit_mm" => "droop_travel_mm",
        own => own,
    };
    format!("{specification}.suspension.{axle}.{own}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_of_the_sprung_vehicle_are_told_by_those_of_the_request() {
        for (field, path) in [
            ("wheelbase_mm", "vehicle.specification.wheelbase_mm"),
            ("front.track_mm", "vehicle.specification.front_track_mm"),
            (
                "rear.left.bump_stop.gap_mm",
                "vehicle.specification.suspension.rear.bump_travel_mm",
            ),
            (
                "rear.right.motion_ratio",
                "vehicle.specification.suspension.rear.motion_ratio",
            ),
            (
                "front.tyre.loaded_radius_mm",
                "vehicle.specification.suspension.front.loaded_radius_mm",
            ),
            ("sprung.x_mm", "load"),
        ] {
            assert_eq!(suspension_path(field), path);
        }
    }
}
