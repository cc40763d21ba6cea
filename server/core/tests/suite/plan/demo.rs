//! The build plan of the invented demo fleet: 40 jobs on 7 resources, 7 awaited parts.
//!
//! The fleet states weekly hours only; the shifts below are assumptions. Shared with the benchmarks.

use ostler_core::plan::build_plan::{AwaitedPart, Plan, PlanJob};
use ostler_core::plan::calendar::{DAY_MINUTES, Shift, WorkingCalendar};
use ostler_core::plan::project::{Need, Resource};
use ostler_core::plan::three_point::ThreePoint;

/// 2027-03-29, a Monday.
pub(crate) const STATUS_DAY: i64 = 20_906;
/// The start of the plan: 08:00 that day.
pub(crate) const START: i64 = STATUS_DAY * DAY_MINUTES + 480;
/// 2027-05-24 08:00.
pub(crate) const DEPARTURE: i64 = 20_962 * DAY_MINUTES + 480;

const RESOURCES: [&str; 7] = ["W1", "W2", "W3", "W4", "CR", "EN", "IN"];
const WORKING_DAYS: [bool; 7] = [true, true, true, true, true, false, false];

/// Days from optimistic to pessimistic, and the day of the order.
const PARTS: [(&str, [f64; 3], Option<i64>); 7] = [
    ("PU1", [5.0, 10.0, 20.0], Some(20_902)),
    ("PU2", [20.0, 24.0, 35.0], Some(20_903)),
    ("PU3", [3.0, 6.0, 15.0], None),
    ("PU4", [2.0, 4.0, 9.0], Some(20_906)),
    ("PU5", [7.0, 14.0, 30.0], None),
    ("PU6", [4.0, 9.0, 25.0], Some(20_900)),
    ("PU7", [30.0, 35.0, 45.0], None),
];

/// The demo plan with its calendars.
pub(crate) fn demo_plan() -> Plan {
    let rows: Vec<Vec<&str>> = include_str!("data/demo_jobs.csv")
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    let job_index = |name: &str| rows.iter().position(|row| row[0] == name).unwrap();
    let number = |text: &str| text.parse::<f64>().unwrap();
    let job = |row: &Vec<&str>| PlanJob {
        name: row[0].to_owned(),
        vehicles: match row[1] {
            "all" => vec![0, 1, 2, 3],
            name => vec![name[1..].parse::<usize>().unwrap() - 1],
        },
        work_hours: ThreePoint {
            optimistic: number(row[3]),
            likely: number(row[4]),
            pessimistic: number(row[5]),
        },
        needs: vec![Need {
            any_of: vec![RESOURCES.iter().position(|name| *name == row[2]).unwrap()],
            units: 1,
        }],
        after: row[6].split_whitespace().map(job_index).collect(),
        awaits: PARTS
            .iter()
            .position(|(name, ..)| *name == row[7])
            .into_iter()
            .collect(),
        earliest_start_minute: None,
        latest_finish_minute: None,
        in_progress: false,
    };
    let part =
        |(name, [optimistic, likely, pessimistic], ordered): &(&str, [f64; 3], Option<i64>)| AwaitedPart {
            name: (*name).to_owned(),
            lead_time_days: ThreePoint {
                optimistic: *optimistic,
                likely: *likely,
                pessimistic: *pessimistic,
            },
            ordered_minute: ordered.map(|day| day * DAY_MINUTES + 480),
        };
    Plan {
        start_minute: START,
        assumed_order_minute: START + 7 * DAY_MINUTES,
        vehicles: ["V1", "V2", "V3", "V4"].map(str::to_owned).to_vec(),
        resources: RESOURCES.map(resource).to_vec(),
        parts: PARTS.iter().map(part).collect(),
        jobs: rows.iter().map(job).collect(),
    }
}

/// The same jobs by precedence alone: no resources, calendars or parts.
pub(crate) fn demo_network() -> Plan {
    let mut plan = demo_plan();
    plan.resources.clear();
    plan.parts.clear();
    for job in &mut plan.jobs {
        job.needs.clear();
        job.awaits.clear();
    }
    plan
}

fn resource(name: &str) -> Resource {
    let evenly = |hours, opens| WorkingCalendar::evenly(hours, WORKING_DAYS, opens).unwrap();
    let (capacity, calendar) = match name {
        "W1" => (1, evenly(36.0, 480)),
        "W2" => (1, evenly(32.0, 480)),
        "W3" => (1, evenly(30.0, 480)),
        "W4" => (1, evenly(24.0, 480)),
        "CR" => (2, evenings_and_weekends()),
        "EN" => {
            let mut mondays =
                WorkingCalendar::evenly(8.0, [true, false, false, false, false, false, false], 480).unwrap();
            mondays.first_available_minute = Some(20_934 * DAY_MINUTES);
            (1, mondays)
        }
        _ => (1, evenly(20.0, 480)),
    };
    Resource {
        name: name.to_owned(),
        capacity,
        calendar: Some(calendar),
    }
}

/// 4 hours each evening from 18:00, 10 hours each weekend day from 08:00: 40 a week.
fn evenings_and_weekends() -> WorkingCalendar {
    let evening = vec![Shift {
        from_minute: 1_080,
        to_minute: 1_320,
    }];
    let day = vec![Shift {
        from_minute: 480,
        to_minute: 1_080,
    }];
    WorkingCalendar {
        weekly: WORKING_DAYS.map(|works| if works { evening.clone() } else { day.clone() }),
        ..Default::default()
    }
}
