//! Values from outside the project, each with its source and how it was seen.

use ostler_core::stance::angles::{angles, conservative_angle_deg, tangent_angle_deg};
use ostler_core::stance::heights::{Carrier, VehiclePoint};
use ostler_core::stance::rates::{
    LeafPack, axle_roll_stiffness_nm_per_rad, coil_rate, leaf_pack_rate_n_per_mm, lean_from_free_length_deg,
    lean_from_rates_deg, parallel_rate_n_per_mm, series_rate_n_per_mm, wheel_rate_n_per_mm,
};
use ostler_core::stance::{SprungMass, Wheel, solve};

use super::{plain_vehicle, station};

#[track_caller]
fn close(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{value} is not {expected} within {tolerance}"
    );
}

/// Own calculation (textbook method, by hand): 100 kg placed 2.0 m behind the front axle and 0.40 m left of
/// centre on front springs 30 000 N/m at 1.2 m and rear springs 40 000 N/m at 1.1 m, wheelbase 2.85 m.
#[test]
fn an_offset_load_sinks_each_corner_as_computed_by_hand() {
    let before = solve(&plain_vehicle()).unwrap();
    let mut loaded = plain_vehicle();
    loaded.sprung = SprungMass {
        mass_kg: 2100.0,
        x_mm: (2000.0 * 1425.0 + 100.0 * 2000.0) / 2100.0,
        y_mm: 100.0 * -400.0 / 2100.0,
        ..loaded.sprung
    };
    let after = solve(&loaded).unwrap();
    let sunk = Wheel::ALL
        .map(|wheel| before.wheel(wheel).ride_height_change_mm - after.wheel(wheel).ride_height_change_mm);
    for (sunk_mm, expected_mm) in sunk.iter().zip([10.014, -0.264, 13.313, 3.892]) {
        close(*sunk_mm, expected_mm, 5e-4);
    }
    // The left side is lower: a negative lean.
    close(after.lean_deg, -0.4907, 5e-5);
    close(after.total_load_n() - before.total_load_n(), 980.7, 0.05);
}

/// "Automotive Chassis Engineering", worked example, p. 174 (read): roll stiffness 28 650 N m/rad, sprung mass
/// 1 280 kg, its centre 0.365 m above the roll axis give 0.0194 rad per m/s2 sideways. A sideways
/// acceleration of 1 m/s2 has the moment of the weight offset by 0.365 m / g.
#[test]
fn roll_about_a_known_axis_matches_the_published_roll_angle() {
    let rate_n_per_mm = 28_650.0 * 1_000.0 / (1_200.0 * 1_200.0);
    let station = station(rate_n_per_mm, 300.0 + 320.0 * 9.80665 / rate_n_per_mm);
    let mut vehicle = plain_vehicle();
    for wheel in Wheel::ALL {
        *vehicle.station_mut(wheel) = station.clone();
    }
    vehicle.rear.track_mm = 1_200.0;
    vehicle.sprung = SprungMass {
        mass_kg: 1_280.0,
        x_mm: 1_425.0,
        y_mm: 365.0 / 9.80665,
        z_mm: 665.0,
        roll_axis_height_mm: Some(300.0),
    };
    let stance = solve(&vehicle).unwrap();
    close(stance.roll_stiffness_nm_per_rad.iter().sum(), 28_650.0, 1e-6);
    close(-stance.roll_slope, 0.0194, 5e-5);
    // Without the roll axis the published denominator is the roll stiffness alone.
    vehicle.sprung.roll_axis_height_mm = None;
    close(
        -solve(&vehicle).unwrap().roll_slope,
        1_280.0 * 0.365 / 28_650.0,
        1e-12,
    );
}

/// Own calculations with the textbook formula.
#[test]
fn coil_rates() {
    close(
        coil_rate(79.3, 16.0, 130.0, 8.0).unwrap().rate_n_per_mm,
        36.961,
        5e-4,
    );
    let second = coil_rate(80.0, 10.0, 80.0, 6.0).unwrap();
    close(second.rate_n_per_mm, 32.552, 5e-4);
    assert!(second.index_in_range);
    // A mechanical engineering design textbook's first spring example, 4.13 lbf/in for music wire of
    // 0.037 in, outside diameter 7/16 in, 10.5 active coils, 11.85 Mpsi (from memory, not verified).
    let inch = 25.4;
    let rate = coil_rate(
        11.85e6 * 0.006_894_757e-3,
        0.037 * inch,
        (0.4375 - 0.037) * inch,
        10.5,
    )
    .unwrap();
    close(rate.rate_n_per_mm / 0.175_126_8, 4.13, 0.02);
    assert!(!coil_rate(80.0, 30.0, 80.0, 6.0).unwrap().index_in_range);
}

