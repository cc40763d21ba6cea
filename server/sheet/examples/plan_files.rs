//! Writes a made-up plan with awkward names in every form into a folder, and `jobs.tsv` with the start, the finish and the
//! name of every job, for comparison with another reader:
//! `cargo run -p ostler-sheet --example plan_files -- FOLDER && python3 tests/python/check_calendars.py FOLDER`.

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use ostler_proto::v1::{BuildPlan, PlanFormat, PlannedJob};
use ostler_sheet::{Fonts, PageSize, plan_files};

const NAMES: [&str; 8] = [
    "strip; inspect, clean",
    "backslash \\n is no line break: \\, and \\;",
    "BEGIN:VEVENT",
    "=SUM(A1:A9)",
    "naïve façade – Ventilführung – 車体 – 🔧🔧🔧",
    "a name that is so long that a line of the calendar, which holds seventy-five octets, must be folded more than once to hold it",
    "\"quoted\" and 'quoted'",
    "END",
];

fn main() -> Result<(), Box<dyn Error>> {
    let folder: PathBuf = std::env::args().nth(1).ok_or("usage: plan_files FOLDER")?.into();
    fs::create_dir_all(&folder)?;
    let jobs: Vec<PlannedJob> = NAMES
        .iter()
        .enumerate()
        .map(|(index, name)| {
            let workshop = ["yard", "lean; on, me", ""][index % 3];
            PlannedJob {
                job: format!("fleets/f/jobs/t{index}"),
                display_name: (*name).to_owned(),
                vehicles: vec!["fleets/f/vehicles/v1".to_owned(); 1 + index % 2],
                workshop: match workshop {
                    "" => String::new(),
                    _ => format!("fleets/f/workshops/w{}", index % 3),
                },
                workshop_display_name: workshop.to_owned(),
                start_civil_time: format!("2027-03-{:02}T08:00", 20 + index),
                finish_civil_time: format!("2027-03-{:02}T17:30", 20 + index + index % 4),
                slack_hours: 6.5 * index as f64,
                critical: index == 0,
                under_way: index == 1,
            }
        })
        .collect();
    let mut table = String::new();
    for job in &jobs {
        let PlannedJob {
            start_civil_time,
            finish_civil_time,
            display_name,
            ..
        } = job;
        writeln!(table, "{start_civil_time}\t{finish_civil_time}\t{display_name}")?;
    }
    fs::write(folder.join("jobs.tsv"), table)?;
    let plan = BuildPlan {
        departure: "fleets/f/departures/north".to_owned(),
        start_civil_time: "2027-03-20T00:00".to_owned(),
        ready_by_civil_time: "2027-04-02T00:00".to_owned(),
        finish_civil_time: "2027-03-30T17:30".to_owned(),
        bound_civil_time: "2027-03-29T17:30".to_owned(),
        gap_fraction: 0.1,
        jobs,
        ..BuildPlan::default()
    };
    let fonts = Fonts::built_in()?;
    for format in [
        PlanFormat::Csv,
        PlanFormat::Icalendar,
        PlanFormat::Svg,
        PlanFormat::Pdf,
    ] {
        for file in plan_files(&plan, format, PageSize::A4, 1_800_000_000_000_000, &fonts)? {
            fs::write(folder.join(&file.file_name), &file.content)?;
        }
    }
    Ok(())
}
