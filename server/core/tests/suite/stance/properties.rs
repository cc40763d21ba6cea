//! Properties over random vehicles.

use nalgebra::{Matrix3, Vector3};
use ostler_core::stance::angles::{conservative_angle_deg, tangent_angle_deg};
use ostler_core::stance::springs::{AirHelper, Characteristic, Spring};
use ostler_core::stance::vehicle::{AxlePosition, BumpStop, Tyre, TyreRate};
use ostler_core::stance::{
    Axle, AxleKind, SprungMass, SprungVehicle, Stance, Wheel, WheelContact, WheelStation, solve,
};
use proptest::option;
use proptest::prelude::*;

const G: f64 = 9.80665;

prop_compose! {
    fn linear_station()(
        rate_n_per_mm in 20.0..200.0,
        compression_mm in 60.0..160.0,
        motion_ratio in 0.5..1.1,
        installation_angle_deg in 0.0..30.0,
        unsprung_mass_kg in 20.0..150.0,
    ) -> WheelStation {
        WheelStation {
            spring: Spring::leaf_pack(rate_n_per_mm, 300.0 + compression_mm),
            spring_length_at_reference_mm: 300.0,
            air_helper: None,
            motion_ratio,
            installation_angle_deg,
            bump_stop: None,
            droop_limit_mm: None,
            unsprung_mass_kg,
        }
    }
}

prop_compose! {
    fn linear_axle()(
        left in linear_station(),
        right in linear_station(),
        track_mm in 1_300.0..1_900.0,
        beam in option::of(700.0..1_250.0),
        anti_roll_bar_nm_per_rad in 0.0..30_000.0,
        vertical in option::of((150.0..900.0, 4_000.0..12_000.0)),
    ) -> Axle {
        Axle {
            kind: beam.map_or(AxleKind::Independent, |spring_spacing_mm| AxleKind::Beam { spring_spacing_mm }),
            track_mm,
            anti_roll_bar_nm_per_rad,
            tyre: Tyre {
                loaded_radius_mm: 394.0,
                vertical: vertical.map(|(rate_n_per_mm, load_at_radius_n)| TyreRate { rate_n_per_mm, load_at_radius_n }),
            },
            left,
            right,
        }
    }
}

prop_compose! {
    /// Linear throughout: captive springs, no stops, every wheel well loaded.
    fn linear_vehicle()(
        wheelbase_mm in 2_200.0..4_200.0,
        front in linear_axle(),
        rear in linear_axle(),
        mass_kg in 1_500.0..5_000.0,
        along in 0.4..0.6,
        y_mm in -60.0..60.0,
    ) -> SprungVehicle {
        let sprung = SprungMass {
            mass_kg, x_mm: along * wheelbase_mm, y_mm, z_mm: 900.0, roll_axis_height_mm: None,
        };
        SprungVehicle { wheelbase_mm, sprung, front, rear }
    }
}

prop_compose! {
    fn stops()(
        loose in any::<bool>(),
        second_rate in option::of(20.0..200.0),
        helper in option::of((0.0..3_000.0, 0.0..30.0)),
        bump in option::of((-20.0..120.0, 50.0..2_000.0)),
        droop_limit_mm in option::of(20.0..200.0),
    ) -> (bool, Option<f64>, Option<AirHelper>, Option<BumpStop>, Option<f64>) {
        (
            loose,
            second_rate,
            helper.map(|(preload_n, rate_n_per_mm)| AirHelper { preload_n, rate_n_per_mm }),
            bump.map(|(gap_mm, rate_n_per_mm)| BumpStop { gap_mm, rate_n_per_mm }),
            droop_limit_mm,
        )
    }
}

prop_compose! {
    /// Anything: loose and two-stage springs, helpers, stops, large offsets.
    fn any_vehicle()(
        mut vehicle in linear_vehicle(),
        stops in prop::array::uniform4(stops()),
        along in 0.1..0.9,
        y_mm in -400.0..400.0,
    ) -> SprungVehicle {
        vehicle.sprung.x_mm = along * vehicle.wheelbase_mm;
        vehicle.sprung.y_mm = y_mm;
        for (wheel, (loose, second_rate, helper, bump, droop)) in Wheel::ALL.into_iter().zip(stops) {
            let station = vehicle.station_mut(wheel);
            if let Characteristic::Linear { rate_n_per_mm } = station.spring.characteristic {
                if loose {
                    station.spring = Spring::coil(rate_n_per_mm, station.spring.free_length_mm);
                }
                if let Some(final_rate_n_per_mm) = second_rate {
                    station.spring.characteristic = Characteristic::TwoStage {
                        initial_rate_n_per_mm: rate_n_per_mm,
                        transition_compression_mm: 80.0,
                        final_rate_n_per_mm,
                    };
                }
            }
            station.air_helper = helper;
            station.bump_stop = bump;
            station.droop_limit_mm = droop;
        }
        vehicle
    }
}

