//! A vehicle seen from above with what it carries, as an SVG document: wheels and axles against their limits, masses where they sit.
//!
//! Readable in black and white: what is over its limit stands in a heavy frame and is said in words.

use svg::node::element::{Circle, Group, Rectangle};

use crate::drawing::{FAINT, GRID, INK, WHITE, fitted, kilograms, paper, rounded, stroke, words};
use crate::plan_data::{HeldLoad, PlanMass, PlanView, known};
use crate::plan_masses::{Marker, markers};

const WIDTH: f64 = 960.0;
const HEIGHT: f64 = 660.0;
/// The drawing: centre line, first and last line of the paper.
const MIDDLE: f64 = 262.0;
const TOP: f64 = 92.0;
const BOTTOM: f64 = 590.0;
/// Most paper for the width of the vehicle; the loads of its wheels stand beside it.
const BREADTH: f64 = 250.0;
/// The table.
const LEFT: f64 = 520.0;
const RIGHT: f64 = 930.0;
const ROW: f64 = 19.0;
/// Masses that get a row; what is smaller is added up in one.
const MASSES_MAX: usize = 17;

/// Drawn size of a wheel, millimetres: schematic.
const WHEEL_MM: (f64, f64) = (260.0, 760.0);
/// Drawn overhangs, millimetres: schematic, longer where something sits further out.
const OVERHANG_MM: f64 = 800.0;

/// Draws a plan view, nose up. What is not a number is drawn as not known.
pub fn plan_view(view: &PlanView) -> String {
    let mut masses: Vec<&PlanMass> = view
        .masses
        .iter()
        .filter(|mass| {
            [mass.mass_kg, mass.x_mm, mass.y_mm]
                .iter()
                .all(|number| number.is_finite())
        })
        .collect();
    masses.sort_by(|one, other| other.mass_kg.total_cmp(&one.mass_kg));
    let shown = masses.len().min(MASSES_MAX);
    let frame = Frame::of(view, &masses);
    let markers = markers(masses.iter().take(shown).map(|mass| {
        let (x, y) = frame.at(mass.x_mm, mass.y_mm);
        (x, y, mass.mass_kg)
    }));
    paper(WIDTH, HEIGHT)
        .add(
            words(30.0, 36.0, 18.0, INK, "start", &fitted(&view.title, 900.0, 18.0))
                .set("font-weight", "bold"),
        )
        .add(words(
            30.0,
            58.0,
            13.0,
            INK,
            "start",
            &fitted(&view.state, 900.0, 13.0),
        ))
        .add(frame.body())
        .add(marks(&markers))
        .add(frame.wheels(view))
        .add(frame.centre(view))
        .add(limits(view))
        .add(mass_table(&masses, shown))
        .add(footer(view))
        .to_string()
}

fn shown(number: Option<f64>) -> String {
    known(number).map_or_else(|| "not known".to_owned(), kilograms)
}

/// Where the vehicle lies on the paper.
struct Frame {
    /// Paper units per millimetre.
    scale: f64,
    front_mm: f64,
    back_mm: f64,
    half_width_mm: f64,
    wheelbase_mm: f64,
    tracks_mm: [f64; 2],
}

impl Frame {
    fn of(view: &PlanView, masses: &[&PlanMass]) -> Self {
        let length = |value: f64, otherwise: f64| {
            if value.is_finite() {
                value.clamp(300.0, 20_000.0)
            } else {
                otherwise
            }
        };
        let wheelbase_mm = length(view.wheelbase_mm, 3_000.0);
        let tracks_mm = view.tracks_mm.map(|track_mm| length(track_mm, 1_500.0));
        let widest_mm = tracks_mm.into_iter().fold(0.0, f64::max) / 2.0;
        let reach = |from: f64, value: &dyn Fn(&PlanMass) -> f64| {
            masses
                .iter()
                .map(|mass| value(mass).clamp(-20_000.0, 20_000.0))
                .fold(from, f64::max)
        };
        let front_mm = -reach(OVERHANG_MM, &|mass| 150.0 - mass.x_mm);
        let back_mm = reach(wheelbase_mm + OVERHANG_MM, &|mass| mass.x_mm + 150.0);
        let half_width_mm = reach(widest_mm + 60.0, &|mass| mass.y_mm.abs() + 60.0);
        // Beside the body the wheels stand out.
        let outer_mm = half_width_mm.max(widest_mm + WHEEL_MM.0 / 2.0);
        Self {
            scale: ((BOTTOM - TOP) / (back_mm - front_mm)).min(BREADTH / (2.0 * outer_mm)),
            front_mm,
            back_mm,
            half_width_mm,
            wheelbase_mm,
            tracks_mm,
        }
    }