/// A machine design textbook's truck spring (from memory, not verified): 12 leaves of which 2 of full length, 1.05 m
/// between supports less an 85 mm band, 5.4 kN, leaves 40 x 10 mm, 210 GPa, sinks 16.7 mm.
#[test]
fn leaf_pack_rate() {
    let pack = LeafPack {
        elastic_modulus_gpa: 210.0,
        effective_span_mm: 1_050.0 - 85.0,
        leaf_width_mm: 40.0,
        leaf_thickness_mm: 10.0,
        full_length_leaves: 2,
        graduated_leaves: 10,
    };
    close(5_400.0 / leaf_pack_rate_n_per_mm(&pack).unwrap(), 16.7, 0.05);
}

/// Wheel rate by the square of the lever ratio: equation read in "Automotive Chassis Engineering", p. 179. Values:
/// own arithmetic.
#[test]
fn rates_put_together() {
    close(wheel_rate_n_per_mm(100.0, 0.6, 0.0).unwrap(), 36.0, 1e-12);
    close(wheel_rate_n_per_mm(100.0, 1.0, 60.0).unwrap(), 25.0, 1e-12);
    close(parallel_rate_n_per_mm(&[30.0, 12.0]).unwrap(), 42.0, 1e-12);
    close(series_rate_n_per_mm(&[30.0, 60.0]).unwrap(), 20.0, 1e-12);
    // 1/2 k t^2 (read in public course notes); value: own calculation.
    let stiffness = axle_roll_stiffness_nm_per_rad(35.0, 1_200.0).unwrap();
    close(stiffness, 25_200.0, 1e-9);
    close(stiffness.to_radians(), 439.8, 0.05);
}

/// Own calculations of an axle alone.
#[test]
fn leans_of_one_axle() {
    close(lean_from_free_length_deg(10.0, 1_200.0).unwrap(), 0.4775, 5e-5);
    close(
        lean_from_rates_deg(9_000.0, 38.5, 35.0, 1_200.0).unwrap(),
        0.558,
        5e-4,
    );
}

/// Own derivation for a body that does not twist: the other axle resists, and the lean of an axle alone falls to its
/// share of the roll stiffness.
#[test]
fn the_other_axle_resists_a_lean() {
    let mut vehicle = plain_vehicle();
    vehicle.rear.right.spring.free_length_mm += 10.0;
    let stance = solve(&vehicle).unwrap();
    let [front, rear] = [(30.0, 1_200.0), (40.0, 1_100.0)]
        .map(|(rate, base)| axle_roll_stiffness_nm_per_rad(rate, base).unwrap());
    close(stance.roll_slope, 10.0 / 1_100.0 * rear / (front + rear), 1e-12);
}

/// Approach: own calculation with the definition of 49 CFR 523.2 (read in a secondary copy). Breakover: `2 atan(2 h /
/// L)` and its example, clearance 15 on wheelbase 120 gives 28.07 degrees, read on a public calculator page; 23.78
/// and 24.5 are own calculations.
#[test]
fn approach_and_breakover() {
    close(
        tangent_angle_deg(850.0, 450.0, 394.0).unwrap().unwrap(),
        31.32,
        5e-3,
    );
    close(conservative_angle_deg(850.0, 450.0).unwrap(), 27.90, 5e-3);
    close(2.0 * conservative_angle_deg(60.0, 15.0).unwrap(), 28.07, 5e-3);

    let vehicle = plain_vehicle();
    let stance = solve(&vehicle).unwrap();
    close(stance.heave_mm, 0.0, 1e-9);
    let point = |x_mm, z_mm| VehiclePoint {
        x_mm,
        y_mm: 0.0,
        z_mm,
        carried_by: Carrier::Body,
    };
    let underside = [
        point(-850.0, 450.0),
        point(1_425.0, 300.0),
        point(2_850.0 + 850.0, 450.0),
        point(1_425.0, 310.0),
    ];
    let found = angles(&vehicle, &stance, &underside).unwrap();
    let breakover = found.breakover.unwrap();
    close(breakover.conservative_deg, 23.78, 5e-3);
    close(breakover.tangent_deg, 24.5, 0.05);
    assert_eq!(breakover.point, 1);
    close(found.approach.unwrap().tangent_deg, 31.32, 5e-3);
    close(found.departure.unwrap().tangent_deg, 31.32, 5e-3);
}