fn mirrored(vehicle: &SprungVehicle) -> SprungVehicle {
    let mut mirrored = vehicle.clone();
    mirrored.sprung.y_mm = -vehicle.sprung.y_mm;
    for position in AxlePosition::ALL {
        let axle = mirrored.axle_mut(position);
        std::mem::swap(&mut axle.left, &mut axle.right);
    }
    mirrored
}

fn same(a: f64, b: f64, scale: f64, tolerance: f64) -> bool {
    (a - b).abs() <= tolerance * scale.max(1.0)
}

/// Weight, and moments of the ground loads against those of sprung and unsprung weight.
fn balance_errors(vehicle: &SprungVehicle, stance: &Stance) -> [f64; 3] {
    let sprung_n = vehicle.sprung.mass_kg * G;
    let mut errors = [
        -sprung_n,
        -sprung_n * vehicle.sprung.x_mm,
        -sprung_n * vehicle.sprung.y_mm,
    ];
    for wheel in Wheel::ALL {
        let net_n = stance.wheel(wheel).load_n - vehicle.station(wheel).unsprung_mass_kg * G;
        errors[0] += net_n;
        errors[1] += net_n * vehicle.axle_x_mm(wheel.axle());
        errors[2] += net_n * wheel.side().sign() * vehicle.axle(wheel.axle()).track_mm / 2.0;
    }
    errors
}

/// The closed solution for rigid tyres: three normal equations at the springs, solved by LU.
fn closed_solution(vehicle: &SprungVehicle) -> (f64, f64, f64) {
    let mut stiffness = Matrix3::zeros();
    let sprung_n = vehicle.sprung.mass_kg * G;
    let middle_mm = vehicle.wheelbase_mm / 2.0;
    let mut force = -sprung_n
        * Vector3::new(
            1.0,
            (vehicle.sprung.x_mm - middle_mm) / 1_000.0,
            vehicle.sprung.y_mm / 1_000.0,
        );
    for wheel in Wheel::ALL {
        let station = vehicle.station(wheel);
        let axle = vehicle.axle(wheel.axle());
        let ratio = station.motion_ratio * station.installation_angle_deg.to_radians().cos();
        let preload_n = station
            .spring
            .force_at_length(station.spring_length_at_reference_mm);
        let row = Vector3::new(
            1.0,
            (vehicle.axle_x_mm(wheel.axle()) - middle_mm) / 1_000.0,
            wheel.side().sign() * axle.spring_half_base_mm() / 1_000.0,
        );
        stiffness += preload_n.rate_n_per_mm * ratio * ratio * row * row.transpose();
        force += preload_n.force_n * ratio * row;
    }
    for position in AxlePosition::ALL {
        stiffness[(2, 2)] += vehicle.axle(position).anti_roll_bar_nm_per_rad / 1_000.0;
    }
    let rise = stiffness.lu().solve(&force).unwrap();
    (rise[0], rise[1] / 1_000.0, rise[2] / 1_000.0)
}

