//! The electrical power of a vehicle as recorded: budget, bank, charging, welding and circuits, and what
//! that means for the departure.

use super::autonomy::{Autonomy, Balance, Flow, Period, balance, days_without_charging};
use super::battery::{BatteryBank, Discharge, discharge};
use super::battery_welding::{BatteryWelding, weld_from_battery};
use super::budget::{DailyBudget, Device, Feed, daily_budget};
use super::charging::{Acceptance, DailyCharge, acceptance, alternator_charge, panel_charge};
use super::recorded_circuits::{CircuitVerdict, judge_circuit};
use super::welder::{SupplyWelding, weld_from_supply};
use crate::check::InvalidInput;
use crate::record::{Departure, ElectricalSystem, PowerPlan, Vehicle};

/// Version of the formulas. It changes when a result may change for the same record.
pub const POWER_FORMULA_VERSION: &str = "power/1";

/// Share of the time in which the arc burns while somebody welds, where the plan states none: common
/// practice, no source.
pub const WELDING_DUTY_SHARE: f64 = 0.35;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct PowerInput<'a> {
    /// The system.
    pub system: &'a ElectricalSystem,
    /// What is asked of it.
    pub plan: &'a PowerPlan,
    /// Days that the bank must last without charging, 0 to 365. `None`: not known.
    pub autonomy_min_days: Option<f64>,
    /// Days over which the balance of the bank is followed, 1 to 1,000.
    pub days: u32,
}

/// What came out. A figure that is `None` is not known, and `missing` says why.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Power {
    /// Inputs that are missing, in words.
    pub missing: Vec<String>,
    /// What the devices take in a day.
    pub budget: Option<DailyBudget>,
    /// What the bank gives at a slow draw.
    pub discharge: Option<Discharge>,
    /// Where the values of the bank come from.
    pub bank_provenance: String,
    /// The values of the bank are those typical of its family.
    pub values_are_typical: bool,
    /// What the bank accepts.
    pub acceptance: Option<Acceptance>,
    /// Days without charging.
    pub autonomy: Option<Autonomy>,
    /// What the alternator puts in.
    pub alternator: Option<DailyCharge>,
    /// What the panels put in.
    pub panels: Option<DailyCharge>,
    /// The balance of the bank over the days, each day drawn on before it is charged.
    pub balance: Option<Balance>,
    /// Devices behind the inverter together, W at its output.
    pub inverter_load_w: Option<f64>,
    /// Every circuit.
    pub circuits: Vec<CircuitVerdict>,
    /// Welding from the bank through the inverter.
    pub battery_welding: Option<BatteryWelding>,
    /// Welding from the generator.
    pub generator_welding: Option<SupplyWelding>,
}

/// The electrical power of a system.
///
/// # Errors
/// Values outside the ranges of their fields, by the path within the system or the plan.
pub fn power(input: &PowerInput<'_>) -> Result<Power, InvalidInput> {
    let mut found = Power::default();
    if input.autonomy_min_days.is_none() {
        found
            .missing
            .push("the days that the bank must last without charging are not stated".to_owned());
    }
    if let Some(bank) = bank(input, &mut found) {
        energy(input, &bank, &mut found)?;
        for (index, circuit) in input.system.circuits.iter().enumerate() {
            let verdict = judge_circuit(circuit, bank.voltage_v)
                .map_err(|refused| refused.within(&format!("system.circuits[{index}]")))?;
            found.circuits.push(verdict);
        }
        welding_from_bank(input, &bank, &mut found)?;
    }
    if let (Some(welder), Some(generator)) = (&input.system.welder, &input.system.generator) {
        let welding = weld_from_supply(generator.rated_power_w, generator.rated_va, welder)
            .map_err(|refused| refused.within("system"))?;
        found.generator_welding = Some(welding);
    }
    Ok(found)
}

/// The power of a vehicle that goes. Never fails: what cannot be computed is missing.
pub fn vehicle_power(departure: &Departure, vehicle: &Vehicle) -> Power {
    let Some((system, plan)) = recorded(departure, vehicle) else {
        let mut missing = Vec::new();
        if vehicle.specification.electrical.is_none() {
            missing.push("its electrical system is not on record".to_owned());
        }
        if plan_of(departure, vehicle).is_none() {
            missing.push("the departure does not say how long its devices run".to_owned());
        }
        return Power {
            missing,
            ..Power::default()
        };
    };
    power(&recorded_input(departure, system, plan)).unwrap_or_else(|refused| Power {
        missing: vec![format!("its power cannot be computed: {refused}")],
        ..Power::default()
    })
}

