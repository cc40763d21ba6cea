//! A plan as a chart: jobs in rows by workshop, days across.
//!
//! It reads in black and white: what delays the last finish is filled, the rest is open, and how much later a job
//! could start is a thin line behind it. Names are broken over lines and never cut.

use jiff::civil::DateTime;
use ostler_proto::v1::{BuildPlan, PlannedJob};
use svg::Document;
use svg::node::element::{Group, Line, Polygon, Rectangle, Text};

use super::{id_of, moment};

const MARGIN: f64 = 24.0;
/// Width of the names, and characters that surely fit into it at the size of 12.
const NAMES: f64 = 330.0;
const NAME_CHARACTERS: usize = 46;
/// Width of the vehicles, and characters that fit.
const VEHICLES: f64 = 90.0;
const VEHICLE_CHARACTERS: usize = 12;
const DAYS: f64 = 760.0;
const LEFT: f64 = MARGIN + NAMES + VEHICLES;
const RIGHT: f64 = LEFT + DAYS;
const WIDTH: f64 = RIGHT + MARGIN;
const HEAD: f64 = 128.0;
const LINE: f64 = 15.0;
const ROW_GAP: f64 = 7.0;
const BAR: f64 = 13.0;

const INK: &str = "#1a1a1a";
const GREY: &str = "#6b6b6b";
const GRID: &str = "#d4d4d4";
const BAND: &str = "#f1f1f1";

/// Draws the plan.
pub(super) fn chart(plan: &BuildPlan) -> String {
    let span = Span::of(plan);
    let mut y = HEAD;
    let mut rows = Group::new();
    for (workshop, jobs) in by_workshop(plan) {
        rows = rows.add(heading(y, &workshop));
        y += LINE + ROW_GAP + 4.0;
        for job in jobs {
            let row = Row::of(job);
            rows = rows.add(row.draw(&span, y));
            y += row.height();
        }
        y += ROW_GAP;
    }
    let height = y + 64.0;
    Document::new()
        .set("viewBox", (0.0, 0.0, WIDTH, rounded(height)))
        .set("width", WIDTH)
        .set("height", rounded(height))
        .set("role", "img")
        .set("font-family", "Helvetica, Arial, sans-serif")
        .add(
            Rectangle::new()
                .set("width", WIDTH)
                .set("height", rounded(height))
                .set("fill", "#ffffff"),
        )
        .add(head(plan))
        .add(span.grid(HEAD - 8.0, y))
        .add(rows)
        .add(span.departure(plan, HEAD - 8.0, y))
        .add(legend(y + 26.0))
        .to_string()
}

/// The jobs of each workshop, workshops in the order of their first jobs, those without one last.
fn by_workshop(plan: &BuildPlan) -> Vec<(String, Vec<&PlannedJob>)> {
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
    groups.into_iter().map(|(_, title, jobs)| (title, jobs)).collect()
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

    fn x(&self, at: DateTime) -> f64 {
        self.x_of_hours(hours_between(self.start, at))
    }

    fn x_of_hours(&self, hours: f64) -> f64 {
        LEFT + DAYS * (hours / self.hours).clamp(0.0, 1.0)
    }

    /// Lines at days, and their dates.
    fn grid(&self, top: f64, bottom: f64) -> Group {
        let days = self.hours / 24.0;
        // Some 66 units for a date.
        let step = [1.0, 2.0, 7.0, 14.0, 28.0, 56.0, 91.0, 182.0, 364.0]
            .into_iter()
            .find(|step| DAYS * step / days >= 66.0)
            .unwrap_or(3_640.0);
        let mut group = Group::new();
        let marks = std::iter::successors(Some(0.0), |day| Some(day + step)).take_while(|day| *day < days);
        for day in marks {
            let x = self.x_of_hours(24.0 * day);
            let date = jiff::Span::new()
                .try_days(day as i64)
                .and_then(|span| self.start.checked_add(span));
            let Ok(date) = date else { break };
            let text = date.strftime("%a %-d %b").to_string();
            group = group.add(stroke(x, top, x, bottom, GRID, 1.0));
            // A date that would run out of the picture is left out.
            if x + 62.0 <= WIDTH {
                group = group.add(words(x + 3.0, top - 4.0, 11.0, GREY, "start", &text));
            }
        }
        group.add(stroke(LEFT, top, RIGHT, top, INK, 1.0))
    }

    /// The moment of departure.
    fn departure(&self, plan: &BuildPlan, top: f64, bottom: f64) -> Group {
        let Some(at) = moment(&plan.ready_by_civil_time) else {
            return Group::new();
        };
        let x = self.x(at);
        Group::new()
            .add(stroke(x, top - 20.0, x, bottom, INK, 2.0).set("stroke-dasharray", "7 4"))
            .add(words(x - 5.0, top - 22.0, 12.0, INK, "end", "departure").set("font-weight", "bold"))
    }
}

