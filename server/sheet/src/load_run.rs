//! The loads of a vehicle over a trip against their limits, as an SVG document: a panel for the whole and for each axle.

use svg::node::element::{Circle, Group, Polyline, Rectangle};

use crate::drawing::{
    FAINT, GRID, INK, WHITE, fitted, kilograms, paper, rounded, steps_between, stroke, words,
};

const WIDTH: f64 = 960.0;
const LEFT: f64 = 90.0;
const RIGHT: f64 = 930.0;
const TOP: f64 = 70.0;
/// Height of a panel, its title included, and of its title.
const PANEL: f64 = 190.0;
const HEAD: f64 = 36.0;
/// Room for the names of the moments.
const FOOT: f64 = 130.0;

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

/// Draws the loads over a trip. What is not a number is left out as not known.
pub fn load_run(run: &LoadRun) -> String {
    let height = TOP + PANEL * run.loads.len() as f64 + FOOT;
    let mut document = paper(WIDTH, height).add(
        words(30.0, 36.0, 18.0, INK, "start", &fitted(&run.title, 900.0, 18.0)).set("font-weight", "bold"),
    );
    let places = Places {
        count: run.states.len(),
    };
    for (index, load) in run.loads.iter().enumerate() {
        let top = TOP + PANEL * index as f64;
        document = document.add(panel(run, load, &places, top));
    }
    document.add(moments(run, &places, height - FOOT)).to_string()
}

/// Where the moments lie on the paper.
struct Places {
    count: usize,
}

impl Places {
    fn x(&self, index: usize) -> f64 {
        let first = LEFT + 24.0;
        match self.count {
            0 | 1 => f64::midpoint(first, RIGHT - 24.0),
            count => first + (RIGHT - 24.0 - first) * index as f64 / (count - 1) as f64,
        }
    }
}

/// The scale of a panel.
struct Scale {
    from_kg: f64,
    to_kg: f64,
    step_kg: f64,
    top: f64,
    bottom: f64,
}

impl Scale {
    fn y(&self, load_kg: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * (load_kg - self.from_kg) / (self.to_kg - self.from_kg)
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

fn panel(run: &LoadRun, load: &RunningLoad, places: &Places, top: f64) -> Group {
    let limit_kg = load.limit_kg.filter(|limit_kg| limit_kg.is_finite());
    let mut group = Group::new().add(
        words(
            LEFT,
            top + 18.0,
            13.0,
            INK,
            "start",
            &fitted(&headline(run, load, limit_kg), RIGHT - LEFT, 13.0),
        )
        .set("font-weight", "bold"),
    );
    let reached = || {
        known(load)
            .flat_map(|(_, load_kg, by_kg)| [load_kg - by_kg, load_kg + by_kg])
            .chain(limit_kg)
    };
    let Some((least_kg, most_kg)) = reached().fold(None, |range: Option<(f64, f64)>, kg| {
        let (least, most) = range.unwrap_or((kg, kg));
        Some((least.min(kg), most.max(kg)))
    }) else {
        return group;
    };
    let (step_kg, from_kg, to_kg) = steps_between(least_kg, most_kg);
    let scale = Scale {
        from_kg,
        to_kg,
        step_kg,
        top: top + HEAD,
        bottom: top + PANEL - 12.0,
    };
    group = group.add(grid(&scale, places));
    if let Some(limit_kg) = limit_kg {
        let y = scale.y(limit_kg);
        group = group.add(stroke(LEFT, y, RIGHT, y, INK, 2.5).set("stroke-dasharray", "12 5"));
    }
    group.add(line(load, limit_kg, &scale, places))
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

fn grid(scale: &Scale, places: &Places) -> Group {
    let mut group = Group::new().add(
        Rectangle::new()
            .set("x", LEFT)
            .set("y", rounded(scale.top))
            .set("width", RIGHT - LEFT)
            .set("height", rounded(scale.bottom - scale.top))
            .set("fill", "none")
            .set("stroke", FAINT),
    );
    let count = ((scale.to_kg - scale.from_kg) / scale.step_kg).round() as usize;
    for tick in 0..=count {
        let load_kg = scale.from_kg + scale.step_kg * tick as f64;
        let y = scale.y(load_kg);
        group = group.add(stroke(LEFT, y, RIGHT, y, GRID, 0.75)).add(words(
            LEFT - 8.0,
            y + 4.0,
            11.0,
            FAINT,
            "end",
            &kilograms(load_kg),
        ));
    }
    for index in 0..places.count {
        let x = places.x(index);
        group = group.add(stroke(x, scale.bottom - 4.0, x, scale.bottom, FAINT, 0.75));
    }
    group
}

/// The loads with their uncertainty; a gap where one is not known, a filled mark where one is over.
fn line(load: &RunningLoad, limit_kg: Option<f64>, scale: &Scale, places: &Places) -> Group {
    let mut group = Group::new();
    let mut stretch: Vec<(usize, f64)> = Vec::new();
    let mut stretches = Vec::new();
    for (index, load_kg, _) in known(load) {
        if stretch.last().is_some_and(|(last, _)| last + 1 != index) {
            stretches.push(std::mem::take(&mut stretch));
        }
        stretch.push((index, load_kg));
    }
    stretches.push(stretch);
    for stretch in stretches {
        let points: Vec<String> = stretch
            .iter()
            .map(|(index, load_kg)| format!("{:.2},{:.2}", places.x(*index), scale.y(*load_kg)))
            .collect();
        let drawn = Polyline::new()
            .set("points", points.join(" "))
            .set("fill", "none");
        group = group.add(drawn.set("stroke", INK).set("stroke-width", 1.5));
    }
    for (index, load_kg, by_kg) in known(load) {
        let (x, y) = (places.x(index), scale.y(load_kg));
        let over = limit_kg.is_some_and(|limit_kg| load_kg > limit_kg);
        let (fill, radius) = if over { (INK, 5.0) } else { (WHITE, 3.5) };
        group = group
            .add(stroke(
                x,
                scale.y(load_kg - by_kg),
                x,
                scale.y(load_kg + by_kg),
                INK,
                0.75,
            ))
            .add(
                Circle::new()
                    .set("cx", rounded(x))
                    .set("cy", rounded(y))
                    .set("r", radius)
                    .set("fill", fill)
                    .set("stroke", INK),
            );
    }
    group
}

/// The names of the moments, slanted so that long ones have room.
fn moments(run: &LoadRun, places: &Places, top: f64) -> Group {
    let mut group = Group::new();
    for (index, state) in run.states.iter().enumerate() {
        let (x, y) = (places.x(index) + 4.0, top + 8.0);
        let text = words(x, y, 11.0, INK, "end", &fitted(state, 118.0, 11.0));
        group = group.add(text.set("transform", format!("rotate(-45 {x:.2} {y:.2})")));
    }
    let text = "Dashed: limit. Bars: one standard uncertainty either way. Filled: over the limit. Scales do not start at 0.";
    group.add(words(30.0, top + FOOT - 12.0, 11.0, FAINT, "start", text))
}

#[cfg(test)]
mod tests {
    use super::*;

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
        let picture = load_run(&run());
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
        assert_eq!(picture.matches("r=\"5\"").count(), 1);
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
        assert_eq!(load_run(&run).matches("<polyline").count(), 2);
        let empty = LoadRun {
            title: String::new(),
            states: Vec::new(),
            loads: Vec::new(),
        };
        assert!(load_run(&empty).contains("<svg"));
    }
}
