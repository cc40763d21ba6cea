//! Checks of `ostler_core::electrical`.

mod battery;
mod cable;
mod energy;
mod generator;
mod welding;

use ostler_core::electrical::battery::{BatteryBank, Chemistry};
use ostler_core::electrical::battery_welding::{BatteryWelding, weld_from_battery};
use ostler_core::electrical::inverter::Inverter;
use ostler_core::electrical::peukert::CapacityBasis;
use ostler_core::electrical::welder::Welder;

#[track_caller]
fn close(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "found {found}, wanted {wanted} within {tolerance}"
    );
}

/// 200 Ah of lithium iron phosphate at 12.8 V, 80 % usable, 1 C, at rated temperature and health.
fn bank() -> BatteryBank {
    BatteryBank {
        chemistry: Chemistry::lithium_iron_phosphate_typical(),
        voltage_v: 12.8,
        capacity_ah: 200.0,
        capacity_basis: None,
        temperature_c: Some(25.0),
        health_share: Some(1.0),
    }
}

fn lead_bank() -> BatteryBank {
    BatteryBank {
        chemistry: Chemistry {
            usable_share: 1.0,
            ..Chemistry::lead_acid_typical()
        },
        voltage_v: 12.0,
        capacity_ah: 100.0,
        capacity_basis: Some(CapacityBasis::RatedHours(20.0)),
        temperature_c: Some(25.0),
        health_share: Some(1.0),
    }
}

const INVERTER: Inverter = Inverter {
    rated_power_w: 3_000.0,
    rated_va: Some(3_000.0),
    efficiency: 0.90,
};
const WELDER: Welder = Welder {
    source_efficiency: 0.85,
    power_factor: Some(1.0),
    current_max_a: 160.0,
};

#[expect(clippy::unwrap_used, reason = "a test helper: a refusal fails the test")]
fn weld(bank: &BatteryBank, wanted_a: Option<f64>) -> BatteryWelding {
    weld_from_battery(bank, &INVERTER, &WELDER, wanted_a, 0.35).unwrap()
}
