//! What the electrical power of a vehicle means: everything that stands against it, and what is not known.

use super::recorded::{Power, PowerInput};
use super::welder::AllowedCurrent;
use crate::answer::Answer;

/// Something that stands against the power sufficing, or is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct PowerIssue {
    /// What it means.
    pub answer: Answer,
    /// What was found.
    pub text: String,
    /// What would clear it.
    pub remedy: String,
    /// What is missing, when that is it.
    pub missing: Vec<String>,
    /// The number behind it, with its unit last, and its limit.
    pub figure: Option<PowerFigure>,
}

/// The number behind an issue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerFigure {
    /// What it is, its unit last.
    pub id: &'static str,
    /// The value.
    pub value: f64,
    /// The limit it is held against.
    pub limit: f64,
}

impl PowerIssue {
    fn figure(mut self, id: &'static str, value: f64, limit: f64) -> Self {
        self.figure = Some(PowerFigure { id, value, limit });
        self
    }
}

fn issue(answer: Answer, text: impl Into<String>, remedy: impl Into<String>) -> PowerIssue {
    PowerIssue {
        answer,
        text: text.into(),
        remedy: remedy.into(),
        missing: Vec::new(),
        figure: None,
    }
}

/// Everything that stands against `found`, worst first. `input` is `None` when system or plan are not on record.
pub fn power_issues(input: Option<&PowerInput<'_>>, found: &Power) -> Vec<PowerIssue> {
    let mut issues = Vec::new();
    issues.extend(missing(&found.missing));
    if found.values_are_typical {
        issues.push(issue(
            Answer::MetWithConditions,
            "the battery's values are typical of its kind, not its maker's",
            "record the maker's values",
        ));
    }
    if let Some(input) = input {
        issues.extend(autonomy(input, found));
        issues.extend(current(found));
        issues.extend(inverter(input, found));
        issues.extend(welding(input, found));
    }
    let first_short = found.balance.as_ref().and_then(|balance| balance.first_unmet);
    if let Some(day) = first_short {
        issues.push(issue(
            Answer::NotMet,
            format!(
                "the battery is empty on day {}: charging does not keep up",
                day + 1
            ),
            "use less, charge more, or carry a larger battery",
        ));
    }
    if found
        .acceptance
        .as_ref()
        .is_some_and(|acceptance| acceptance.too_cold)
    {
        issues.push(issue(
            Answer::MetWithConditions,
            "the battery is too cold to charge and must be warmed first",
            "keep it warm",
        ));
    }
    let problems = found.circuits.iter().flat_map(|circuit| &circuit.problems);
    issues.extend(problems.map(|problem| {
        let mut issue = issue(problem.answer, problem.text.as_str(), problem.remedy.as_str());
        if problem.answer == Answer::NotKnown {
            issue.missing.push(problem.text.clone());
        }
        issue
    }));
    issues.sort_by_key(|issue| std::cmp::Reverse(issue.answer));
    issues
}

fn missing(missing: &[String]) -> Option<PowerIssue> {
    let first = missing.first()?;
    let text = match missing.len() {
        1 => first.clone(),
        count => format!("{first}; and {} more inputs are missing", count - 1),
    };
    Some(PowerIssue {
        missing: missing.to_vec(),
        ..issue(Answer::NotKnown, text, "record what is missing")
    })
}

fn autonomy(input: &PowerInput<'_>, found: &Power) -> Option<PowerIssue> {
    let least = input.autonomy_min_days?;
    let autonomy = found.autonomy?;
    // Nothing drawn lasts for ever.
    let days = autonomy.days?;
    let remedy = "use less or carry a larger battery";
    if days < least {
        let text = format!("the battery lasts {days:.1} days without charging, {least} asked for");
        return Some(issue(Answer::NotMet, text, remedy).figure("autonomy_days", days, least));
    }
    let high = autonomy.days_at_high_draw?;
    (high < least).then(|| {
        let text = format!(
            "the battery lasts {days:.1} days without charging, but {high:.1} at the mean draw and one standard \
             deviation, {least} asked for"
        );
        issue(Answer::MetWithConditions, text, remedy).figure("autonomy_at_high_draw_days", high, least)
    })
}

