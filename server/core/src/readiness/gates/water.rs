//! Water and food: do they suffice for everybody between confirmed points?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::readiness::Figure;
use crate::record::{Departure, SupplyGate};
use crate::supplies::{DepartureWater, WATER_CAUTION, WATER_FORMULA_VERSION, WaterIssue};
use crate::water::intervals::WaterInterval;
use crate::water::loss::LargestLoss;

const QUESTION: &str = "Do water and food suffice, with their reserve?";

/// Water and food of the convoy.
pub(super) fn gate(departure: &Departure, water: &DepartureWater) -> Gate {
    if let Some(finding) = super::not_asked(departure, SupplyGate::Water) {
        let summary = finding.text.clone();
        return build("water", QUESTION, vec![finding], summary);
    }
    let records = vec![departure.name.clone()];
    let mut findings: Vec<Finding> = water
        .issues(departure)
        .iter()
        .map(|issue| finding(issue, departure))
        .collect();
    let intervals = water.sums.iter().flat_map(|sums| &sums.requirement.intervals);
    for interval in intervals.filter(|interval| interval.balance_l >= 0.0) {
        let mut finding = Finding::new(Answer::Met, in_words(interval), records.clone());
        finding.figures = figures(interval);
        findings.push(finding.basis(WATER_FORMULA_VERSION));
    }
    let shown = water.sums.iter().flat_map(|sums| sums.losses.iter().flatten());
    for loss in shown
        .map(|loss| &loss.largest)
        .filter(|loss| !loss.survived)
        .take(1)
    {
        let finding = Finding::new(Answer::Met, loss_in_words(loss), records.clone());
        findings.push(finding.basis(WATER_FORMULA_VERSION));
    }
    let tightest = water.sums.as_ref().and_then(|sums| sums.requirement.tightest());
    let met = tightest.map_or_else(String::new, in_words);
    build("water", QUESTION, findings, met)
}

fn finding(issue: &WaterIssue, departure: &Departure) -> Finding {
    let records = vec![departure.name.clone()];
    let new = |text: String| Finding::new(issue.answer(), text, records).basis(WATER_FORMULA_VERSION);
    match issue {
        WaterIssue::Missing(missing) => {
            let first = missing.first().map_or("the water is not known", String::as_str);
            let text = match missing.len() {
                0 | 1 => first.to_owned(),
                count => format!("{first}; and {} more inputs are missing", count - 1),
            };
            let mut finding = new(text).remedy("record what is missing");
            finding.missing = missing.clone();
            finding
        }
        WaterIssue::Short(interval) => {
            let mut finding = new(in_words(interval)).remedy(format!(
                "carry {:.1} l more, confirm a point on the way, or plan fewer days. {WATER_CAUTION}",
                -interval.balance_l
            ));
            finding.figures = figures(interval);
            finding
        }
        WaterIssue::Loss { interval, loss, .. } => new(format!(
            "{} to {}: {}",
            interval.start,
            interval.end,
            loss_in_words(loss)
        ))
        .remedy("split the water over more containers, or carry more"),
        WaterIssue::Food(food) => {
            let mut finding = new(format!(
                "the food lasts {:.1} days for everybody: {:.1} person-days short",
                food.days, -food.balance_person_days
            ))
            .remedy("carry more food");
            finding.figures = vec![Figure {
                id: "food_aboard_person_days".to_owned(),
                value: food.aboard_person_days,
                limit: Some(food.required_person_days),
                uncertainty: None,
            }];
            finding
        }
    }
}

fn in_words(interval: &WaterInterval) -> String {
    let balance = if interval.balance_l < 0.0 {
        format!("{:.1} l short", -interval.balance_l)
    } else {
        format!("{:.1} l over", interval.balance_l)
    };
    format!(
        "{} to {}: {:.1} l of water carried, {:.1} l required for {} days with reserve: {balance}",
        interval.start,
        interval.end,
        interval.carried_l,
        interval.need.required_l,
        interval.need.days_counted
    )
}

fn loss_in_words(loss: &LargestLoss) -> String {
    format!(
        "were the largest container lost ({}, {:.1} l), {:.1} l would be left: {:.1} days at the minimum, which \
         is not enough to the next confirmed point",
        loss.container, loss.lost_l, loss.left_l, loss.days_at_minimum
    )
}

fn figures(interval: &WaterInterval) -> Vec<Figure> {
    let figure = |id: &str, value: f64, limit: Option<f64>| Figure {
        id: id.to_owned(),
        value,
        limit,
        uncertainty: None,
    };
    vec![
        figure(
            "water_carried_l",
            interval.carried_l,
            Some(interval.need.required_l),
        ),
        figure("water_balance_l", interval.balance_l, None),
    ]
}
