//! The loads of a vehicle over a trip against their limits: a panel for the whole and for each axle.

use ostler_paper::{Align, Drawing, Fonts, Ruler, Shade, Shape, Stroke, Text, Tone, svg};

use crate::drawing::{kilograms, steps_between};

/// How much larger than in points it stands on a screen.
const ENLARGED: f32 = 1.25;
const WIDTH: f32 = 760.0;
const LEFT: f32 = 64.0;
const RIGHT: f32 = 744.0;
/// Height of the plot of a panel, and the room below it.
const PLOT: f32 = 116.0;
const BELOW: f32 = 12.0;
const SIZE: f32 = 9.0;
/// The names of the moments: how far they are slanted, and the longest line.
const SLANT_DEG: f32 = -45.0;
const NAME_MAX: f32 = 150.0;

/// The loads of a vehicle over a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadRun {
    /// First line, for example the vehicle and the departure.
    pub title: String,
    /// The moments, in order.
    pub states: Vec<String>,
    /// What is drawn, a panel each, from the top.
    pub loads: Vec<RunningLoad>,
}

/// One load at every moment.
#[derive(Debug, Clone, PartialEq)]
pub struct RunningLoad {
    /// Which, for example `rear axle`.
    pub name: String,
    /// Its limit, kilograms. `None`: not known.
    pub limit_kg: Option<f64>,
    /// Load and its standard uncertainty, kilograms, at every moment. `None`: not known.
    pub loads_kg: Vec<Option<(f64, f64)>>,
}

/// Draws the loads over a trip as an SVG document. What is not a number is left out as not known.
pub fn load_run(run: &LoadRun, fonts: &Fonts) -> String {
    svg(&drawn(run, &mut Ruler::new(fonts)), ENLARGED, fonts)
}

fn drawn(run: &LoadRun, ruler: &mut Ruler<'_>) -> Drawing {
    let title = Text::new(run.title.as_str()).bold().size(14.0);
    let places = Places {
        count: run.states.len(),
    };
    let mut y = 12.0;
    let title_height = ruler.height(&title, WIDTH - 32.0);
    let mut shapes = vec![Shape::label(16.0, y, WIDTH - 32.0, title)];
    y += title_height + 8.0;
    for load in &run.loads {
        let limit_kg = load.limit_kg.filter(|limit_kg| limit_kg.is_finite());
        let headline = Text::new(headline(run, load, limit_kg)).bold().size(10.5);
        let height = ruler.height(&headline, RIGHT - LEFT);
        shapes.push(Shape::label(LEFT, y, RIGHT - LEFT, headline));
        y += height + 3.0;
        if let Some(scale) = Scale::of(load, limit_kg, y) {
            shapes.extend(panel(load, limit_kg, &scale, &places));
            y += PLOT;
        }
        y += BELOW;
    }
    let (names, height) = moments(run, &places, y, ruler);
    shapes.extend(names);
    y += height + 8.0;
    let legend = "Dashed: limit. Bars: one standard uncertainty either way. Filled: over the limit. Scales do not start at 0.";
    shapes.push(Shape::toned(
        16.0,
        y,
        WIDTH - 32.0,
        Text::new(legend).size(SIZE),
        Tone::Grey,
    ));
    Drawing {
        width: WIDTH,
        height: y + 22.0,
        shapes,
    }
}

/// Where the moments lie on the paper.
struct Places {
    count: usize,
}

impl Places {
    fn x(&self, index: usize) -> f32 {
        let (first, last) = (LEFT + 18.0, RIGHT - 18.0);
        match self.count {
            0 | 1 => f32::midpoint(first, last),
            count => first + (last - first) * index as f32 / (count - 1) as f32,
        }
    }
}

/// The scale of a panel.
struct Scale {
    from_kg: f64,
    to_kg: f64,
    step_kg: f64,
    top: f32,
}

impl Scale {
    /// The scale that holds all of a load and its limit. `None`: nothing of it is known.
    fn of(load: &RunningLoad, limit_kg: Option<f64>, top: f32) -> Option<Self> {
        let reached = known(load)
            .flat_map(|(_, load_kg, by_kg)| [load_kg - by_kg, load_kg + by_kg])
            .chain(limit_kg);
        let (least_kg, most_kg) = reached.fold(None, |range: Option<(f64, f64)>, kg| {
            let (least, most) = range.unwrap_or((kg, kg));
            Some((least.min(kg), most.max(kg)))
        })?;
        let (step_kg, from_kg, to_kg) = steps_between(least_kg, most_kg);
        Some(Self {
            from_kg,
            to_kg,
            step_kg,
            top,
        })
    }

    fn y(&self, load_kg: f64) -> f32 {
        let share = (load_kg - self.from_kg) / (self.to_kg - self.from_kg);
        self.top + PLOT * (1.0 - share as f32)
    }
}

