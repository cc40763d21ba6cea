//! Daily energy budget: what the devices take from the battery in a day.

use super::{CURRENT_MAX_A, DC_VOLTAGE_V, EFFICIENCY, ITEMS_MAX, POWER_MAX_W};
use crate::check::{Check, InvalidInput};

/// What one device takes while it runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Draw {
    /// Power at the device's own terminals, W, 0 to [`POWER_MAX_W`].
    PowerW(f64),
    /// Current at the system voltage, A, 0 to [`CURRENT_MAX_A`]; only for devices fed directly.
    CurrentA(f64),
}

/// How a device is fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Feed {
    /// From the battery's voltage.
    Direct,
    /// Through an inverter or converter, whose loss the battery bears.
    Converter {
        /// Power out over power in, within [`EFFICIENCY`].
        efficiency: f64,
    },
}

/// One kind of device aboard.
#[derive(Debug, Clone, PartialEq)]
pub struct Device {
    /// Name for the report.
    pub name: String,
    /// How many run, 0 to 1,000.
    pub quantity: u32,
    /// What one takes while it runs.
    pub draw: Draw,
    /// How it is fed.
    pub feed: Feed,
    /// Hours in a day it is switched on, 0 to 24.
    pub hours_per_day: f64,
    /// Share of the hours on in which it runs, 0 to 1 (a refrigerator's compressor); 1 for what runs throughout.
    pub duty_share: f64,
    /// One standard deviation of its daily energy over the energy, 0 to 10; `None` when not known.
    pub spread_share: Option<f64>,
}

/// What one line of the budget takes.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviceEnergy {
    /// Name of the device.
    pub name: String,
    /// Power at the battery while all of them run, W.
    pub running_power_w: f64,
    /// Energy from the battery, Wh a day.
    pub energy_wh_per_day: f64,
    /// One standard deviation of it, Wh a day; `None` when not known.
    pub spread_wh_per_day: Option<f64>,
}

/// The budget of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyBudget {
    /// Line by line, in the order given.
    pub devices: Vec<DeviceEnergy>,
    /// Energy from the battery, Wh a day.
    pub energy_wh_per_day: f64,
    /// The same as charge at the system voltage, Ah a day.
    pub charge_ah_per_day: f64,
    /// Power averaged over 24 hours, W.
    pub mean_power_w: f64,
    /// Power if everything runs at once, W.
    pub running_power_w: f64,
    /// One standard deviation of the daily energy, lines taken as independent (root-sum-square), Wh a day.
    /// `None` when the spread of a line is not known.
    pub spread_wh_per_day: Option<f64>,
    /// Lines whose spread is not known.
    pub spread_not_known_for: Vec<String>,
}

/// Adds up what the devices take from a battery of `system_voltage_v` in a day.
///
/// Energy of a line = quantity x power x hours x duty, over the converter's efficiency (own statement of
/// common practice, no source needed: it is the definition of energy).
///
/// # Errors
/// Values outside the ranges of their fields; a current given for a device behind a converter; more than
/// [`ITEMS_MAX`] devices.
pub fn daily_budget(devices: &[Device], system_voltage_v: f64) -> Result<DailyBudget, InvalidInput> {
    let mut check = Check::new();
    check.between(
        "system_voltage_v",
        system_voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    if devices.len() > ITEMS_MAX {
        check.refuse(
            "devices",
            format!("must be at most {ITEMS_MAX}, are {}", devices.len()),
        );
    }
    for (index, device) in devices.iter().enumerate().take(ITEMS_MAX) {
        check.merge(format_args!("devices[{index}]"), check_device(device));
    }
    check.finish()?;

    let lines: Vec<_> = devices
        .iter()
        .map(|device| line(device, system_voltage_v))
        .collect();
    let energy_wh_per_day: f64 = lines.iter().map(|line| line.energy_wh_per_day).sum();
    let variance: Option<f64> = lines
        .iter()
        .map(|line| line.spread_wh_per_day.map(|spread| spread * spread))
        .sum();
    Ok(DailyBudget {
        energy_wh_per_day,
        charge_ah_per_day: energy_wh_per_day / system_voltage_v,
        mean_power_w: energy_wh_per_day / 24.0,
        running_power_w: lines.iter().map(|line| line.running_power_w).sum(),
        spread_wh_per_day: variance.map(f64::sqrt),
        spread_not_known_for: lines
            .iter()
            .filter(|line| line.spread_wh_per_day.is_none())
            .map(|line| line.name.clone())
            .collect(),
        devices: lines,
    })
}

fn check_device(device: &Device) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("quantity", f64::from(device.quantity), 0.0, 1_000.0);
    match device.draw {
        Draw::PowerW(power_w) => check.between("power_w", power_w, 0.0, POWER_MAX_W),
        Draw::CurrentA(current_a) => check.between("current_a", current_a, 0.0, CURRENT_MAX_A),
    }
    if let Feed::Converter { efficiency } = device.feed {
        check.between("efficiency", efficiency, *EFFICIENCY.start(), *EFFICIENCY.end());
        if matches!(device.draw, Draw::CurrentA(_)) {
            check.refuse(
                "current_a",
                "must be given as power_w behind a converter, whose output voltage differs",
            );
        }
    }
    check.between("hours_per_day", device.hours_per_day, 0.0, 24.0);
    check.between("duty_share", device.duty_share, 0.0, 1.0);
    if let Some(spread_share) = device.spread_share {
        check.between("spread_share", spread_share, 0.0, 10.0);
    }
    check.finish()
}

fn line(device: &Device, system_voltage_v: f64) -> DeviceEnergy {
    let terminal_power_w = match device.draw {
        Draw::PowerW(power_w) => power_w,
        Draw::CurrentA(current_a) => current_a * system_voltage_v,
    };
    let efficiency = match device.feed {
        Feed::Direct => 1.0,
        Feed::Converter { efficiency } => efficiency,
    };
    let running_power_w = f64::from(device.quantity) * terminal_power_w / efficiency;
    let energy_wh_per_day = running_power_w * device.hours_per_day * device.duty_share;
    DeviceEnergy {
        name: device.name.clone(),
        running_power_w,
        energy_wh_per_day,
        spread_wh_per_day: device.spread_share.map(|share| share * energy_wh_per_day),
    }
}
