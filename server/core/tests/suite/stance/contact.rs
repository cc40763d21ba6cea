//! Stops that engage, springs that come loose, wheels that lift, and vehicles that do not stand.

use ostler_core::stance::springs::{AirHelper, Characteristic, ForcePoint, Spring};
use ostler_core::stance::vehicle::{BumpStop, TyreRate};
use ostler_core::stance::{AxleKind, NoEquilibrium, StanceError, Wheel, WheelContact, solve, solve_on_floor};

use super::plain_vehicle;

const G: f64 = 9.80665;

#[track_caller]
fn close(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{value} is not {expected} within {tolerance}"
    );
}

#[test]
fn a_bump_stop_takes_its_share() {
    let mut vehicle = plain_vehicle();
    vehicle.sprung.mass_kg = 4_000.0;
    for wheel in Wheel::ALL {
        let station = vehicle.station_mut(wheel);
        station.bump_stop = Some(BumpStop {
            gap_mm: 80.0,
            rate_n_per_mm: 500.0,
        });
        station.spring = Spring::coil(35.0, 300.0 + 500.0 * G / 35.0);
    }
    let stance = solve(&vehicle).unwrap();
    // By hand: 500 kg more per wheel; the spring takes 35 x 80 N before the stop touches.
    let pressed_mm = (500.0 * G - 35.0 * 80.0) / 535.0;
    for wheel in stance.wheels {
        assert_eq!(wheel.contact, WheelContact::OnBumpStop);
        close(wheel.bump_travel_left_mm.unwrap(), -pressed_mm, 1e-9);
        close(wheel.bump_stop_force_n, 500.0 * pressed_mm, 1e-6);
        close(wheel.load_n, 1_000.0 * G, 1e-6);
        assert_eq!(wheel.droop_travel_left_mm, None);
    }
}

#[test]
fn two_stage_table_and_air_helper_follow_their_characteristics() {
    let two_stage = Characteristic::TwoStage {
        initial_rate_n_per_mm: 20.0,
        transition_compression_mm: 100.0,
        final_rate_n_per_mm: 50.0,
    };
    let table = Characteristic::Table {
        points: [(0.0, 0.0), (100.0, 2_000.0), (200.0, 7_000.0)]
            .map(|(compression_mm, force_n)| ForcePoint {
                compression_mm,
                force_n,
            })
            .to_vec(),
    };
    for characteristic in [two_stage, table] {
        let mut vehicle = plain_vehicle();
        for wheel in Wheel::ALL {
            let station = vehicle.station_mut(wheel);
            station.spring.characteristic = characteristic.clone();
            station.spring.free_length_mm = 400.0;
            station.air_helper = Some(AirHelper {
                preload_n: 800.0,
                rate_n_per_mm: 10.0,
            });
        }
        let stance = solve(&vehicle).unwrap();
        // By hand: 500 kg = 2 000 + 50 s + 800 + 10 s with s mm of travel beyond the transition.
        let travel_mm = (500.0 * G - 2_800.0) / 60.0;
        for wheel in stance.wheels {
            close(wheel.travel_mm, travel_mm, 1e-9);
            close(wheel.spring_force_n, 2_000.0 + 50.0 * travel_mm, 1e-6);
            close(wheel.air_helper_force_n, 800.0 + 10.0 * travel_mm, 1e-6);
        }
        let spring = &vehicle.front.left.spring;
        close(spring.length_under_load_mm(2_500.0).unwrap(), 290.0, 1e-9);
        close(spring.length_under_load_mm(1_000.0).unwrap(), 350.0, 1e-9);
        close(spring.force_at_length(410.0).force_n, 0.0, 0.0);
    }
}

