//! The points on which a spare is compared with a vehicle's wheel ends.

use super::interchange::{Finding, InterchangePolicy, Outcome, Point, SpareRim, SpareTyre, WheelEnd};
use super::wheel_fit::{NutSeat, StudJoint, TubeFit, TyreSeat, stud_engagement, tube_fit};

fn finding(point: Point, outcome: Outcome, reason: impl Into<String>) -> Finding {
    Finding {
        point,
        outcome,
        reason: reason.into(),
    }
}

/// Compares two data, or names the one that is missing.
fn both<A, B>(
    point: Point,
    (spare_field, spare): (&str, Option<A>),
    (vehicle_field, vehicle): (&str, Option<B>),
    judge: impl FnOnce(A, B) -> (Outcome, String),
) -> Finding {
    match (spare, vehicle) {
        (Some(spare), Some(vehicle)) => {
            let (outcome, reason) = judge(spare, vehicle);
            finding(point, outcome, reason)
        }
        (None, None) => finding(
            point,
            Outcome::NotKnown,
            format!("{spare_field}, {vehicle_field}"),
        ),
        (None, Some(_)) => finding(point, Outcome::NotKnown, spare_field),
        (Some(_), None) => finding(point, Outcome::NotKnown, vehicle_field),
    }
}

fn serves_if(holds: bool) -> Outcome {
    if holds {
        Outcome::Serves
    } else {
        Outcome::DoesNotServe
    }
}

/// Bolt circle, bore, studs, nut seat and, if the policy asks, engagement.
pub(super) fn of_rim(
    rim: &SpareRim,
    vehicle: &WheelEnd,
    policy: &InterchangePolicy,
    findings: &mut Vec<Finding>,
) {
    findings.push(both(
        Point::BoltCircle,
        ("spare.rim.bolt_circle", rim.bolt_circle),
        ("vehicle.bolt_circle", vehicle.bolt_circle),
        |spare, hub| (serves_if(spare == hub), format!("{spare} on {hub}")),
    ));
    findings.push(both(
        Point::HubBore,
        ("spare.rim.hub_bore_mm", rim.hub_bore_mm),
        ("vehicle.hub_diameter_mm", vehicle.hub_diameter_mm),
        |bore_mm, hub_mm| hub_bore(bore_mm, hub_mm, rim.nut_seat, policy),
    ));
    findings.push(both(
        Point::StudThread,
        ("spare.rim.stud_thread", rim.stud_thread),
        ("vehicle.stud_thread", vehicle.stud_thread),
        |made_for, stud| {
            // The nuts stay with the vehicle, so only the hole must suit the stud's diameter.
            let same = (made_for.diameter_mm() - stud.diameter_mm()).abs() <= 0.05;
            (
                serves_if(same),
                format!("holes made for {made_for} on {stud} studs"),
            )
        },
    ));
    findings.push(both(
        Point::NutSeat,
        ("spare.rim.nut_seat", rim.nut_seat),
        ("vehicle.nut_seats", vehicle.nut_seats.as_ref()),
        |seat, nuts| {
            let carried = nuts.iter().any(|nut| nut.fits(&seat));
            let reason = format!(
                "needs nuts with {seat} seat, {}carried",
                if carried { "" } else { "none " }
            );
            (serves_if(carried), reason)
        },
    ));
    if let Some(minimum) = policy.stud_engagement_min_diameters {
        findings.push(engagement(rim, vehicle, minimum));
    }
    if let Some(most_mm) = policy.offset_difference_max_mm {
        findings.push(both(
            Point::Offset,
            ("spare.rim.offset_mm", rim.offset_mm),
            ("vehicle.offset_mm", vehicle.offset_mm),
            |spare_mm, fitted_mm| {
                let outcome = if (spare_mm - fitted_mm).abs() <= most_mm {
                    Outcome::Serves
                } else {
                    Outcome::EmergencyOnly
                };
                (
                    outcome,
                    format!("offset {spare_mm} mm against {fitted_mm} mm fitted"),
                )
            },
        ));
    }
}

fn hub_bore(
    bore_mm: f64,
    hub_mm: f64,
    seat: Option<NutSeat>,
    policy: &InterchangePolicy,
) -> (Outcome, String) {
    let clearance_mm = bore_mm - hub_mm;
    let reason = format!("bore {bore_mm} mm over hub {hub_mm} mm");
    if clearance_mm < 0.0 {
        (
            Outcome::DoesNotServe,
            format!("{reason}: does not go over the hub"),
        )
    } else if clearance_mm <= policy.hub_clearance_max_mm {
        (Outcome::Serves, reason)
    } else {
        match seat {
            Some(seat) if seat.centres() => (Outcome::Serves, format!("{reason}: centred by its nuts")),
            Some(_) => (
                Outcome::DoesNotServe,
                format!("{reason}: neither hub nor flat nuts centre it"),
            ),
            None => (Outcome::NotKnown, "spare.rim.nut_seat".to_owned()),
        }
    }
}

