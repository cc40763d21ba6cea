//! The plan of the demo fleet: sums by hand, the policy against an independent simulation.

use ostler_core::plan::calendar::DAY_MINUTES;
use ostler_core::plan::chance::{ChanceOptions, chance};
use ostler_core::plan::critical_path::critical_path;
use ostler_core::plan::feasibility::check_schedule;
use ostler_core::plan::latest::{latest_schedule, order_by_dates};
use ostler_core::plan::search::{SearchOptions, Unwatched, search};
use ostler_core::plan::three_point::Spread;

use super::demo::{DEPARTURE, START, demo_network, demo_plan};

#[test]
fn expected_hours_by_resource_are_those_added_up_elsewhere() {
    // Reference results of the demo fleet (own calculation, made apart from this code; hours rounded to a tenth per job).
    let reference = [
        ("W1", 65.0),
        ("W2", 15.2),
        ("W3", 28.3),
        ("W4", 12.3),
        ("CR", 85.9),
        ("EN", 3.2),
        ("IN", 3.0),
    ];
    let plan = demo_plan();
    for (index, (name, hours)) in reference.into_iter().enumerate() {
        let jobs = plan.jobs.iter().filter(|job| job.needs[0].any_of == [index]);
        let sum: f64 = jobs
            .map(|job| (job.work_hours.pert_mean() * 10.0).round() / 10.0)
            .sum();
        assert!((sum - hours).abs() < 1e-9, "{name}: {sum}");
    }
}

#[test]
fn the_longest_chain_takes_72_and_a_half_hours() {
    // Reference results of the demo fleet (own calculation, made apart from this code).
    let plan = demo_network();
    let hours: Vec<f64> = plan.jobs.iter().map(|job| job.work_hours.pert_mean()).collect();
    let path = critical_path(&plan.network().unwrap(), &hours).unwrap();
    assert!((path.duration - 72.5).abs() < 0.05, "{}", path.duration);
    let names: Vec<&str> = path
        .path
        .iter()
        .map(|&job| plan.jobs[job].name.as_str())
        .collect();
    assert_eq!(
        names,
        ["J01", "J02", "J03", "J06", "J13", "J30", "J35", "J39", "J40"]
    );
}

#[test]
fn the_policy_agrees_with_a_simulation_written_apart() {
    // 20,000 samples of the same policy (lowest job numbers first) in an independent Python program with numpy's beta variates
    // (own calculation): finish after the start in minutes: mean 62,405.8 (standard error 27.6), standard deviation 3,904,
    // 10 % 57,639, median 62,569, 90 % 67,732; ready by 2027-05-10 08:00: .32425, by 05-17: .97165.
    let plan = demo_plan();
    let order = plan.network().unwrap().order().to_vec();
    let ready_by = |day: i64| {
        let options = ChanceOptions {
            seed: 11,
            samples: 6_000,
            spread: Spread::BetaPert,
            ready_by_minute: day * DAY_MINUTES + 480,
            quantiles: vec![0.1, 0.5, 0.9],
        };
        chance(&plan, &order, &options, &Unwatched).unwrap().fleet
    };
    let outcome = ready_by(20_948);
    // Four standard errors of both samples together: 3,904 x sqrt(1/6,000 + 1/20,000) = 57 minutes.
    assert!(
        (outcome.mean_finish_minute - START as f64 - 62_405.8).abs() < 230.0,
        "{outcome:?}"
    );
    assert!(
        (outcome.standard_deviation_min - 3_904.0).abs() < 200.0,
        "{outcome:?}"
    );
    for (quantile, reference) in outcome
        .quantile_minutes
        .iter()
        .zip([57_639.0, 62_569.0, 67_732.0])
    {
        assert!((quantile - START as f64 - reference).abs() < 500.0, "{outcome:?}");
    }
    assert!((outcome.chance_ready - 0.32425).abs() < 0.028, "{outcome:?}");
    assert!((ready_by(20_955).chance_ready - 0.97165).abs() < 0.010);
}

#[test]
fn precedence_alone_agrees_with_numpy() {
    // 1,000,000 samples with numpy (own calculation): mean 72.511 h, standard deviation 6.014 h, P(<= 80 h) = .8850.
    let plan = demo_network();
    let order = plan.network().unwrap().order().to_vec();
    let options = ChanceOptions {
        seed: 5,
        samples: 20_000,
        spread: Spread::BetaPert,
        ready_by_minute: START + 4_800,
        quantiles: vec![],
    };
    let outcome = chance(&plan, &order, &options, &Unwatched).unwrap().fleet;
    assert!(((outcome.mean_finish_minute - START as f64) / 60.0 - 72.511).abs() < 0.18);
    assert!((outcome.standard_deviation_min / 60.0 - 6.014).abs() < 0.15);
    assert!((outcome.chance_ready - 0.8850).abs() < 0.010);
}

#[test]
fn the_schedule_keeps_hours_and_parts_and_dates_can_be_read_off() {
    let plan = demo_plan();
    let project = plan.project().unwrap();
    let model = project.compile().unwrap();
    let found = search(
        &model,
        &[],
        &SearchOptions {
            seed: 1,
            islands: 1,
            schedules_max: 400,
        },
        &Unwatched,
    )
    .unwrap();
    check_schedule(&project, &model, &found.schedule).unwrap();
    assert!(found.schedule.finish() < DEPARTURE);
    let latest = latest_schedule(&model, &found.schedule, DEPARTURE).unwrap();
    check_schedule(&project, &model, &latest).unwrap();
    assert!(latest_schedule(&model, &found.schedule, found.schedule.finish() - 1).is_err());

    let dates = order_by_dates(&plan, &latest, Spread::BetaPert, 0.95).unwrap();
    let names: Vec<&str> = dates
        .iter()
        .map(|date| plan.parts[date.part].name.as_str())
        .collect();
    assert_eq!(names.len(), 3, "three parts are not ordered");
    assert_eq!(names[0], "PU7", "the drums have the longest lead time");
    for date in dates {
        let lead = plan.parts[date.part]
            .lead_time_days
            .quantile(Spread::BetaPert, 0.95)
            * DAY_MINUTES as f64;
        let arrival = date.order_by_minute as f64 + lead;
        assert!((latest.starts[date.job] as f64 - arrival).abs() <= 1.0);
    }
}
