//! Properties of schedules, with and without calendars.

use ostler_core::plan::bounds::{lower_bound, precedence_bound};
use ostler_core::plan::feasibility::check_schedule;
use ostler_core::plan::latest::latest_schedule;
use ostler_core::plan::project::Project;
use ostler_core::plan::rules::Rule;
use ostler_core::plan::search::{SearchOptions, Unwatched, check_order, search};
use proptest::prelude::*;

use super::random_project::random_project;

fn check_project(project: &Project) -> Result<(), TestCaseError> {
    let model = project.compile().unwrap();
    for rule in Rule::ALL {
        check_order(&model, &rule.order(&model)).unwrap();
    }
    // No schedules beyond the first: seeds and rules, each justified.
    let first = search(
        &model,
        &[],
        &SearchOptions {
            seed: 1,
            islands: 1,
            schedules_max: 0,
        },
        &Unwatched,
    )
    .unwrap();
    let more = search(
        &model,
        &[],
        &SearchOptions {
            seed: 1,
            islands: 2,
            schedules_max: 700,
        },
        &Unwatched,
    )
    .unwrap();
    for found in [&first, &more] {
        let feasible = check_schedule(project, &model, &found.schedule);
        prop_assert!(feasible.is_ok(), "{}", feasible.unwrap_err());
        prop_assert_eq!(found.cost, found.schedule.cost(&model));
        prop_assert!(found.cost.makespan >= found.lower_bound);
        prop_assert!(found.lower_bound >= precedence_bound(&model).min(found.cost.makespan));
    }
    prop_assert!(more.cost <= first.cost);
    // A bound that is asked for far above any schedule must not pass the best one.
    let bound = lower_bound(&model, 3 * more.cost.makespan + 1, &|| false);
    prop_assert!(
        bound <= more.schedule.finish().min(first.schedule.finish()),
        "{} refuted",
        bound - 1
    );
    // Shifted to the right everything still holds, and nothing starts earlier.
    let by = more.schedule.finish() + 5_000;
    let latest = latest_schedule(&model, &more.schedule, by).unwrap();
    let feasible = check_schedule(project, &model, &latest);
    prop_assert!(feasible.is_ok(), "{}", feasible.unwrap_err());
    prop_assert!(latest.finish() <= by);
    prop_assert!(
        latest
            .starts
            .iter()
            .zip(&more.schedule.starts)
            .all(|(late, early)| late >= early)
    );
    prop_assert!(latest.cost(&model).lateness <= more.cost.lateness);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn schedules_without_calendars_can_be_carried_out(project in random_project(false)) {
        check_project(&project)?;
    }

    #[test]
    fn schedules_with_calendars_can_be_carried_out(project in random_project(true)) {
        check_project(&project)?;
    }
}

#[test]
fn the_checker_sees_what_is_wrong() {
    let text = "4 1 2  0 0 1 2  3 2 1 3  3 1 1 4  0 0 0";
    let project = ostler_core::plan::instance::read_patterson(text).unwrap();
    let model = project.compile().unwrap();
    let found = search(&model, &[], &SearchOptions::default(), &Unwatched).unwrap();
    assert_eq!(found.schedule.starts, [0, 0, 3, 6]);
    let spoil = |change: fn(&mut ostler_core::plan::schedule::Schedule)| {
        let mut schedule = found.schedule.clone();
        change(&mut schedule);
        check_schedule(&project, &model, &schedule)
            .unwrap_err()
            .violations[0]
            .field
            .clone()
    };
    assert_eq!(spoil(|schedule| schedule.starts[1] = -1), "starts[1]");
    assert_eq!(spoil(|schedule| schedule.finishes[1] = 2), "finishes[1]");
    assert_eq!(spoil(|schedule| schedule.modes[1] = 1), "modes[1]");
    assert_eq!(
        spoil(|schedule| {
            schedule.starts.pop();
        }),
        "starts"
    );
    let moved = |schedule: &mut ostler_core::plan::schedule::Schedule| {
        (schedule.starts[2], schedule.finishes[2]) = (2, 5);
    };
    let mut early = found.schedule.clone();
    moved(&mut early);
    let refused = check_schedule(&project, &model, &early).unwrap_err().to_string();
    assert!(
        refused.contains("must not be before the finish of 2"),
        "{refused}"
    );
    assert!(
        refused.contains("must leave R1 within its 2 units, uses 3"),
        "{refused}"
    );
}