fn engagement(rim: &SpareRim, vehicle: &WheelEnd, engagement_min_diameters: f64) -> Finding {
    let point = Point::StudEngagement;
    let (Some(nave_thickness_mm), Some(stud_protrusion_mm), Some(thread)) = (
        rim.nave_thickness_mm,
        vehicle.stud_protrusion_mm,
        vehicle.stud_thread,
    ) else {
        let missing = names_of_missing(&[
            ("spare.rim.nave_thickness_mm", rim.nave_thickness_mm.is_none()),
            ("vehicle.stud_protrusion_mm", vehicle.stud_protrusion_mm.is_none()),
            ("vehicle.stud_thread", vehicle.stud_thread.is_none()),
        ]);
        return finding(point, Outcome::NotKnown, missing);
    };
    let joint = StudJoint {
        thread,
        stud_protrusion_mm,
        nave_thickness_mm,
        nut_thread_into_nave_mm: 0.0,
        nut_thread_length_mm: None,
        engagement_min_diameters,
    };
    match stud_engagement(&joint) {
        Ok(engagement) => finding(
            point,
            serves_if(engagement.is_enough()),
            format!(
                "{:.1} mm engaged with a plain nut, {:.1} mm asked for",
                engagement.engagement_mm, engagement.required_mm
            ),
        ),
        Err(refused) => finding(point, Outcome::DoesNotServe, refused.to_string()),
    }
}

/// Diameter, capacity, type and construction of the tyre.
pub(super) fn of_tyre(
    tyre: &SpareTyre,
    vehicle: &WheelEnd,
    policy: &InterchangePolicy,
    findings: &mut Vec<Finding>,
) {
    findings.push(both(
        Point::TyreDiameter,
        ("spare.tyre.diameter_mm", tyre.diameter_mm),
        ("vehicle.tyre_diameter_mm", vehicle.tyre_diameter_mm),
        |spare_mm, fitted_mm| {
            let difference_percent = 100.0 * (spare_mm - fitted_mm).abs() / fitted_mm;
            let outcome = if difference_percent <= policy.diameter_difference_max_percent {
                Outcome::Serves
            } else if difference_percent <= policy.diameter_difference_emergency_percent {
                Outcome::EmergencyOnly
            } else {
                Outcome::DoesNotServe
            };
            (
                outcome,
                format!("{spare_mm:.0} mm against {fitted_mm:.0} mm fitted, {difference_percent:.1} %"),
            )
        },
    ));
    let capacity = if vehicle.is_dual {
        ("spare.tyre.dual_capacity_kg", tyre.dual_capacity_kg)
    } else {
        ("spare.tyre.capacity_kg", tyre.capacity_kg)
    };
    findings.push(both(
        Point::TyreCapacity,
        capacity,
        ("vehicle.wheel_load_max_kg", vehicle.wheel_load_max_kg),
        |capacity_kg, load_kg| {
            let reason = format!("carries {capacity_kg:.0} kg, {load_kg:.0} kg required");
            (serves_if(capacity_kg >= load_kg), reason)
        },
    ));
    findings.push(both(
        Point::TyreType,
        ("spare.tyre.tube_mark", tyre.tube_mark),
        ("vehicle.tube_mark", vehicle.tube_mark),
        |spare, fitted| alike(spare == fitted, "tubeless and tube type"),
    ));
    findings.push(both(
        Point::Construction,
        ("spare.tyre.construction", tyre.construction),
        ("vehicle.construction", vehicle.construction),
        |spare, fitted| alike(spare == fitted, "radial and diagonal"),
    ));
}

fn alike(same: bool, what: &str) -> (Outcome, String) {
    if same {
        (Outcome::Serves, "alike".to_owned())
    } else {
        (
            Outcome::EmergencyOnly,
            format!("{what}: not on one axle except in emergency"),
        )
    }
}

/// A loose tyre on the vehicle's own rim.
pub(super) fn tyre_on_rim(tyre: &SpareTyre, vehicle: &WheelEnd) -> Finding {
    let point = Point::TyreOnRim;
    let (Some(rim), Some(rim_in), Some(construction), Some(tube)) =
        (vehicle.rim, tyre.rim_in, tyre.construction, tyre.tube)
    else {
        let missing = names_of_missing(&[
            ("vehicle.rim", vehicle.rim.is_none()),
            ("spare.tyre.rim_in", tyre.rim_in.is_none()),
            ("spare.tyre.construction", tyre.construction.is_none()),
            ("spare.tyre.tube", tyre.tube.is_none()),
        ]);
        return finding(point, Outcome::NotKnown, missing);
    };
    let seat = TyreSeat {
        rim_in,
        construction,
        tube_mark: tyre.tube_mark,
    };
    match tube_fit(&seat, &rim, tube) {
        TubeFit::Fits => finding(point, Outcome::Serves, "goes on the vehicle's rim"),
        TubeFit::Makeshift(reason) => finding(point, Outcome::EmergencyOnly, reason),
        TubeFit::Refused(reason) => finding(point, Outcome::DoesNotServe, reason),
        TubeFit::NotKnown(missing) => finding(point, Outcome::NotKnown, missing),
    }
}

fn names_of_missing(fields: &[(&str, bool)]) -> String {
    let missing: Vec<&str> = fields
        .iter()
        .filter(|(_, is_missing)| *is_missing)
        .map(|(name, _)| *name)
        .collect();
    missing.join(", ")
}
