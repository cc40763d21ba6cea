//! The picture of a vehicle's loads: the vehicle from above, and tables of its limits and of what it carries.

use ostler_paper::{Align, Drawing, Fonts, Ruler, Shade, Shape, Stroke, Text, Tone, svg};

use crate::drawing::kilograms;
use crate::from_above::{WIDTH, from_above, is_drawable};
use crate::plan_data::{HeldLoad, PlanMass, PlanView, known};

/// How much larger than in points it stands on a screen.
const ENLARGED: f32 = 1.7;
/// Masses that get a number and a row; what is smaller is added up in one.
const MASSES_MAX: usize = 17;
/// Width of a column of numbers, and of the names beside three of them.
const COLUMN: f32 = 62.0;
const NAMES: f32 = WIDTH - 3.0 * COLUMN;
const SIZE: f32 = 9.0;
/// Above and below the words of a row.
const PADDING: f32 = 2.0;

/// Draws a plan view as an SVG document. What is not a number is drawn as not known.
pub fn plan_view(view: &PlanView, fonts: &Fonts) -> String {
    svg(&picture(view, fonts), ENLARGED, fonts)
}

fn picture(view: &PlanView, fonts: &Fonts) -> Drawing {
    let mut ruler = Ruler::new(fonts);
    let mut masses: Vec<PlanMass> = view
        .masses
        .iter()
        .filter(|mass| is_drawable(mass))
        .cloned()
        .collect();
    masses.sort_by(|one, other| other.mass_kg.total_cmp(&one.mass_kg));
    let view = PlanView {
        masses,
        ..view.clone()
    };
    let mut sheet = Sheet {
        ruler: &mut ruler,
        shapes: Vec::new(),
        y: 12.0,
    };
    sheet.text(Text::new(view.title.as_str()).bold().size(14.0));
    sheet.text(Text::new(view.state.as_str()).size(10.5));
    sheet.y += 8.0;
    sheet.drawing(&view);
    sheet.limits(&view);
    sheet.carried(&view.masses);
    sheet.y += 4.0;
    for remark in view.remarks.iter().take(3) {
        sheet.text(Text::new(remark.as_str()).size(8.5));
    }
    let height = sheet.y + 12.0;
    // A margin all round.
    let shapes = sheet
        .shapes
        .into_iter()
        .map(|shape| shape.moved(12.0, 0.0))
        .collect();
    Drawing {
        width: WIDTH + 24.0,
        height,
        shapes,
    }
}

/// The picture while it is put together from the top.
struct Sheet<'r, 'f> {
    ruler: &'r mut Ruler<'f>,
    shapes: Vec<Shape>,
    y: f32,
}

impl Sheet<'_, '_> {
    fn text(&mut self, text: Text) {
        let height = self.ruler.height(&text, WIDTH);
        self.shapes.push(Shape::label(0.0, self.y, WIDTH, text));
        self.y += height;
    }

    fn drawing(&mut self, view: &PlanView) {
        let centre = match view.centre_mm {
            None => "The centre of mass is not known.",
            Some((_, None)) => "The cross is the centre of mass; its side is not known.",
            Some(_) => "The cross is the centre of mass.",
        };
        let said = [format!("{centre} Outline and wheels are schematic.")];
        let drawing = from_above(view, MASSES_MAX, &said, self.ruler);
        let y = self.y;
        self.shapes
            .extend(drawing.shapes.into_iter().map(|shape| shape.moved(0.0, y)));
        self.y += drawing.height;
    }

    /// Axles and the whole against their limits.
    fn limits(&mut self, view: &PlanView) {
        self.heading("limits");
        let [front, rear] = view.axles;
        for (name, held) in [("front axle", front), ("rear axle", rear), ("total", view.total)] {
            let left = held.left_kg().map_or_else(not_known, kilograms);
            self.row(name, held, [shown(held.load_kg), shown(held.limit_kg), left]);
        }
    }

