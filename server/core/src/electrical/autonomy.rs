//! Autonomy: days without charging, and the battery's balance over a sequence of periods.

use super::ITEMS_MAX;
use crate::check::{Check, InvalidInput};

/// Highest energy of one period or bank covered, Wh.
const ENERGY_MAX_WH: f64 = 1e8;

/// Unmet need that counts, Wh: less is rounding.
const UNMET_LEAST_WH: f64 = 0.001;

/// How long a bank lasts without charging.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Autonomy {
    /// Days at the mean draw; `None` when nothing is drawn.
    pub days: Option<f64>,
    /// Days at the mean draw plus one standard deviation; `None` when nothing is drawn or the spread is not known.
    pub days_at_high_draw: Option<f64>,
}

/// Days that `usable_wh` lasts at a draw of `energy_wh_per_day` with its standard deviation, if known.
///
/// # Errors
/// Values negative, not finite or above 1e8; a draw above 0 yet below 1 mWh a day.
pub fn days_without_charging(
    usable_wh: f64,
    energy_wh_per_day: f64,
    spread_wh_per_day: Option<f64>,
) -> Result<Autonomy, InvalidInput> {
    let mut check = Check::new();
    check.between("usable_wh", usable_wh, 0.0, ENERGY_MAX_WH);
    check_draw(&mut check, "energy_wh_per_day", energy_wh_per_day);
    if let Some(spread) = spread_wh_per_day {
        check.between("spread_wh_per_day", spread, 0.0, ENERGY_MAX_WH);
    }
    check.finish()?;
    let days_at = |draw: f64| (energy_wh_per_day > 0.0).then(|| usable_wh / draw);
    Ok(Autonomy {
        days: days_at(energy_wh_per_day),
        days_at_high_draw: spread_wh_per_day.and_then(|spread| days_at(energy_wh_per_day + spread)),
    })
}

fn check_draw(check: &mut Check, field: &str, energy_wh: f64) {
    check.between(field, energy_wh, 0.0, ENERGY_MAX_WH);
    if energy_wh > 0.0 && energy_wh < 0.001 {
        check.refuse(field, format!("must be 0 or at least 0.001, is {energy_wh}"));
    }
}

/// How draw and charge meet within a period.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flow {
    /// Everything is drawn before anything is charged: the cautious reading of a whole day.
    DrawThenCharge,
    /// Charge feeds the devices at once and only the rest goes through the battery: driving hours.
    Together,
}

/// A stretch of time: a day, or its driving and camp hours apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Period {
    /// Energy the devices take, Wh, 0 or 0.001 to 1e8.
    pub drawn_wh: f64,
    /// Energy the sources offer at the battery's terminals, Wh, 0 to 1e8.
    pub offered_wh: f64,
    /// How the two meet.
    pub flow: Flow,
}

/// Where the energy of one period went. `offered = direct + taken + refused`; `drawn = direct + given + unmet`;
/// `end = start - given + taken x charge efficiency`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeriodBalance {
    /// Usable energy in the battery at the start, Wh.
    pub start_wh: f64,
    /// Energy from the sources straight to the devices, Wh.
    pub direct_wh: f64,
    /// Energy the battery gave, Wh.
    pub given_wh: f64,
    /// Energy the battery took at its terminals, Wh.
    pub taken_wh: f64,
    /// Energy offered that the full battery refused, Wh.
    pub refused_wh: f64,
    /// Energy wanted that was not there, Wh.
    pub unmet_wh: f64,
    /// Usable energy in the battery at the end, Wh.
    pub end_wh: f64,
}

/// The balance of all periods.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// Period by period.
    pub periods: Vec<PeriodBalance>,
    /// Index of the first period with unmet need; `None` when all is met.
    pub first_unmet: Option<usize>,
    /// Lowest usable energy at any period's turn, Wh.
    pub lowest_wh: f64,
}

/// Follows a battery of `usable_wh` from `start_wh` through the periods.
///
/// # Errors
/// Energies negative, not finite or above 1e8; a start above the usable energy; a charge efficiency not
/// 0.05 to 1; more than [`ITEMS_MAX`] periods.
pub fn balance(
    usable_wh: f64,
    start_wh: f64,
    charge_efficiency: f64,
    periods: &[Period],
) -> Result<Balance, InvalidInput> {
    let mut check = Check::new();
    check.between("usable_wh", usable_wh, 0.0, ENERGY_MAX_WH);
    check.between("start_wh", start_wh, 0.0, usable_wh.clamp(0.0, ENERGY_MAX_WH));
    check.between("charge_efficiency", charge_efficiency, 0.05, 1.0);
    if periods.len() > ITEMS_MAX {
        check.refuse(
            "periods",
            format!("must be at most {ITEMS_MAX}, are {}", periods.len()),
        );
    }
    for (index, period) in periods.iter().enumerate().take(ITEMS_MAX) {
        check_draw(&mut check, &format!("periods[{index}].drawn_wh"), period.drawn_wh);
        check.between(
            format_args!("periods[{index}].offered_wh"),
            period.offered_wh,
            0.0,
            ENERGY_MAX_WH,
        );
    }
    check.finish()?;

    let mut stored_wh = start_wh;
    let mut lowest_wh = start_wh;
    let mut balances = Vec::with_capacity(periods.len());
    for period in periods {
        let step = follow(usable_wh, stored_wh, charge_efficiency, *period);
        lowest_wh = lowest_wh.min(stored_wh - step.given_wh).max(0.0);
        stored_wh = step.end_wh;
        balances.push(step);
    }
    let first_unmet = balances.iter().position(|step| step.unmet_wh > UNMET_LEAST_WH);
    Ok(Balance {
        periods: balances,
        first_unmet,
        lowest_wh,
    })
}

fn follow(usable_wh: f64, start_wh: f64, charge_efficiency: f64, period: Period) -> PeriodBalance {
    let direct_wh = match period.flow {
        Flow::DrawThenCharge => 0.0,
        Flow::Together => period.drawn_wh.min(period.offered_wh),
    };
    let wanted_wh = period.drawn_wh - direct_wh;
    let given_wh = wanted_wh.min(start_wh);
    let left_wh = start_wh - given_wh;
    let spare_wh = period.offered_wh - direct_wh;
    let taken_wh = spare_wh.min((usable_wh - left_wh).max(0.0) / charge_efficiency);
    PeriodBalance {
        start_wh,
        direct_wh,
        given_wh,
        taken_wh,
        refused_wh: spare_wh - taken_wh,
        unmet_wh: wanted_wh - given_wh,
        end_wh: (left_wh + taken_wh * charge_efficiency).min(usable_wh),
    }
}
