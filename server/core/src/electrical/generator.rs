//! Can the generator stay at home: every demand against battery and inverter, with the reasons.
//!
//! The masses saved are handed on with their positions; what they do to the axles is computed with the
//! other loads.

use super::autonomy::{Flow, Period, balance};
use super::battery::{BatteryBank, check_bank, current_limit_a, discharge};
use super::battery_welding::weld_from_battery;
use super::inverter::{Inverter, allowed_powers, check_inverter};
use super::welder::{Welder, check_welder, welding_demand};
use super::{ITEMS_MAX, POWER_MAX_W};
use crate::check::{Check, InvalidInput};

/// What someone wants to do away from the mains.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Name for the report.
    pub name: String,
    /// What is wanted.
    pub kind: DemandKind,
    /// Hours of full power on a day with this demand (for welding: of burning arc), 0 to 24.
    pub hours: f64,
    /// It comes on the first day and on every so many days after, 1 to 1,000; 1 is every day.
    pub every_days: u32,
}

/// The two kinds of demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DemandKind {
    /// A mains device.
    Mains {
        /// Active power, W, above 0 to [`POWER_MAX_W`].
        power_w: f64,
        /// Active over apparent power, 0.1 to 1; `None` when not known.
        power_factor: Option<f64>,
    },
    /// Arc welding.
    Welding {
        /// The welder.
        welder: Welder,
        /// Current needed, A, 1 to the welder's highest.
        current_a: f64,
    },
}

/// A thing that stays at home, or comes instead, and where it sits.
#[derive(Debug, Clone, PartialEq)]
pub struct CarriedItem {
    /// Name for the report.
    pub name: String,
    /// Vehicle that carries it.
    pub vehicle: String,
    /// Mass, kg, above 0 to 10,000.
    pub mass_kg: f64,
    /// Distance aft of the front axle, mm, -5,000 to 20,000.
    pub x_mm: f64,
    /// Distance to the right of the centre plane, mm, -5,000 to 5,000.
    pub y_mm: f64,
    /// Height above ground, mm, -1,000 to 6,000.
    pub z_mm: f64,
}

/// Everything needed to answer.
#[derive(Debug, Clone, PartialEq)]
pub struct GeneratorQuestion {
    /// What the generator is carried for.
    pub demands: Vec<Demand>,
    /// The bank that would take its place, full at the start.
    pub bank: BatteryBank,
    /// The inverter that would.
    pub inverter: Inverter,
    /// Energy that all other devices take, Wh a day, 0 to 1e6; `None` when not known.
    pub other_draw_wh_per_day: Option<f64>,
    /// Energy that alternator and panels offer, Wh a day, 0 to 1e6; `None` when not known.
    pub offered_wh_per_day: Option<f64>,
    /// Days to last, 1 to [`ITEMS_MAX`].
    pub days: u32,
    /// What stays at home with the generator: itself, its fuel and cans.
    pub left_at_home: Vec<CarriedItem>,
    /// What must come instead: a larger bank, an inverter.
    pub comes_instead: Vec<CarriedItem>,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Every demand is met without it.
    Yes,
    /// At least one demand is not met.
    No,
    /// Nothing speaks against it, but an input is missing.
    NotKnown,
}

/// One reason of the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// What it is about: a demand's name, or `energy`.
    pub about: String,
    /// What this alone would answer.
    pub answer: Answer,
    /// Numbers in words.
    pub text: String,
}

