//! The vehicle from above: wheels with their loads, axles with their limits, zones with theirs.
//!
//! The nose is left, so that the right side is at the top.

use ostler_paper::{Align, Block, Drawing, Shade, Shape, Text};
use ostler_proto::v1::{LoadAgainstLimit, LoadSheet, SheetWheels};

use crate::words::{maybe_whole, whole};

/// Size of the drawing, points.
const WIDTH: f32 = 515.0;
const HEIGHT: f32 = 232.0;

/// The body in the drawing, points from its corner.
const BODY_TOP: f32 = 62.0;
const BODY_BOTTOM: f32 = 170.0;
const BODY_LEFT: f32 = 26.0;
const BODY_RIGHT: f32 = 489.0;

/// What a vehicle is taken to reach beyond its axles, millimetres: it is only for the drawing.
const NOSE_MM: f64 = 900.0;
const TAIL_MM: f64 = 1_200.0;

/// Radius of the mark of a zone, points.
const MARK: f32 = 8.5;

/// The drawing under its heading; a sentence where there is nothing to draw from.
pub(super) fn section(sheet: &LoadSheet) -> Vec<Block> {
    let heading = Block::Heading("Wheels and places at departure, from above".to_owned());
    let outline = sheet.outline.unwrap_or_default();
    let Some(wheelbase_mm) = outline.wheelbase_mm.filter(|length| *length > 0.0) else {
        let text = "No drawing: the distance of the axles is not known.";
        return vec![heading, Block::Text(Text::new(text).bold())];
    };
    let view = View::of(sheet, wheelbase_mm);
    vec![Block::Together(vec![
        heading,
        Block::Gap(4.0),
        Block::Drawing(Drawing {
            width: WIDTH,
            height: HEIGHT,
            shapes: view.shapes(sheet),
        }),
    ])]
}

/// Where millimetres of the vehicle lie in the drawing.
struct View {
    wheelbase_mm: f64,
    from_mm: f64,
    points_per_mm: f64,
    half_width_mm: f64,
}

impl View {
    fn of(sheet: &LoadSheet, wheelbase_mm: f64) -> Self {
        let outline = sheet.outline.unwrap_or_default();
        let places = sheet.zones.iter().filter_map(|zone| zone.position);
        let (mut from_mm, mut to_mm) = (-NOSE_MM, wheelbase_mm + TAIL_MM);
        for place in places {
            from_mm = from_mm.min(place.x_mm - 300.0);
            to_mm = to_mm.max(place.x_mm + 300.0);
        }
        let track_mm = [outline.front_track_mm, outline.rear_track_mm]
            .into_iter()
            .flatten()
            .fold(1_400.0, f64::max);
        Self {
            wheelbase_mm,
            from_mm,
            points_per_mm: f64::from(BODY_RIGHT - BODY_LEFT) / (to_mm - from_mm),
            half_width_mm: track_mm / 2.0 + 150.0,
        }
    }

    fn x(&self, x_mm: f64) -> f32 {
        BODY_LEFT + narrow((x_mm - self.from_mm) * self.points_per_mm)
    }

    /// Across, the body fills its band whatever the vehicle's width.
    fn y(&self, y_mm: f64) -> f32 {
        let middle = (BODY_TOP + BODY_BOTTOM) / 2.0;
        let half = (BODY_BOTTOM - BODY_TOP) / 2.0;
        middle - half * narrow((y_mm / self.half_width_mm).clamp(-0.86, 0.86))
    }

