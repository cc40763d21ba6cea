//! Charging: what the alternator and the panels put into the battery in a day.
//!
//! The sums are energy bookkeeping; the deratings they need differ so much between installations that
//! none is offered as a default: measure them.

use super::battery::{BatteryBank, check_bank};
use super::{CURRENT_MAX_A, DC_VOLTAGE_V, EFFICIENCY, POWER_MAX_W};
use crate::check::{Check, InvalidInput};

/// What the bank accepts.
#[derive(Debug, Clone, PartialEq)]
pub struct Acceptance {
    /// Highest charge current, A; 0 when it is too cold to charge.
    pub current_a: f64,
    /// Whether the cells are below their least charge temperature.
    pub too_cold: bool,
    /// Inputs that were missing; the current is an upper bound while any is.
    pub missing: Vec<&'static str>,
}

/// Charge current that the bank accepts while it is far from full.
///
/// The last fifth of a lead-acid charge is taken ever more slowly; this is not modelled (common practice
/// counts on 80 % after a day's driving).
///
/// # Errors
/// Values of the bank outside the ranges of their fields.
pub fn acceptance(bank: &BatteryBank) -> Result<Acceptance, InvalidInput> {
    check_bank(bank)?;
    let too_cold = match (bank.chemistry.charge_temperature_least_c, bank.temperature_c) {
        (Some(least_c), Some(temperature_c)) => temperature_c < least_c,
        _ => false,
    };
    let temperature_needed =
        bank.chemistry.charge_temperature_least_c.is_some() && bank.temperature_c.is_none();
    Ok(Acceptance {
        current_a: if too_cold {
            0.0
        } else {
            bank.capacity_ah * bank.chemistry.charge_limit_c_rate
        },
        too_cold,
        missing: if temperature_needed {
            vec!["temperature_c"]
        } else {
            Vec::new()
        },
    })
}

/// An alternator charging the bank on the road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AlternatorCharging {
    /// Rated current, A, 0 to 2,000.
    pub rated_current_a: f64,
    /// Share of it given hot and at the usual engine speed, 0 to 1.
    pub hot_share: f64,
    /// Current that the vehicle itself takes meanwhile, A, 0 to 2,000.
    pub vehicle_current_a: f64,
    /// Limit of a charger between alternator and bank, A, 0 to 2,000; `None` when there is none.
    pub charger_limit_a: Option<f64>,
    /// Voltage at which the bank charges, V, within [`DC_VOLTAGE_V`].
    pub charge_voltage_v: f64,
    /// Hours of engine running a day, 0 to 24.
    pub hours_per_day: f64,
}

/// Solar panels charging the bank.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelCharging {
    /// Rated power of all panels, W, 0 to [`POWER_MAX_W`].
    pub rated_power_w: f64,
    /// Hours of full sun that give the day's irradiation (kWh a square metre a day), 0 to 12.
    pub peak_sun_hours: f64,
    /// Losses as shares, each 0 to 1, multiplied up: heat, dust, lying flat, wiring. At most 20.
    pub loss_shares: Vec<f64>,
    /// Efficiency of the charge controller, within [`EFFICIENCY`].
    pub controller_efficiency: f64,
    /// Limit of the controller's output current, A, 0 to 2,000; `None` when it exceeds the panels.
    pub controller_limit_a: Option<f64>,
    /// Voltage at which the bank charges, V, within [`DC_VOLTAGE_V`].
    pub charge_voltage_v: f64,
}

/// What limits a charging current.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChargeLimit {
    /// The source: alternator less the vehicle's own need, or panels less losses.
    Source,
    /// The charger or controller in between.
    Charger,
    /// What the bank accepts.
    Acceptance,
}

/// What one source puts in, in a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DailyCharge {
    /// Charging current, A (for panels: during the peak-sun hours).
    pub current_a: f64,
    /// Energy at the battery's terminals, Wh a day, before the loss within the battery.
    pub energy_wh_per_day: f64,
    /// What limits the current.
    pub limit: ChargeLimit,
}