/// System and plan of a vehicle that goes. `None`: one of them is not on record.
pub fn recorded<'a>(
    departure: &'a Departure,
    vehicle: &'a Vehicle,
) -> Option<(&'a ElectricalSystem, &'a PowerPlan)> {
    vehicle
        .specification
        .electrical
        .as_ref()
        .zip(plan_of(departure, vehicle))
}

/// What is asked of a system and plan that are recorded.
pub fn recorded_input<'a>(
    departure: &Departure,
    system: &'a ElectricalSystem,
    plan: &'a PowerPlan,
) -> PowerInput<'a> {
    PowerInput {
        system,
        plan,
        autonomy_min_days: departure.policy.power_autonomy_min_days,
        days: planned_days(departure),
    }
}

fn plan_of<'a>(departure: &'a Departure, vehicle: &Vehicle) -> Option<&'a PowerPlan> {
    let going = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == vehicle.name)?;
    going.power_plan.as_ref()
}

/// Planned days of all legs and the rest days that are not placed, rounded up, 1 to 1,000.
pub fn planned_days(departure: &Departure) -> u32 {
    let on_legs: f64 = departure.legs.iter().map(|leg| leg.planned_days).sum();
    let resting = departure.policy.water.unwrap_or_default().unplaced_rest_days;
    // The clamp keeps it in range.
    (on_legs + resting).ceil().clamp(1.0, 1_000.0) as u32
}

/// The bank at the temperature of the plan.
fn bank(input: &PowerInput<'_>, found: &mut Power) -> Option<BatteryBank> {
    let Some(recorded) = &input.system.bank else {
        found.missing.push("the battery bank is not on record".to_owned());
        return None;
    };
    found
        .bank_provenance
        .clone_from(&recorded.bank.chemistry.provenance);
    found.values_are_typical = recorded.values_are_typical;
    Some(BatteryBank {
        temperature_c: input.plan.battery_temperature_c,
        ..recorded.bank.clone()
    })
}

fn energy(input: &PowerInput<'_>, bank: &BatteryBank, found: &mut Power) -> Result<(), InvalidInput> {
    let drawn = discharge(bank, 0.0).map_err(|refused| refused.within("system.bank"))?;
    for field in &drawn.missing {
        found.missing.push(missing_of_bank(field));
    }
    found.discharge = Some(drawn);
    let accepted = acceptance(bank).map_err(|refused| refused.within("system.bank"))?;
    let acceptance_a = Some(accepted.current_a);
    found.acceptance = Some(accepted);
    charging(input, acceptance_a, found)?;

    let Some(devices) = devices(input, found) else {
        return Ok(());
    };
    let budget = daily_budget(&devices, bank.voltage_v).map_err(|refused| refused.within("system"))?;
    if found.missing.is_empty() {
        let usable_wh = found.discharge.as_ref().map_or(0.0, |drawn| drawn.usable_wh);
        let drawn_wh = if budget.energy_wh_per_day < 0.001 {
            0.0
        } else {
            budget.energy_wh_per_day
        };
        found.autonomy = Some(days_without_charging(
            usable_wh,
            drawn_wh,
            budget.spread_wh_per_day,
        )?);
        let offered_wh = [found.alternator, found.panels]
            .iter()
            .flatten()
            .map(|charge| charge.energy_wh_per_day)
            .sum();
        let day = Period {
            drawn_wh,
            offered_wh,
            flow: Flow::DrawThenCharge,
        };
        let days = vec![day; usize::try_from(input.days).unwrap_or(1)];
        let efficiency = bank.chemistry.charge_efficiency;
        found.balance = Some(balance(usable_wh, usable_wh, efficiency, &days)?);
    }
    found.budget = Some(budget);
    Ok(())
}

