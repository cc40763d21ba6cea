//! Battery bank and discharge-rate law.

use ostler_core::electrical::battery::{BatteryBank, DeratingPoint, discharge};
use ostler_core::electrical::battery_welding::weld_from_battery;
use ostler_core::electrical::peukert::{CapacityBasis, MeasuredDischarge, peukert_exponent, peukert_hours};
use proptest::prelude::*;

use super::{INVERTER, WELDER, bank, close, lead_bank};

#[test]
fn peukert_in_both_forms() {
    // Read, an electrical engineering site, 2010: 100 Ah at 1 A, exponent 1.2, 5 A gives 14.5 h; digits own calculation.
    close(
        peukert_hours(100.0, CapacityBasis::OneAmpere, 1.2, 5.0).unwrap(),
        14.496,
        5e-4,
    );
    // Own calculation from the form for rated hours (form read in a maker's note).
    let hours = peukert_hours(100.0, CapacityBasis::RatedHours(20.0), 1.25, 20.0).unwrap();
    close(hours, 3.536, 5e-4);
    close(hours * 20.0, 70.7, 0.05);
    // At the rated current the rated hours come back; the two forms differ by (C/R)^(n-1).
    close(
        peukert_hours(100.0, CapacityBasis::RatedHours(20.0), 1.25, 5.0).unwrap(),
        20.0,
        1e-9,
    );
    let wrong = peukert_hours(100.0, CapacityBasis::OneAmpere, 1.25, 20.0).unwrap();
    close(hours / wrong, 5.0_f64.powf(0.25), 1e-12);
    let rated = MeasuredDischarge {
        current_a: 5.0,
        hours: 20.0,
    };
    let fast = MeasuredDischarge {
        current_a: 20.0,
        hours,
    };
    close(peukert_exponent(rated, fast).unwrap(), 1.25, 1e-12);
}

#[test]
fn peukert_is_for_lead_acid_only() {
    close(discharge(&lead_bank(), 20.0).unwrap().usable_ah, 70.7, 0.05);
    // Below the rated current the law would promise more than the rating: it does not.
    close(discharge(&lead_bank(), 1.0).unwrap().usable_ah, 100.0, 0.0);
    close(discharge(&bank(), 200.0).unwrap().usable_ah, 160.0, 1e-9);
    let mut wrong = bank();
    wrong.chemistry.peukert_exponent = Some(1.25);
    let refused = discharge(&wrong, 20.0).unwrap_err();
    assert_eq!(refused.violations[0].field, "chemistry.peukert_exponent");
    let unknown = BatteryBank {
        capacity_basis: None,
        ..lead_bank()
    };
    assert_eq!(discharge(&unknown, 20.0).unwrap().missing, ["capacity_basis"]);
}

#[test]
fn missing_facts_of_a_bank_are_named() {
    close(discharge(&bank(), 0.0).unwrap().usable_wh, 2_048.0, 1e-9);
    let cold = BatteryBank {
        temperature_c: Some(0.0),
        ..bank()
    };
    // Own calculation from the typical table: 85 % at 0 degrees.
    close(discharge(&cold, 0.0).unwrap().usable_wh, 1_740.8, 1e-9);
    let unknown = BatteryBank {
        temperature_c: None,
        health_share: None,
        ..bank()
    };
    assert_eq!(
        discharge(&unknown, 0.0).unwrap().missing,
        ["temperature_c", "health_share"]
    );
    let arctic = BatteryBank {
        temperature_c: Some(-40.0),
        ..bank()
    };
    assert_eq!(
        discharge(&arctic, 0.0).unwrap_err().violations[0].field,
        "temperature_c"
    );
}

#[test]
fn every_bad_field_of_a_bank_is_named() {
    let mut bad = bank();
    bad.voltage_v = f64::NAN;
    bad.capacity_ah = -1.0;
    bad.chemistry.usable_share = 0.0;
    bad.chemistry.derating = vec![
        DeratingPoint {
            temperature_c: 25.0,
            capacity_share: 1.0,
        },
        DeratingPoint {
            temperature_c: 0.0,
            capacity_share: f64::INFINITY,
        },
    ];
    let refused = weld_from_battery(&bad, &INVERTER, &WELDER, Some(0.0), 2.0).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    for field in [
        "bank.chemistry.usable_share",
        "bank.chemistry.derating",
        "bank.chemistry.derating[1].capacity_share",
        "bank.voltage_v",
        "bank.capacity_ah",
        "wanted_current_a",
        "duty_share",
    ] {
        assert!(fields.contains(&field), "{field} not among {fields:?}");
    }
}

proptest! {
    #[test]
    fn lead_acid_gives_less_the_faster_it_is_drawn(current_a in 0.01..500.0_f64, more in 1.0..3.0_f64, temperature_c in -20.0..49.0_f64) {
        let bank = BatteryBank { temperature_c: Some(temperature_c), ..lead_bank() };
        let slow = discharge(&bank, current_a).unwrap();
        let fast = discharge(&bank, current_a * more).unwrap();
        prop_assert!(fast.usable_ah <= slow.usable_ah && slow.usable_ah <= bank.capacity_ah);
        let warmer = BatteryBank { temperature_c: Some(temperature_c + 1.0), ..bank.clone() };
        prop_assert!(discharge(&warmer, current_a).unwrap().usable_ah >= slow.usable_ah);
    }
}