    fn carried(&mut self, masses: &[PlanMass]) {
        self.heading("carried");
        let count = masses.len().min(MASSES_MAX);
        for (index, mass) in masses.iter().take(count).enumerate() {
            let held = HeldLoad {
                load_kg: Some(mass.mass_kg),
                limit_kg: mass.limit_kg,
            };
            let name = format!("{}  {}", index + 1, mass.name);
            let limit = known(mass.limit_kg).map_or_else(String::new, kilograms);
            let left = held.left_kg().map_or_else(String::new, kilograms);
            self.row(&name, held, [kilograms(mass.mass_kg), limit, left]);
        }
        if let Some(rest) = masses.get(count..).filter(|rest| !rest.is_empty()) {
            let mass_kg: f64 = rest.iter().map(|mass| mass.mass_kg).sum();
            let name = format!("and {} smaller", rest.len());
            self.row(
                &name,
                HeldLoad::default(),
                [kilograms(mass_kg), String::new(), String::new()],
            );
        }
        if masses.is_empty() {
            self.text(Text::new("nothing with a known place").size(SIZE));
        }
    }

    fn heading(&mut self, title: &str) {
        self.y += 8.0;
        let heads = [title, "kg", "limit", "left"].map(|head| Text::new(head).bold().size(SIZE));
        self.cells(heads, Tone::Black);
        let y = self.y;
        self.shapes
            .push(Shape::line((0.0, y), (WIDTH, y), Stroke::black(0.8)));
    }

    /// A row; white on black where it is over its limit, and says so.
    fn row(&mut self, name: &str, held: HeldLoad, [kg, limit, left]: [String; 3]) {
        let (name, tone) = if held.is_over() {
            (format!("OVER: {name}"), Tone::White)
        } else {
            (name.to_owned(), Tone::Black)
        };
        let texts = [name, kg, limit, left].map(|text| Text::new(text).size(SIZE));
        let height = self.ruler.height(&texts[0], NAMES) + 2.0 * PADDING;
        if held.is_over() {
            let ground = Shape::rectangle(-4.0, self.y, WIDTH + 8.0, height, Shade::Black, Stroke::NONE);
            self.shapes.push(ground);
        }
        self.cells(texts, tone);
    }

    fn cells(&mut self, texts: [Text; 4], tone: Tone) {
        let height = self.ruler.height(&texts[0], NAMES) + 2.0 * PADDING;
        for (column, text) in texts.into_iter().enumerate() {
            let y = self.y + PADDING;
            self.shapes.push(if column == 0 {
                Shape::toned(0.0, y, NAMES, text, tone)
            } else {
                let x = NAMES + COLUMN * (column as f32 - 1.0);
                Shape::toned(x, y, COLUMN, text.align(Align::Right), tone)
            });
        }
        self.y += height;
    }
}

fn not_known() -> String {
    "not known".to_owned()
}

fn shown(number: Option<f64>) -> String {
    known(number).map_or_else(not_known, kilograms)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan_data::tests::view;

    fn drawn(view: &PlanView) -> String {
        plan_view(view, &Fonts::built_in().unwrap())
    }

    #[test]
    fn what_is_over_is_said_and_what_is_not_known_too() {
        let picture = drawn(&view());
        // One wheel, one axle by the vehicle and in the table, one mass of 100 kg against 99.5.
        assert_eq!(picture.matches("OVER").count(), 4, "{picture}");
        for said in [
            "1,600 kg OVER",
            "tyre carries 1,550",
            "not known",
            "3,410",
            "and 3 smaller",
            "tent is not known",
            "-100",
        ] {
            assert!(picture.contains(said), "{said}\n{picture}");
        }
    }

    /// Long names are broken over lines, and every word of them is there.
    #[test]
    fn names_can_neither_break_the_document_nor_be_cut() {
        let mut long = view();
        long.title = format!("Truck <one> & two {}", "of a very long name ".repeat(9));
        let picture = drawn(&long);
        assert!(picture.contains("Truck &lt;one&gt; &amp; two") && !picture.contains("<one>"));
        let words = |word: &str| picture.matches(word).count();
        assert_eq!(words("very"), 9 + 17, "{picture}");
        assert_eq!(words("table"), 17, "{picture}");
        assert!(!picture.contains('…'));
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
        let picture = drawn(&broken);
        assert!(!picture.contains("NaN") && !picture.contains("inf"), "{picture}");
    }
}