proptest! {
    #[test]
    fn the_linear_case_agrees_with_the_closed_solution(mut vehicle in linear_vehicle()) {
        vehicle.front.tyre.vertical = None;
        vehicle.rear.tyre.vertical = None;
        let stance = solve(&vehicle).unwrap();
        // A captive spring may pull a wheel off the ground, which the closed solution does not know.
        prop_assume!(stance.wheels.iter().all(|wheel| wheel.contact == WheelContact::Riding));
        let (heave_mm, pitch, roll) = closed_solution(&vehicle);
        let size_mm = heave_mm.abs() + (pitch * vehicle.wheelbase_mm).abs() + (roll * 1_500.0).abs();
        prop_assert!(same(stance.heave_mm, heave_mm, size_mm, 1e-12), "{} {}", stance.heave_mm, heave_mm);
        prop_assert!(same(stance.rake_mm(), pitch * vehicle.wheelbase_mm, size_mm, 1e-12));
        prop_assert!(same(stance.lean_mm(1_500.0), -roll * 1_500.0, size_mm, 1e-12));
        prop_assert!(stance.steps <= 3);
    }

    #[test]
    fn loads_sum_to_weight_and_moments_balance(vehicle in any_vehicle()) {
        // Random springs may not carry a random load; then there is an error and no number.
        if let Ok(stance) = solve(&vehicle) {
            let weight_n = vehicle.mass_kg() * G;
            let errors = balance_errors(&vehicle, &stance);
            prop_assert!(errors[0].abs() <= 1e-9 * weight_n, "{errors:?}");
            prop_assert!(errors[1].abs() <= 1e-9 * weight_n * vehicle.wheelbase_mm, "{errors:?}");
            prop_assert!(errors[2].abs() <= 1e-9 * weight_n * vehicle.wheelbase_mm, "{errors:?}");
            for wheel in stance.wheels {
                prop_assert!(wheel.load_n >= 0.0 && wheel.load_n.is_finite());
                prop_assert!(wheel.spring_force_n.is_finite() && wheel.droop_stop_force_n >= 0.0);
            }
            prop_assert!((0.0..=1.0).contains(&stance.cross_weight_share));
        }
    }

    #[test]
    fn within_its_support_a_vehicle_always_finds_its_rest(mut vehicle in any_vehicle()) {
        // The spring base is at least 700 mm, so a centre within 150 mm of the middle is supported.
        vehicle.sprung.y_mm = vehicle.sprung.y_mm / 400.0 * 150.0;
        vehicle.sprung.x_mm = vehicle.wheelbase_mm * (0.3 + 0.4 * vehicle.sprung.x_mm / vehicle.wheelbase_mm);
        prop_assert!(solve(&vehicle).is_ok(), "{:?}", solve(&vehicle));
    }

    #[test]
    fn mirroring_the_vehicle_mirrors_left_and_right(vehicle in any_vehicle()) {
        if let Ok(stance) = solve(&vehicle) {
            let other = solve(&mirrored(&vehicle)).unwrap();
            let weight_n = vehicle.mass_kg() * G;
            for (a, b) in [(0, 1), (1, 0), (2, 3), (3, 2)] {
                prop_assert!(same(stance.wheels[a].load_n, other.wheels[b].load_n, weight_n, 1e-8));
                prop_assert_eq!(stance.wheels[a].contact, other.wheels[b].contact);
            }
            prop_assert!(same(stance.lean_mm(1_000.0), -other.lean_mm(1_000.0), 100.0, 1e-8));
            prop_assert!(same(stance.heave_mm, other.heave_mm, 100.0, 1e-8));
        }
    }

    #[test]
    fn moving_mass_aft_never_loads_the_front_axle(vehicle in linear_vehicle(), aft_mm in 0.0..400.0) {
        let mut moved = vehicle.clone();
        moved.sprung.x_mm += aft_mm;
        let (before, after) = (solve(&vehicle).unwrap(), solve(&moved).unwrap());
        let front_n = |stance: &Stance| stance.wheels[0].load_n + stance.wheels[1].load_n;
        prop_assert!(front_n(&after) <= front_n(&before) + 1e-6);
        // And the body's rear does not rise against its front.
        prop_assert!(after.rake_mm() <= before.rake_mm() + 1e-7);
    }

    #[test]
    fn a_stiffer_anti_roll_bar_never_adds_lean(
        mut vehicle in linear_vehicle(), y_mm in -60.0..60.0, more_nm_per_rad in 0.0..30_000.0,
    ) {
        // Equal springs left and right, so that lean comes from the load alone.
        for position in AxlePosition::ALL {
            let axle = vehicle.axle_mut(position);
            axle.right = axle.left.clone();
        }
        vehicle.sprung.y_mm = y_mm;
        let before = solve(&vehicle).unwrap();
        vehicle.front.anti_roll_bar_nm_per_rad += more_nm_per_rad;
        let after = solve(&vehicle).unwrap();
        prop_assert!(after.lean_deg.abs() <= before.lean_deg.abs() + 1e-10);
        // It leans to the side of the load.
        prop_assert!(after.lean_deg * y_mm >= -1e-9);
    }

    #[test]
    fn more_mass_never_raises_the_body_at_its_centre(vehicle in any_vehicle(), more_kg in 0.0..1_500.0) {
        let mut heavier = vehicle.clone();
        heavier.sprung.mass_kg += more_kg;
        if let (Ok(before), Ok(after)) = (solve(&vehicle), solve(&heavier)) {
            let (x_mm, y_mm) = (vehicle.sprung.x_mm, vehicle.sprung.y_mm);
            prop_assert!(after.body_rise_mm(x_mm, y_mm) <= before.body_rise_mm(x_mm, y_mm) + 1e-6);
        }
    }

    #[test]
    fn the_conservative_angle_is_never_larger(
        distance_mm in 50.0..2_000.0, height_mm in -50.0..900.0, radius_mm in 200.0..600.0,
    ) {
        if let Some(tangent_deg) = tangent_angle_deg(distance_mm, height_mm, radius_mm).unwrap() {
            let conservative_deg = conservative_angle_deg(distance_mm, height_mm).unwrap();
            prop_assert!(conservative_deg <= tangent_deg + 1e-9);
            // Higher is never worse.
            let higher = tangent_angle_deg(distance_mm, height_mm + 10.0, radius_mm).unwrap();
            prop_assert!(higher.is_none_or(|higher_deg| higher_deg >= tangent_deg - 1e-9));
        }
    }
}
