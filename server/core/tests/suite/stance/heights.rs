//! Heights, clearance and what changed between two states, against hand arithmetic.

use ostler_core::record::UndersidePoint;
use ostler_core::stance::heights::{Carrier, Outline, VehiclePoint, attitude};
use ostler_core::stance::recorded_underside::underside;
use ostler_core::stance::vehicle::{AxlePosition, TyreRate};
use ostler_core::stance::{SprungVehicle, Wheel, solve, solve_on_floor};

use super::plain_vehicle;

const G: f64 = 9.80665;

#[track_caller]
fn close(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{value} is not {expected} within {tolerance}"
    );
}

fn outline() -> Outline {
    let point = |x_mm, y_mm, z_mm, carried_by| VehiclePoint {
        x_mm,
        y_mm,
        z_mm,
        carried_by,
    };
    Outline {
        arches: [(0.0, -600.0), (0.0, 600.0), (2_850.0, -550.0), (2_850.0, 550.0)]
            .map(|(x_mm, y_mm)| point(x_mm, y_mm, 900.0, Carrier::Body)),
        lean_width_mm: 1_600.0,
        underside: vec![
            point(-850.0, 0.0, 450.0, Carrier::Body),
            point(1_425.0, 0.0, 260.0, Carrier::Body),
            point(2_850.0, 100.0, 230.0, Carrier::Axle(AxlePosition::Rear)),
            point(3_700.0, 0.0, 520.0, Carrier::Body),
        ],
    }
}

/// Equal rates all round, tyres that yield, in the reference position at 2 000 kg.
fn vehicle() -> SprungVehicle {
    let mut vehicle = plain_vehicle();
    vehicle.rear = vehicle.front.clone();
    for position in AxlePosition::ALL {
        vehicle.axle_mut(position).tyre.vertical = Some(TyreRate {
            rate_n_per_mm: 200.0,
            load_at_radius_n: 500.0 * G,
        });
    }
    vehicle
}

#[test]
fn a_central_load_lowers_body_and_axles_by_their_yields() {
    let light = vehicle();
    let mut heavy = light.clone();
    heavy.sprung.mass_kg += 400.0;
    let before = attitude(&light, &solve(&light).unwrap(), &outline()).unwrap();
    let after = attitude(&heavy, &solve(&heavy).unwrap(), &outline()).unwrap();
    let change = after.since(&before);
    // 100 kg more per wheel: the tyre gives F/200, the spring F/30.
    let (tyre_mm, spring_mm) = (100.0 * G / 200.0, 100.0 * G / 30.0);
    for wheel in 0..4 {
        close(before.arch_height_mm[wheel], 900.0, 1e-9);
        close(before.hub_to_arch_mm[wheel], 506.0, 1e-9);
        close(change.arch_height_mm[wheel], -tyre_mm - spring_mm, 1e-9);
        close(after.hub_to_arch_mm[wheel], 506.0 - spring_mm, 1e-9);
    }
    close(change.lean_deg, 0.0, 1e-12);
    close(change.rake_mm, 0.0, 1e-9);
    // The differential is lowest at first, and loses only what the tyres give; then the body at mid wheelbase is.
    assert_eq!(before.clearance.unwrap().point, 2);
    assert_eq!(after.clearance.unwrap().point, 1);
    close(
        change.clearance_mm.unwrap(),
        260.0 - tyre_mm - spring_mm - 230.0,
        1e-9,
    );
    assert!(change.approach_deg.unwrap() < 0.0);
    assert!(change.departure_deg.unwrap() < 0.0);
    assert!(change.breakover_deg.unwrap() < 0.0);
}

