//! Inputs that are refused, with their fields.

use ostler_core::check::InvalidInput;
use ostler_core::plan::calendar::WorkingCalendar;
use ostler_core::plan::chance::{ChanceOptions, chance};
use ostler_core::plan::instance::{InstanceError, read_job_shop, read_patterson};
use ostler_core::plan::project::{Need, Project};
use ostler_core::plan::search::{SearchOptions, Unwatched, search};
use ostler_core::plan::three_point::Spread;

use super::demo::demo_plan;

fn fields(refused: InvalidInput) -> Vec<String> {
    refused
        .violations
        .into_iter()
        .map(|violation| violation.field)
        .collect()
}

fn small() -> Project {
    read_patterson("3 2  2 1   2 1 0 1 2   3 2 1 1 3   0 0 0 0").unwrap()
}

#[test]
fn all_violations_of_a_project_are_collected() {
    let mut project = small();
    project.resources[0].capacity = 0;
    project.resources[1].calendar = Some(WorkingCalendar::default());
    project.jobs[0].duration = -1;
    project.jobs[1].needs.push(Need {
        any_of: vec![5],
        units: 0,
    });
    project.jobs[2].after.push(9);
    let refused = fields(project.compile().unwrap_err());
    let expected = [
        "resources[0].capacity",
        "resources[1].calendar.weekly",
        "jobs[0].duration",
        "jobs[0].needs[0].any_of[0]",
        "jobs[1].needs[0].any_of[0]",
        "jobs[1].needs[2].units",
        "jobs[1].needs[2].any_of[0]",
        "jobs[2].after[1]",
    ];
    assert_eq!(refused, expected);
}

#[test]
fn resources_that_never_meet_are_refused_by_name() {
    let mut project = small();
    let on = |weekday: usize| {
        let mut days = [false; 7];
        days[weekday] = true;
        Some(WorkingCalendar::evenly(8.0, days, 480).unwrap())
    };
    project.resources[0].calendar = on(0);
    project.resources[1].calendar = on(1);
    let refused = project.compile().unwrap_err().to_string();
    assert!(
        refused.starts_with("jobs[1].needs must share working hours in the week, R1 and R2 have none"),
        "{refused}"
    );
}

#[test]
fn needs_of_one_job_add_up() {
    let mut project = small();
    project.jobs[0].needs = vec![
        Need {
            any_of: vec![0],
            units: 1,
        },
        Need {
            any_of: vec![0, 1],
            units: 2,
        },
    ];
    let refused = fields(project.compile().unwrap_err());
    assert_eq!(refused, ["jobs[0].needs[1].any_of[1]"]);
    project.jobs[0].needs[1] = Need {
        any_of: vec![0],
        units: 2,
    };
    assert_eq!(fields(project.compile().unwrap_err()), ["jobs[0].needs"]);
}

#[test]
fn jobs_in_progress_must_be_able_to_run() {
    let mut project = small();
    project.jobs[1].in_progress = true;
    assert_eq!(fields(project.compile().unwrap_err()), ["jobs[1].in_progress"]);
    project.jobs[1].after.clear();
    project.jobs[0].in_progress = true;
    assert_eq!(
        fields(project.compile().unwrap_err()),
        ["jobs[1].in_progress"],
        "two of R1 are not enough for three"
    );
    project.jobs[0].in_progress = false;
    project.jobs[0].after.push(1);
    project.compile().unwrap();
}

#[test]
fn too_many_islands_and_wrong_seeds_are_refused() {
    let model = small().compile().unwrap();
    let options = SearchOptions {
        islands: 0,
        ..Default::default()
    };
    assert_eq!(
        fields(search(&model, &[vec![0, 1, 2]], &options, &Unwatched).unwrap_err()),
        ["options.islands"]
    );
    let seeds = [vec![1, 0, 2], vec![0], vec![0, 0, 1]];
    let refused = search(&model, &seeds, &SearchOptions::default(), &Unwatched).unwrap_err();
    assert_eq!(fields(refused), ["seeds[0][0]", "seeds[1]", "seeds[2][1]"]);
}

#[test]
fn all_violations_of_a_plan_are_collected() {
    let mut plan = demo_plan();
    plan.assumed_order_minute = plan.start_minute - 1;
    plan.parts[0].lead_time_days.optimistic = f64::NAN;
    plan.parts[1].ordered_minute = Some(plan.start_minute + 1);
    plan.jobs[2].work_hours.pessimistic = 1e300;
    plan.jobs[3].vehicles.push(4);
    plan.jobs[4].awaits.push(7);
    plan.jobs[5].earliest_start_minute = Some(i64::MAX);
    plan.jobs[7].in_progress = true;
    let expected = [
        "assumed_order_minute",
        "parts[0].lead_time_days.optimistic",
        "parts[1].ordered_minute",
        "jobs[2].work_hours.pessimistic",
        "jobs[3].vehicles[1]",
        "jobs[4].awaits[0]",
        "jobs[5].earliest_start_minute",
        "jobs[7].in_progress",
    ];
    assert_eq!(fields(plan.check().unwrap_err()), expected);
}

#[test]
fn absurd_questions_of_chance_are_refused() {
    let plan = demo_plan();
    let order = plan.network().unwrap().order().to_vec();
    let options = ChanceOptions {
        seed: 0,
        samples: 0,
        spread: Spread::BetaPert,
        ready_by_minute: i64::MIN + 1,
        quantiles: vec![0.0, f64::NAN, 0.5],
    };
    let expected = [
        "options.samples",
        "options.ready_by_minute",
        "options.quantiles[0]",
        "options.quantiles[1]",
    ];
    assert_eq!(
        fields(chance(&plan, &order, &options, &Unwatched).unwrap_err()),
        expected
    );
    let good = ChanceOptions {
        samples: 10,
        ready_by_minute: 0,
        quantiles: vec![],
        ..options
    };
    assert_eq!(
        fields(chance(&plan, &order[1..], &good, &Unwatched).unwrap_err()),
        ["order"]
    );
}

#[test]
fn instances_are_refused_with_line_and_reason() {
    let wrong = |text: &str| read_patterson(text).unwrap_err().to_string();
    assert_eq!(wrong(""), "the text ends where the number of jobs should follow");
    assert_eq!(
        wrong("2 1\n4\n0 0 1"),
        "the text ends where a successor of job 1 should follow"
    );
    assert_eq!(
        wrong("2 1\n4\n0 x 1 2"),
        "line 3: the units of resource 1 that job 1 needs must be a whole number from 0 to 1000000, is \"x\""
    );
    assert_eq!(
        wrong("1 0\n5 1 2"),
        "line 2: a successor of job 1 must be a whole number from 1 to 1, is \"2\""
    );
    assert_eq!(
        wrong("1 0\n5 0\n7"),
        "line 3: nothing should follow the last job, \"7\" does"
    );
    assert!(matches!(
        read_patterson("99999999999999 1"),
        Err(InstanceError::Wrong { line: 1, .. })
    ));
    assert_eq!(
        read_job_shop("1 2\n0 5 2 3").unwrap_err().to_string(),
        "line 2: the machine of operation 1.2 must be a whole number from 0 to 1, is \"2\""
    );
}