/// The current limit: a single device beyond it is not met, all of them at once a condition.
fn current(found: &Power) -> Option<PowerIssue> {
    let (budget, drawn) = (found.budget.as_ref()?, found.discharge.as_ref()?);
    // Energy over charge is the voltage of the bank; with nothing drawn there is no current either.
    let voltage_v = (budget.charge_ah_per_day > 0.0)
        .then(|| budget.energy_wh_per_day / budget.charge_ah_per_day)
        .or_else(|| (drawn.usable_ah > 0.0).then(|| drawn.usable_wh / drawn.usable_ah))?;
    let limit_a = drawn.current_limit_a;
    let alone = budget
        .devices
        .iter()
        .find(|device| device.running_power_w / voltage_v > limit_a);
    if let Some(device) = alone {
        let text = format!(
            "{} draws {:.0} A from a battery for {limit_a:.0} A",
            device.name,
            device.running_power_w / voltage_v
        );
        let device_a = device.running_power_w / voltage_v;
        let issue = issue(Answer::NotMet, text, "carry a larger battery");
        return Some(issue.figure("device_current_a", device_a, limit_a));
    }
    let together_a = budget.running_power_w / voltage_v;
    (together_a > limit_a).then(|| {
        issue(
            Answer::MetWithConditions,
            format!("everything at once draws {together_a:.0} A from a battery for {limit_a:.0} A"),
            "do not run everything at once",
        )
        .figure("running_current_a", together_a, limit_a)
    })
}

fn inverter(input: &PowerInput<'_>, found: &Power) -> Option<PowerIssue> {
    let rated_w = input.system.inverter?.rated_power_w;
    let load_w = found.inverter_load_w?;
    (load_w > rated_w).then(|| {
        issue(
            Answer::MetWithConditions,
            format!("what hangs on the inverter takes {load_w:.0} W, the inverter gives {rated_w:.0} W"),
            "do not run everything on the inverter at once",
        )
        .figure("inverter_load_w", load_w, rated_w)
    })
}

/// Whether the current asked for can be welded from the bank or the generator.
fn welding(input: &PowerInput<'_>, found: &Power) -> Option<PowerIssue> {
    let wanted_a = input.plan.welding_current_a?;
    let battery = found
        .battery_welding
        .as_ref()
        .map(|welding| ("battery", welding.binding, !welding.missing.is_empty()));
    let generator = found.generator_welding.as_ref().map(|welding| {
        let known = welding.limits.len() > 1;
        (
            "generator",
            welding.binding,
            !welding.missing.is_empty() || !known,
        )
    });
    let sources: Vec<(&str, AllowedCurrent, bool)> = battery.into_iter().chain(generator).collect();
    if sources.is_empty() {
        let text = format!("welding at {wanted_a:.0} A is asked for, and nothing on record can weld");
        return Some(issue(
            Answer::NotMet,
            text,
            "record welder and generator or inverter",
        ));
    }
    let able = |certain: bool| {
        sources
            .iter()
            .any(|(_, binding, unsure)| binding.welding_current_a >= wanted_a && !(certain && *unsure))
    };
    if able(true) {
        return None;
    }
    let each = sources.iter().map(|(source, binding, _)| {
        format!("{source} {:.1} A ({})", binding.welding_current_a, binding.limit)
    });
    let each = each.collect::<Vec<_>>().join(", ");
    Some(if able(false) {
        issue(
            Answer::NotKnown,
            format!("whether {wanted_a:.0} A can be welded is not known: at most {each}"),
            "record ratings in watts and volt-amperes, the welder's power factor, and what the battery lacks",
        )
    } else {
        issue(
            Answer::NotMet,
            format!("{wanted_a:.0} A cannot be welded: {each}"),
            "weld at a lower current, or carry a stronger source",
        )
    })
}
