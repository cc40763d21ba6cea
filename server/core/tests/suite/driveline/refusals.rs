//! Inputs that are refused, each with the path of its field.

use ostler_core::check::InvalidInput;
use ostler_core::driveline::compare::ReferenceSpeeds;
use ostler_core::driveline::speed::{engine_speed_rpm, rolling_circumference_m};
use ostler_core::driveline::speedometer::{judge_speedometer, legal_band};
use ostler_core::driveline::{
    DrivenAxles, GradeInput, SpeedometerChange, compare, grade_ability, overall_ratios,
    speed_over_engine_speed,
};

use super::grade::climb;
use super::{gear, range, setup};

const NAN: f64 = f64::NAN;

/// Asserts that an input is refused for exactly these fields.
#[track_caller]
fn assert_refused<T>(outcome: Result<T, InvalidInput>, fields: &[&str]) {
    let violations = outcome
        .err()
        .map(|refused| refused.violations)
        .unwrap_or_default();
    let found: Vec<&str> = violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(found, fields, "{violations:?}");
}

#[test]
fn drivelines_without_sense() {
    let mut driveline = setup().driveline;
    driveline.gears[1].ratio = 4.5;
    driveline.gears[3].name = "3".to_owned();
    driveline.ranges[1] = range(" ", NAN);
    driveline.axle_ratio = 0.0;
    assert_refused(
        overall_ratios(&driveline),
        &[
            "gears[3].name",
            "gears[1].ratio",
            "ranges[1].name",
            "ranges[1].ratio",
            "axle_ratio",
        ],
    );
    let mut without_gears = setup().driveline;
    without_gears.gears.clear();
    assert_refused(overall_ratios(&without_gears), &["gears"]);
    let mut without_bound = setup().driveline;
    without_bound.gears = vec![gear("1", 50.0)];
    without_bound.ranges = vec![range("high", 1.0), range("low", 20.0)];
    assert_refused(overall_ratios(&without_bound), &["gears[0].ratio"]);
}

#[test]
fn speeds_without_sense() {
    assert_refused(
        rolling_circumference_m(0.0, 3.2),
        &["diameter_mm", "circumference_factor"],
    );
    assert_refused(
        engine_speed_rpm(-1.0, NAN, 0.0),
        &["overall_ratio", "circumference_m", "speed_km_per_h"],
    );
    assert_refused(legal_band(0.0), &["true_speed_km_per_h"]);
    assert_refused(speed_over_engine_speed(&setup(), 2_000.0, 1_000.0), &["to_rpm"]);
}

#[test]
fn comparisons_name_the_side() {
    let mut flat = setup();
    flat.tyre_diameter_mm = 0.0;
    let speeds = ReferenceSpeeds {
        cruise_km_per_h: Some(0.0),
        crawl_rpm: Some(700.0),
    };
    assert_refused(
        compare(&setup(), &flat, &speeds),
        &["after.tyre_diameter_mm", "speeds.cruise_km_per_h"],
    );
}

#[test]
fn speedometers_without_sense() {
    let change = SpeedometerChange {
        tyre_diameter_before_mm: 800.0,
        tyre_diameter_after_mm: NAN,
        wheel_ratio_before: 4.1,
        wheel_ratio_after: 0.0,
        speedometer_drive_before: 1.0,
        speedometer_drive_after: 1.0,
    };
    assert_refused(
        judge_speedometer(&change, Some(80.0), &[100.0, -1.0]),
        &[
            "change.tyre_diameter_after_mm",
            "change.wheel_ratio_after",
            "over_reading_before_percent",
            "true_speeds_km_per_h[1]",
        ],
    );
}

#[test]
fn climbs_without_sense() {
    let input = GradeInput {
        mass_kg: 0.0,
        torque_nm: -1.0,
        efficiency: 1.2,
        friction_coefficient: 0.0,
        front_load_share: 1.0,
        wheelbase_mm: 0.0,
        ..climb()
    };
    assert_refused(
        grade_ability(&input),
        &[
            "mass_kg",
            "torque_nm",
            "efficiency",
            "friction_coefficient",
            "front_load_share",
            "wheelbase_mm",
        ],
    );
    let tall = GradeInput {
        driven: DrivenAxles::Rear,
        friction_coefficient: 1.5,
        centre_height_mm: 2_000.0,
        ..climb()
    };
    assert_refused(grade_ability(&tall), &["centre_height_mm"]);
}
