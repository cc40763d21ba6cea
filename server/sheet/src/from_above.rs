//! A vehicle from above with its loads: wheels and axles against their limits, masses where they sit. One drawing, for the picture
//! of a result and for the load sheet.
//!
//! The nose is left, so that the right side is at the top; places are to scale. What is over its limit is white on black and says so.

use ostler_paper::{Align, Drawing, Ruler, Shade, Shape, Stroke, Text, Tone};

use crate::drawing::kilograms;
use crate::plan_data::{HeldLoad, PlanMass, PlanView, known};
use crate::plan_masses::{Field, Marker, markers};

/// Width of the drawing, points: the body of a portrait page.
pub(crate) const WIDTH: f32 = 515.0;

/// The band in which the vehicle lies, points from the top.
const TOP: f32 = 62.0;
const BOTTOM: f32 = 206.0;
/// Its left and right end at the most, points.
const LEFT: f32 = 26.0;
const RIGHT: f32 = 489.0;
/// Below the wheels' words: the sentences.
const FOOT: f32 = 262.0;

/// What a vehicle is taken to reach beyond its axles, millimetres, and the size of a wheel: only for the drawing.
const NOSE_MM: f64 = 900.0;
const TAIL_MM: f64 = 1_200.0;
const WHEEL_MM: (f64, f64) = (760.0, 260.0);

/// Draws `view`, of its masses the first `shown`, numbered in their order. `said` are sentences below.
pub(crate) fn from_above(view: &PlanView, shown: usize, said: &[String], ruler: &mut Ruler<'_>) -> Drawing {
    let masses: Vec<(usize, &PlanMass)> = view
        .masses
        .iter()
        .enumerate()
        .take(shown)
        .filter(|(_, mass)| is_drawable(mass))
        .collect();
    let frame = Frame::of(view, &masses);
    let mut shapes = frame.body();
    for (index, name) in ["front", "rear"].into_iter().enumerate() {
        let x = frame.x(frame.axles_mm[index]);
        shapes.push(Shape::line(
            (x, frame.top()),
            (x, frame.bottom()),
            Stroke::black(0.8).dashed(3.0),
        ));
        for side in [0, 1] {
            shapes.extend(frame.wheel(view, index, side, name));
        }
        shapes.extend(axle_words(x, frame.top() - 24.0, name, view.axles[index]));
    }
    shapes.extend(frame.centre(view));
    shapes.extend(frame.masses(&masses, view));
    let mut y = FOOT;
    for sentence in said {
        let text = Text::new(sentence.as_str()).size(8.0);
        let height = ruler.height(&text, WIDTH);
        shapes.push(Shape::label(0.0, y, WIDTH, text));
        y += height;
    }
    Drawing {
        width: WIDTH,
        height: y + 2.0,
        shapes,
    }
}

/// Whether a mass has numbers that can be drawn.
pub(crate) fn is_drawable(mass: &PlanMass) -> bool {
    [mass.mass_kg, mass.x_mm, mass.y_mm]
        .iter()
        .all(|number| number.is_finite())
}

/// Where millimetres of the vehicle lie in the drawing.
struct Frame {
    points_per_mm: f64,
    from_mm: f64,
    to_mm: f64,
    half_width_mm: f64,
    axles_mm: [f64; 2],
    tracks_mm: [f64; 2],
}

impl Frame {
    fn of(view: &PlanView, masses: &[(usize, &PlanMass)]) -> Self {
        let length = |value: f64, otherwise: f64| {
            if value.is_finite() {
                value.clamp(300.0, 20_000.0)
            } else {
                otherwise
            }
        };
        let wheelbase_mm = length(view.wheelbase_mm, 3_000.0);
        let tracks_mm = view.tracks_mm.map(|track_mm| length(track_mm, 1_500.0));
        let reach = |from: f64, value: &dyn Fn(&PlanMass) -> f64| {
            masses
                .iter()
                .map(|(_, mass)| value(mass).clamp(-20_000.0, 20_000.0))
                .fold(from, f64::max)
        };
        let from_mm = -reach(NOSE_MM, &|mass| 300.0 - mass.x_mm);
        let to_mm = reach(wheelbase_mm + TAIL_MM, &|mass| mass.x_mm + 300.0);
        let widest_mm = tracks_mm.into_iter().fold(0.0, f64::max) / 2.0;
        let half_width_mm = reach(widest_mm + WHEEL_MM.1 / 2.0 + 20.0, &|mass| {
            mass.y_mm.abs() + 60.0
        });
        let along = f64::from(RIGHT - LEFT) / (to_mm - from_mm);
        let across = f64::from(BOTTOM - TOP) / (2.0 * half_width_mm);
        Self {
            points_per_mm: along.min(across),
            from_mm,
            to_mm,
            half_width_mm,
            axles_mm: [0.0, wheelbase_mm],
            tracks_mm,
        }
    }

    fn points(&self, length_mm: f64) -> f32 {
        narrow(length_mm * self.points_per_mm)
    }