    fn at(&self, x_mm: f64, y_mm: f64) -> (f64, f64) {
        (
            MIDDLE + y_mm * self.scale,
            TOP + (x_mm - self.front_mm) * self.scale,
        )
    }

    fn body(&self) -> Group {
        let (left, top) = self.at(self.front_mm, -self.half_width_mm);
        let (right, bottom) = self.at(self.back_mm, self.half_width_mm);
        let mut group = Group::new()
            .add(words(MIDDLE, TOP - 8.0, 11.0, FAINT, "middle", "front"))
            .add(frame_of(left, top, right - left, bottom - top, FAINT, 1.0).set("rx", 14))
            .add(stroke(MIDDLE, top, MIDDLE, bottom, GRID, 1.0).set("stroke-dasharray", "8 3 2 3"));
        for (x_mm, track_mm) in [(0.0, self.tracks_mm[0]), (self.wheelbase_mm, self.tracks_mm[1])] {
            let (from, y) = self.at(x_mm, -track_mm / 2.0);
            let (to, _) = self.at(x_mm, track_mm / 2.0);
            group = group.add(stroke(from, y, to, y, FAINT, 2.0));
        }
        group
    }

    fn wheels(&self, view: &PlanView) -> Group {
        let mut group = Group::new();
        for (index, wheel) in view.wheels.iter().enumerate() {
            let (rear, right) = (index >= 2, index % 2 == 1);
            let side = if right { 1.0 } else { -1.0 };
            let x_mm = if rear { self.wheelbase_mm } else { 0.0 };
            let (x, y) = self.at(x_mm, side * self.tracks_mm[usize::from(rear)] / 2.0);
            let (width, length) = (WHEEL_MM.0 * self.scale, WHEEL_MM.1 * self.scale);
            let heavy = if wheel.is_over() { 3.5 } else { 1.5 };
            group = group.add(
                frame_of(x - width / 2.0, y - length / 2.0, width, length, INK, heavy)
                    .set("fill", WHITE)
                    .set("rx", 3),
            );
            let outer = self.half_width_mm * self.scale;
            let edge = MIDDLE + side * (outer.max((x - MIDDLE).abs() + width / 2.0) + 8.0);
            let anchor = if right { "start" } else { "end" };
            let mut lines = vec![(format!("{} kg", shown(wheel.load_kg)), 14.0, INK)];
            if known(wheel.load_kg).is_none() {
                lines = vec![("not known".to_owned(), 12.0, INK)];
            }
            if let Some(limit_kg) = known(wheel.limit_kg) {
                lines.push((format!("of {}", kilograms(limit_kg)), 12.0, FAINT));
            }
            if wheel.is_over() {
                lines.push(("OVER".to_owned(), 12.0, INK));
            }
            for (line, (text, size, colour)) in lines.iter().enumerate() {
                let bold = if *colour == INK { "bold" } else { "normal" };
                let at = y - 4.0 + 16.0 * line as f64;
                group = group.add(words(edge, at, *size, colour, anchor, text).set("font-weight", bold));
            }
        }
        group
    }

    /// The centre of mass: a circle with two quarters filled.
    fn centre(&self, view: &PlanView) -> Group {
        let Some((x_mm, y_mm)) = view.centre_mm.filter(|(x_mm, _)| x_mm.is_finite()) else {
            return Group::new();
        };
        let (x, y) = self.at(x_mm, known(y_mm).unwrap_or(0.0));
        centre_mark(x, y)
    }
}

fn centre_mark(x: f64, y: f64) -> Group {
    let quarter = |dx: f64, dy: f64| {
        let sweep = if dx * dy > 0.0 { 1 } else { 0 };
        let path = format!(
            "M {x:.2} {y:.2} L {:.2} {y:.2} A 8 8 0 0 {sweep} {x:.2} {:.2} Z",
            x + dx,
            y + dy
        );
        svg::node::element::Path::new().set("d", path).set("fill", INK)
    };
    Group::new()
        .add(ring(x, y, 8.0, 1.5))
        .add(quarter(8.0, 8.0))
        .add(quarter(-8.0, -8.0))
}

fn ring(x: f64, y: f64, radius: f64, width: f64) -> Circle {
    Circle::new()
        .set("cx", rounded(x))
        .set("cy", rounded(y))
        .set("r", rounded(radius))
        .set("fill", WHITE)
        .set("stroke", INK)
        .set("stroke-width", width)
}