/// The answer with its reasons and what it saves.
#[derive(Debug, Clone, PartialEq)]
pub struct GeneratorVerdict {
    /// The answer.
    pub answer: Answer,
    /// One reason a demand in the order given, then the energy over the days.
    pub reasons: Vec<Reason>,
    /// Mass left at home less mass that comes instead, kg; negative when it costs mass.
    pub mass_saved_kg: f64,
    /// Cautions to show.
    pub cautions: [&'static str; 3],
}

/// Whether the generator can stay at home.
///
/// A demand is met when the battery's current and the inverter's ratings carry it; the energy is met when the
/// bank lasts all days, each day drawing everything before charging (the cautious order). Demands are taken
/// one at a time: two devices at once are not checked against the inverter.
///
/// # Errors
/// Values outside the ranges of their fields; lists longer than [`ITEMS_MAX`].
pub fn leave_generator(question: &GeneratorQuestion) -> Result<GeneratorVerdict, InvalidInput> {
    check_question(question)?;
    let mut reasons = Vec::with_capacity(question.demands.len() + 1);
    let mut highest_current_a = 0.0_f64;
    let mut dc_powers_w = Vec::with_capacity(question.demands.len());
    for (index, demand) in question.demands.iter().enumerate() {
        let met =
            judge_demand(question, demand).map_err(|refused| refused.within(&format!("demands[{index}]")))?;
        if demand.hours > 0.0 {
            highest_current_a = highest_current_a.max(met.dc_power_w / question.bank.voltage_v);
        }
        dc_powers_w.push(met.dc_power_w);
        reasons.push(met.reason);
    }
    reasons.push(judge_energy(question, &dc_powers_w, highest_current_a)?);

    let answers = || reasons.iter().map(|reason| reason.answer);
    let answer = if answers().any(|answer| answer == Answer::No) {
        Answer::No
    } else if answers().any(|answer| answer == Answer::NotKnown) {
        Answer::NotKnown
    } else {
        Answer::Yes
    };
    let mass = |items: &[CarriedItem]| items.iter().map(|item| item.mass_kg).sum::<f64>();
    Ok(GeneratorVerdict {
        answer,
        reasons,
        mass_saved_kg: mass(&question.left_at_home) - mass(&question.comes_instead),
        cautions: [
            super::cautions::CAUTION_BATTERY,
            super::cautions::CAUTION_WELDING,
            super::cautions::CAUTION_MAINS,
        ],
    })
}

struct JudgedDemand {
    reason: Reason,
    dc_power_w: f64,
}

fn judge_demand(question: &GeneratorQuestion, demand: &Demand) -> Result<JudgedDemand, InvalidInput> {
    match demand.kind {
        DemandKind::Mains {
            power_w,
            power_factor,
        } => judge_mains(question, demand, power_w, power_factor),
        DemandKind::Welding { welder, current_a } => judge_welding(question, demand, &welder, current_a),
    }
}

fn judge_mains(
    question: &GeneratorQuestion,
    demand: &Demand,
    power_w: f64,
    power_factor: Option<f64>,
) -> Result<JudgedDemand, InvalidInput> {
    let (bank, inverter) = (&question.bank, &question.inverter);
    let allowed = allowed_powers(inverter, current_limit_a(bank), bank.voltage_v, power_factor)?;
    let lowest = allowed
        .iter()
        .map(|allowed| allowed.ac_power_w)
        .fold(f64::INFINITY, f64::min);
    let apparent_not_known = power_factor.is_none() || inverter.rated_va.is_none();
    let (answer, text) = if power_w > lowest {
        (
            Answer::No,
            format!("{power_w:.0} W wanted, {lowest:.0} W allowed"),
        )
    } else if apparent_not_known {
        (
            Answer::NotKnown,
            format!("{power_w:.0} W within {lowest:.0} W, but {APPARENT_NOT_KNOWN}"),
        )
    } else {
        (Answer::Yes, format!("{power_w:.0} W within {lowest:.0} W"))
    };
    let reason = Reason {
        about: demand.name.clone(),
        answer,
        text,
    };
    Ok(JudgedDemand {
        reason,
        dc_power_w: power_w / inverter.efficiency,
    })
}

const APPARENT_NOT_KNOWN: &str = "power factor or the inverter's volt-amperes are not known";

fn judge_welding(
    question: &GeneratorQuestion,
    demand: &Demand,
    welder: &Welder,
    current_a: f64,
) -> Result<JudgedDemand, InvalidInput> {
    let welding = weld_from_battery(&question.bank, &question.inverter, welder, Some(current_a), 1.0)?;
    let most_a = welding.binding.welding_current_a;
    let apparent_not_known = welder.power_factor.is_none() || question.inverter.rated_va.is_none();
    let (answer, text) = if welding.wanted_is_allowed != Some(true) {
        let limit = welding.binding.limit;
        (
            Answer::No,
            format!("{current_a:.0} A wanted, {most_a:.1} A allowed ({limit})"),
        )
    } else if apparent_not_known {
        (
            Answer::NotKnown,
            format!("{current_a:.0} A within {most_a:.1} A, but {APPARENT_NOT_KNOWN}"),
        )
    } else {
        (Answer::Yes, format!("{current_a:.0} A within {most_a:.1} A"))
    };
    let reason = Reason {
        about: demand.name.clone(),
        answer,
        text,
    };
    let dc_power_w = welding_demand(welder, current_a)?.ac_power_w / question.inverter.efficiency;
    Ok(JudgedDemand { reason, dc_power_w })
}

/// Energy over the days. The usable energy is that at the highest current of any demand: for lead-acid the
/// cautious reading.
fn judge_energy(
    question: &GeneratorQuestion,
    dc_powers_w: &[f64],
    highest_current_a: f64,
) -> Result<Reason, InvalidInput> {
    let about = "energy".to_owned();
    // A demand beyond the battery's current is refused on its own account already.
    let current_a = highest_current_a.min(current_limit_a(&question.bank));
    let drawn = discharge(&question.bank, current_a)?;
    let periods: Vec<_> = (0..question.days)
        .map(|day| {
            let demands_wh: f64 = question
                .demands
                .iter()
                .zip(dc_powers_w)
                .filter(|(demand, _)| day % demand.every_days == 0)
                .map(|(demand, dc_power_w)| demand.hours * dc_power_w)
                .sum();
            let drawn_wh = demands_wh + question.other_draw_wh_per_day.unwrap_or(0.0);
            // Less than a milliwatt-hour is nothing; more than any bank holds comes to the same shortfall.
            let drawn_wh = if drawn_wh < 0.001 { 0.0 } else { drawn_wh.min(1e8) };
            Period {
                drawn_wh,
                offered_wh: question.offered_wh_per_day.unwrap_or(0.0),
                flow: Flow::DrawThenCharge,
            }
        })
        .collect();
    let outcome = balance(
        drawn.usable_wh,
        drawn.usable_wh,
        question.bank.chemistry.charge_efficiency,
        &periods,
    )?;
    let mut missing = drawn.missing;
    if question.other_draw_wh_per_day.is_none() {
        missing.push("other_draw_wh_per_day");
    }
    if question.offered_wh_per_day.is_none() {
        missing.push("offered_wh_per_day");
    }
    let usable_wh = drawn.usable_wh;
    // Without knowing what is offered, running short is not proven.
    let certain = question.offered_wh_per_day.is_some();
    let (answer, text) = match outcome.first_unmet {
        Some(day) if certain => {
            let unmet_wh = outcome.periods.get(day).map_or(0.0, |period| period.unmet_wh);
            (
                Answer::No,
                format!(
                    "short by {unmet_wh:.0} Wh on day {} of {} ({usable_wh:.0} Wh usable)",
                    day + 1,
                    question.days
                ),
            )
        }
        _ if !missing.is_empty() => (Answer::NotKnown, format!("not known: {}", missing.join(", "))),
        _ => {
            let lowest_wh = outcome.lowest_wh;
            (
                Answer::Yes,
                format!(
                    "lowest {lowest_wh:.0} Wh of {usable_wh:.0} Wh usable in {} days",
                    question.days
                ),
            )
        }
    };
    Ok(Reason { about, answer, text })
}

fn check_question(question: &GeneratorQuestion) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.merge("bank", check_bank(&question.bank));
    check.merge("inverter", check_inverter(&question.inverter));
    for (field, length) in [
        ("demands", question.demands.len()),
        ("left_at_home", question.left_at_home.len()),
        ("comes_instead", question.comes_instead.len()),
    ] {
        if length > ITEMS_MAX {
            check.refuse(field, format!("must be at most {ITEMS_MAX}, are {length}"));
        }
    }
    for (index, demand) in question.demands.iter().enumerate().take(ITEMS_MAX) {
        check.merge(format_args!("demands[{index}]"), check_demand(demand));
    }
    for (field, energy) in [
        ("other_draw_wh_per_day", question.other_draw_wh_per_day),
        ("offered_wh_per_day", question.offered_wh_per_day),
    ] {
        if let Some(energy) = energy {
            check.between(field, energy, 0.0, 1e6);
        }
    }
    check.between("days", f64::from(question.days), 1.0, ITEMS_MAX as f64);
    for (field, items) in [
        ("left_at_home", &question.left_at_home),
        ("comes_instead", &question.comes_instead),
    ] {
        for (index, item) in items.iter().enumerate().take(ITEMS_MAX) {
            check.merge(format_args!("{field}[{index}]"), check_item(item));
        }
    }
    check.finish()
}

fn check_demand(demand: &Demand) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    match demand.kind {
        DemandKind::Mains {
            power_w,
            power_factor,
        } => {
            check.between("power_w", power_w, 0.001, POWER_MAX_W);
            if let Some(power_factor) = power_factor {
                check.between("power_factor", power_factor, 0.1, 1.0);
            }
        }
        DemandKind::Welding { welder, current_a } => {
            check.merge("welder", check_welder(&welder));
            check.between("current_a", current_a, 1.0, welder.current_max_a.max(1.0));
        }
    }
    check.between("hours", demand.hours, 0.0, 24.0);
    check.between("every_days", f64::from(demand.every_days), 1.0, 1_000.0);
    check.finish()
}

fn check_item(item: &CarriedItem) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("mass_kg", item.mass_kg, 0.001, 10_000.0);
    check.between("x_mm", item.x_mm, -5_000.0, 20_000.0);
    check.between("y_mm", item.y_mm, -5_000.0, 5_000.0);
    check.between("z_mm", item.z_mm, -1_000.0, 6_000.0);
    check.finish()
}
