//! A plan as a chart: jobs in rows by workshop, days across. One drawing of points, for a screen and for paper.
//!
//! It reads in black and white: what delays the last finish is filled, the rest is open, and how much later a job
//! could start is a thin line behind it. Names are broken over lines and never cut.

use jiff::civil::DateTime;
use ostler_paper::{Align, Drawing, Fonts, Ruler, Shade, Shape, Stroke, Text, Tone};
use ostler_proto::v1::{BuildPlan, PlannedJob};

use super::{id_of, moment};

/// Width, points: the body of a landscape A4 page, so that nothing is made smaller there.
const WIDTH: f32 = 760.0;
const NAMES: f32 = 222.0;
const VEHICLES: f32 = 56.0;
const GAP: f32 = 8.0;
const LEFT: f32 = NAMES + VEHICLES;
const DAYS: f32 = WIDTH - LEFT;
/// Room above the rows for the dates and the word of the departure.
const DATES: f32 = 30.0;
const SIZE: f32 = 8.5;
const ROW_GAP: f32 = 4.5;
const BAR: f32 = 8.5;
const LEGEND: f32 = 26.0;

/// Draws the whole plan.
pub(super) fn chart(plan: &BuildPlan, fonts: &Fonts) -> Drawing {
    let mut ruler = Ruler::new(fonts);
    let rows = rows(plan, &mut ruler);
    drawn(plan, &rows.iter().collect::<Vec<_>>(), true, &mut ruler)
}

/// Draws the plan in parts of at most `height` points; dates, workshop and legend stand on each.
pub(super) fn parts(plan: &BuildPlan, height: f32, fonts: &Fonts) -> Vec<Drawing> {
    let mut ruler = Ruler::new(fonts);
    let rows = rows(plan, &mut ruler);
    let head = head_height(&head(plan), &mut ruler);
    let continued: Vec<Row<'_>> = rows.iter().filter_map(Row::continued).collect();
    let (mut parts, mut part): (Vec<Vec<&Row<'_>>>, Vec<&Row<'_>>) = (Vec::new(), Vec::new());
    let mut left = height - head - DATES - LEGEND;
    let mut workshops = 0;
    for (index, row) in rows.iter().enumerate() {
        let is_heading = matches!(row.what, What::Workshop(_));
        // A heading never stands last.
        let next = rows
            .get(index + 1)
            .filter(|_| is_heading)
            .map_or(0.0, |next| next.height);
        if row.height + next > left && !part.is_empty() {
            parts.push(std::mem::take(&mut part));
            left = height - DATES - LEGEND;
            let heading = continued
                .get(usize::max(workshops, 1) - 1)
                .filter(|_| !is_heading);
            if let Some(heading) = heading {
                part.push(heading);
                left -= heading.height;
            }
        }
        workshops += usize::from(is_heading);
        part.push(row);
        left -= row.height;
    }
    parts.push(part);
    parts
        .iter()
        .enumerate()
        .map(|(index, rows)| drawn(plan, rows, index == 0, &mut ruler))
        .collect()
}

fn drawn(plan: &BuildPlan, rows: &[&Row<'_>], first: bool, ruler: &mut Ruler<'_>) -> Drawing {
    let span = Span::of(plan);
    let mut shapes = Vec::new();
    let mut top = 0.0;
    if first {
        for line in head(plan) {
            let height = ruler.height(&line, WIDTH);
            shapes.push(Shape::label(0.0, top, WIDTH, line));
            top += height;
        }
    }
    top += DATES;
    let bottom = top + rows.iter().map(|row| row.height).sum::<f32>();
    shapes.extend(span.grid(top, bottom));
    let mut y = top;
    for row in rows {
        shapes.extend(row.shapes(&span, y));
        y += row.height;
    }
    shapes.extend(span.departure(plan, top, bottom));
    shapes.extend(legend(bottom + 12.0));
    Drawing {
        width: WIDTH,
        height: bottom + LEGEND,
        shapes,
    }
}

/// A row, and its height.
struct Row<'plan> {
    what: What<'plan>,
    height: f32,
}

enum What<'plan> {
    /// The heading of a workshop.
    Workshop(String),
    Job {
        job: &'plan PlannedJob,
        name: Text,
        vehicles: Text,
    },
}