fn frame_of(x: f64, y: f64, width: f64, height: f64, colour: &str, stroke_width: f64) -> Rectangle {
    Rectangle::new()
        .set("x", rounded(x))
        .set("y", rounded(y))
        .set("width", rounded(width))
        .set("height", rounded(height))
        .set("fill", "none")
        .set("stroke", colour)
        .set("stroke-width", stroke_width)
}

/// The masses where they sit, numbered; a thin line leads to the place of one that had to be moved aside.
fn marks(markers: &[Marker]) -> Group {
    let mut group = Group::new();
    for marker in markers {
        if marker.is_aside() {
            group = group
                .add(stroke(
                    marker.x,
                    marker.y,
                    marker.true_x,
                    marker.true_y,
                    FAINT,
                    0.75,
                ))
                .add(
                    Circle::new()
                        .set("cx", rounded(marker.true_x))
                        .set("cy", rounded(marker.true_y))
                        .set("r", 1.5),
                );
        }
    }
    for (index, marker) in markers.iter().enumerate() {
        let number = (index + 1).to_string();
        group = group.add(ring(marker.x, marker.y, marker.radius, 1.0)).add(words(
            marker.x,
            marker.y + 3.5,
            10.0,
            INK,
            "middle",
            &number,
        ));
    }
    group
}

/// Axles and the whole against their limits.
fn limits(view: &PlanView) -> Group {
    let mut group = headings(TOP, "limits", ["kg", "limit", "left"]);
    let [front, rear] = view.axles;
    for (row, (name, held)) in [("front axle", front), ("rear axle", rear), ("total", view.total)]
        .into_iter()
        .enumerate()
    {
        let y = TOP + ROW * (row + 1) as f64;
        let left = held.left_kg().map_or_else(|| "not known".to_owned(), kilograms);
        let name = if held.is_over() {
            format!("{name}: OVER")
        } else {
            name.to_owned()
        };
        if held.is_over() {
            group = group.add(frame_of(LEFT - 6.0, y - 14.0, RIGHT - LEFT + 12.0, ROW, INK, 2.0));
        }
        group = group
            .add(words(LEFT, y, 12.0, INK, "start", &name))
            .add(columns(y, [&shown(held.load_kg), &shown(held.limit_kg), &left]));
    }
    group
}

fn headings(y: f64, title: &str, names: [&str; 3]) -> Group {
    Group::new()
        .add(words(LEFT, y, 12.0, INK, "start", title).set("font-weight", "bold"))
        .add(columns(y, names))
        .add(stroke(LEFT, y + 5.0, RIGHT, y + 5.0, FAINT, 0.75))
}

fn columns(y: f64, texts: [&str; 3]) -> Group {
    let [first, second, third] = texts;
    Group::new()
        .add(words(RIGHT - 146.0, y, 12.0, INK, "end", first))
        .add(words(RIGHT - 72.0, y, 12.0, INK, "end", second))
        .add(words(RIGHT, y, 12.0, INK, "end", third))
}

fn mass_table(masses: &[&PlanMass], shown: usize) -> Group {
    let top = TOP + ROW * 5.2;
    let mut group = headings(top, "carried", ["kg", "limit", "left"]);
    let mut y = top;
    for (index, mass) in masses.iter().take(shown).enumerate() {
        y += ROW;
        let held = HeldLoad {
            load_kg: Some(mass.mass_kg),
            limit_kg: mass.limit_kg,
        };
        if held.is_over() {
            group = group.add(frame_of(LEFT - 6.0, y - 14.0, RIGHT - LEFT + 12.0, ROW, INK, 2.0));
        }
        let name = if held.is_over() {
            format!("OVER: {}", mass.name)
        } else {
            mass.name.clone()
        };
        let limit = known(mass.limit_kg).map_or_else(String::new, kilograms);
        let left = held.left_kg().map_or_else(String::new, kilograms);
        group = group
            .add(words(LEFT + 16.0, y, 12.0, INK, "end", &(index + 1).to_string()))
            .add(words(
                LEFT + 24.0,
                y,
                12.0,
                INK,
                "start",
                &fitted(&name, RIGHT - LEFT - 215.0, 12.0),
            ))
            .add(columns(y, [&kilograms(mass.mass_kg), &limit, &left]));
    }
    if let Some(rest) = masses.get(shown..).filter(|rest| !rest.is_empty()) {
        y += ROW;
        let mass_kg: f64 = rest.iter().map(|mass| mass.mass_kg).sum();
        let text = format!("and {} smaller", rest.len());
        group = group
            .add(words(LEFT + 24.0, y, 12.0, INK, "start", &text))
            .add(columns(y, [&kilograms(mass_kg), "", ""]));
    }
    if masses.is_empty() {
        group = group.add(words(
            LEFT,
            y + ROW,
            12.0,
            FAINT,
            "start",
            "nothing with a known place",
        ));
    }
    group
}

