//! Slope forces and grade ability.

use ostler_core::driveline::grade::{GradeLimit, slope_force_n, tractive_force_n};
use ostler_core::driveline::{DrivenAxles, GradeInput, ROLLING_RESISTANCE, Surface, grade_ability};

use super::assert_near;

pub(super) fn climb() -> GradeInput {
    GradeInput {
        mass_kg: 4_500.0,
        torque_nm: 117.0,
        overall_ratio: 12.0,
        efficiency: 1.0,
        rolling_radius_mm: 400.0,
        rolling_resistance: 0.015,
        friction_coefficient: 0.8,
        driven: DrivenAxles::Both,
        front_load_share: 0.45,
        centre_height_mm: 800.0,
        wheelbase_mm: 2_850.0,
    }
}

/// Torque 117 N m, ratio 12, radius 400 mm, 4500 kg, good concrete (1.5 percent): 6.5 percent; and in inch
/// units 1000 lb in, 12, 15 in, 10 000 lb: 6.5 percent. Source: a hydraulics maker's technical information,
/// read. It uses a small-angle formula, so ours may differ in the second decimal.
#[test]
fn published_grade_ability() {
    let metric = grade_ability(&climb()).unwrap();
    assert_near(metric.grade_percent.unwrap(), 6.5, 0.05);
    assert_eq!(metric.limit, GradeLimit::Torque);
    let inch = GradeInput {
        mass_kg: 10_000.0 * 0.453_592_37,
        torque_nm: 1_000.0 * 4.448_221_615_260_5 * 0.0254,
        rolling_radius_mm: 15.0 * 25.4,
        ..climb()
    };
    assert_near(grade_ability(&inch).unwrap().grade_percent.unwrap(), 6.5, 0.05);
}

/// `m g (sin + Crr cos)` of 3000 kg; own calculation.
#[test]
fn slope_forces_as_computed_apart() {
    for (rolling_resistance, forces_n) in [
        (0.015, [5_543.0, 10_477.0, 15_092.0, 21_115.0]),
        (0.10, [8_006.0, 12_827.0, 17_258.0, 22_883.0]),
    ] {
        for (angle_deg, force_n) in [10.0, 20.0, 30.0, 45.0].into_iter().zip(forces_n) {
            assert_near(
                slope_force_n(3_000.0, angle_deg, rolling_resistance).unwrap(),
                force_n,
                0.51,
            );
        }
    }
}

/// With all wheels driven, grip is used up at `tan = mu - Crr`; textbook statics.
#[test]
fn all_wheel_drive_climbs_to_its_friction() {
    let strong = GradeInput {
        torque_nm: 5_000.0,
        friction_coefficient: 0.6,
        ..climb()
    };
    let found = grade_ability(&strong).unwrap();
    assert_eq!(found.limit, GradeLimit::Traction);
    assert_near(found.grade_percent.unwrap(), 58.5, 1e-9);
    assert_eq!(found.torque_angle_deg, 90.0);
}

/// At the limit of a rear drive the force equals friction times the rear axle's load, from moments about
/// the front axle's foot; textbook statics, own calculation.
#[test]
fn rear_drive_gains_from_weight_transfer_and_front_drive_loses() {
    let strong = GradeInput {
        torque_nm: 5_000.0,
        friction_coefficient: 0.6,
        ..climb()
    };
    let rear = grade_ability(&GradeInput {
        driven: DrivenAxles::Rear,
        ..strong
    })
    .unwrap();
    let angle = rear.angle_deg.to_radians();
    let share = 0.55 * angle.cos() + 800.0 / 2_850.0 * angle.sin();
    assert_near(0.6 * share, angle.sin() + 0.015 * angle.cos(), 1e-12);
    let front = grade_ability(&GradeInput {
        driven: DrivenAxles::Front,
        ..strong
    })
    .unwrap();
    assert!(front.angle_deg < rear.angle_deg && rear.angle_deg < 30.4);
}

/// The climb found is the one at which slope force equals tractive force.
#[test]
fn torque_limit_balances_the_slope() {
    let found = grade_ability(&climb()).unwrap();
    let pull_n = tractive_force_n(117.0, 12.0, 1.0, 400.0).unwrap();
    assert_near(
        slope_force_n(4_500.0, found.torque_angle_deg, 0.015).unwrap(),
        pull_n,
        1e-6,
    );
    assert_eq!(found.tractive_force_n, pull_n);
}

#[test]
fn a_vehicle_too_weak_for_soft_sand_is_told_so() {
    let sand = Surface::LooseSand.rolling_resistance();
    let found = grade_ability(&GradeInput {
        rolling_resistance: sand.typical,
        ..climb()
    })
    .unwrap();
    assert!(found.torque_angle_deg < 0.0);
    assert!(found.grade_percent.unwrap() < 0.0);
}

#[test]
fn rolling_resistances_are_ordered_and_found_by_their_surface() {
    for row in ROLLING_RESISTANCE {
        assert_eq!(*row.surface.rolling_resistance(), row);
        assert!(0.0 < row.low && row.low <= row.typical && row.typical <= row.high && row.high < 1.0);
        assert!(!row.source.is_empty());
    }
}