    fn x(&self, x_mm: f64) -> f32 {
        let middle_mm = f64::midpoint(self.from_mm, self.to_mm);
        f32::midpoint(LEFT, RIGHT) + self.points(x_mm - middle_mm)
    }

    /// To the right of the vehicle is up.
    fn y(&self, y_mm: f64) -> f32 {
        f32::midpoint(TOP, BOTTOM) - self.points(y_mm)
    }

    fn top(&self) -> f32 {
        self.y(self.half_width_mm)
    }

    fn bottom(&self) -> f32 {
        self.y(-self.half_width_mm)
    }

    fn body(&self) -> Vec<Shape> {
        let (left, right) = (self.x(self.from_mm), self.x(self.to_mm));
        let (top, bottom) = (self.top(), self.bottom());
        let nose = Text::new("◀\nnose").size(8.5).align(Align::Middle);
        vec![
            Shape::Polygon {
                points: vec![
                    (left, top + 24.0),
                    (left + 8.0, top + 6.0),
                    (left + 26.0, top),
                    (right, top),
                    (right, bottom),
                    (left + 26.0, bottom),
                    (left + 8.0, bottom - 6.0),
                    (left, bottom - 24.0),
                ],
                shade: Shade::None,
                stroke: Stroke::black(1.5),
            },
            Shape::label(left - 26.0, f32::midpoint(top, bottom) - 12.0, 24.0, nose),
        ]
    }

    /// A wheel where it stands, and its load beside the vehicle. `side` 0 is left.
    fn wheel(&self, view: &PlanView, axle: usize, side: usize, name: &str) -> Vec<Shape> {
        let held = view.wheels[2 * axle + side];
        let half_mm = self.tracks_mm[axle] / 2.0;
        let (x, y) = (
            self.x(self.axles_mm[axle]),
            self.y(if side == 0 { -half_mm } else { half_mm }),
        );
        let (length, width) = (self.points(WHEEL_MM.0), self.points(WHEEL_MM.1));
        let ground = if held.is_over() {
            Shade::Black
        } else {
            Shade::White
        };
        let wheel = Shape::rectangle(
            x - length / 2.0,
            y - width / 2.0,
            length,
            width,
            ground,
            Stroke::black(1.4),
        );
        let (side, words_top) = if side == 0 {
            ("left", self.bottom() + 9.0)
        } else {
            ("right", self.top() - 62.0)
        };
        let tyres = view.tyres_at_an_end[axle].max(1);
        let carried = if tyres == 1 {
            "tyre carries"
        } else {
            "tyres carry together"
        };
        let limit = known(held.limit_kg).map_or_else(|| "not known".to_owned(), kilograms);
        let below = format!("{name} {side}, {carried} {limit}");
        let mut shapes = vec![wheel];
        shapes.extend(held_words(x, words_top, 170.0, held, 13.5));
        let text = Text::new(below).size(8.5).align(Align::Middle);
        shapes.push(Shape::label(placed(x, 170.0), words_top + 17.0, 170.0, text));
        shapes
    }

    /// The centre of mass: a cross.
    fn centre(&self, view: &PlanView) -> Vec<Shape> {
        let Some((x_mm, y_mm)) = view.centre_mm.filter(|(x_mm, _)| x_mm.is_finite()) else {
            return Vec::new();
        };
        let (x, y) = (
            self.x(x_mm.clamp(self.from_mm, self.to_mm)),
            self.y(known(y_mm)
                .unwrap_or(0.0)
                .clamp(-self.half_width_mm, self.half_width_mm)),
        );
        [((x - 9.0, y), (x + 9.0, y)), ((x, y - 9.0), (x, y + 9.0))]
            .map(|(from, to)| Shape::line(from, to, Stroke::black(2.4)))
            .into()
    }

    /// The masses where they sit, numbered; a thin line leads to the place of one that had to be moved aside.
    fn masses(&self, masses: &[(usize, &PlanMass)], view: &PlanView) -> Vec<Shape> {
        let field = Field {
            from: (f64::from(self.x(self.from_mm)) + 4.0, f64::from(self.top()) + 2.0),
            to: (
                f64::from(self.x(self.to_mm)) - 4.0,
                f64::from(self.bottom()) - 2.0,
            ),
        };
        let near = |length_mm: f64| length_mm.clamp(-20_000.0, 20_000.0);
        let place = |x_mm: f64, y_mm: f64| (f64::from(self.x(near(x_mm))), f64::from(self.y(near(y_mm))));
        let centre = view.centre_mm.filter(|(x_mm, _)| x_mm.is_finite());
        let mut kept_free: Vec<(f64, f64)> = centre
            .map(|(x_mm, y_mm)| place(x_mm, known(y_mm).unwrap_or(0.0)))
            .into_iter()
            .collect();
        for (axle_mm, track_mm) in self.axles_mm.into_iter().zip(self.tracks_mm) {
            kept_free.extend([-0.5, 0.5].map(|side| place(axle_mm, side * track_mm)));
        }
        let places = masses.iter().map(|(_, mass)| place(mass.x_mm, mass.y_mm));
        let markers = markers(places, &field, &kept_free);
        let mut shapes = Vec::new();
        for marker in markers.iter().filter(|marker| marker.is_aside()) {
            let place = (narrow(marker.true_x), narrow(marker.true_y));
            let to = (narrow(marker.x), narrow(marker.y));
            shapes.push(Shape::line(place, to, Stroke::of(0.7, Tone::Grey)));
            shapes.push(Shape::Circle {
                centre: place,
                radius: 1.3,
                shade: Shade::Black,
                stroke: Stroke::NONE,
            });
        }
        for (marker, (number, mass)) in markers.iter().zip(masses) {
            shapes.extend(mark(marker, *number, mass));
        }
        shapes
    }
}

