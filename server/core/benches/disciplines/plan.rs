//! Benchmarks of `ostler_core::plan`.

#![expect(clippy::unwrap_used, reason = "the inputs are constant and known to be right")]

use divan::{Bencher, black_box};
use ostler_core::plan::build_plan::Plan;
use ostler_core::plan::chance::{ChanceOptions, Change, chance, gains};
use ostler_core::plan::instance::read_patterson;
use ostler_core::plan::search::{SearchOptions, Unwatched, search};
use ostler_core::plan::three_point::{Spread, ThreePoint};
use ostler_core::plan::working_time::WorkingTime;

#[path = "../../tests/suite/plan/demo.rs"]
mod demo;
#[path = "grown.rs"]
mod grown;

fn options(samples: u64) -> ChanceOptions {
    ChanceOptions {
        seed: 1,
        samples,
        spread: Spread::BetaPert,
        ready_by_minute: demo::DEPARTURE,
        quantiles: vec![0.5, 0.8, 0.95],
    }
}

fn sample(bencher: Bencher<'_, '_>, plan: &Plan, samples: u64) {
    let order = plan.network().unwrap().order().to_vec();
    bencher.bench(|| chance(black_box(plan), &order, &options(samples), &Unwatched).unwrap());
}

/// 40 jobs by precedence alone. The same by whole columns in numpy 2.4 (one core) took 6.2 s in the minute in which this took 1.3 s
/// on two cores, both beside other work: take the ratio.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn chance_precedence_1_000_000_samples(bencher: Bencher<'_, '_>) {
    sample(bencher, &demo::demo_network(), 1_000_000);
}

/// 40 jobs on 7 resources with calendars, 7 awaited parts.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn chance_demo_100_000_samples(bencher: Bencher<'_, '_>) {
    sample(bencher, &demo::demo_plan(), 100_000);
}

/// As above with ten changes beside the plan.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn gains_demo_10_changes_5_000_samples(bencher: Bencher<'_, '_>) {
    let plan = demo::demo_plan();
    let order = plan.network().unwrap().order().to_vec();
    let changes: Vec<Change> = (0..10)
        .map(|job| Change::ShortenJob { job, share: 0.5 })
        .collect();
    bencher.bench(|| gains(&plan, &order, &changes, &options(5_000), &Unwatched).unwrap());
}

#[divan::bench(args = [10, 40, 100, 300, 1_000], sample_count = 3, sample_size = 1)]
fn chance_1_000_samples_of_jobs(bencher: Bencher<'_, '_>, jobs: usize) {
    sample(bencher, &grown::grown(jobs), 1_000);
}

#[divan::bench(args = [10, 40, 100, 300, 1_000], sample_count = 3, sample_size = 1)]
fn search_1_000_schedules_of_jobs(bencher: Bencher<'_, '_>, jobs: usize) {
    let mut plan = grown::grown(jobs);
    plan.jobs
        .iter_mut()
        .for_each(|job| job.work_hours = ThreePoint::exactly(job.work_hours.pert_mean()));
    let model = plan.project().unwrap().compile().unwrap();
    let options = SearchOptions {
        seed: 1,
        islands: 2,
        schedules_max: 1_000,
    };
    bencher.bench(|| search(black_box(&model), &[], &options, &Unwatched).unwrap());
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn search_j120_10_000_schedules(bencher: Bencher<'_, '_>) {
    let project = read_patterson(include_str!("../../tests/suite/plan/data/j120_7_1.rcp")).unwrap();
    let model = project.compile().unwrap();
    let options = SearchOptions {
        seed: 1,
        islands: 2,
        schedules_max: 10_000,
    };
    bencher.bench(|| search(black_box(&model), &[], &options, &Unwatched).unwrap());
}

#[divan::bench]
fn working_time_finish(bencher: Bencher<'_, '_>) {
    let calendar = demo::demo_plan().resources[4].calendar.clone().unwrap();
    let time = WorkingTime::new(&calendar, demo::START).unwrap();
    bencher.bench(|| time.finish(black_box(demo::START + 12_345), black_box(480)));
}