/// The jobs under their workshops, workshops in the order of their first jobs, those without one last.
fn rows<'plan>(plan: &'plan BuildPlan, ruler: &mut Ruler<'_>) -> Vec<Row<'plan>> {
    let mut groups: Vec<(&str, String, Vec<&PlannedJob>)> = Vec::new();
    for job in &plan.jobs {
        match groups.iter_mut().find(|group| group.0 == job.workshop) {
            Some(group) => group.2.push(job),
            None => {
                let title = match (job.workshop_display_name.as_str(), job.workshop.as_str()) {
                    ("", "") => "no workshop",
                    ("", workshop) => id_of(workshop),
                    (title, _) => title,
                };
                groups.push((&job.workshop, title.to_owned(), vec![job]));
            }
        }
    }
    groups.sort_by_key(|group| group.0.is_empty());
    let mut rows = Vec::new();
    for (_, title, jobs) in groups {
        let height = ruler.height(&workshop_text(&title), WIDTH - 8.0) + 6.0 + ROW_GAP;
        rows.push(Row {
            what: What::Workshop(title),
            height,
        });
        rows.extend(jobs.into_iter().map(|job| job_row(job, ruler)));
    }
    rows
}

fn workshop_text(title: &str) -> Text {
    Text::new(title).bold().size(9.0)
}

fn job_row<'plan>(job: &'plan PlannedJob, ruler: &mut Ruler<'_>) -> Row<'plan> {
    let name = match id_of(&job.job) {
        "" => job.display_name.clone(),
        id => format!("{id}  {}", job.display_name),
    };
    let vehicles: Vec<&str> = job.vehicles.iter().map(|vehicle| id_of(vehicle)).collect();
    let (name, vehicles) = (
        Text::new(one_line(&name)).size(SIZE),
        Text::new(vehicles.join(" ")).size(SIZE),
    );
    let height = ruler
        .height(&name, NAMES - GAP)
        .max(ruler.height(&vehicles, VEHICLES - GAP))
        .max(BAR);
    Row {
        what: What::Job { job, name, vehicles },
        height: height + ROW_GAP,
    }
}

/// A name in one piece, whatever line breaks it holds.
fn one_line(text: &str) -> String {
    text.split(['\r', '\n'])
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

impl Row<'_> {
    /// The heading of a workshop where its jobs go on. `None`: it is no heading.
    fn continued(&self) -> Option<Row<'static>> {
        match &self.what {
            What::Workshop(title) => Some(Row {
                what: What::Workshop(format!("{title}, continued")),
                height: self.height,
            }),
            What::Job { .. } => None,
        }
    }

    fn shapes(&self, span: &Span, y: f32) -> Vec<Shape> {
        match &self.what {
            What::Workshop(title) => vec![
                Shape::rectangle(0.0, y, WIDTH, self.height - ROW_GAP, Shade::Light, Stroke::NONE),
                Shape::label(4.0, y + 3.0, WIDTH - 8.0, workshop_text(title)),
            ],
            What::Job { job, name, vehicles } => {
                let mut shapes = vec![
                    Shape::label(4.0, y, NAMES - GAP, name.clone()),
                    Shape::label(NAMES, y, VEHICLES - GAP, vehicles.clone()),
                ];
                shapes.extend(bars(job, span, y + 1.5));
                shapes
            }
        }
    }
}

fn bars(job: &PlannedJob, span: &Span, y: f32) -> Vec<Shape> {
    let (Some(start), Some(finish)) = (moment(&job.start_civil_time), moment(&job.finish_civil_time)) else {
        return Vec::new();
    };
    let from = span.x(start);
    // The shortest job still shows.
    let to = span.x(finish).max(from + 1.5);
    let middle = y + BAR / 2.0;
    let mut shapes = Vec::new();
    if !job.critical && job.slack_hours > 0.0 {
        let latest = span.x_of_hours(hours_between(span.start, start) + job.slack_hours);
        if latest > to + 1.0 {
            shapes.extend(slack(to, latest, middle));
        }
    }
    shapes.push(bar(from, to, y, job.critical));
    if job.under_way {
        shapes.push(mark(from, middle));
    }
    shapes
}

/// What time is where.
struct Span {
    start: DateTime,
    hours: f64,
}