/// What the alternator puts in: rated current x hot share - the vehicle's own, within charger and bank.
///
/// `acceptance_a` is the bank's limit; `None` when it is not to be applied (a bench calculation).
///
/// # Errors
/// Values outside the ranges of their fields.
pub fn alternator_charge(
    alternator: &AlternatorCharging,
    acceptance_a: Option<f64>,
) -> Result<DailyCharge, InvalidInput> {
    let mut check = Check::new();
    check.between("rated_current_a", alternator.rated_current_a, 0.0, 2_000.0);
    check.between("hot_share", alternator.hot_share, 0.0, 1.0);
    check.between("vehicle_current_a", alternator.vehicle_current_a, 0.0, 2_000.0);
    check_optional_current(&mut check, "charger_limit_a", alternator.charger_limit_a);
    check.between(
        "charge_voltage_v",
        alternator.charge_voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    check.between("hours_per_day", alternator.hours_per_day, 0.0, 24.0);
    check_acceptance(&mut check, acceptance_a);
    check.finish()?;

    let source_a =
        (alternator.rated_current_a * alternator.hot_share - alternator.vehicle_current_a).max(0.0);
    let (current_a, limit) = least(source_a, alternator.charger_limit_a, acceptance_a);
    let energy_wh_per_day = current_a * alternator.charge_voltage_v * alternator.hours_per_day;
    Ok(DailyCharge {
        current_a,
        energy_wh_per_day,
        limit,
    })
}

/// What the panels put in: rated power x peak-sun hours x (1 - loss) for every loss x controller efficiency.
///
/// The charging limits of one source are applied to it alone; two sources at once are only bounded by the
/// bank being full, in [`super::autonomy`].
///
/// # Errors
/// Values outside the ranges of their fields.
pub fn panel_charge(panels: &PanelCharging, acceptance_a: Option<f64>) -> Result<DailyCharge, InvalidInput> {
    let mut check = Check::new();
    check.between("rated_power_w", panels.rated_power_w, 0.0, POWER_MAX_W);
    check.between("peak_sun_hours", panels.peak_sun_hours, 0.0, 12.0);
    if panels.loss_shares.len() > 20 {
        check.refuse(
            "loss_shares",
            format!("must be at most 20, are {}", panels.loss_shares.len()),
        );
    }
    for (index, share) in panels.loss_shares.iter().enumerate().take(20) {
        check.between(format_args!("loss_shares[{index}]"), *share, 0.0, 1.0);
    }
    check.between(
        "controller_efficiency",
        panels.controller_efficiency,
        *EFFICIENCY.start(),
        *EFFICIENCY.end(),
    );
    check_optional_current(&mut check, "controller_limit_a", panels.controller_limit_a);
    check.between(
        "charge_voltage_v",
        panels.charge_voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    check_acceptance(&mut check, acceptance_a);
    check.finish()?;

    let kept_share: f64 = panels.loss_shares.iter().map(|loss| 1.0 - loss).product();
    let source_a = panels.rated_power_w * kept_share * panels.controller_efficiency / panels.charge_voltage_v;
    let (current_a, limit) = least(source_a, panels.controller_limit_a, acceptance_a);
    let energy_wh_per_day = current_a * panels.charge_voltage_v * panels.peak_sun_hours;
    Ok(DailyCharge {
        current_a,
        energy_wh_per_day,
        limit,
    })
}

fn check_optional_current(check: &mut Check, field: &str, current_a: Option<f64>) {
    if let Some(current_a) = current_a {
        check.between(field, current_a, 0.0, 2_000.0);
    }
}

fn check_acceptance(check: &mut Check, acceptance_a: Option<f64>) {
    if let Some(current_a) = acceptance_a {
        check.between("acceptance_a", current_a, 0.0, CURRENT_MAX_A);
    }
}

fn least(source_a: f64, charger_a: Option<f64>, acceptance_a: Option<f64>) -> (f64, ChargeLimit) {
    let mut found = (source_a, ChargeLimit::Source);
    for (current_a, limit) in [
        (charger_a, ChargeLimit::Charger),
        (acceptance_a, ChargeLimit::Acceptance),
    ] {
        if let Some(current_a) = current_a.filter(|current_a| *current_a < found.0) {
            found = (current_a, limit);
        }
    }
    found
}
