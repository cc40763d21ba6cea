//! The steps of an axis, kilograms for people, and what the picture of speeds, which needs colours, draws with.

use svg::Document;
use svg::node::element::{Line, Rectangle, Text};

/// What is read first.
pub(crate) const INK: &str = "#222222";
/// Lines that only guide the eye.
pub(crate) const GRID: &str = "#d9d9d9";
/// What is read last.
pub(crate) const FAINT: &str = "#666666";
/// The ground of everything.
pub(crate) const WHITE: &str = "#ffffff";

/// A white sheet.
pub(crate) fn paper(width: f64, height: f64) -> Document {
    Document::new()
        .set("viewBox", (0.0, 0.0, width, height))
        .set("width", width)
        .set("height", height)
        .set("role", "img")
        .set("font-family", "Helvetica, Arial, sans-serif")
        .add(
            Rectangle::new()
                .set("width", width)
                .set("height", height)
                .set("fill", WHITE),
        )
}

/// Kilograms for people: whole, in groups of three.
pub(crate) fn kilograms(mass_kg: f64) -> String {
    let whole = format!("{:.0}", mass_kg.abs());
    let mut grouped = String::new();
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    let sign = if mass_kg <= -0.5 { "-" } else { "" };
    format!("{sign}{grouped}")
}

/// A round step and the round end of an axis that reaches `most`.
pub(crate) fn steps(most: f64) -> (f64, f64) {
    let most = most.max(1.0);
    let rough = most / 8.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough)
        .unwrap_or(rough);
    (step, (most / step).ceil() * step)
}

/// A round step, and the round ends of an axis that holds `least` and `most`.
pub(crate) fn steps_between(least: f64, most: f64) -> (f64, f64, f64) {
    let span = (most - least).max(1.0);
    let (step, _) = steps(2.0 * span);
    (
        step,
        ((least - span / 10.0) / step).floor() * step,
        ((most + span / 10.0) / step).ceil() * step,
    )
}

/// The marks of an axis; half a step beyond the end makes good what adding up loses.
pub(crate) fn ticks(step: f64, end: f64) -> impl Iterator<Item = f64> {
    std::iter::successors(Some(0.0), move |tick| Some(tick + step))
        .take_while(move |tick| *tick <= end + step / 2.0)
}

/// A line.
pub(crate) fn stroke(x1: f64, y1: f64, x2: f64, y2: f64, colour: &str, width: f64) -> Line {
    Line::new()
        .set("x1", rounded(x1))
        .set("y1", rounded(y1))
        .set("x2", rounded(x2))
        .set("y2", rounded(y2))
        .set("stroke", colour)
        .set("stroke-width", width)
}

/// A line of text; `anchor` says which end of it is at `x`.
pub(crate) fn words(x: f64, y: f64, size: f64, colour: &str, anchor: &str, text: &str) -> Text {
    Text::new(text)
        .set("x", rounded(x))
        .set("y", rounded(y))
        .set("font-size", size)
        .set("fill", colour)
        .set("text-anchor", anchor)
}

/// A hundredth of a unit is finer than any screen.
pub(crate) fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kilograms_are_whole_and_grouped() {
        for (mass_kg, text) in [
            (0.0, "0"),
            (999.5, "1,000"),
            (12_345.4, "12,345"),
            (-0.2, "0"),
            (-1_200.0, "-1,200"),
        ] {
            assert_eq!(kilograms(mass_kg), text);
        }
    }

    #[test]
    fn steps_are_round_and_reach_the_end() {
        assert_eq!(steps(144.0), (20.0, 160.0));
        assert_eq!(ticks(20.0, 160.0).count(), 9);
        // From 1300 to 1500 in steps of 50, with a tenth of the span free at either end.
        assert_eq!(steps_between(1_300.0, 1_500.0), (50.0, 1_250.0, 1_550.0));
    }
}
