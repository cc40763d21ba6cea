//! Cables and fuses.

use ostler_core::electrical::cable::{
    CableRun, ConductorClass, DROP_SHARE_CRITICAL, MM2_PER_CIRCULAR_MIL, SizeAmpacity, circular_mils,
    resistance_ohm_per_km, size_cable, voltage_drop,
};
use ostler_core::electrical::fuse::{FuseReason, RATINGS_COMMON_PRACTICE_A, choose_fuse};
use proptest::prelude::*;

use super::close;

fn run(temperature_c: f64) -> CableRun {
    CableRun {
        current_a: 260.4,
        length_one_way_m: 1.5,
        system_voltage_v: 12.8,
        class: ConductorClass::Class5,
        temperature_c,
    }
}

#[test]
fn drops_of_an_inverter_cable() {
    // IEC 60228 resistances (read in four makers' tables); drops are own calculation.
    for (size_mm2, drop_v, cold_percent, hot_percent) in [
        (35.0, 0.433, 3.38, 4.06),
        (50.0, 0.302, 2.36, 2.83),
        (70.0, 0.2125, 1.66, 1.99),
    ] {
        let cold = voltage_drop(&run(20.0), size_mm2).unwrap();
        close(cold.drop_v, drop_v, 5e-4);
        close(cold.drop_share * 100.0, cold_percent, 0.005);
        close(
            voltage_drop(&run(70.0), size_mm2).unwrap().drop_share * 100.0,
            hot_percent,
            0.006,
        );
    }
    close(
        resistance_ohm_per_km(50.0, ConductorClass::Class2, 20.0).unwrap(),
        0.387,
        0.0,
    );
    // The linear law of copper (0.00393 per kelvin, from memory) agrees with the divisors within 0.5 %.
    for temperature_c in [30.0, 55.0, 70.0, 90.0] {
        let ratio = resistance_ohm_per_km(6.0, ConductorClass::Class5, temperature_c).unwrap() / 3.30;
        close(ratio, 1.0 + 0.00393 * (temperature_c - 20.0), 0.007);
    }
}

#[test]
fn smallest_cable() {
    let ampacities = [
        SizeAmpacity {
            size_mm2: 50.0,
            ampacity_a: 250.0,
        },
        SizeAmpacity {
            size_mm2: 70.0,
            ampacity_a: 300.0,
        },
    ];
    let sizing = size_cable(&run(70.0), DROP_SHARE_CRITICAL, &ampacities).unwrap();
    assert_eq!(sizing.smallest_by_drop_mm2, Some(50.0));
    assert_eq!(sizing.smallest_mm2, Some(70.0));
    assert_eq!(
        size_cable(&run(70.0), DROP_SHARE_CRITICAL, &[])
            .unwrap()
            .smallest_mm2,
        None
    );
    let refused = voltage_drop(&run(10.0), 36.0).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(fields, ["size_mm2", "run.temperature_c"]);
}

#[test]
fn bilge_pump_in_circular_mils() {
    // A chandler's worked example (read): 10 A, 11 + 10 ft, 12 V, 3 %: 12 AWG of 6,500 CM does, SAE 12 of
    // 5,833 CM does not. The figure in between is own calculation.
    let area = circular_mils(10.0, 21.0, 0.03 * 12.0).unwrap();
    close(area, 6_271.0, 0.5);
    assert!(area <= 6_500.0 && area > 5_833.0);
    close(area * MM2_PER_CIRCULAR_MIL, 3.18, 0.005);
    // The size from resistances agrees: 4 mm2 is the next above 3.18 mm2.
    let pump = CableRun {
        current_a: 10.0,
        length_one_way_m: 10.5 * 0.3048,
        system_voltage_v: 12.0,
        class: ConductorClass::Class5,
        temperature_c: 30.0,
    };
    assert_eq!(
        size_cable(&pump, DROP_SHARE_CRITICAL, &[])
            .unwrap()
            .smallest_by_drop_mm2,
        Some(4.0)
    );
}

#[test]
fn fuse_between_load_and_cable() {
    let found = choose_fuse(260.4, Some(300.0), &RATINGS_COMMON_PRACTICE_A).unwrap();
    assert_eq!((found.chosen_a, found.reason), (Some(300.0), FuseReason::Found));
    // The rating must exceed the load, not equal it.
    assert_eq!(
        choose_fuse(30.0, Some(40.0), &RATINGS_COMMON_PRACTICE_A)
            .unwrap()
            .chosen_a,
        Some(40.0)
    );
    let reason = |load_a, ampacity_a| {
        choose_fuse(load_a, ampacity_a, &RATINGS_COMMON_PRACTICE_A)
            .unwrap()
            .reason
    };
    assert_eq!(reason(41.0, Some(45.0)), FuseReason::NoRatingInRange);
    assert_eq!(reason(41.0, Some(35.0)), FuseReason::CableTooSmall);
    assert_eq!(reason(41.0, None), FuseReason::AmpacityNotKnown);
}

proptest! {
    #[test]
    fn drop_rises_with_length_current_and_temperature_and_falls_with_size(
        current_a in 0.1..500.0_f64, length_one_way_m in 0.1..20.0_f64, temperature_c in 20.0..80.0_f64, more in 1.0..2.0_f64,
    ) {
        let run = CableRun { current_a, length_one_way_m, system_voltage_v: 12.0, class: ConductorClass::Class5, temperature_c };
        let drop_v = |run: CableRun, size_mm2| voltage_drop(&run, size_mm2).unwrap().drop_v;
        let base_v = drop_v(run, 16.0);
        let longer_v = drop_v(CableRun { length_one_way_m: length_one_way_m * more, ..run }, 16.0);
        prop_assert!((longer_v - base_v * more).abs() <= 1e-9 * longer_v);
        let stronger_v = drop_v(CableRun { current_a: current_a * more, ..run }, 16.0);
        prop_assert!((stronger_v - longer_v).abs() <= 1e-9 * longer_v);
        let hotter_v = drop_v(CableRun { temperature_c: temperature_c + 10.0, ..run }, 16.0);
        prop_assert!(hotter_v > base_v);
        prop_assert!(drop_v(run, 25.0) < base_v);
        let sizing = size_cable(&run, 0.03, &[]).unwrap();
        if let Some(size_mm2) = sizing.smallest_by_drop_mm2 {
            prop_assert!(drop_v(run, size_mm2) <= 0.03 * 12.0 * (1.0 + 1e-12));
        }
    }
}
