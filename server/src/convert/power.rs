//! Results about electrical power.

use ostler_core::answer::Answer;
use ostler_core::electrical::battery_welding::BatteryWelding;
use ostler_core::electrical::budget::DeviceEnergy;
use ostler_core::electrical::cautions::{CAUTION_BATTERY, CAUTION_CABLE, CAUTION_MAINS, CAUTION_WELDING};
use ostler_core::electrical::generator;
use ostler_core::electrical::recorded::{POWER_FORMULA_VERSION, Power};
use ostler_core::electrical::recorded_circuits::CircuitVerdict;
use ostler_core::electrical::recorded_generator::GeneratorAnswer;
use ostler_core::electrical::recorded_issues::PowerIssue;
use ostler_core::electrical::welder::{AllowedCurrent, SupplyWelding, load_voltage_v};
use ostler_proto::v1;

use super::readiness::answer_message;

/// The power of a system as a message, without the names of departure and vehicle.
pub(crate) fn power_message(
    autonomy_min_days: Option<f64>,
    answer: Answer,
    power: Power,
    issues: Vec<PowerIssue>,
    generator: Option<GeneratorAnswer>,
) -> v1::PowerResult {
    let budget = power.budget.as_ref();
    let drawn = power.discharge.as_ref();
    let voltage_v = drawn
        .filter(|drawn| drawn.usable_ah > 0.0)
        .map(|drawn| drawn.usable_wh / drawn.usable_ah);
    let mut cautions = vec![CAUTION_BATTERY.to_owned(), CAUTION_CABLE.to_owned()];
    if power.battery_welding.is_some() || power.generator_welding.is_some() {
        cautions.extend([CAUTION_WELDING.to_owned(), CAUTION_MAINS.to_owned()]);
    }
    let balance = power.balance.as_ref();
    let first_short = balance.and_then(|balance| balance.first_unmet);
    v1::PowerResult {
        departure: String::new(),
        vehicle: String::new(),
        answer: answer_message(answer).into(),
        issues: issues.into_iter().map(issue_message).collect(),
        devices: budget.map_or_else(Vec::new, |budget| {
            budget.devices.iter().map(device_message).collect()
        }),
        energy_wh_per_day: budget.map(|budget| budget.energy_wh_per_day),
        energy_spread_wh_per_day: budget.and_then(|budget| budget.spread_wh_per_day),
        usable_wh: drawn
            .filter(|drawn| drawn.missing.is_empty())
            .map(|drawn| drawn.usable_wh),
        current_limit_a: drawn.map(|drawn| drawn.current_limit_a),
        running_current_a: budget
            .zip(voltage_v)
            .map(|(budget, voltage_v)| budget.running_power_w / voltage_v),
        bank_provenance: power.bank_provenance,
        autonomy_days: power.autonomy.and_then(|autonomy| autonomy.days),
        autonomy_at_high_draw_days: power.autonomy.and_then(|autonomy| autonomy.days_at_high_draw),
        autonomy_min_days,
        alternator_wh_per_day: power.alternator.map(|charge| charge.energy_wh_per_day),
        panels_wh_per_day: power.panels.map(|charge| charge.energy_wh_per_day),
        lowest_wh: balance.map(|balance| balance.lowest_wh),
        first_day_short: first_short.and_then(|day| i32::try_from(day + 1).ok()),
        circuits: power.circuits.into_iter().map(circuit_message).collect(),
        battery_welding: power.battery_welding.map(battery_welding_message),
        generator_welding: power.generator_welding.map(supply_welding_message),
        generator: generator.map(generator_message),
        cautions,
        formula_version: POWER_FORMULA_VERSION.to_owned(),
    }
}

fn issue_message(issue: PowerIssue) -> v1::PowerIssue {
    let text = if issue.missing.len() > 1 {
        issue.missing.join("; ")
    } else {
        issue.text
    };
    v1::PowerIssue {
        answer: answer_message(issue.answer).into(),
        text,
        remedy: issue.remedy,
    }
}

fn device_message(device: &DeviceEnergy) -> v1::DeviceEnergy {
    v1::DeviceEnergy {
        display_name: device.name.clone(),
        running_power_w: device.running_power_w,
        energy_wh_per_day: device.energy_wh_per_day,
    }
}

fn circuit_message(circuit: CircuitVerdict) -> v1::CircuitVerdict {
    v1::CircuitVerdict {
        answer: answer_message(circuit.answer()).into(),
        display_name: circuit.name,
        drop_v: circuit.drop.drop_v,
        drop_share: circuit.drop.drop_share,
        drop_max_share: circuit.drop_max_share,
        smallest_by_drop_mm2: circuit.smallest_by_drop_mm2,
        fuse_min_a: circuit.fuse.fitting_a.first().copied(),
        fuse_max_a: circuit.fuse.fitting_a.last().copied(),
        fuse_a: circuit.fuse_a,
    }
}

fn limit_message(limit: &AllowedCurrent) -> v1::WeldingLimit {
    v1::WeldingLimit {
        limit: limit.limit.to_string(),
        current_a: limit.welding_current_a,
    }
}

/// The load voltage at a current that came out of the computation.
fn voltage_at(binding: &AllowedCurrent) -> f64 {
    // Within range: every limit is at most the welder's own.
    load_voltage_v(binding.welding_current_a).unwrap_or_default()
}

fn texts(missing: &[&str]) -> Vec<String> {
    missing.iter().map(|missing| (*missing).to_owned()).collect()
}

fn battery_welding_message(welding: BatteryWelding) -> v1::WeldingVerdict {
    v1::WeldingVerdict {
        limits: welding.limits.iter().map(limit_message).collect(),
        binding_limit: welding.binding.limit.to_string(),
        current_max_a: welding.binding.welding_current_a,
        load_voltage_v: voltage_at(&welding.binding),
        battery_current_a: Some(welding.battery_current_a),
        arc_minutes: welding.arc_minutes,
        elapsed_minutes: welding.elapsed_minutes,
        wanted_is_allowed: welding.wanted_is_allowed,
        missing: texts(&welding.missing),
    }
}

fn supply_welding_message(welding: SupplyWelding) -> v1::WeldingVerdict {
    v1::WeldingVerdict {
        limits: welding.limits.iter().map(limit_message).collect(),
        binding_limit: welding.binding.limit.to_string(),
        current_max_a: welding.binding.welding_current_a,
        load_voltage_v: voltage_at(&welding.binding),
        battery_current_a: None,
        arc_minutes: None,
        elapsed_minutes: None,
        wanted_is_allowed: None,
        missing: texts(&welding.missing),
    }
}

fn generator_answer(answer: generator::Answer) -> Answer {
    match answer {
        generator::Answer::Yes => Answer::Met,
        generator::Answer::No => Answer::NotMet,
        generator::Answer::NotKnown => Answer::NotKnown,
    }
}

fn generator_message(answer: GeneratorAnswer) -> v1::GeneratorVerdict {
    let GeneratorAnswer {
        verdict,
        front_axle_saved_kg,
        rear_axle_saved_kg,
        missing,
    } = answer;
    v1::GeneratorVerdict {
        answer: answer_message(generator_answer(verdict.answer)).into(),
        reasons: verdict
            .reasons
            .into_iter()
            .map(|reason| v1::GeneratorReason {
                about: reason.about,
                answer: answer_message(generator_answer(reason.answer)).into(),
                text: reason.text,
            })
            .collect(),
        mass_saved_kg: verdict.mass_saved_kg,
        front_axle_saved_kg,
        rear_axle_saved_kg,
        missing,
    }
}