/// Hours from one civil moment to another.
fn hours_between(from: DateTime, to: DateTime) -> f64 {
    to.duration_since(from).as_secs_f64() / 3_600.0
}

/// A job with its name broken into lines.
struct Row<'plan> {
    job: &'plan PlannedJob,
    name: Vec<String>,
    vehicles: Vec<String>,
}

impl<'plan> Row<'plan> {
    fn of(job: &'plan PlannedJob) -> Self {
        let name = match id_of(&job.job) {
            "" => job.display_name.clone(),
            id => format!("{id}  {}", job.display_name),
        };
        let vehicles: Vec<&str> = job.vehicles.iter().map(|vehicle| id_of(vehicle)).collect();
        Self {
            job,
            name: broken(&name, NAME_CHARACTERS),
            vehicles: broken(&vehicles.join(" "), VEHICLE_CHARACTERS),
        }
    }

    fn height(&self) -> f64 {
        LINE * self.name.len().max(self.vehicles.len()).max(1) as f64 + ROW_GAP
    }

    fn draw(&self, span: &Span, y: f64) -> Group {
        let mut group = Group::new();
        for (x, lines) in [(MARGIN, &self.name), (MARGIN + NAMES, &self.vehicles)] {
            let mut at = y + 11.0;
            for line in lines {
                group = group.add(words(x, at, 12.0, INK, "start", line));
                at += LINE;
            }
        }
        let (Some(start), Some(finish)) = (
            moment(&self.job.start_civil_time),
            moment(&self.job.finish_civil_time),
        ) else {
            return group;
        };
        let (from, to) = (span.x(start), span.x(finish));
        // The shortest job still shows.
        let to = to.max(from + 2.0);
        let middle = y + BAR / 2.0;
        if !self.job.critical && self.job.slack_hours > 0.0 {
            let latest = span.x_of_hours(hours_between(span.start, start) + self.job.slack_hours);
            if latest > to + 1.0 {
                group = group
                    .add(stroke(to, middle, latest, middle, GREY, 1.0))
                    .add(stroke(latest, middle - 4.0, latest, middle + 4.0, GREY, 1.0));
            }
        }
        group = group.add(bar(from, to, y, self.job.critical));
        if self.job.under_way {
            group = group.add(mark(from, middle));
        }
        group
    }
}

fn bar(from: f64, to: f64, y: f64, critical: bool) -> Rectangle {
    Rectangle::new()
        .set("x", rounded(from))
        .set("y", rounded(y))
        .set("width", rounded(to - from))
        .set("height", BAR)
        .set("fill", if critical { INK } else { "#ffffff" })
        .set("stroke", INK)
        .set("stroke-width", 1.25)
}

/// Points at the start of what is under way.
fn mark(x: f64, middle: f64) -> Polygon {
    let points = format!(
        "{},{} {},{} {},{}",
        rounded(x - 9.0),
        rounded(middle - 5.0),
        rounded(x - 9.0),
        rounded(middle + 5.0),
        rounded(x - 1.0),
        rounded(middle)
    );
    Polygon::new().set("points", points).set("fill", INK)
}

fn heading(y: f64, workshop: &str) -> Group {
    Group::new()
        .add(
            Rectangle::new()
                .set("x", MARGIN - 6.0)
                .set("y", rounded(y))
                .set("width", RIGHT - MARGIN + 6.0)
                .set("height", LINE + 4.0)
                .set("fill", BAND),
        )
        .add(words(MARGIN, y + 14.0, 12.5, INK, "start", workshop).set("font-weight", "bold"))
}

