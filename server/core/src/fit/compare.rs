//! Comparing what is offered at an interface with what is required.

use super::vocabulary::ValueType;
use crate::record::{BoltCircle, Comparison, InterfaceValue};

/// How an offered value stands to a required one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Match {
    /// It is as required.
    Matches,
    /// It is not as required.
    Mismatch,
    /// Part of a value is missing: the thread of a bolt circle.
    NotKnown,
    /// The two are values of different types.
    Incomparable,
}

/// Rounding of decimal figures that counts as none, relative to the figure.
const ROUNDING: f64 = 1e-9;

/// Compares an offered with a required value.
///
/// Lengths, ratios and numbers may differ by `tolerance`, in their unit. Counts compare exactly or in
/// the direction asked for. Texts, connectors and threads must be the same but for case and spaces;
/// metric threads compare by diameter and pitch, a missing pitch being the coarse one (from memory of
/// the ISO 261 table, not verified). Sides must be the same. Bolt circles must agree in count,
/// diameter within the tolerance, and thread where the required one states it.
pub fn compare(
    required: &InterfaceValue,
    offered: &InterfaceValue,
    comparison: Comparison,
    tolerance: f64,
) -> Match {
    use InterfaceValue as Value;
    match (required, offered) {
        (Value::LengthMm(required), Value::LengthMm(offered))
        | (Value::Ratio(required), Value::Ratio(offered))
        | (Value::Number(required), Value::Number(offered)) => {
            known(numbers(*required, *offered, comparison, tolerance))
        }
        (Value::Count(required), Value::Count(offered)) => known(match comparison {
            Comparison::Equal => offered == required,
            Comparison::AtLeast => offered >= required,
            Comparison::AtMost => offered <= required,
        }),
        (Value::Text(required), Value::Text(offered))
        | (Value::Connector(required), Value::Connector(offered)) => {
            known(normal_text(required) == normal_text(offered))
        }
        (Value::Thread(required), Value::Thread(offered)) => {
            known(normal_thread(required) == normal_thread(offered))
        }
        (Value::Hand(required), Value::Hand(offered)) => known(required == offered),
        (Value::BoltCircle(required), Value::BoltCircle(offered)) => {
            bolt_circles(required, offered, tolerance)
        }
        _ => Match::Incomparable,
    }
}

fn known(matches: bool) -> Match {
    if matches { Match::Matches } else { Match::Mismatch }
}

fn numbers(required: f64, offered: f64, comparison: Comparison, tolerance: f64) -> bool {
    let allowed = tolerance + ROUNDING * required.abs().max(offered.abs()).max(1.0);
    match comparison {
        Comparison::Equal => (offered - required).abs() <= allowed,
        Comparison::AtLeast => offered >= required - allowed,
        Comparison::AtMost => offered <= required + allowed,
    }
}

fn bolt_circles(required: &BoltCircle, offered: &BoltCircle, tolerance: f64) -> Match {
    let same_circle = required.count == offered.count
        && numbers(
            required.circle_mm,
            offered.circle_mm,
            Comparison::Equal,
            tolerance,
        );
    if !same_circle {
        return Match::Mismatch;
    }
    match (required.thread.trim(), offered.thread.trim()) {
        ("", _) => Match::Matches,
        (_, "") => Match::NotKnown,
        (required, offered) => known(normal_thread(required) == normal_thread(offered)),
    }
}

fn normal_text(text: &str) -> String {
    text.chars()
        .filter(|character| !character.is_whitespace())
        .flat_map(char::to_lowercase)
        .collect()
}

/// Coarse pitches of metric threads, millimetres: from memory of the ISO 261 table, not verified.
const COARSE_PITCHES: [(f64, f64); 17] = [
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
    (27.0, 3.0),
    (30.0, 3.5),
    (33.0, 3.5),
    (36.0, 4.0),
    (39.0, 4.0),
];

/// A thread in one spelling: `M14 × 1,50` and `m14x1.5` are the same.
fn normal_thread(thread: &str) -> String {
    let text = normal_text(thread).replace('×', "x").replace(',', ".");
    match metric_thread_mm(&text) {
        Some((diameter_mm, Some(pitch_mm))) => format!("m{diameter_mm}x{pitch_mm}"),
        Some((diameter_mm, None)) => COARSE_PITCHES
            .iter()
            .find(|(diameter, _)| *diameter == diameter_mm)
            .map_or(text, |(_, pitch_mm)| format!("m{diameter_mm}x{pitch_mm}")),
        None => text,
    }
}

/// Diameter and pitch of a metric thread.
pub(super) fn metric_thread_mm(thread: &str) -> Option<(f64, Option<f64>)> {
    let text = normal_text(thread).replace('×', "x").replace(',', ".");
    let size = text.strip_prefix('m')?;
    let number = |text: &str| {
        text.parse::<f64>()
            .ok()
            .filter(|value| value.is_finite() && *value > 0.0)
    };
    match size.split_once('x') {
        Some((diameter, pitch)) => Some((number(diameter)?, Some(number(pitch)?))),
        None => Some((number(size)?, None)),
    }
}

/// A key that values share whenever they compare as equal without a tolerance. Values that differ may
/// share it too: numbers are told apart by their type only.
pub(super) fn coarse_key(value: &InterfaceValue) -> String {
    match value {
        InterfaceValue::Text(text) => format!("text {}", normal_text(text)),
        InterfaceValue::Connector(text) => format!("connector {}", normal_text(text)),
        InterfaceValue::Thread(thread) => format!("thread {}", normal_thread(thread)),
        InterfaceValue::Count(count) => format!("count {count}"),
        InterfaceValue::Hand(hand) => hand.word().to_owned(),
        InterfaceValue::BoltCircle(circle) => format!("circle {}", circle.count),
        InterfaceValue::LengthMm(_) => "length".to_owned(),
        InterfaceValue::Ratio(_) => "ratio".to_owned(),
        InterfaceValue::Number(_) => "number".to_owned(),
    }
}

/// A value for people.
pub(super) fn shown(value: &InterfaceValue) -> String {
    match value {
        InterfaceValue::Text(text) | InterfaceValue::Thread(text) | InterfaceValue::Connector(text) => {
            text.clone()
        }
        InterfaceValue::Count(count) => count.to_string(),
        InterfaceValue::LengthMm(length_mm) => format!("{length_mm} mm"),
        InterfaceValue::Ratio(ratio) => ratio.to_string(),
        InterfaceValue::Hand(hand) => hand.word().to_owned(),
        InterfaceValue::BoltCircle(circle) => {
            let thread = if circle.thread.is_empty() {
                String::new()
            } else {
                format!(" {}", circle.thread)
            };
            format!("{} x{thread} on {} mm", circle.count, circle.circle_mm)
        }
        InterfaceValue::Number(number) => number.to_string(),
    }
}

/// A required value for people: `at least 12 mm`.
pub(super) fn shown_required(value: &InterfaceValue, comparison: Comparison, tolerance: f64) -> String {
    let text = shown(value);
    let numeric = matches!(
        ValueType::of(value),
        ValueType::Length | ValueType::Ratio | ValueType::Number | ValueType::Count
    );
    let tolerated = if tolerance > 0.0 && ValueType::of(value) != ValueType::Count {
        format!(", {tolerance} allowed")
    } else {
        String::new()
    };
    match comparison {
        Comparison::AtLeast if numeric => format!("at least {text}{tolerated}"),
        Comparison::AtMost if numeric => format!("at most {text}{tolerated}"),
        _ if numeric || ValueType::of(value) == ValueType::BoltCircle => format!("{text}{tolerated}"),
        _ => text,
    }
}