fn footer(view: &PlanView) -> Group {
    let y = 604.0;
    let side = match view.centre_mm {
        None => "centre of mass: not known",
        Some((_, None)) => "centre of mass (its side is not known)",
        Some(_) => "centre of mass",
    };
    let mut group = Group::new();
    if view.centre_mm.is_some() {
        group = group.add(centre_mark(40.0, y - 4.0));
    }
    group = group.add(words(
        54.0,
        y,
        11.0,
        FAINT,
        "start",
        &format!("{side}. Outline and wheels are schematic."),
    ));
    for (index, remark) in view.remarks.iter().take(3).enumerate() {
        let at = y + 16.0 * (index + 1) as f64;
        group = group.add(words(
            30.0,
            at,
            11.0,
            INK,
            "start",
            &fitted(remark, WIDTH - 60.0, 11.0),
        ));
    }
    group
}

#[cfg(test)]
mod tests {
    use super::*;

    fn held(load_kg: f64, limit_kg: f64) -> HeldLoad {
        HeldLoad {
            load_kg: Some(load_kg),
            limit_kg: Some(limit_kg),
        }
    }

    fn view() -> PlanView {
        PlanView {
            title: "Truck <one> & two".to_owned(),
            state: "at departure".to_owned(),
            wheelbase_mm: 3_000.0,
            tracks_mm: [1_500.0; 2],
            wheels: [
                held(700.0, 1_550.0),
                held(710.0, 1_550.0),
                held(1_600.0, 1_550.0),
                HeldLoad::default(),
            ],
            axles: [held(1_410.0, 1_500.0), held(2_000.0, 1_900.0)],
            total: held(3_410.0, 3_500.0),
            centre_mm: Some((1_760.0, Some(20.0))),
            masses: (0..20)
                .map(|index| PlanMass {
                    name: "a name of a zone that is very much longer than any table is wide".to_owned(),
                    mass_kg: 100.0 - f64::from(index),
                    limit_kg: Some(99.5),
                    x_mm: 2_000.0,
                    y_mm: 0.0,
                })
                .collect(),
            remarks: vec!["the mass of the tent is not known".to_owned()],
        }
    }

    #[test]
    fn what_is_over_is_said_and_what_is_not_known_too() {
        let picture = plan_view(&view());
        // One wheel, one axle, one mass of 100 kg against 99.5.
        assert_eq!(picture.matches("OVER").count(), 3, "{picture}");
        assert_eq!(picture.matches("stroke-width=\"3.5\"").count(), 1);
        for said in [
            "1,600 kg",
            "of 1,550",
            "not known",
            "3,410",
            "and 3 smaller",
            "tent is not known",
            "-100",
        ] {
            assert!(picture.contains(said), "{said}\n{picture}");
        }
    }

    #[test]
    fn names_can_neither_break_the_document_nor_leave_their_column() {
        let picture = plan_view(&view());
        assert!(picture.contains("Truck &lt;one&gt; &amp; two") && !picture.contains("<one>"));
        assert!(!picture.contains("than any table is wide"), "{picture}");
    }

    #[test]
    fn numbers_that_are_none_are_not_known_and_never_drawn() {
        let mut broken = view();
        broken.wheelbase_mm = f64::NAN;
        broken.tracks_mm = [f64::INFINITY, 0.0];
        broken.wheels[0].load_kg = Some(f64::NAN);
        broken.total.limit_kg = Some(f64::NEG_INFINITY);
        broken.centre_mm = Some((f64::NAN, None));
        broken.masses[0].x_mm = f64::NAN;
        broken.masses[1].y_mm = 1e300;
        let picture = plan_view(&broken);
        assert!(!picture.contains("NaN") && !picture.contains("inf"), "{picture}");
    }

    /// Half of the wheelbase is halfway between the axles on paper: a mark there lies at the mean of the two axle lines.
    #[test]
    fn places_are_to_scale() {
        let view = view();
        let frame = Frame::of(&view, &[]);
        let (front, rear) = (frame.at(0.0, 0.0).1, frame.at(3_000.0, 0.0).1);
        assert!((frame.at(1_500.0, 0.0).1 - f64::midpoint(front, rear)).abs() < 1e-9);
        let (left, right) = (frame.at(0.0, -750.0).0, frame.at(0.0, 750.0).0);
        assert!(((right - left) / (rear - front) - 0.5).abs() < 1e-9);
        assert!(left > 0.0 && rear < BOTTOM);
    }
}
