//! Properties of ratios, speeds and grade ability.

use ostler_core::driveline::speedometer::{legal_band, odometer_factor};
use ostler_core::driveline::{
    Driveline, DrivenAxles, Gear, GradeInput, SpeedometerChange, TransferRange, crawl_ratio, grade_ability,
    overall_ratios,
};
use proptest::prelude::*;

use super::grade::climb;

fn drivelines() -> impl Strategy<Value = Driveline> {
    (
        prop::collection::vec(1.05..1.9_f64, 2..8),
        0.6..1.0_f64,
        1.0..4.0_f64,
        3.0..5.5_f64,
    )
        .prop_map(|(steps, top, low, axle_ratio)| {
            let mut ratios = vec![top];
            for step in steps {
                ratios.push(ratios[ratios.len() - 1] * step);
            }
            ratios.reverse();
            let gears = ratios
                .into_iter()
                .enumerate()
                .map(|(index, ratio)| Gear {
                    name: format!("{}", index + 1),
                    ratio,
                    is_reverse: false,
                })
                .collect();
            let range = |name: &str, ratio| TransferRange {
                name: name.to_owned(),
                ratio,
            };
            Driveline {
                gears,
                ranges: vec![range("high", 1.0), range("low", low)],
                axle_ratio,
                hub_ratio: 1.0,
            }
        })
}

fn driven() -> impl Strategy<Value = DrivenAxles> {
    prop_oneof![
        Just(DrivenAxles::Front),
        Just(DrivenAxles::Rear),
        Just(DrivenAxles::Both)
    ]
}

proptest! {
    #[test]
    fn gears_are_ordered_and_none_exceeds_the_crawl_ratio(driveline in drivelines()) {
        // The top of eight steps of 1.9 exceeds what a stage may have.
        prop_assume!(driveline.gears[0].ratio <= 50.0);
        let ratios = overall_ratios(&driveline).unwrap();
        let crawl = crawl_ratio(&driveline).unwrap().unwrap();
        for name in ["high", "low"] {
            let in_range: Vec<f64> =
                ratios.iter().filter(|overall| overall.range == name).map(|overall| overall.ratio).collect();
            prop_assert!(in_range.windows(2).all(|pair| pair[0] > pair[1]));
            prop_assert!(in_range.iter().all(|ratio| *ratio <= crawl.ratio));
        }
    }

    #[test]
    fn a_change_and_its_undoing_cancel(
        before_mm in 600.0..1_000.0_f64,
        after_mm in 600.0..1_000.0_f64,
        ratio_before in 3.0..5.5_f64,
        ratio_after in 3.0..5.5_f64,
        drive in 0.8..1.2_f64,
    ) {
        let change = SpeedometerChange {
            tyre_diameter_before_mm: before_mm,
            tyre_diameter_after_mm: after_mm,
            wheel_ratio_before: ratio_before,
            wheel_ratio_after: ratio_after,
            speedometer_drive_before: 1.0,
            speedometer_drive_after: drive,
        };
        let undone = SpeedometerChange {
            tyre_diameter_before_mm: after_mm,
            tyre_diameter_after_mm: before_mm,
            wheel_ratio_before: ratio_after,
            wheel_ratio_after: ratio_before,
            speedometer_drive_before: drive,
            speedometer_drive_after: 1.0,
        };
        let product = odometer_factor(&change).unwrap() * odometer_factor(&undone).unwrap();
        prop_assert!((product - 1.0).abs() <= 1e-12);
    }

    #[test]
    fn the_legal_band_never_lies_below_the_true_speed(speed in 0.1..400.0_f64) {
        let band = legal_band(speed).unwrap();
        prop_assert!(band.least_km_per_h >= speed && band.most_km_per_h >= band.least_km_per_h + 4.0);
    }

    #[test]
    fn more_torque_never_climbs_less_and_more_mass_or_drag_never_more(
        torque_nm in 10.0..2_000.0_f64,
        more in 1.0..2.0_f64,
        driven in driven(),
        friction_coefficient in 0.1..1.0_f64,
    ) {
        let input = GradeInput { torque_nm, driven, friction_coefficient, ..climb() };
        let angle = |input: &GradeInput| grade_ability(input).unwrap().angle_deg;
        let found = angle(&input);
        prop_assert!(found.is_finite());
        let stronger = angle(&GradeInput { torque_nm: torque_nm * more, ..input });
        let heavier = angle(&GradeInput { mass_kg: 4_500.0 * more, ..input });
        let stickier = angle(&GradeInput { rolling_resistance: 0.015 * more, ..input });
        let on_both = angle(&GradeInput { driven: DrivenAxles::Both, ..input });
        prop_assert!(stronger >= found - 1e-9);
        prop_assert!(heavier <= found + 1e-9);
        prop_assert!(stickier <= found + 1e-9);
        prop_assert!(on_both >= found - 1e-9);
    }
}