    fn shapes(&self, sheet: &LoadSheet) -> Vec<Shape> {
        let mut shapes = self.body();
        let outline = sheet.outline.unwrap_or_default();
        let empty = SheetWheels::default();
        let wheels = sheet.wheels.first().unwrap_or(&empty);
        let load = sheet.loads.first();
        let ends = [
            (
                0.0,
                "front",
                wheels.front_right_kg,
                wheels.front_left_kg,
                load.and_then(|load| load.front_axle.as_ref()),
            ),
            (
                self.wheelbase_mm,
                "rear",
                wheels.rear_right_kg,
                wheels.rear_left_kg,
                load.and_then(|load| load.rear_axle.as_ref()),
            ),
        ];
        for (index, (x_mm, name, right_kg, left_kg, axle)) in ends.into_iter().enumerate() {
            let x = self.x(x_mm);
            let one_kg = sheet.tyres.get(index).and_then(|axle| axle.capacity_kg);
            let tyres = if index == 0 {
                outline.front_tyres_at_an_end
            } else {
                outline.rear_tyres_at_an_end
            }
            .max(1);
            let tyre_kg = one_kg.map(|one_kg| one_kg * f64::from(tyres));
            let carried = if tyres == 1 {
                "tyre carries"
            } else {
                "tyres carry together"
            };
            shapes.extend(axle_line(x));
            shapes.extend(wheel(
                x,
                false,
                &format!("{name} right, {carried}"),
                right_kg,
                tyre_kg,
            ));
            shapes.extend(wheel(
                x,
                true,
                &format!("{name} left, {carried}"),
                left_kg,
                tyre_kg,
            ));
            shapes.push(axle_words(x, name, axle));
        }
        if let Some(x_mm) = load.and_then(|load| load.centre_x_mm) {
            shapes.extend(centre(self.x(x_mm)));
        }
        shapes.extend(self.zones(sheet, load.and_then(|load| load.centre_x_mm)));
        let basis = match wheels.from_stance {
            true => "Wheel loads: the vehicle on its springs.",
            false => "Wheel loads: half of each axle; the sides are not known.",
        };
        let words = format!("{basis} Numbers are those of the list below; the cross is the centre of mass.");
        shapes.push(label(0.0, HEIGHT - 11.0, WIDTH, &words, 8.0, false));
        shapes
    }

    fn body(&self) -> Vec<Shape> {
        let (left, right, top, bottom) = (BODY_LEFT, BODY_RIGHT, BODY_TOP, BODY_BOTTOM);
        vec![
            Shape::Polygon {
                points: vec![
                    (left, top + 22.0),
                    (left + 10.0, top + 6.0),
                    (left + 30.0, top),
                    (right, top),
                    (right, bottom),
                    (left + 30.0, bottom),
                    (left + 10.0, bottom - 6.0),
                    (left, bottom - 22.0),
                ],
                shade: Shade::None,
                stroke: 1.6,
            },
            label(
                0.0,
                (top + bottom) / 2.0 - 16.0,
                BODY_LEFT - 2.0,
                "◀\nnose",
                8.5,
                true,
            ),
        ]
    }

    /// Zones as numbered marks, moved apart where they would cover each other.
    fn zones(&self, sheet: &LoadSheet, centre_x_mm: Option<f64>) -> Vec<Shape> {
        let wheels = [0.0, self.wheelbase_mm].map(|x_mm| self.x(x_mm));
        let mut taken: Vec<(f32, f32)> = wheels
            .iter()
            .flat_map(|x| [(*x, BODY_TOP), (*x, BODY_BOTTOM - 6.0)])
            .collect();
        taken.extend(centre_x_mm.map(|x_mm| (self.x(x_mm), (BODY_TOP + BODY_BOTTOM) / 2.0)));
        let mut shapes = Vec::new();
        for (index, zone) in sheet.zones.iter().enumerate() {
            let Some(place) = zone.position else {
                continue;
            };
            let (x, y) = free(&taken, (self.x(place.x_mm), self.y(place.y_mm)));
            taken.push((x, y));
            let is_over = zone.limit_kg.is_some_and(|limit_kg| zone.mass_kg > limit_kg);
            let shade = if is_over { Shade::Black } else { Shade::Light };
            shapes.push(Shape::Circle {
                centre: (x, y),
                radius: MARK,
                shade,
                stroke: 0.8,
            });
            let number = Text::new((index + 1).to_string())
                .bold()
                .size(9.5)
                .align(Align::Middle);
            shapes.push(Shape::Label {
                x: x - MARK,
                y: y - 6.0,
                width: 2.0 * MARK,
                text: number,
                white: is_over,
            });
            let mass = format!("{} kg", whole(zone.mass_kg));
            shapes.push(label(x - 24.0, y + MARK, 48.0, &mass, 8.5, true));
        }
        shapes
    }
}

