//! Welding from a battery through an inverter: which limit binds, and minutes of arc per charge.

use super::battery::{BatteryBank, check_bank, current_limit_a, discharge};
use super::inverter::{Inverter, allowed_powers, check_inverter};
use super::welder::{
    AllowedCurrent, WELDING_CURRENT_MAX_A, Welder, WeldingDemand, check_welder, welding_demand,
    welding_limits,
};
use crate::check::{Check, InvalidInput};

/// Welding from a battery through an inverter.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryWelding {
    /// Every limit evaluated, the battery's first.
    pub limits: Vec<AllowedCurrent>,
    /// The limit that binds: the lowest, the earlier of equals.
    pub binding: AllowedCurrent,
    /// Welding current of the figures below, A: the one asked for if allowed, else the binding one.
    pub welding_current_a: f64,
    /// Whether the current asked for is allowed; `None` when none was asked for.
    pub wanted_is_allowed: Option<bool>,
    /// What it asks of the inverter.
    pub demand: WeldingDemand,
    /// Battery current with the arc burning, A.
    pub battery_current_a: f64,
    /// Minutes of burning arc from a full battery without charging; `None` when the current is next to nothing.
    pub arc_minutes: Option<f64>,
    /// Minutes by the clock at the duty share for that.
    pub elapsed_minutes: Option<f64>,
    /// Inputs that were missing; currents and minutes are upper bounds while any is.
    pub missing: Vec<&'static str>,
}

/// Which current can be welded from a battery and inverter, for how long, and which limit binds.
///
/// `wanted_current_a` asks for a given current; `duty_share` is the share of the time the arc burns, 0.01 to 1.
/// Not modelled: voltage drop in the battery cable (see [`super::cable`]) and the surge of striking, several
/// times the steady power for an instant, which is what trips a marginal supply. Show
/// [`super::cautions::CAUTION_WELDING`] and [`super::cautions::CAUTION_BATTERY`] with it.
///
/// # Errors
/// Values outside the ranges of their fields.
pub fn weld_from_battery(
    bank: &BatteryBank,
    inverter: &Inverter,
    welder: &Welder,
    wanted_current_a: Option<f64>,
    duty_share: f64,
) -> Result<BatteryWelding, InvalidInput> {
    let mut check = Check::new();
    check.merge("bank", check_bank(bank));
    check.merge("inverter", check_inverter(inverter));
    check.merge("welder", check_welder(welder));
    if let Some(wanted_a) = wanted_current_a {
        check.between("wanted_current_a", wanted_a, 1.0, WELDING_CURRENT_MAX_A);
    }
    check.between("duty_share", duty_share, 0.01, 1.0);
    check.finish()?;

    let powers = allowed_powers(
        inverter,
        current_limit_a(bank),
        bank.voltage_v,
        welder.power_factor,
    )?;
    let (limits, binding) = welding_limits(&powers, welder);
    let wanted_is_allowed = wanted_current_a.map(|wanted_a| wanted_a <= binding.welding_current_a);
    let welding_current_a = wanted_current_a
        .filter(|_| wanted_is_allowed == Some(true))
        .unwrap_or(binding.welding_current_a);
    let demand = welding_demand(welder, welding_current_a)?;
    // Rounding may carry the binding current a hair over the battery's limit, from which it came.
    let battery_current_a =
        (demand.ac_power_w / inverter.efficiency / bank.voltage_v).min(current_limit_a(bank));
    let drawn = discharge(bank, battery_current_a).map_err(|refused| refused.within("bank"))?;
    let arc_minutes = drawn.hours.map(|hours| hours * 60.0);
    let mut missing = drawn.missing;
    if welder.power_factor.is_none() {
        missing.push("welder.power_factor");
    }
    if inverter.rated_va.is_none() {
        missing.push("inverter.rated_va");
    }
    Ok(BatteryWelding {
        limits,
        binding,
        welding_current_a,
        wanted_is_allowed,
        demand,
        battery_current_a,
        arc_minutes,
        elapsed_minutes: arc_minutes.map(|minutes| minutes / duty_share),
        missing,
    })
}
