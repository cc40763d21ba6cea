//! Road speed over engine speed as an SVG document.

use ostler_core::driveline::{SpeedChart, SpeedSeries};
use svg::node::element::{Circle, Group};

use crate::drawing::{FAINT, GRID, INK, paper, steps, stroke, ticks, words};

const WIDTH: f64 = 960.0;
const HEIGHT: f64 = 600.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 850.0;
const TOP: f64 = 86.0;
const BOTTOM: f64 = 540.0;

/// Least distance of two labels at the end of their lines.
const LABEL_STEP: f64 = 14.0;

/// A colour for each range, in their order; told apart also by those who see no red and green.
const RANGE_COLOURS: [&str; 4] = ["#0b5c8f", "#c2571a", "#5d7a2e", "#6d4a86"];

/// Draws the forward gears of a driveline: solid as it is or, where `after` is given, dashed before and solid after.
/// Dots mark the engine speed at the cruising speed.
pub fn speed_picture(
    before: &SpeedChart,
    after: Option<&SpeedChart>,
    cruise_km_per_h: Option<f64>,
) -> String {
    let plot = Plot::of(before, after, cruise_km_per_h);
    let mut document = paper(WIDTH, HEIGHT)
        .add(words(LEFT, 30.0, 18.0, INK, "start", "Road speed over engine speed").set("font-weight", "bold"))
        .add(plot.axes());
    let shown = after.unwrap_or(before);
    if after.is_some() {
        document = document.add(plot.lines(before, true));
    }
    document = document
        .add(plot.lines(shown, false))
        .add(plot.labels(shown))
        .add(plot.legend(after.is_some()));
    if let Some(cruise_km_per_h) = cruise_km_per_h {
        document = document.add(plot.cruise(shown, cruise_km_per_h));
    }
    document.to_string()
}

/// Where values lie on the paper.
struct Plot {
    rpm_end: f64,
    rpm_step: f64,
    speed_end: f64,
    speed_step: f64,
    ranges: Vec<String>,
}

impl Plot {
    fn of(before: &SpeedChart, after: Option<&SpeedChart>, cruise_km_per_h: Option<f64>) -> Self {
        let charts = || std::iter::once(before).chain(after);
        let most_rpm = charts().map(|chart| chart.to_rpm).fold(0.0, f64::max);
        let most_km_per_h = charts()
            .flat_map(forward)
            .map(|line| line.to_km_per_h)
            .chain(cruise_km_per_h)
            .fold(0.0, f64::max);
        let (rpm_step, rpm_end) = steps(most_rpm);
        let (speed_step, speed_end) = steps(most_km_per_h);
        let mut ranges: Vec<String> = Vec::new();
        for line in charts().flat_map(forward) {
            if !ranges.contains(&line.range) {
                ranges.push(line.range.clone());
            }
        }
        Self {
            rpm_end,
            rpm_step,
            speed_end,
            speed_step,
            ranges,
        }
    }

    fn x(&self, rpm: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * rpm / self.rpm_end
    }

    fn y(&self, km_per_h: f64) -> f64 {
        BOTTOM - (BOTTOM - TOP) * km_per_h / self.speed_end
    }

