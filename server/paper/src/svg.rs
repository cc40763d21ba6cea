//! Drawings as SVG documents.
//!
//! Text stays text, so that it can be searched, copied and read aloud; whichever font a viewer has, each line takes the width that it
//! was set in.

use svg::Document;
use svg::node::element::{Circle, Group, Polygon, Polyline, Rectangle, Text as Words};

use crate::drawing::{Drawing, Shape, Stroke, Tone};
use crate::text::{Line, Setter};
use crate::{Fonts, Shade, Text};

/// Fonts of a viewer, in the order of what the lines were set in.
const FAMILIES: &str = "'DejaVu Sans Condensed', 'Arial Narrow', Helvetica, Arial, sans-serif";

/// Writes `drawing`, shown `enlarged` times its size in points. The same drawing gives the same bytes.
pub fn svg(drawing: &Drawing, enlarged: f32, fonts: &Fonts) -> String {
    let mut setter = Setter::new(fonts);
    let (width, height) = (rounded(drawing.width), rounded(drawing.height));
    let ground = Rectangle::new()
        .set("width", width)
        .set("height", height)
        .set("fill", grey(Tone::White));
    let mut document = Document::new()
        .set("viewBox", (0.0, 0.0, width, height))
        .set("width", rounded(drawing.width * enlarged))
        .set("height", rounded(drawing.height * enlarged))
        .set("role", "img")
        .set("font-family", FAMILIES)
        .add(ground);
    for shape in &drawing.shapes {
        document = match shape {
            Shape::Polygon {
                points,
                shade,
                stroke,
            } => document.add(
                outlined(Polygon::new(), *stroke)
                    .set("points", listed(points))
                    .set("fill", filling(*shade)),
            ),
            Shape::Line { points, stroke } => document.add(
                outlined(Polyline::new(), *stroke)
                    .set("points", listed(points))
                    .set("fill", "none"),
            ),
            Shape::Circle {
                centre,
                radius,
                shade,
                stroke,
            } => document.add(
                outlined(Circle::new(), *stroke)
                    .set("cx", rounded(centre.0))
                    .set("cy", rounded(centre.1))
                    .set("r", rounded(*radius))
                    .set("fill", filling(*shade)),
            ),
            Shape::Label {
                x,
                y,
                width,
                text,
                tone,
                turn_deg,
            } => {
                let lines = setter.set(text, *width);
                let mut group = words(&lines, (*x, *y), text, *tone);
                if *turn_deg != 0.0 {
                    let turn = format!("rotate({} {} {})", rounded(*turn_deg), rounded(*x), rounded(*y));
                    group = group.set("transform", turn);
                }
                document.add(group)
            }
        };
    }
    document.to_string()
}

/// The lines of a text.
fn words(lines: &[Line], (x, y): (f32, f32), text: &Text, tone: Tone) -> Group {
    let mut group = Group::new()
        .set("font-size", rounded(text.size))
        .set("fill", grey(tone));
    if text.bold {
        group = group.set("font-weight", "bold");
    }
    let mut top = y;
    for line in lines {
        let said = line.words();
        if !said.is_empty() {
            let left = x + line.x;
            let mut set = Words::new(said)
                .set("y", rounded(top + line.baseline))
                .set("textLength", rounded(line.width))
                .set("lengthAdjust", "spacingAndGlyphs");
            set = if line.is_rtl {
                set.set("x", rounded(left + line.width)).set("direction", "rtl")
            } else {
                set.set("x", rounded(left))
            };
            group = group.add(set);
        }
        top += line.height;
    }
    group
}

fn outlined<Element: svg::Node + 'static>(mut element: Element, stroke: Stroke) -> Element {
    if stroke.width > 0.0 {
        element.assign("stroke", grey(stroke.tone));
        element.assign("stroke-width", rounded(stroke.width));
        if let Some(dash) = stroke.dash {
            element.assign("stroke-dasharray", rounded(dash));
        }
    }
    element
}

fn listed(points: &[(f32, f32)]) -> String {
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", rounded(*x), rounded(*y)))
        .collect();
    points.join(" ")
}

fn grey(tone: Tone) -> &'static str {
    match tone {
        Tone::Black => "#000000",
        Tone::Grey => "#666666",
        Tone::Faint => "#d4d4d4",
        Tone::White => "#ffffff",
    }
}

fn filling(shade: Shade) -> &'static str {
    match shade {
        Shade::None => "none",
        Shade::White => "#ffffff",
        Shade::Light => "#dedede",
        Shade::Black => "#000000",
    }
}

/// A hundredth of a point is finer than any screen. In double precision, so that no digits of the single one are written.
fn rounded(value: f32) -> f64 {
    (f64::from(value) * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(text: &str) -> Drawing {
        Drawing {
            width: 100.0,
            height: 50.0,
            shapes: vec![
                Shape::label(10.0, 5.0, 60.0, Text::new(text)),
                Shape::line(
                    (0.0, 0.0),
                    (1.0 / 3.0, 2.0),
                    Stroke::of(0.5, Tone::Faint).dashed(3.0),
                ),
            ],
        }
    }

    #[test]
    fn names_can_neither_break_the_document_nor_leave_their_box() {
        let fonts = Fonts::built_in().unwrap();
        let drawn = svg(
            &drawing("<a&b> \u{1} a name that is longer than its box"),
            1.0,
            &fonts,
        );
        assert!(
            drawn.contains("&lt;a&amp;b&gt;") && !drawn.contains("<a&b>"),
            "{drawn}"
        );
        assert!(!drawn.contains('\u{1}'));
        assert!(drawn.matches("<text").count() > 1, "{drawn}");
        for length in drawn.split("textLength=\"").skip(1) {
            let length: f64 = length.split('"').next().unwrap().parse().unwrap();
            assert!(length <= 60.01, "{drawn}");
        }
        // Every word is there, in order.
        let said: Vec<&str> = drawn
            .split('>')
            .filter_map(|part| part.split('<').next())
            .collect();
        let said = said.join(" ");
        let said: Vec<&str> = said.split_whitespace().collect();
        assert!(
            said.join(" ").contains("a name that is longer than its box"),
            "{said:?}"
        );
    }

    #[test]
    fn what_runs_from_right_to_left_starts_at_the_right_end_of_its_box() {
        let fonts = Fonts::built_in().unwrap();
        let drawn = svg(&drawing("שלום"), 2.0, &fonts);
        assert!(
            drawn.contains("direction=\"rtl\"") && drawn.contains("x=\"70\""),
            "{drawn}"
        );
        assert!(
            drawn.contains("width=\"200\"") && drawn.contains("stroke-dasharray=\"3\""),
            "{drawn}"
        );
    }
}