fn missing_of_bank(field: &str) -> String {
    match field {
        "temperature_c" => "the temperature of the battery to count with is not known".to_owned(),
        "health_share" => "the battery's capacity against that when new is not measured".to_owned(),
        "chemistry.derating" => "the battery's capacity against temperature is not known".to_owned(),
        other => format!("the battery's {other} is not known"),
    }
}

fn charging(
    input: &PowerInput<'_>,
    acceptance_a: Option<f64>,
    found: &mut Power,
) -> Result<(), InvalidInput> {
    if let Some(alternator) = input.system.alternator {
        match input.plan.engine_h_per_day {
            Some(hours_per_day) => {
                let alternator = super::charging::AlternatorCharging {
                    hours_per_day,
                    ..alternator
                };
                let charge = alternator_charge(&alternator, acceptance_a)
                    .map_err(|refused| refused.within("system.alternator"))?;
                found.alternator = Some(charge);
            }
            None => found
                .missing
                .push("the hours of engine running on a day are not known".to_owned()),
        }
    }
    if let Some(panels) = &input.system.panels {
        match input.plan.peak_sun_h_per_day {
            Some(peak_sun_hours) => {
                let panels = super::charging::PanelCharging {
                    peak_sun_hours,
                    ..panels.clone()
                };
                let charge =
                    panel_charge(&panels, acceptance_a).map_err(|refused| refused.within("system.panels"))?;
                found.panels = Some(charge);
            }
            None => found
                .missing
                .push("the hours of full sun on a day are not known".to_owned()),
        }
    }
    Ok(())
}

/// The devices with their duty. `None`: something about one of them is missing.
fn devices(input: &PowerInput<'_>, found: &mut Power) -> Option<Vec<Device>> {
    let before = found.missing.len();
    if input.system.devices.is_empty() {
        found
            .missing
            .push("no device of its electrical system is on record".to_owned());
    }
    let mut devices = Vec::new();
    let mut inverter_load_w = 0.0;
    for device in &input.system.devices {
        let name = match device.display_name.as_str() {
            "" => device.id.to_string(),
            name => name.to_owned(),
        };
        let duty = input.plan.duties.iter().find(|duty| duty.device == device.id);
        if duty.is_none() {
            found.missing.push(format!("how long {name} runs is not known"));
        }
        if device.draw.is_none() {
            found.missing.push(format!("what {name} takes is not known"));
        }
        let feed = match (
            device.via_inverter,
            &input.system.inverter,
            device.converter_efficiency,
        ) {
            (true, Some(inverter), _) => Some(Feed::Converter {
                efficiency: inverter.efficiency,
            }),
            (true, None, _) => {
                found
                    .missing
                    .push(format!("{name} needs an inverter, and none is on record"));
                None
            }
            (false, _, Some(efficiency)) => Some(Feed::Converter { efficiency }),
            (false, _, None) => Some(Feed::Direct),
        };
        let (Some(duty), Some(draw), Some(feed)) = (duty, device.draw, feed) else {
            continue;
        };
        if device.via_inverter
            && let super::budget::Draw::PowerW(power_w) = draw
        {
            inverter_load_w += power_w * f64::from(device.quantity);
        }
        devices.push(Device {
            name,
            quantity: device.quantity,
            draw,
            feed,
            hours_per_day: duty.on_h_per_day,
            duty_share: duty.duty_share,
            spread_share: device.spread_share,
        });
    }
    found.inverter_load_w = Some(inverter_load_w).filter(|_| input.system.inverter.is_some());
    (found.missing.len() == before).then_some(devices)
}

fn welding_from_bank(
    input: &PowerInput<'_>,
    bank: &BatteryBank,
    found: &mut Power,
) -> Result<(), InvalidInput> {
    let (Some(inverter), Some(welder)) = (&input.system.inverter, &input.system.welder) else {
        return Ok(());
    };
    let wanted_a = input
        .plan
        .welding_current_a
        .map(|wanted_a| wanted_a.min(super::welder::WELDING_CURRENT_MAX_A));
    let duty_share = input.plan.welding_duty_share.unwrap_or(WELDING_DUTY_SHARE);
    let welding = weld_from_battery(bank, inverter, welder, wanted_a, duty_share)
        .map_err(|refused| refused.within("system"))?;
    found.battery_welding = Some(welding);
    Ok(())
}
