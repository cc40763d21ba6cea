//! Arc welder: load voltage line, what it asks of its supply, and what a supply allows.
//! From a battery and inverter see [`super::battery_welding`].

use std::fmt;

use super::inverter::{AllowedPower, PowerLimit};
use super::{EFFICIENCY, POWER_MAX_W};
use crate::check::{Check, InvalidInput};

/// Welding current at which the load voltage line turns flat, A.
const LINE_END_A: f64 = 600.0;

/// Voltage of the flat part, V.
const FLAT_V: f64 = 44.0;

/// Highest welding current covered, A.
pub const WELDING_CURRENT_MAX_A: f64 = 2_000.0;

/// An arc welder for covered electrodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Welder {
    /// Welding power out over active power in, within [`EFFICIENCY`].
    pub source_efficiency: f64,
    /// Active over apparent power at its input, 0.1 to 1; `None` when not known. Without correction often
    /// 0.6 to 0.7 (from memory, not verified), so a volt-ampere limit may bind first.
    pub power_factor: Option<f64>,
    /// Highest welding current of the welder itself, A, above 0 to [`WELDING_CURRENT_MAX_A`].
    pub current_max_a: f64,
}

/// What welding at one current asks of the supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeldingDemand {
    /// Voltage across the arc and leads, V.
    pub load_voltage_v: f64,
    /// Power at the arc, W.
    pub arc_power_w: f64,
    /// Active power at the welder's input, W.
    pub ac_power_w: f64,
    /// Apparent power there, VA; `None` when the power factor is not known.
    pub ac_va: Option<f64>,
}

/// Conventional load voltage of manual arc welding: `20 + 0.04 I` up to 600 A, 44 V above.
///
/// IEC 60974-1 from memory, not verified; the line to 600 A also read in a secondary copy (a trade forum).
///
/// # Errors
/// Current not 0 to [`WELDING_CURRENT_MAX_A`].
pub fn load_voltage_v(welding_current_a: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("welding_current_a", welding_current_a, 0.0, WELDING_CURRENT_MAX_A);
    check.finish()?;
    Ok(voltage_line(welding_current_a))
}

fn voltage_line(welding_current_a: f64) -> f64 {
    if welding_current_a > LINE_END_A {
        FLAT_V
    } else {
        20.0 + 0.04 * welding_current_a
    }
}

/// Highest welding current that `ac_power_w` of active power sustains: the positive root of
/// `(20 + 0.04 I) I = P x efficiency`, or `P x efficiency / 44` past 600 A.
///
/// # Errors
/// Power not 0 to [`POWER_MAX_W`], efficiency not within [`EFFICIENCY`].
pub fn max_welding_current_a(ac_power_w: f64, source_efficiency: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("ac_power_w", ac_power_w, 0.0, POWER_MAX_W);
    check.between(
        "source_efficiency",
        source_efficiency,
        *EFFICIENCY.start(),
        *EFFICIENCY.end(),
    );
    check.finish()?;
    Ok(current_for_power(ac_power_w * source_efficiency))
}

fn current_for_power(arc_power_w: f64) -> f64 {
    if arc_power_w > FLAT_V * LINE_END_A {
        return arc_power_w / FLAT_V;
    }
    // The root written as 2P / (20 + sqrt(400 + 0.16 P)): the textbook form cancels at small powers.
    2.0 * arc_power_w / (20.0 + (400.0 + 0.16 * arc_power_w).sqrt())
}

/// What welding at `welding_current_a` asks of generator or inverter.
///
/// # Errors
/// Values outside the ranges of their fields; a current above the welder's own highest.
pub fn welding_demand(welder: &Welder, welding_current_a: f64) -> Result<WeldingDemand, InvalidInput> {
    let mut check = Check::new();
    check.merge("welder", check_welder(welder));
    check.between(
        "welding_current_a",
        welding_current_a,
        0.0,
        welder.current_max_a.clamp(0.0, WELDING_CURRENT_MAX_A),
    );
    check.finish()?;
    let load_voltage_v = voltage_line(welding_current_a);
    let arc_power_w = load_voltage_v * welding_current_a;
    let ac_power_w = arc_power_w / welder.source_efficiency;
    let ac_va = welder.power_factor.map(|power_factor| ac_power_w / power_factor);
    Ok(WeldingDemand {
        load_voltage_v,
        arc_power_w,
        ac_power_w,
        ac_va,
    })
}