/// Loads that can be drawn, with the moment of each.
fn known(load: &RunningLoad) -> impl Iterator<Item = (usize, f64, f64)> {
    let numbers = load.loads_kg.iter().enumerate();
    numbers.filter_map(|(index, load)| {
        let (load_kg, uncertainty_kg) = (*load)?;
        (load_kg.is_finite() && uncertainty_kg.is_finite()).then_some((index, load_kg, uncertainty_kg))
    })
}

/// What to see in a panel, in words.
fn headline(run: &LoadRun, load: &RunningLoad, limit_kg: Option<f64>) -> String {
    let name = &load.name;
    let most = known(load).reduce(|most, next| if next.1 > most.1 { next } else { most });
    let Some((index, load_kg, _)) = most else {
        return format!("{name}: not known");
    };
    let when = run.states.get(index).map_or("", String::as_str);
    let most = format!("{name}: at most {} kg ({when})", kilograms(load_kg));
    match limit_kg {
        Some(limit_kg) if load_kg > limit_kg => {
            format!(
                "{most}, OVER the limit of {} kg by {}",
                kilograms(limit_kg),
                kilograms(load_kg - limit_kg)
            )
        }
        Some(limit_kg) => {
            format!(
                "{most}, limit {} kg, {} left",
                kilograms(limit_kg),
                kilograms(limit_kg - load_kg)
            )
        }
        None => format!("{most}, limit not known"),
    }
}

fn panel(load: &RunningLoad, limit_kg: Option<f64>, scale: &Scale, places: &Places) -> Vec<Shape> {
    let mut shapes = grid(scale, places);
    if let Some(limit_kg) = limit_kg {
        let y = scale.y(limit_kg);
        shapes.push(Shape::line((LEFT, y), (RIGHT, y), Stroke::black(2.0).dashed(7.0)));
    }
    shapes.extend(line(load, limit_kg, scale, places));
    shapes
}

fn grid(scale: &Scale, places: &Places) -> Vec<Shape> {
    let frame = Stroke::of(0.8, Tone::Grey);
    let mut shapes = vec![Shape::rectangle(
        LEFT,
        scale.top,
        RIGHT - LEFT,
        PLOT,
        Shade::None,
        frame,
    )];
    let count = ((scale.to_kg - scale.from_kg) / scale.step_kg).round() as usize;
    for tick in 0..=count {
        let load_kg = scale.from_kg + scale.step_kg * tick as f64;
        let y = scale.y(load_kg);
        let text = Text::new(kilograms(load_kg)).size(SIZE).align(Align::Right);
        shapes.push(Shape::line((LEFT, y), (RIGHT, y), Stroke::of(0.6, Tone::Faint)));
        shapes.push(Shape::toned(0.0, y - 5.5, LEFT - 6.0, text, Tone::Grey));
    }
    let bottom = scale.top + PLOT;
    shapes.extend((0..places.count).map(|index| {
        let x = places.x(index);
        Shape::line((x, bottom - 3.0), (x, bottom), frame)
    }));
    shapes
}

/// The loads with their uncertainty; a gap where one is not known, a filled mark where one is over.
fn line(load: &RunningLoad, limit_kg: Option<f64>, scale: &Scale, places: &Places) -> Vec<Shape> {
    let mut stretches: Vec<Vec<(usize, f64)>> = vec![Vec::new()];
    for (index, load_kg, _) in known(load) {
        let stretch = stretches.last().and_then(|stretch| stretch.last());
        if stretch.is_some_and(|(last, _)| last + 1 != index) {
            stretches.push(Vec::new());
        }
        if let Some(stretch) = stretches.last_mut() {
            stretch.push((index, load_kg));
        }
    }
    let mut shapes: Vec<Shape> = stretches
        .into_iter()
        .map(|stretch| Shape::Line {
            points: stretch
                .into_iter()
                .map(|(index, load_kg)| (places.x(index), scale.y(load_kg)))
                .collect(),
            stroke: Stroke::black(1.2),
        })
        .collect();
    for (index, load_kg, by_kg) in known(load) {
        let x = places.x(index);
        let over = limit_kg.is_some_and(|limit_kg| load_kg > limit_kg);
        let (shade, radius) = if over {
            (Shade::Black, 4.0)
        } else {
            (Shade::White, 2.8)
        };
        let ends = (scale.y(load_kg - by_kg), scale.y(load_kg + by_kg));
        shapes.push(Shape::line((x, ends.0), (x, ends.1), Stroke::black(0.6)));
        shapes.push(Shape::Circle {
            centre: (x, scale.y(load_kg)),
            radius,
            shade,
            stroke: Stroke::black(0.8),
        });
    }
    shapes
}

