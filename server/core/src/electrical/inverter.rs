//! Inverter: direct current for an alternating load, and the alternating power that its ratings and the
//! battery's current limit allow.

use std::fmt;

use super::{CURRENT_MAX_A, DC_VOLTAGE_V, EFFICIENCY, POWER_MAX_W};
use crate::check::{Check, InvalidInput};

/// An inverter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inverter {
    /// Continuous active power, W, above 0 to [`POWER_MAX_W`].
    pub rated_power_w: f64,
    /// Continuous apparent power, VA, above 0 to [`POWER_MAX_W`]; `None` when not stated.
    pub rated_va: Option<f64>,
    /// Power out over power in at the load in question, within [`EFFICIENCY`].
    pub efficiency: f64,
}

/// What limits alternating power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerLimit {
    /// The battery's highest continuous current.
    BatteryCurrent,
    /// The source's active power (W).
    ActivePower,
    /// The source's apparent power (VA) at the load's power factor.
    ApparentPower,
}

impl fmt::Display for PowerLimit {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::BatteryCurrent => "battery current limit",
            Self::ActivePower => "inverter's watts",
            Self::ApparentPower => "inverter's volt-amperes",
        })
    }
}

/// One limit and the alternating power it allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AllowedPower {
    /// Which limit.
    pub limit: PowerLimit,
    /// Active power it allows, W.
    pub ac_power_w: f64,
}

/// Direct current that an alternating load draws from the battery: `P / (efficiency x V)`.
///
/// # Errors
/// Power not 0 to [`POWER_MAX_W`], efficiency not within [`EFFICIENCY`], voltage not within [`DC_VOLTAGE_V`].
pub fn dc_current_a(ac_power_w: f64, efficiency: f64, battery_voltage_v: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("ac_power_w", ac_power_w, 0.0, POWER_MAX_W);
    check.between("efficiency", efficiency, *EFFICIENCY.start(), *EFFICIENCY.end());
    check.between(
        "battery_voltage_v",
        battery_voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    check.finish()?;
    Ok(ac_power_w / efficiency / battery_voltage_v)
}

/// The active power that each limit allows a load of `power_factor`: battery current first, then watts, then
/// volt-amperes. The apparent-power limit is left out when the rating or the power factor is not known: the
/// caller says so.
///
/// # Errors
/// Values outside the ranges of their fields; current not 0 to [`CURRENT_MAX_A`]; power factor not 0.1 to 1.
pub fn allowed_powers(
    inverter: &Inverter,
    battery_current_limit_a: f64,
    battery_voltage_v: f64,
    power_factor: Option<f64>,
) -> Result<Vec<AllowedPower>, InvalidInput> {
    let mut check = Check::new();
    check.merge("inverter", check_inverter(inverter));
    check.between(
        "battery_current_limit_a",
        battery_current_limit_a,
        0.0,
        CURRENT_MAX_A,
    );
    check.between(
        "battery_voltage_v",
        battery_voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    if let Some(power_factor) = power_factor {
        check.between("power_factor", power_factor, 0.1, 1.0);
    }
    check.finish()?;
    let battery_power_w = battery_current_limit_a * battery_voltage_v * inverter.efficiency;
    let mut allowed = vec![
        AllowedPower {
            limit: PowerLimit::BatteryCurrent,
            ac_power_w: battery_power_w,
        },
        AllowedPower {
            limit: PowerLimit::ActivePower,
            ac_power_w: inverter.rated_power_w,
        },
    ];
    if let (Some(rated_va), Some(power_factor)) = (inverter.rated_va, power_factor) {
        allowed.push(AllowedPower {
            limit: PowerLimit::ApparentPower,
            ac_power_w: rated_va * power_factor,
        });
    }
    Ok(allowed)
}

/// Checks the inverter alone; fields are relative to it.
pub(super) fn check_inverter(inverter: &Inverter) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("rated_power_w", inverter.rated_power_w, 1.0, POWER_MAX_W);
    if let Some(rated_va) = inverter.rated_va {
        check.between("rated_va", rated_va, 1.0, POWER_MAX_W);
    }
    check.between(
        "efficiency",
        inverter.efficiency,
        *EFFICIENCY.start(),
        *EFFICIENCY.end(),
    );
    check.finish()
}