#[test]
fn a_leaf_pack_pulls_where_a_coil_comes_loose() {
    // So far aft that the front springs pass their free length.
    let mut vehicle = plain_vehicle();
    vehicle.sprung.x_mm = 2_860.0;
    for wheel in Wheel::ALL {
        vehicle.station_mut(wheel).unsprung_mass_kg = 60.0;
        vehicle.station_mut(wheel).droop_limit_mm = Some(250.0);
    }
    let coils = solve(&vehicle).unwrap();
    assert_eq!(coils.wheel(Wheel::FrontLeft).contact, WheelContact::AtDroopLimit);
    // Moments about the rear axle by hand: the front wheels keep their own weight less the body's pull.
    let pull_n = 2_000.0 * G * 10.0 / 2_850.0 / 2.0;
    close(coils.wheel(Wheel::FrontLeft).load_n, 60.0 * G - pull_n, 1e-6);
    for side in [&mut vehicle.front.left, &mut vehicle.front.right] {
        side.spring = Spring::leaf_pack(30.0, side.spring.free_length_mm);
    }
    let leaves = solve(&vehicle).unwrap();
    let front = leaves.wheel(Wheel::FrontLeft);
    assert_eq!(front.contact, WheelContact::Riding);
    close(front.spring_force_n, -pull_n, 1e-6);
    close(front.load_n, 60.0 * G - pull_n, 1e-6);
}

#[test]
fn a_wheel_over_a_hollow_lifts_at_its_droop_limit() {
    for tyre in [
        None,
        Some(TyreRate {
            rate_n_per_mm: 250.0,
            load_at_radius_n: 5_000.0,
        }),
    ] {
        for kind in [
            AxleKind::Independent,
            AxleKind::Beam {
                spring_spacing_mm: 900.0,
            },
        ] {
            let mut vehicle = plain_vehicle();
            vehicle.rear.kind = kind;
            // Ahead of the diagonal, so that three wheels carry it.
            vehicle.sprung.x_mm = 1_200.0;
            vehicle.front.tyre.vertical = tyre;
            vehicle.rear.tyre.vertical = tyre;
            for wheel in Wheel::ALL {
                vehicle.station_mut(wheel).unsprung_mass_kg = 60.0;
                vehicle.station_mut(wheel).droop_limit_mm = Some(40.0);
            }
            let stance = solve_on_floor(&vehicle, [0.0, 0.0, 0.0, -500.0]).unwrap();
            let lifted = stance.wheel(Wheel::RearRight);
            assert_eq!(lifted.contact, WheelContact::OffGround, "{tyre:?} {kind:?}");
            close(lifted.load_n, 0.0, 1e-6);
            assert!(lifted.hub_rise_mm > -500.0, "{lifted:?}");
            close(stance.total_load_n(), vehicle.mass_kg() * G, 1e-5);
        }
    }
}

#[test]
fn a_loose_spring_is_named() {
    let mut vehicle = plain_vehicle();
    vehicle.rear.left.spring.free_length_mm = 150.0;
    vehicle.rear.left.unsprung_mass_kg = 50.0;
    vehicle.sprung.y_mm = 250.0;
    let stance = solve(&vehicle).unwrap();
    let rear_left = stance.wheel(Wheel::RearLeft);
    assert_eq!(rear_left.contact, WheelContact::SpringLoose);
    close(rear_left.load_n, 50.0 * G, 1e-6);
}

#[test]
fn a_body_that_cannot_stand_is_refused_with_its_reason() {
    let mut aft = plain_vehicle();
    aft.sprung.x_mm = 3_500.0;
    assert_eq!(
        solve(&aft),
        Err(StanceError::NoEquilibrium(NoEquilibrium::TipsOver))
    );

    let mut aside = plain_vehicle();
    aside.sprung.y_mm = 900.0;
    assert_eq!(
        solve(&aside),
        Err(StanceError::NoEquilibrium(NoEquilibrium::TipsOver))
    );

    let mut soft = plain_vehicle();
    for wheel in Wheel::ALL {
        soft.station_mut(wheel).spring = Spring::coil(0.01, 300.0);
    }
    assert_eq!(
        solve(&soft),
        Err(StanceError::NoEquilibrium(NoEquilibrium::Sinks))
    );

    let mut tall = plain_vehicle();
    tall.sprung.z_mm = 9_000.0;
    tall.sprung.roll_axis_height_mm = Some(0.0);
    for y_mm in [0.0, 1.0] {
        tall.sprung.y_mm = y_mm;
        assert_eq!(
            solve(&tall),
            Err(StanceError::NoEquilibrium(NoEquilibrium::RollsOver))
        );
    }
}