/// The nearest place to `wanted` where a mark covers no other: searched downwards and upwards, then further aft.
fn free(taken: &[(f32, f32)], wanted: (f32, f32)) -> (f32, f32) {
    let (low, high) = (BODY_TOP + MARK + 2.0, BODY_BOTTOM - MARK - 13.0);
    let is_free = |(x, y): (f32, f32)| {
        taken
            .iter()
            .all(|(other_x, other_y)| (other_x - x).abs() >= 34.0 || (other_y - y).abs() >= 30.0)
    };
    let start = (
        wanted.0.clamp(BODY_LEFT + 14.0, BODY_RIGHT - 14.0),
        wanted.1.clamp(low, high),
    );
    let mut best = start;
    let mut least = f32::MAX;
    for column in -12_i16..=12 {
        for row in -4_i16..=4 {
            let place = (
                start.0 + f32::from(column) * 12.0,
                start.1 + f32::from(row) * 15.0,
            );
            let inside =
                (low..=high).contains(&place.1) && (BODY_LEFT + 10.0..=BODY_RIGHT - 10.0).contains(&place.0);
            let distance = f32::hypot(place.0 - start.0, place.1 - start.1);
            if inside && distance < least && is_free(place) {
                least = distance;
                best = place;
            }
        }
    }
    best
}

fn axle_line(x: f32) -> [Shape; 1] {
    [Shape::Line {
        from: (x, BODY_TOP),
        to: (x, BODY_BOTTOM),
        stroke: 0.8,
        dash: Some(3.0),
    }]
}

/// A wheel at the edge of the body, and its load beside it.
fn wheel(x: f32, left: bool, name: &str, load_kg: Option<f64>, tyre_kg: Option<f64>) -> Vec<Shape> {
    let (top, words_top) = if left {
        (BODY_BOTTOM - 5.0, BODY_BOTTOM + 11.0)
    } else {
        (BODY_TOP - 9.0, 0.0)
    };
    let is_over = matches!((load_kg, tyre_kg), (Some(load_kg), Some(tyre_kg)) if load_kg > tyre_kg);
    let carried = match tyre_kg {
        Some(tyre_kg) => format!("{name} {}", whole(tyre_kg)),
        None => format!("{name} not known"),
    };
    let load = match load_kg {
        Some(_) => format!("{} kg", maybe_whole(load_kg)),
        None => maybe_whole(None),
    };
    let width = 170.0;
    let x_words = (x - width / 2.0).clamp(0.0, WIDTH - width);
    let mut shapes = vec![Shape::rectangle(x - 23.0, top, 46.0, 14.0, Shade::Black, 0.0)];
    // The ground of the words: white on black where the tyre carries less.
    if is_over {
        shapes.push(Shape::rectangle(
            x_words,
            words_top,
            width,
            17.0,
            Shade::Black,
            0.0,
        ));
    }
    shapes.push(Shape::Label {
        x: x_words,
        y: words_top,
        width,
        text: Text::new(load).bold().size(13.5).align(Align::Middle),
        white: is_over,
    });
    shapes.push(label(x_words, words_top + 17.0, width, &carried, 8.5, true));
    shapes
}

fn axle_words(x: f32, name: &str, axle: Option<&LoadAgainstLimit>) -> Shape {
    let words = match axle {
        Some(axle) => format!(
            "{name} axle {} of {} kg",
            whole(axle.load_kg),
            maybe_whole(axle.limit_kg)
        ),
        None => format!("{name} axle not known"),
    };
    let width = 150.0;
    let x = (x - width / 2.0).clamp(0.0, WIDTH - width);
    let text = Text::new(words).bold().size(9.5).align(Align::Middle);
    Shape::Label {
        x,
        y: 38.0,
        width,
        text,
        white: false,
    }
}

fn centre(x: f32) -> [Shape; 2] {
    let y = (BODY_TOP + BODY_BOTTOM) / 2.0;
    [((x - 9.0, y), (x + 9.0, y)), ((x, y - 9.0), (x, y + 9.0))].map(|(from, to)| Shape::Line {
        from,
        to,
        stroke: 2.4,
        dash: None,
    })
}

fn label(x: f32, y: f32, width: f32, words: &str, size: f32, middle: bool) -> Shape {
    let text = Text::new(words).size(size);
    Shape::Label {
        x,
        y,
        width,
        text: if middle { text.align(Align::Middle) } else { text },
        white: false,
    }
}

/// Points of a page need no more than single precision: a thousandth of one is finer than any printer.
fn narrow(value: f64) -> f32 {
    value as f32
}