impl Span {
    /// From the plan's first day to the last of its jobs and its departure, whole days.
    fn of(plan: &BuildPlan) -> Self {
        let starts = plan
            .jobs
            .iter()
            .filter_map(|job| moment(&job.start_civil_time))
            .chain(moment(&plan.start_civil_time));
        let ends = plan
            .jobs
            .iter()
            .filter_map(|job| moment(&job.finish_civil_time))
            .chain(moment(&plan.ready_by_civil_time));
        let start = starts.min().unwrap_or(DateTime::ZERO).start_of_day();
        let end = ends.max().unwrap_or(start);
        let days = (hours_between(start, end) / 24.0).ceil().max(1.0) + 1.0;
        Self {
            start,
            hours: 24.0 * days,
        }
    }

    fn x(&self, at: DateTime) -> f32 {
        self.x_of_hours(hours_between(self.start, at))
    }

    fn x_of_hours(&self, hours: f64) -> f32 {
        LEFT + DAYS * narrow((hours / self.hours).clamp(0.0, 1.0))
    }

    /// Lines at days, and their dates.
    fn grid(&self, top: f32, bottom: f32) -> Vec<Shape> {
        let days = self.hours / 24.0;
        // Some 44 points for a date.
        let step = [1.0, 2.0, 7.0, 14.0, 28.0, 56.0, 91.0, 182.0, 364.0]
            .into_iter()
            .find(|step| f64::from(DAYS) * step / days >= 44.0)
            .unwrap_or(3_640.0);
        let mut shapes = Vec::new();
        let marks = std::iter::successors(Some(0.0), |day| Some(day + step)).take_while(|day| *day < days);
        for day in marks {
            let x = self.x_of_hours(24.0 * day);
            let date = jiff::Span::new()
                .try_days(day as i64)
                .and_then(|span| self.start.checked_add(span));
            let Ok(date) = date else { break };
            let text = date.strftime("%a %-d %b").to_string();
            shapes.push(Shape::line((x, top), (x, bottom), Stroke::of(0.6, Tone::Faint)));
            // A date that would run out of the picture is left out.
            if x + 44.0 <= WIDTH {
                let text = Text::new(text).size(7.5);
                shapes.push(Shape::toned(x + 1.0, top - 11.0, 46.0, text, Tone::Grey));
            }
        }
        shapes.push(Shape::line((LEFT, top), (WIDTH, top), Stroke::black(0.7)));
        shapes
    }

    /// The moment of departure.
    fn departure(&self, plan: &BuildPlan, top: f32, bottom: f32) -> Vec<Shape> {
        let Some(at) = moment(&plan.ready_by_civil_time) else {
            return Vec::new();
        };
        let x = self.x(at);
        let text = Text::new("departure").bold().size(SIZE).align(Align::Right);
        vec![
            Shape::line((x, top - 24.0), (x, bottom), Stroke::black(1.3).dashed(4.0)),
            Shape::label(x - 84.0, top - 26.0, 80.0, text),
        ]
    }
}

/// Hours from one civil moment to another.
fn hours_between(from: DateTime, to: DateTime) -> f64 {
    to.duration_since(from).as_secs_f64() / 3_600.0
}

/// Points need no more than single precision.
fn narrow(value: f64) -> f32 {
    value as f32
}

fn bar(from: f32, to: f32, y: f32, critical: bool) -> Shape {
    let shade = if critical { Shade::Black } else { Shade::White };
    Shape::rectangle(from, y, to - from, BAR, shade, Stroke::black(0.8))
}

fn slack(from: f32, latest: f32, middle: f32) -> [Shape; 2] {
    let stroke = Stroke::of(0.8, Tone::Grey);
    [
        Shape::line((from, middle), (latest, middle), stroke),
        Shape::line((latest, middle - 2.5), (latest, middle + 2.5), stroke),
    ]
}

/// Points at the start of what is under way.
fn mark(x: f32, middle: f32) -> Shape {
    Shape::Polygon {
        points: vec![
            (x - 6.0, middle - 3.5),
            (x - 6.0, middle + 3.5),
            (x - 0.5, middle),
        ],
        shade: Shade::Black,
        stroke: Stroke::NONE,
    }
}