/// Radius of the mark of a mass, points.
const MARK: f32 = 8.0;

fn mark(marker: &Marker, number: usize, mass: &PlanMass) -> Vec<Shape> {
    let (x, y) = (narrow(marker.x), narrow(marker.y) - 4.0);
    let held = HeldLoad {
        load_kg: Some(mass.mass_kg),
        limit_kg: mass.limit_kg,
    };
    let (shade, tone) = if held.is_over() {
        (Shade::Black, Tone::White)
    } else {
        (Shade::Light, Tone::Black)
    };
    let digits = Text::new((number + 1).to_string())
        .bold()
        .size(9.5)
        .align(Align::Middle);
    let kg = Text::new(format!("{} kg", kilograms(mass.mass_kg)))
        .size(8.0)
        .align(Align::Middle);
    vec![
        Shape::Circle {
            centre: (x, y),
            radius: MARK,
            shade,
            stroke: Stroke::black(0.8),
        },
        Shape::toned(x - MARK - 4.0, y - 6.0, 2.0 * MARK + 8.0, digits, tone),
        Shape::label(x - 24.0, y + MARK - 0.5, 48.0, kg),
    ]
}

/// A load in large letters; white on black where it is over its limit, and says so.
fn held_words(x: f32, y: f32, width: f32, held: HeldLoad, size: f32) -> Vec<Shape> {
    let over = if held.is_over() { " OVER" } else { "" };
    let words = match known(held.load_kg) {
        Some(load_kg) => format!("{} kg{over}", kilograms(load_kg)),
        None => "not known".to_owned(),
    };
    toned(x, y, width, &words, size, held.is_over())
}

fn axle_words(x: f32, y: f32, name: &str, held: HeldLoad) -> Vec<Shape> {
    let limit = known(held.limit_kg).map_or_else(|| "not known".to_owned(), kilograms);
    let over = if held.is_over() { ", OVER" } else { "" };
    let words = match known(held.load_kg) {
        Some(load_kg) => format!("{name} axle {} of {limit} kg{over}", kilograms(load_kg)),
        None => format!("{name} axle not known"),
    };
    toned(x, y, 170.0, &words, 9.5, held.is_over())
}

/// Bold words in the middle over `x`, on black ground where they are `marked`.
fn toned(x: f32, y: f32, width: f32, words: &str, size: f32, marked: bool) -> Vec<Shape> {
    let text = Text::new(words).bold().size(size).align(Align::Middle);
    let left = placed(x, width);
    if !marked {
        return vec![Shape::label(left, y, width, text)];
    }
    vec![
        Shape::rectangle(
            left,
            y - 0.5,
            width,
            size * 1.22 + 1.5,
            Shade::Black,
            Stroke::NONE,
        ),
        Shape::toned(left, y, width, text, Tone::White),
    ]
}

/// The left edge of a box in the middle over `x`, moved into the drawing.
fn placed(x: f32, width: f32) -> f32 {
    (x - width / 2.0).clamp(0.0, WIDTH - width)
}

/// Points of a page need no more than single precision: a thousandth of one is finer than any printer.
fn narrow(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan_data::tests::view;

    /// Half of the wheelbase is halfway between the axles on paper, and across the scale is the same.
    #[test]
    fn places_are_to_scale_and_inside() {
        let view = view();
        let masses: Vec<(usize, &PlanMass)> = view.masses.iter().enumerate().collect();
        let frame = Frame::of(&view, &masses);
        let (front, rear) = (frame.x(0.0), frame.x(3_000.0));
        assert!((frame.x(1_500.0) - f32::midpoint(front, rear)).abs() < 1e-3);
        let (left, right) = (frame.y(-750.0), frame.y(750.0));
        assert!(((left - right) / (rear - front) - 0.5).abs() < 1e-4);
        assert!(frame.top() >= TOP - 0.01 && frame.bottom() <= BOTTOM + 0.01);
        assert!(frame.x(frame.from_mm) >= LEFT - 0.01 && frame.x(frame.to_mm) <= RIGHT + 0.01);
    }
}
