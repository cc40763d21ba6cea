//! Replanning changes little.

use ostler_core::plan::feasibility::check_schedule;
use ostler_core::plan::instance::read_patterson;
use ostler_core::plan::replan::{ReplanOptions, repaired_order, replan};
use ostler_core::plan::rules::Rule;
use ostler_core::plan::search::{SearchOptions, Unwatched, check_order, search};

const SEARCH: SearchOptions = SearchOptions {
    seed: 2,
    islands: 1,
    schedules_max: 600,
};

#[test]
fn a_job_that_grows_a_little_leaves_the_order_alone() {
    let mut project = read_patterson(include_str!("data/j30_5_1.rcp")).unwrap();
    let model = project.compile().unwrap();
    let order = search(&model, &[], &SEARCH, &Unwatched)
        .unwrap()
        .schedule
        .order(&model);
    project.jobs[7].duration += 1;
    let model = project.compile().unwrap();
    let kept = replan(
        &model,
        &order,
        &ReplanOptions {
            gain_min: 10,
            search: SEARCH,
        },
        &Unwatched,
    )
    .unwrap();
    assert_eq!(
        (kept.exchanged_pairs, &kept.order, kept.found.cost),
        (0, &order, kept.unchanged)
    );
    check_schedule(&project, &model, &kept.found.schedule).unwrap();
    assert_eq!(kept.found.schedule.cost(&model), kept.found.cost);
}

#[test]
fn an_order_far_from_good_is_changed_and_gains() {
    let project = read_patterson(include_str!("data/j60_9_1.rcp")).unwrap();
    let model = project.compile().unwrap();
    let order = Rule::ShortestFirst.order(&model);
    let options = ReplanOptions {
        gain_min: 1,
        search: SEARCH,
    };
    let changed = replan(&model, &order, &options, &Unwatched).unwrap();
    assert!(changed.found.cost < changed.unchanged && changed.exchanged_pairs > 0);
    check_schedule(&project, &model, &changed.found.schedule).unwrap();
    check_order(&model, &changed.order).unwrap();
    let free = search(&model, &[order], &SEARCH, &Unwatched).unwrap();
    assert!(
        changed.found.cost <= free.cost,
        "what the search gains is not given away"
    );
}

#[test]
fn an_order_is_repaired_for_new_jobs_and_new_links() {
    let project = read_patterson("5 0  1 2 2 4  1 1 3  1 1 5  1 1 5  0 0").unwrap();
    let model = project.compile().unwrap();
    // Job 3 (index) is new; 2 stood before 1, which must now come first.
    assert_eq!(repaired_order(&model, &[0, 2, 1, 4]).unwrap(), [0, 3, 1, 2, 4]);
    assert!(repaired_order(&model, &[0, 0]).is_err());
    assert!(repaired_order(&model, &[9]).is_err());
    let negative = ReplanOptions {
        gain_min: -1,
        search: SEARCH,
    };
    assert!(replan(&model, &[0, 1, 2, 3, 4], &negative, &Unwatched).is_err());
}