fn head(plan: &BuildPlan) -> Group {
    let people = |time: &str| time.replace('T', " ");
    let title = format!("Plan of {}", id_of(&plan.departure));
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
    Group::new()
        .add(words(MARGIN, 36.0, 18.0, INK, "start", &title).set("font-weight", "bold"))
        .add(words(MARGIN, 58.0, 12.5, INK, "start", &said))
        .add(words(MARGIN, 76.0, 12.5, INK, "start", &bound))
        .add(words(MARGIN + NAMES, HEAD - 12.0, 11.0, GREY, "start", "for"))
}

fn legend(y: f64) -> Group {
    let mut group = Group::new();
    let mut x = MARGIN;
    let said = |x: f64, text: &str| words(x, y + 11.0, 12.0, INK, "start", text);
    group = group
        .add(bar(x, x + 34.0, y, true))
        .add(said(x + 42.0, "a delay delays the last finish"));
    x += 230.0;
    group = group
        .add(bar(x, x + 34.0, y, false))
        .add(stroke(x + 34.0, y + 6.5, x + 56.0, y + 6.5, GREY, 1.0))
        .add(stroke(x + 56.0, y + 2.5, x + 56.0, y + 10.5, GREY, 1.0))
        .add(said(x + 64.0, "can start as late as the mark behind it"));
    x += 320.0;
    group.add(mark(x + 9.0, y + 6.5)).add(said(x + 16.0, "under way"))
}

/// Breaks `text` between words, and within words that are longer than a line.
fn broken(text: &str, characters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        while !word.is_empty() {
            let used = line.chars().count();
            let room = characters.saturating_sub(if used == 0 { 0 } else { used + 1 });
            if word.len() <= room {
                if used > 0 {
                    line.push(' ');
                }
                line.extend(word.drain(..));
            } else if used > 0 {
                lines.push(std::mem::take(&mut line));
            } else {
                lines.push(word.drain(..characters).collect());
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

fn stroke(x1: f64, y1: f64, x2: f64, y2: f64, colour: &str, width: f64) -> Line {
    Line::new()
        .set("x1", rounded(x1))
        .set("y1", rounded(y1))
        .set("x2", rounded(x2))
        .set("y2", rounded(y2))
        .set("stroke", colour)
        .set("stroke-width", width)
}

fn words(x: f64, y: f64, size: f64, colour: &str, anchor: &str, text: &str) -> Text {
    // Control characters are not allowed in XML at all.
    let text: String = text
        .chars()
        .map(|character| if character.is_control() { ' ' } else { character })
        .collect();
    Text::new(text)
        .set("x", rounded(x))
        .set("y", rounded(y))
        .set("font-size", size)
        .set("fill", colour)
        .set("text-anchor", anchor)
}

/// A hundredth of a unit is finer than any screen.
fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::super::tests::plan;
    use super::*;

    #[test]
    fn bars_lie_where_their_times_are() {
        let picture = chart(&plan());
        // From 29 March to the departure on 5 April are 7 days, and one to breathe: 8 days on 760 units. The first job runs
        // from 8 h to 36 h of 192 h (own calculation).
        let (x, width) = (LEFT + DAYS * 8.0 / 192.0, DAYS * 28.0 / 192.0);
        for said in [
            format!("x=\"{}\"", rounded(x)),
            format!("width=\"{}\"", rounded(width)),
        ] {
            assert!(picture.contains(&said), "{said}\n{picture}");
        }
        assert!(!picture.contains("NaN") && !picture.contains("inf"));
        for said in ["Mon 29 Mar", "departure", "yard", "no workshop", "under way"] {
            assert!(picture.contains(said), "{said}");
        }
    }

    #[test]
    fn names_cannot_break_the_document_and_are_never_cut() {
        let mut plan = plan();
        plan.jobs[0].display_name = format!("<a&b> {}", "long ".repeat(38));
        plan.jobs[1].display_name = "\u{1F527}".repeat(200);
        let picture = chart(&plan);
        assert!(
            picture.contains("&lt;a&amp;b&gt;") && !picture.contains("<a&b>"),
            "{picture}"
        );
        assert_eq!(picture.matches("long").count(), 38);
        assert_eq!(picture.matches('\u{1F527}').count(), 200);
    }

    #[test]
    fn lines_are_broken_between_words() {
        assert_eq!(broken("one two three", 8), ["one two", "three"]);
        assert_eq!(broken("abcdefghij kl", 4), ["abcd", "efgh", "ij", "kl"]);
        assert_eq!(broken("", 4), Vec::<String>::new());
    }
}