fn head(plan: &BuildPlan) -> [Text; 3] {
    let people = |time: &str| time.replace('T', " ");
    let late = plan.finish_civil_time > plan.ready_by_civil_time;
    let said = format!(
        "From {}. Everything done {}, {} the departure {}.",
        people(&plan.start_civil_time),
        people(&plan.finish_civil_time),
        if late { "AFTER" } else { "before" },
        people(&plan.ready_by_civil_time)
    );
    let bound = if plan.proven_optimal {
        "No plan of these jobs is shorter.".to_owned()
    } else {
        format!(
            "No plan of these jobs ends before {}; at most {:.1} % shorter.",
            people(&plan.bound_civil_time),
            100.0 * plan.gap_fraction
        )
    };
    [
        Text::new(format!("Plan of {}", id_of(&plan.departure)))
            .bold()
            .size(13.0),
        Text::new(said).size(9.0),
        Text::new(bound).size(9.0),
    ]
}

fn head_height(head: &[Text], ruler: &mut Ruler<'_>) -> f32 {
    head.iter().map(|line| ruler.height(line, WIDTH)).sum()
}

fn legend(y: f32) -> Vec<Shape> {
    let said = |x: f32, text: &str| Shape::label(x, y - 1.5, 220.0, Text::new(text).size(SIZE));
    let middle = y + BAR / 2.0;
    let mut shapes = vec![
        bar(4.0, 26.0, y, true),
        said(31.0, "a delay delays the last finish"),
        bar(190.0, 212.0, y, false),
    ];
    shapes.extend(slack(212.0, 226.0, middle));
    shapes.extend([
        said(231.0, "can start as late as the mark behind it"),
        mark(430.0, middle),
        said(434.0, "under way"),
    ]);
    shapes
}

#[cfg(test)]
mod tests {
    use super::super::tests::plan;
    use super::*;

    fn fonts() -> Fonts {
        Fonts::built_in().unwrap()
    }

    fn said(drawing: &Drawing) -> Vec<&str> {
        let labels = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Label { text, .. } => Some(text.text.as_str()),
            _ => None,
        });
        labels.collect()
    }

    #[test]
    fn bars_lie_where_their_times_are() {
        let drawing = chart(&plan(), &fonts());
        // From 29 March to the departure on 5 April are 7 days, and one to breathe: 8 days. The first job runs from 8 h to
        // 36 h of 192 h (own calculation).
        let (from, to) = (LEFT + DAYS * 8.0 / 192.0, LEFT + DAYS * 36.0 / 192.0);
        let is_bar = |shape: &&Shape| {
            matches!(shape, Shape::Polygon { points, shade: Shade::Black, .. }
                if (points[0].0 - from).abs() < 0.01 && (points[1].0 - to).abs() < 0.01)
        };
        assert_eq!(drawing.shapes.iter().filter(is_bar).count(), 1);
        let said = said(&drawing).join("\n");
        for words in ["Mon 29 Mar", "departure", "yard", "no workshop", "under way"] {
            assert!(said.contains(words), "{words}: {said}");
        }
    }

    /// Every row stands once, whole, on parts that are no taller than asked, under a heading of its workshop.
    #[test]
    fn a_long_plan_is_drawn_in_parts() {
        let mut plan = plan();
        let job = plan.jobs[0].clone();
        plan.jobs = (0..120)
            .map(|index| PlannedJob {
                display_name: format!("job {index} {}", "long ".repeat(index % 40)),
                ..job.clone()
            })
            .collect();
        let fonts = fonts();
        let parts = parts(&plan, 450.0, &fonts);
        assert!(parts.len() > 3, "{}", parts.len());
        let mut jobs = 0;
        for (index, part) in parts.iter().enumerate() {
            assert!(part.height <= 450.0 && part.width <= WIDTH, "{}", part.height);
            let said = said(part);
            jobs += said.iter().filter(|text| text.contains("  job ")).count();
            let heading = if index == 0 { "yard" } else { "yard, continued" };
            assert!(said.contains(&heading), "{index}: {said:?}");
        }
        assert_eq!(jobs, 120);
        assert_eq!(
            said(&chart(&plan, &fonts))
                .iter()
                .filter(|text| text.contains("  job "))
                .count(),
            120
        );
    }
}
