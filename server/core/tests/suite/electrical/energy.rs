//! Budget, charging and autonomy.

use ostler_core::electrical::autonomy::{Flow, Period, balance, days_without_charging};
use ostler_core::electrical::battery::BatteryBank;
use ostler_core::electrical::budget::{Device, Draw, Feed, daily_budget};
use ostler_core::electrical::charging::{
    AlternatorCharging, ChargeLimit, PanelCharging, acceptance, alternator_charge, panel_charge,
};
use proptest::prelude::*;

use super::{bank, close};

fn device(power_w: f64, hours_per_day: f64, duty_share: f64, spread_share: Option<f64>) -> Device {
    Device {
        name: format!("device of {power_w} W"),
        quantity: 1,
        draw: Draw::PowerW(power_w),
        feed: Feed::Direct,
        hours_per_day,
        duty_share,
        spread_share,
    }
}

#[test]
fn a_days_budget() {
    // Own calculation: 45 W x 24 h x 40 % = 432 Wh; 2 A x 12 V x 5 h = 120 Wh; 90 W x 2 h / 0.9 = 200 Wh.
    let fridge = device(45.0, 24.0, 0.4, Some(0.1));
    let lights = Device {
        draw: Draw::CurrentA(2.0),
        ..device(0.0, 5.0, 1.0, Some(0.0))
    };
    let computer = Device {
        feed: Feed::Converter { efficiency: 0.9 },
        ..device(90.0, 2.0, 1.0, Some(0.2))
    };
    let budget = daily_budget(&[fridge, lights, computer], 12.0).unwrap();
    close(budget.energy_wh_per_day, 752.0, 1e-9);
    close(budget.charge_ah_per_day, 752.0 / 12.0, 1e-9);
    close(
        budget.spread_wh_per_day.unwrap(),
        (43.2_f64.powi(2) + 40.0_f64.powi(2)).sqrt(),
        1e-9,
    );
    close(budget.running_power_w, 45.0 + 24.0 + 100.0, 1e-9);
    let unknown = daily_budget(&[device(10.0, 1.0, 1.0, None)], 12.0).unwrap();
    assert_eq!(unknown.spread_wh_per_day, None);
    assert_eq!(unknown.spread_not_known_for, ["device of 10 W"]);
}

#[test]
fn a_days_charging() {
    let alternator = AlternatorCharging {
        rated_current_a: 120.0,
        hot_share: 0.7,
        vehicle_current_a: 30.0,
        charger_limit_a: Some(40.0),
        charge_voltage_v: 14.0,
        hours_per_day: 5.0,
    };
    // Own calculation: 120 x 0.7 - 30 = 54 A, charger 40 A, 40 x 14 x 5 = 2,800 Wh.
    let charge = alternator_charge(&alternator, Some(acceptance(&bank()).unwrap().current_a)).unwrap();
    assert_eq!(charge.limit, ChargeLimit::Charger);
    close(charge.energy_wh_per_day, 2_800.0, 1e-9);
    let frozen = BatteryBank {
        temperature_c: Some(-5.0),
        ..bank()
    };
    let refused = alternator_charge(&alternator, Some(acceptance(&frozen).unwrap().current_a)).unwrap();
    assert_eq!(
        (refused.limit, refused.energy_wh_per_day),
        (ChargeLimit::Acceptance, 0.0)
    );
    let panels = PanelCharging {
        rated_power_w: 300.0,
        peak_sun_hours: 5.0,
        loss_shares: vec![0.1, 0.2],
        controller_efficiency: 0.95,
        controller_limit_a: None,
        charge_voltage_v: 14.0,
    };
    // Own calculation: 300 x 5 x 0.9 x 0.8 x 0.95 = 1,026 Wh.
    close(
        panel_charge(&panels, None).unwrap().energy_wh_per_day,
        1_026.0,
        1e-9,
    );
}

#[test]
fn days_and_the_first_dark_one() {
    let autonomy = days_without_charging(2_048.0, 1_024.0, Some(256.0)).unwrap();
    close(autonomy.days.unwrap(), 2.0, 1e-12);
    close(autonomy.days_at_high_draw.unwrap(), 1.6, 1e-12);
    assert_eq!(days_without_charging(2_048.0, 0.0, None).unwrap().days, None);
    let day = Period {
        drawn_wh: 1_024.0,
        offered_wh: 500.0,
        flow: Flow::DrawThenCharge,
    };
    // Own calculation: 2,048 - 1,024 + 475 = 1,499; - 1,024 + 475 = 950; the third day lacks 74 Wh.
    let outcome = balance(2_048.0, 2_048.0, 0.95, &[day; 4]).unwrap();
    assert_eq!(outcome.first_unmet, Some(2));
    close(outcome.periods[2].unmet_wh, 74.0, 1e-9);
}

proptest! {
    #[test]
    fn energy_is_conserved_over_the_days(
        usable_wh in 10.0..5_000.0_f64, start_share in 0.0..=1.0_f64, efficiency in 0.5..=1.0_f64,
        periods in prop::collection::vec((0.001..3_000.0_f64, 0.0..3_000.0_f64, any::<bool>()), 0..40),
    ) {
        let periods: Vec<_> = periods.into_iter().map(|(drawn_wh, offered_wh, together)| Period {
            drawn_wh, offered_wh, flow: if together { Flow::Together } else { Flow::DrawThenCharge },
        }).collect();
        let outcome = balance(usable_wh, usable_wh * start_share, efficiency, &periods).unwrap();
        let mut stored_wh = usable_wh * start_share;
        for (period, step) in periods.iter().zip(&outcome.periods) {
            prop_assert!((step.start_wh - stored_wh).abs() < 1e-9);
            prop_assert!((step.direct_wh + step.taken_wh + step.refused_wh - period.offered_wh).abs() < 1e-6);
            prop_assert!((step.direct_wh + step.given_wh + step.unmet_wh - period.drawn_wh).abs() < 1e-6);
            prop_assert!((step.start_wh - step.given_wh + step.taken_wh * efficiency - step.end_wh).abs() < 1e-6);
            for energy_wh in [step.direct_wh, step.taken_wh, step.refused_wh, step.given_wh, step.unmet_wh, step.end_wh] {
                prop_assert!(energy_wh >= 0.0);
            }
            prop_assert!(step.end_wh <= usable_wh);
            stored_wh = step.end_wh;
        }
    }

    #[test]
    fn a_budget_adds_up(
        lines in prop::collection::vec((0.0..500.0_f64, 0.0..=24.0_f64, 0.0..=1.0_f64, 0.0..1.0_f64), 0..30),
    ) {
        let devices: Vec<_> = lines.iter().map(|&(power_w, hours, duty, spread)| device(power_w, hours, duty, Some(spread))).collect();
        let whole = daily_budget(&devices, 12.0).unwrap();
        let (left, right) = devices.split_at(devices.len() / 2);
        let parts = daily_budget(left, 12.0).unwrap().energy_wh_per_day + daily_budget(right, 12.0).unwrap().energy_wh_per_day;
        prop_assert!((whole.energy_wh_per_day - parts).abs() <= 1e-9 * (1.0 + parts));
        prop_assert!(whole.energy_wh_per_day <= whole.running_power_w * 24.0 + 1e-9);
        prop_assert!(whole.spread_wh_per_day.unwrap() <= whole.energy_wh_per_day + 1e-9);
    }
}