/// Duty cycle at another current by `I^2 x duty = constant`, at most 1.
///
/// A rough law: between makers' figures it held to 4 % on one machine (60 % at 200 A against 40 % at 250 A)
/// and failed on another (60 % at 350 A against 100 % at 300 A), both read in makers' manuals. A duty cycle is
/// a share of 10 minutes at 40 degrees Celsius (read, a trade glossary).
///
/// # Errors
/// Currents not 1 to [`WELDING_CURRENT_MAX_A`], rated share not 0.01 to 1.
pub fn duty_share_rough(
    rated_current_a: f64,
    rated_share: f64,
    welding_current_a: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("rated_current_a", rated_current_a, 1.0, WELDING_CURRENT_MAX_A);
    check.between("rated_share", rated_share, 0.01, 1.0);
    check.between("welding_current_a", welding_current_a, 1.0, WELDING_CURRENT_MAX_A);
    check.finish()?;
    Ok((rated_share * (rated_current_a / welding_current_a).powi(2)).min(1.0))
}

/// What limits the welding current.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeldingLimit {
    /// A limit of the supply.
    Supply(PowerLimit),
    /// The welder's own highest current.
    Welder,
}

impl fmt::Display for WeldingLimit {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Supply(limit) => limit.fmt(formatter),
            Self::Welder => formatter.write_str("welder's own limit"),
        }
    }
}

/// One limit and the welding current it allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AllowedCurrent {
    /// Which limit.
    pub limit: WeldingLimit,
    /// Welding current it allows, A.
    pub welding_current_a: f64,
}

/// Welding from a mains supply of given ratings: a generator, a socket.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyWelding {
    /// Every limit evaluated.
    pub limits: Vec<AllowedCurrent>,
    /// The limit that binds: the lowest, the earlier of equals.
    pub binding: AllowedCurrent,
    /// Inputs that were missing; the current is an upper bound while any is.
    pub missing: Vec<&'static str>,
}

/// Highest welding current from a supply of `rated_power_w` and `rated_va`, each `None` when not stated.
///
/// Striking draws several times the steady power for an instant: a supply just sufficient by this sum may
/// still trip (common practice, no source).
///
/// # Errors
/// Ratings not 1 to [`POWER_MAX_W`]; values of the welder outside the ranges of their fields.
pub fn weld_from_supply(
    rated_power_w: Option<f64>,
    rated_va: Option<f64>,
    welder: &Welder,
) -> Result<SupplyWelding, InvalidInput> {
    let mut check = Check::new();
    for (field, rating) in [("rated_power_w", rated_power_w), ("rated_va", rated_va)] {
        if let Some(rating) = rating {
            check.between(field, rating, 1.0, POWER_MAX_W);
        }
    }
    check.merge("welder", check_welder(welder));
    check.finish()?;
    let active = rated_power_w.map(|ac_power_w| AllowedPower {
        limit: PowerLimit::ActivePower,
        ac_power_w,
    });
    let apparent = rated_va
        .zip(welder.power_factor)
        .map(|(rated_va, power_factor)| AllowedPower {
            limit: PowerLimit::ApparentPower,
            ac_power_w: rated_va * power_factor,
        });
    let powers: Vec<_> = active.into_iter().chain(apparent).collect();
    let (limits, binding) = welding_limits(&powers, welder);
    let missing = [
        (rated_power_w.is_none(), "rated_power_w"),
        (rated_va.is_none(), "rated_va"),
        (welder.power_factor.is_none(), "welder.power_factor"),
    ];
    let missing = missing
        .into_iter()
        .filter(|(is_missing, _)| *is_missing)
        .map(|(_, field)| field)
        .collect();
    Ok(SupplyWelding {
        limits,
        binding,
        missing,
    })
}

/// The welding currents that the supply's limits and the welder's own allow, and the one that binds.
/// Not checked: for inputs that were.
pub(super) fn welding_limits(
    powers: &[AllowedPower],
    welder: &Welder,
) -> (Vec<AllowedCurrent>, AllowedCurrent) {
    let own = AllowedCurrent {
        limit: WeldingLimit::Welder,
        welding_current_a: welder.current_max_a,
    };
    let mut limits: Vec<_> = powers
        .iter()
        .map(|power| AllowedCurrent {
            limit: WeldingLimit::Supply(power.limit),
            welding_current_a: current_for_power(power.ac_power_w * welder.source_efficiency),
        })
        .collect();
    let binding = limits.iter().rev().fold(own, |lowest, limit| {
        if limit.welding_current_a <= lowest.welding_current_a {
            *limit
        } else {
            lowest
        }
    });
    limits.push(own);
    (limits, binding)
}

/// Checks the welder alone; fields are relative to it.
pub(super) fn check_welder(welder: &Welder) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between(
        "source_efficiency",
        welder.source_efficiency,
        *EFFICIENCY.start(),
        *EFFICIENCY.end(),
    );
    if let Some(power_factor) = welder.power_factor {
        check.between("power_factor", power_factor, 0.1, 1.0);
    }
    check.between("current_max_a", welder.current_max_a, 1.0, WELDING_CURRENT_MAX_A);
    check.finish()
}