/// The names of the moments, slanted so that long ones have room, and the height that they take.
fn moments(run: &LoadRun, places: &Places, top: f32, ruler: &mut Ruler<'_>) -> (Vec<Shape>, f32) {
    let texts: Vec<Text> = run
        .states
        .iter()
        .map(|state| Text::new(state.as_str()).size(SIZE).align(Align::Right))
        .collect();
    let longest = texts.iter().map(|text| ruler.width(text)).fold(0.0, f32::max);
    // A hair more than the longest, which must not break for the last bit of its width. Whatever is longer is broken over lines.
    let width = (longest + 0.5).min(NAME_MAX);
    let tallest = texts
        .iter()
        .map(|text| ruler.height(text, width))
        .fold(0.0, f32::max);
    let (sine, cosine) = SLANT_DEG.to_radians().sin_cos();
    let shapes = texts.into_iter().enumerate().map(|(index, text)| Shape::Label {
        // The right end of its first line stands below the moment.
        x: places.x(index) + 3.0 - width * cosine,
        y: top - width * sine,
        width,
        text,
        tone: Tone::Black,
        turn_deg: SLANT_DEG,
    });
    (shapes.collect(), width * -sine + tallest * cosine)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(run: &LoadRun) -> String {
        load_run(run, &Fonts::built_in().unwrap())
    }

    fn run() -> LoadRun {
        let load = |name: &str, limit_kg, loads: [Option<f64>; 4]| RunningLoad {
            name: name.to_owned(),
            limit_kg,
            loads_kg: loads.map(|load| load.map(|load_kg| (load_kg, 8.0))).into(),
        };
        LoadRun {
            title: "V2 over the <long> way".to_owned(),
            states: ["departure", "end of l01", "supply after l01", "end of l02"]
                .map(str::to_owned)
                .into(),
            loads: vec![
                load(
                    "total",
                    Some(3_000.0),
                    [Some(2_950.0), Some(2_900.0), Some(2_980.0), Some(2_800.0)],
                ),
                load(
                    "rear axle",
                    Some(1_500.0),
                    [Some(1_520.0), None, Some(1_480.0), Some(f64::NAN)],
                ),
                load("front axle", None, [None; 4]),
            ],
        }
    }

    #[test]
    fn each_panel_says_what_is_worst_and_what_is_not_known() {
        let picture = picture(&run());
        for said in [
            "total: at most 2,980 kg (supply after l01), limit 3,000 kg, 20 left",
            "rear axle: at most 1,520 kg (departure), OVER the limit of 1,500 kg by 20",
            "front axle: not known",
            "&lt;long&gt;",
        ] {
            assert!(picture.contains(said), "{said}\n{picture}");
        }
        assert!(!picture.contains("NaN"), "{picture}");
        // A mark for each known load, one of them over and filled.
        assert_eq!(picture.matches("<circle").count(), 6);
        assert_eq!(picture.matches("r=\"4\"").count(), 1);
    }

    /// Titles and moments of any length are whole: broken over lines, inside the picture.
    #[test]
    fn long_titles_and_moments_are_never_cut() {
        let mut long = run();
        long.title = "northern ".repeat(60);
        long.states[3] =
            "supply after a-leg-with-a-name-of-sixty-characters-that-nobody-would-want-to-say".to_owned();
        let fonts = Fonts::built_in().unwrap();
        let drawing = drawn(&long, &mut Ruler::new(&fonts));
        let drawn = svg(&drawing, 1.0, &fonts);
        assert_eq!(drawn.matches("northern").count(), 60, "{drawn}");
        assert!(!drawn.contains('…') && drawn.contains("nobody"), "{drawn}");
        let short = self::drawn(&run(), &mut Ruler::new(&fonts));
        assert!(
            drawing.height > short.height + 20.0,
            "{} {}",
            drawing.height,
            short.height
        );
    }

    #[test]
    fn an_unknown_load_leaves_a_gap() {
        let gap = RunningLoad {
            name: "rear axle".to_owned(),
            limit_kg: None,
            loads_kg: vec![Some((1.0, 0.0)), None, Some((2.0, 0.0))],
        };
        let run = LoadRun {
            title: String::new(),
            states: vec!["a".to_owned(), "b".to_owned(), "c".to_owned()],
            loads: vec![gap],
        };
        let fonts = Fonts::built_in().unwrap();
        let drawing = drawn(&run, &mut Ruler::new(&fonts));
        let is_run = |shape: &&Shape| matches!(shape, Shape::Line { points, .. } if points.len() == 1);
        assert_eq!(drawing.shapes.iter().filter(is_run).count(), 2);
        let empty = LoadRun {
            title: String::new(),
            states: Vec::new(),
            loads: Vec::new(),
        };
        assert!(picture(&empty).contains("<svg"));
    }
}