    fn colour(&self, range: &str) -> &'static str {
        let index = self.ranges.iter().position(|known| known == range).unwrap_or(0);
        RANGE_COLOURS[index % RANGE_COLOURS.len()]
    }

    fn axes(&self) -> Group {
        let mut group = Group::new();
        for rpm in ticks(self.rpm_step, self.rpm_end) {
            let x = self.x(rpm);
            group = group.add(stroke(x, TOP, x, BOTTOM, GRID, 1.0)).add(words(
                x,
                BOTTOM + 20.0,
                12.0,
                FAINT,
                "middle",
                &format!("{rpm:.0}"),
            ));
        }
        for speed in ticks(self.speed_step, self.speed_end) {
            let y = self.y(speed);
            group = group.add(stroke(LEFT, y, RIGHT, y, GRID, 1.0)).add(words(
                LEFT - 10.0,
                y + 4.0,
                12.0,
                FAINT,
                "end",
                &format!("{speed:.0}"),
            ));
        }
        group
            .add(stroke(LEFT, BOTTOM, RIGHT, BOTTOM, INK, 1.5))
            .add(stroke(LEFT, TOP, LEFT, BOTTOM, INK, 1.5))
            .add(words(RIGHT, BOTTOM + 42.0, 13.0, INK, "end", "engine speed, rpm"))
            .add(words(LEFT, TOP - 12.0, 13.0, INK, "start", "road speed, km/h"))
    }

    fn lines(&self, chart: &SpeedChart, dashed: bool) -> Group {
        let mut group = Group::new();
        for line in forward(chart) {
            let (from_x, to_x) = (self.x(chart.from_rpm), self.x(chart.to_rpm));
            let (from_y, to_y) = (self.y(line.from_km_per_h), self.y(line.to_km_per_h));
            let width = if dashed { 1.25 } else { 2.25 };
            let mut drawn = stroke(from_x, from_y, to_x, to_y, self.colour(&line.range), width);
            if dashed {
                drawn = drawn.set("stroke-dasharray", "5 4").set("opacity", 0.75);
            }
            group = group.add(drawn);
        }
        group
    }

    /// The gears at the ends of their lines, moved apart where they would cover each other.
    fn labels(&self, chart: &SpeedChart) -> Group {
        let mut ends: Vec<(f64, &SpeedSeries)> = forward(chart)
            .map(|line| (self.y(line.to_km_per_h), line))
            .collect();
        // From the bottom upwards: the lowest lines are the densest.
        ends.sort_by(|one, other| other.0.total_cmp(&one.0));
        let mut free = BOTTOM;
        let x = self.x(chart.to_rpm);
        let mut group = Group::new();
        for (end, line) in ends {
            let at = end.min(free);
            free = at - LABEL_STEP;
            let colour = self.colour(&line.range);
            let text = format!("{} {}", line.gear, line.range);
            group = group.add(stroke(x, end, x + 14.0, at, colour, 0.75)).add(words(
                x + 17.0,
                at + 4.0,
                12.0,
                colour,
                "start",
                &text,
            ));
        }
        group
    }

    fn legend(&self, compared: bool) -> Group {
        let mut group = Group::new();
        let mut x = LEFT;
        let y = 52.0;
        for range in &self.ranges {
            group = group
                .add(stroke(x, y - 4.0, x + 26.0, y - 4.0, self.colour(range), 2.25))
                .add(words(x + 32.0, y, 12.0, INK, "start", range));
            x += 110.0;
        }
        let states: &[(&str, bool)] = if compared {
            &[("before", true), ("after", false)]
        } else {
            &[]
        };
        for (state, dashed) in states {
            let mut line = stroke(x, y - 4.0, x + 26.0, y - 4.0, INK, 1.5);
            if *dashed {
                line = line.set("stroke-dasharray", "5 4");
            }
            group = group.add(line).add(words(x + 32.0, y, 12.0, INK, "start", state));
            x += 110.0;
        }
        group
    }

    /// The cruising speed, and the engine speeds that the gears need for it.
    fn cruise(&self, chart: &SpeedChart, cruise_km_per_h: f64) -> Group {
        let y = self.y(cruise_km_per_h);
        let text = format!("{cruise_km_per_h:.0} km/h");
        let mut group = Group::new()
            .add(stroke(LEFT, y, RIGHT, y, INK, 1.0).set("stroke-dasharray", "2 3"))
            .add(words(LEFT + 8.0, y - 6.0, 12.0, INK, "start", &text));
        for line in forward(chart).filter(|line| line.to_km_per_h > 0.0) {
            let rpm = chart.to_rpm * cruise_km_per_h / line.to_km_per_h;
            if (chart.from_rpm..=chart.to_rpm).contains(&rpm) {
                let x = self.x(rpm);
                group = group
                    .add(
                        Circle::new()
                            .set("cx", x)
                            .set("cy", y)
                            .set("r", 4.0)
                            .set("fill", self.colour(&line.range)),
                    )
                    .add(words(x, y + 18.0, 11.0, INK, "middle", &format!("{rpm:.0}")));
            }
        }
        group
    }
}

fn forward(chart: &SpeedChart) -> impl Iterator<Item = &SpeedSeries> {
    chart.series.iter().filter(|line| !line.is_reverse)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::rounded;

    fn chart(top_km_per_h: f64) -> SpeedChart {
        let line = |gear: &str, range: &str, part: f64, is_reverse| SpeedSeries {
            gear: gear.to_owned(),
            range: range.to_owned(),
            is_reverse,
            from_km_per_h: part * top_km_per_h / 5.0,
            to_km_per_h: part * top_km_per_h,
        };
        SpeedChart {
            from_rpm: 800.0,
            to_rpm: 4_000.0,
            series: vec![
                line("1", "high", 0.25, false),
                line("5<&", "high", 1.0, false),
                line("1", "low", 0.1, false),
                line("r", "low", 0.11, true),
            ],
        }
    }

    /// The line of the top gear ends at the right rpm and the right speed on the axes drawn: 4000 rpm of 4000, 144 km/h
    /// of 160; own calculation from the plot's corners.
    #[test]
    fn lines_end_where_their_values_are() {
        let picture = speed_picture(&chart(144.0), None, Some(90.0));
        let y = BOTTOM - (BOTTOM - TOP) * 144.0 / 160.0;
        assert!(
            picture.contains(&format!("x2=\"{}\"", rounded(RIGHT))),
            "{picture}"
        );
        assert!(picture.contains(&format!("y2=\"{}\"", rounded(y))), "{picture}");
        // 90 of 144 km/h in top gear: 2500 rpm.
        assert!(
            picture.contains(">\n2500\n<") || picture.contains(">2500<"),
            "{picture}"
        );
    }

    #[test]
    fn names_cannot_break_the_document() {
        let picture = speed_picture(&chart(144.0), Some(&chart(150.0)), None);
        assert!(
            picture.contains("5&lt;&amp; high") && !picture.contains("5<&"),
            "{picture}"
        );
        assert!(picture.contains("before") && picture.contains("after"));
        assert!(!picture.contains("NaN") && !picture.contains("inf"));
    }
}
