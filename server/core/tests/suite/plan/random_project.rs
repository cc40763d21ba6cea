//! Random projects for properties.

use ostler_core::plan::calendar::WorkingCalendar;
use ostler_core::plan::project::{Need, Project, ProjectJob, Resource};
use proptest::prelude::*;

/// Up to 25 jobs on three resources, with earliest starts, latest finishes, choices of resources and jobs in progress;
/// with or without calendars. Resource 2 has more units than all jobs in progress can hold.
pub(crate) fn random_project(with_calendars: bool) -> impl Strategy<Value = Project> {
    let job = (
        0..40_i64,
        1..3_u32,
        0..5_u8,
        prop::collection::vec(0.0..1.0_f64, 0..3),
        0..60_i64,
        any::<bool>(),
    );
    prop::collection::vec(job, 1..25).prop_map(move |rows| {
        let scale = if with_calendars { 30 } else { 1 };
        let mut jobs: Vec<ProjectJob> = Vec::new();
        for (index, (duration, units, kind, links, moment, flag)) in rows.into_iter().enumerate() {
            let needs = match kind {
                0 => vec![],
                1 => vec![Need {
                    any_of: vec![0],
                    units,
                }],
                2 => vec![
                    Need {
                        any_of: vec![1],
                        units: 1,
                    },
                    Need {
                        any_of: vec![0],
                        units: 1,
                    },
                ],
                3 => vec![Need {
                    any_of: vec![0, 1],
                    units: 1,
                }],
                _ => vec![Need {
                    any_of: vec![2],
                    units,
                }],
            };
            let in_progress = flag && kind == 4 && index < 4;
            let after = links
                .iter()
                .filter(|_| index > 0 && !in_progress)
                .map(|link| (link * index as f64) as usize);
            jobs.push(ProjectJob {
                name: format!("J{index}"),
                duration: duration * scale,
                needs,
                after: after.collect(),
                earliest_start: (moment % 3 == 0).then_some(moment * scale),
                latest_finish: (moment % 4 == 0).then_some((moment + 40) * scale),
                in_progress,
            });
        }
        let mut resources = vec![resource("bay", 2), resource("welder", 1), resource("crew", 8)];
        if with_calendars {
            let days = [true, true, false, true, true, true, false];
            resources[0].calendar = Some(WorkingCalendar::evenly(30.0, days, 480).unwrap());
            let mut welder = WorkingCalendar::evenly(21.0, [true; 7], 600).unwrap();
            welder.close([1, 3]);
            resources[1].calendar = Some(welder);
        }
        Project {
            start: 0,
            resources,
            jobs,
        }
    })
}

fn resource(name: &str, capacity: u32) -> Resource {
    Resource {
        name: name.to_owned(),
        capacity,
        calendar: None,
    }
}