/// The same heavy vehicle by the points of the record: what changed from the reference height is what changed from a vehicle that
/// stands at it.
#[test]
fn points_of_the_record_change_from_the_reference_height() {
    let mut heavy = vehicle();
    heavy.sprung.mass_kg += 400.0;
    let stance = solve(&heavy).unwrap();
    let points: Vec<UndersidePoint> = ["bar", "guard", "differential", "tail"]
        .into_iter()
        .zip(outline().underside)
        .map(|(name, place)| UndersidePoint {
            name: name.to_owned(),
            place,
        })
        .collect();
    let found = underside(&heavy, &stance, &points).unwrap();
    let light = vehicle();
    let before = attitude(&light, &solve(&light).unwrap(), &outline()).unwrap();
    let change = attitude(&heavy, &stance, &outline()).unwrap().since(&before);
    let (tyre_mm, spring_mm) = (100.0 * G / 200.0, 100.0 * G / 30.0);
    let clearance = found.clearance_mm.unwrap();
    assert_eq!(clearance.point, "guard");
    close(clearance.value, 260.0 - tyre_mm - spring_mm, 1e-9);
    for (figure, expected, point) in [
        (Some(clearance), change.clearance_mm, "guard"),
        (found.approach_deg, change.approach_deg, "bar"),
        (found.departure_deg, change.departure_deg, "tail"),
        (found.breakover_deg, change.breakover_deg, "guard"),
    ] {
        let figure = figure.unwrap();
        assert_eq!(figure.point, point);
        close(figure.change, expected.unwrap(), 1e-9);
    }
    let none = underside(&heavy, &stance, &[]).unwrap();
    assert!(none.clearance_mm.is_none() && none.approach_deg.is_none());
}

#[test]
fn a_load_aft_and_right_shows_in_rake_and_lean() {
    let light = vehicle();
    let mut heavy = light.clone();
    heavy.sprung.x_mm += 100.0;
    heavy.sprung.y_mm += 50.0;
    let stance = solve(&heavy).unwrap();
    let after = attitude(&heavy, &stance, &outline()).unwrap();
    assert!(after.rake_mm < 0.0 && after.lean_mm > 0.0);
    close(after.lean_mm, 1_600.0 * after.lean_deg.to_radians().tan(), 1e-9);
    close(after.rake_mm, 2_850.0 * after.rake_deg.to_radians().tan(), 1e-9);
    let lowest = after.arch_height_mm.iter().copied().fold(f64::INFINITY, f64::min);
    close(lowest, after.arch_height_mm[Wheel::RearRight.index()], 0.0);
    // The rear approach of the pair gains, the departure loses.
    let before = attitude(&light, &solve(&light).unwrap(), &outline()).unwrap();
    let change = after.since(&before);
    assert!(change.approach_deg.unwrap() > 0.0 && change.departure_deg.unwrap() < 0.0);
}

#[test]
fn a_raised_level_floor_changes_no_height_above_it() {
    let vehicle = vehicle();
    let level = attitude(&vehicle, &solve(&vehicle).unwrap(), &outline()).unwrap();
    let raised = attitude(
        &vehicle,
        &solve_on_floor(&vehicle, [80.0; 4]).unwrap(),
        &outline(),
    )
    .unwrap();
    for wheel in 0..4 {
        close(raised.arch_height_mm[wheel], level.arch_height_mm[wheel], 1e-9);
        close(raised.hub_to_arch_mm[wheel], level.hub_to_arch_mm[wheel], 1e-9);
    }
}

#[test]
fn without_points_there_is_no_clearance_rather_than_a_default() {
    let mut outline = outline();
    outline.underside.clear();
    let vehicle = vehicle();
    let attitude = attitude(&vehicle, &solve(&vehicle).unwrap(), &outline).unwrap();
    assert_eq!(attitude.clearance, None);
    assert_eq!(attitude.angles.approach, None);
    assert_eq!(attitude.angles.breakover, None);
    outline.lean_width_mm = 0.0;
    outline.arches[2].z_mm = f64::NAN;
    let refused =
        ostler_core::stance::heights::attitude(&vehicle, &solve(&vehicle).unwrap(), &outline).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(fields, ["arches[2].z_mm", "lean_width_mm"]);
}
