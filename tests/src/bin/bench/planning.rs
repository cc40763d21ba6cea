//! Sampling and scheduling: the plan of the demo fleet beside the same sampling in numpy, and how both grow with the jobs.

use std::error::Error;
use std::process::Command;
use std::time::Instant;

use ostler_core::plan::build_plan::Plan;
use ostler_core::plan::chance::{ChanceOptions, chance};
use ostler_core::plan::search::{SearchOptions, Unwatched, search};
use ostler_core::plan::three_point::{Spread, ThreePoint};

use crate::Figure;

#[expect(clippy::unwrap_used, reason = "the plan is constant and known to be right")]
#[path = "../../../../server/core/tests/suite/plan/demo.rs"]
mod demo;
#[path = "../../../../server/core/benches/disciplines/grown.rs"]
mod grown;

/// The argument with which this program measures one size alone, so that its memory is that of nothing else.
pub(crate) const ALONE: &str = "--plan-of";

/// `NETWORK_S FLOOR_S`: seconds that numpy takes for a million samples of the network and 100,000 of the plan; `tests/bench` sets
/// it.
const NUMPY: &str = "OSTLER_BENCH_NUMPY_S";

const SIZES: [usize; 5] = [10, 40, 100, 300, 1_000];

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Measures and prints.
pub(crate) fn measure() -> Outcome<()> {
    beside_numpy()?;
    growth()
}

fn beside_numpy() -> Outcome<()> {
    let Ok(numpy) = std::env::var(NUMPY) else {
        eprintln!("bench: {NUMPY} is not set, so sampling is not measured beside numpy; tests/bench sets it");
        return Ok(());
    };
    let numpy: Vec<f64> = numpy
        .split_whitespace()
        .map(str::parse)
        .collect::<Result<_, _>>()?;
    let [network_s, floor_s] = numpy.as_slice() else {
        return Err(format!("{NUMPY} must be two numbers").into());
    };
    for (name, plan, samples, reference, reference_name) in [
        (
            "chance_network_40_jobs_1000000_samples",
            demo::demo_network(),
            1_000_000,
            *network_s,
            "numpy_by_whole_columns_s",
        ),
        (
            "chance_demo_plan_100000_samples",
            demo::demo_plan(),
            100_000,
            *floor_s,
            "python_with_numpy_variates_s",
        ),
    ] {
        Figure {
            name,
            value: sample(&plan, samples)?,
            unit: "s",
            reference,
            reference_name,
        }
        .print();
    }
    Ok(())
}

/// Seconds for so many samples.
fn sample(plan: &Plan, samples: u64) -> Outcome<f64> {
    let order = plan.network()?.order().to_vec();
    let options = ChanceOptions {
        seed: 1,
        samples,
        spread: Spread::BetaPert,
        ready_by_minute: demo::DEPARTURE,
        quantiles: vec![0.5, 0.8, 0.95],
    };
    let began = Instant::now();
    chance(plan, &order, &options, &Unwatched)?;
    Ok(began.elapsed().as_secs_f64())
}

/// Every size in a process of its own, each beside the size before.
fn growth() -> Outcome<()> {
    let names: [(&'static str, &'static str, &'static str); 3] = [
        ("growth_chance_1000_samples", "s", "size_before_s"),
        ("growth_search_1000_schedules", "s", "size_before_s"),
        ("growth_peak_memory", "MiB", "size_before_mib"),
    ];
    let mut before: Option<Vec<f64>> = None;
    for jobs in SIZES {
        let output = Command::new(std::env::current_exe()?)
            .args([ALONE, &jobs.to_string()])
            .output()?;
        let text = String::from_utf8(output.stdout)?;
        let found: Vec<f64> = text
            .split_whitespace()
            .map(str::parse)
            .collect::<Result<_, _>>()?;
        if found.len() != names.len() {
            return Err(format!("the measurement of {jobs} jobs said {text:?}").into());
        }
        let reference = before.unwrap_or_else(|| found.clone());
        for ((name, unit, reference_name), (value, reference)) in
            names.iter().zip(found.iter().zip(&reference))
        {
            // The name of a figure is for ever; a run of a program leaks five of each at the most.
            let name: &'static str = Box::leak(format!("{name}_of_{jobs}_jobs").into_boxed_str());
            Figure {
                name,
                value: *value,
                unit,
                reference: *reference,
                reference_name,
            }
            .print();
        }
        before = Some(found);
    }
    Ok(())
}

/// Samples and schedules a plan of so many jobs and prints seconds, seconds and the peak of memory.
pub(crate) fn alone(jobs: usize) -> Outcome<()> {
    let mut plan = grown::grown(jobs);
    let sampled_s = sample(&plan, 1_000)?;
    plan.jobs
        .iter_mut()
        .for_each(|job| job.work_hours = ThreePoint::exactly(job.work_hours.pert_mean()));
    let model = plan.project()?.compile()?;
    let options = SearchOptions {
        seed: 1,
        islands: 2,
        schedules_max: 1_000,
    };
    let began = Instant::now();
    search(&model, &[], &options, &Unwatched)?;
    let searched_s = began.elapsed().as_secs_f64();
    println!("{sampled_s} {searched_s} {}", peak_mib()?);
    Ok(())
}

/// Peak of this process's memory, MiB; Linux only.
fn peak_mib() -> Outcome<f64> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kib = line
        .and_then(|line| line.split_whitespace().next())
        .ok_or("no peak of memory")?;
    Ok(kib.parse::<f64>()? / 1_024.0)
}
