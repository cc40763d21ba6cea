//! A calendar for each workshop (iCalendar, RFC 5545).
//!
//! Times are floating: moments of a plan are civil times of the workshop, and whoever opens the file there sees
//! them as they are. An event's id stays the same from plan to plan, so that a later file moves it.

use std::collections::BTreeMap;

use icalendar::{Calendar, Component, Event, EventLike};
use jiff::Timestamp;
use ostler_proto::v1::{BuildPlan, PlannedJob};

use super::{id_of, moment};

/// File name of the jobs that need no workshop.
const NO_WORKSHOP: &str = "no-workshop";

/// The calendars, by the ids of the workshops.
pub(super) fn calendars(plan: &BuildPlan, now_micros: i64) -> BTreeMap<String, String> {
    let stamp = Timestamp::from_microsecond(now_micros)
        .unwrap_or(Timestamp::UNIX_EPOCH)
        .strftime("%Y%m%dT%H%M%SZ")
        .to_string();
    let mut calendars: BTreeMap<String, Calendar> = BTreeMap::new();
    for job in &plan.jobs {
        let workshop = match job.workshop.as_str() {
            "" => NO_WORKSHOP,
            name => id_of(name),
        };
        let Some(event) = event(plan, job, &stamp) else {
            continue;
        };
        calendars
            .entry(workshop.to_owned())
            .or_insert_with(|| empty(plan, job))
            .push(event);
    }
    calendars
        .into_iter()
        .map(|(workshop, calendar)| (workshop, calendar.to_string()))
        .collect()
}

fn empty(plan: &BuildPlan, first: &PlannedJob) -> Calendar {
    let place = match first.workshop_display_name.as_str() {
        "" if first.workshop.is_empty() => "jobs that need no workshop",
        "" => id_of(&first.workshop),
        name => name,
    };
    let mut calendar = Calendar::empty();
    for (key, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//Ostler//build plan//EN"),
        ("CALSCALE", "GREGORIAN"),
        ("METHOD", "PUBLISH"),
    ] {
        calendar.append_property((key, value));
    }
    calendar.append_property((
        "X-WR-CALNAME",
        one_line(&format!("{}: {place}", id_of(&plan.departure))).as_str(),
    ));
    calendar
}

fn event(plan: &BuildPlan, job: &PlannedJob, stamp: &str) -> Option<Event> {
    let time = |text: &str| moment(text).map(|moment| moment.strftime("%Y%m%dT%H%M%S").to_string());
    let (start, finish) = (time(&job.start_civil_time)?, time(&job.finish_civil_time)?);
    // Work that entered by itself has no name of its own.
    let own = match job.job.as_str() {
        "" => job.display_name.as_str(),
        name => name,
    };
    let vehicles: Vec<&str> = job.vehicles.iter().map(|vehicle| id_of(vehicle)).collect();
    let mut said = vec![format!("for {}", vehicles.join(", "))];
    if job.critical {
        said.push("a delay of it delays the last finish".to_owned());
    } else {
        said.push(format!("it could start {:.1} h later", job.slack_hours));
    }
    if job.under_way {
        said.push("under way".to_owned());
    }
    let id = match id_of(&job.job) {
        "" => String::new(),
        id => format!("{id}: "),
    };
    let mut event = Event::new();
    event
        .uid(&format!(
            "{}/{}@ostler",
            one_line(own).replace(' ', "-"),
            id_of(&plan.departure)
        ))
        .add_property("DTSTAMP", stamp)
        .add_property("DTSTART", start)
        .add_property("DTEND", finish)
        .summary(&one_line(&format!("{id}{}", job.display_name)))
        .description(&one_line(&said.join("; ")));
    if !job.workshop_display_name.is_empty() {
        event.location(&one_line(&job.workshop_display_name));
    }
    Some(event.done())
}

/// A line of a calendar ends where a control character stands.
fn one_line(text: &str) -> String {
    let line: String = text
        .chars()
        .map(|character| if character.is_control() { ' ' } else { character })
        .collect();
    line.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::tests::plan;
    use super::*;

    /// Lines as RFC 5545, section 3.1, says: at most 75 octets, then a line break and a space.
    fn unfolded(text: &str) -> String {
        assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
        text.replace("\r\n ", "")
    }

    #[test]
    fn each_workshop_has_a_calendar_with_its_jobs() {
        // 1,800,000,000 s since 1970 is 2027-01-15T08:00:00Z (python3: datetime.fromtimestamp).
        let calendars = calendars(&plan(), 1_800_000_000_000_000);
        let names: Vec<&String> = calendars.keys().collect();
        assert_eq!(names, ["no-workshop", "yard"]);
        let yard = unfolded(&calendars["yard"]);
        assert_eq!(yard.matches("BEGIN:VEVENT").count(), 2);
        for line in [
            "DTSTAMP:20270115T080000Z",
            "DTSTART:20270329T080000",
            "DTEND:20270330T120000",
            "SUMMARY:t1: =strip\\; inspect\\, <clean>",
            "SUMMARY:t2: wire the \"second\" battery and test",
            "UID:fleets/f/jobs/t1/north@ostler",
            "LOCATION:yard",
            "DESCRIPTION:for v1\\; a delay of it delays the last finish",
        ] {
            assert!(yard.split("\r\n").any(|found| found == line), "{line}\n{yard}");
        }
        assert_eq!(yard.matches("DTSTAMP").count(), 2, "{yard}");
    }

    #[test]
    fn the_same_plan_gives_the_same_bytes() {
        assert_eq!(calendars(&plan(), 1), calendars(&plan(), 1));
    }
}
