//! The question about the generator as recorded: the verdict, and what it saves on mass and axles.

use super::battery::BatteryBank;
use super::generator::{
    CarriedItem, Demand, DemandKind, GeneratorQuestion, GeneratorVerdict, leave_generator,
};
use super::recorded::{Power, PowerInput};
use crate::check::InvalidInput;
use crate::record::{CargoItem, PowerDemandKind, Record, Vehicle};

/// Most days that the question follows.
const DAYS_MAX: u32 = 1_000;

/// The answer with what it saves.
#[derive(Debug, Clone, PartialEq)]
pub struct GeneratorAnswer {
    /// The verdict.
    pub verdict: GeneratorVerdict,
    /// Kilograms less on the front axle. `None`: not known.
    pub front_axle_saved_kg: Option<f64>,
    /// Kilograms less on the rear axle. `None`: not known.
    pub rear_axle_saved_kg: Option<f64>,
    /// What is missing for the masses.
    pub missing: Vec<String>,
}

/// Whether the generator can stay at home. `None`: nobody asks, or there is no bank or inverter to ask about.
///
/// Masses are taken from the cargo of `record` and levered about the axles of `vehicle`; the other loads do not
/// matter to the difference. Without them only what comes instead is counted.
///
/// # Errors
/// Values outside the ranges of their fields.
pub fn generator_answer(
    input: &PowerInput<'_>,
    found: &Power,
    at: Option<(&Record, &Vehicle)>,
) -> Result<Option<GeneratorAnswer>, InvalidInput> {
    let Some(asked) = &input.plan.generator_question else {
        return Ok(None);
    };
    let bank = asked.bank.as_ref().or(input.system.bank.as_ref());
    let inverter = asked.inverter.or(input.system.inverter);
    let (Some(bank), Some(inverter)) = (bank, inverter) else {
        return Ok(None);
    };
    let mut missing = Vec::new();
    let demands = demands(input, &mut missing);
    let left_at_home = left_at_home(input, at, &mut missing);
    let comes_instead: Vec<CarriedItem> = asked
        .comes_instead
        .iter()
        .map(|item| CarriedItem {
            name: item.display_name.clone(),
            vehicle: String::new(),
            mass_kg: item.mass_kg,
            x_mm: item.position.x_mm,
            y_mm: item.position.y_mm,
            z_mm: item.position.z_mm.unwrap_or(0.0),
        })
        .collect();
    // The alternator and the panels charge as before: their limits are those of their own devices.
    let offered = found.missing.is_empty().then(|| {
        let charges = [found.alternator, found.panels];
        charges
            .iter()
            .flatten()
            .map(|charge| charge.energy_wh_per_day)
            .sum()
    });
    let question = GeneratorQuestion {
        demands,
        bank: BatteryBank {
            temperature_c: input.plan.battery_temperature_c,
            ..bank.bank.clone()
        },
        inverter,
        other_draw_wh_per_day: found.budget.as_ref().map(|budget| budget.energy_wh_per_day),
        offered_wh_per_day: offered,
        days: asked.days.unwrap_or(input.days).clamp(1, DAYS_MAX),
        left_at_home,
        comes_instead,
    };
    let verdict = leave_generator(&question).map_err(|refused| refused.within("plan.generator_question"))?;
    let wheelbase_mm = at.and_then(|(_, vehicle)| vehicle.specification.wheelbase_mm);
    if wheelbase_mm.is_none() {
        missing.push("the wheelbase is not known".to_owned());
    }
    let rear_axle_saved_kg = wheelbase_mm.filter(|_| missing.is_empty()).map(|wheelbase_mm| {
        let lever = |items: &[CarriedItem]| -> f64 {
            items
                .iter()
                .map(|item| item.mass_kg * item.x_mm / wheelbase_mm)
                .sum()
        };
        lever(&question.left_at_home) - lever(&question.comes_instead)
    });
    Ok(Some(GeneratorAnswer {
        front_axle_saved_kg: rear_axle_saved_kg.map(|rear_kg| verdict.mass_saved_kg - rear_kg),
        rear_axle_saved_kg,
        verdict,
        missing,
    }))
}

fn demands(input: &PowerInput<'_>, missing: &mut Vec<String>) -> Vec<Demand> {
    let asked = input
        .plan
        .generator_question
        .iter()
        .flat_map(|asked| &asked.demands);
    let mut demands = Vec::new();
    for demand in asked {
        let kind = match (demand.kind, input.system.welder) {
            (
                PowerDemandKind::Mains {
                    power_w,
                    power_factor,
                },
                _,
            ) => DemandKind::Mains {
                power_w,
                power_factor,
            },
            (PowerDemandKind::Welding { current_a }, Some(welder)) => {
                DemandKind::Welding { welder, current_a }
            }
            (PowerDemandKind::Welding { .. }, None) => {
                missing.push(format!("{}: no welder is on record", demand.display_name));
                continue;
            }
        };
        demands.push(Demand {
            name: demand.display_name.clone(),
            kind,
            hours: demand.full_power_h,
            every_days: demand.every_days,
        });
    }
    demands
}

fn left_at_home(
    input: &PowerInput<'_>,
    at: Option<(&Record, &Vehicle)>,
    missing: &mut Vec<String>,
) -> Vec<CarriedItem> {
    let asked = input
        .plan
        .generator_question
        .iter()
        .flat_map(|asked| &asked.left_at_home);
    let mut items = Vec::new();
    for name in asked {
        let item = at.and_then(|(record, vehicle)| Some((record.cargo_items.get(name)?, vehicle)));
        let Some((item, vehicle)) = item else {
            missing.push(format!("{name} is not on record"));
            continue;
        };
        match carried(item, vehicle) {
            Some(carried) => items.push(carried),
            None => missing.push(format!(
                "mass or place of {} on {} is not known",
                item.display_name, vehicle.display_name
            )),
        }
    }
    items
}

/// An item aboard `vehicle` with its mass and place. `None`: it is elsewhere, or one of them is not known.
fn carried(item: &CargoItem, vehicle: &Vehicle) -> Option<CarriedItem> {
    let zone = item
        .zone
        .as_ref()
        .and_then(|zone| vehicle.specification.zone(zone));
    let position = item.position.or_else(|| zone?.position)?;
    (item.vehicle.as_ref() == Some(&vehicle.name)).then_some(())?;
    Some(CarriedItem {
        name: item.display_name.clone(),
        vehicle: vehicle.name.to_string(),
        mass_kg: item.mass_kg().filter(|mass_kg| *mass_kg > 0.0)?,
        x_mm: position.x_mm,
        y_mm: position.y_mm,
        z_mm: position.z_mm.unwrap_or(0.0),
    })
}
