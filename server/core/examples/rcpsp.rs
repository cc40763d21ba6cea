//! Schedules public instances and prints what was reached.
//!
//! `cargo run --release -p ostler-core --example rcpsp -- SECONDS FILE…` gives every instance that many seconds (with
//! `SECONDS:SEED` and another seed than 1) and prints per instance `name makespan lower_bound seconds`, then the mean makespan and the mean gaps to the lower bound and
//! to the bound by precedence alone. Files are in the Patterson form, or with the ending `.jsp` job shops.

use std::error::Error;
use std::path::Path;
use std::time::{Duration, Instant};

use ostler_core::plan::bounds::precedence_bound;
use ostler_core::plan::feasibility::check_schedule;
use ostler_core::plan::instance::{read_job_shop, read_patterson};
use ostler_core::plan::search::{SCHEDULES_MAX, SearchOptions, Watch, search};

struct Deadline(Instant);

impl Watch for Deadline {
    fn is_over(&self) -> bool {
        Instant::now() >= self.0
    }
}

#[derive(Default)]
struct Sums {
    instances: u32,
    makespan: f64,
    above_bound: f64,
    above_precedence: f64,
    proven: u32,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let first = arguments.next().ok_or("usage: rcpsp SECONDS[:SEED] FILE…")?;
    let (seconds, seed) = first.split_once(':').unwrap_or((&first, "1"));
    let (seconds, seed): (f64, u64) = (seconds.parse()?, seed.parse()?);
    let budget = Duration::try_from_secs_f64(seconds)?;
    let mut sums = Sums::default();
    for file in arguments {
        run(Path::new(&file), (budget, seed), &mut sums).map_err(|error| format!("{file}: {error}"))?;
    }
    let Sums {
        instances,
        makespan,
        above_bound,
        above_precedence,
        proven,
    } = sums;
    if instances > 0 {
        let count = f64::from(instances);
        println!(
            "mean of {instances}: makespan {:.3}, {:.3} % above the lower bound, {:.3} % above the bound by precedence, \
             {proven} proven optimal",
            makespan / count,
            100.0 * above_bound / count,
            100.0 * above_precedence / count,
        );
    }
    Ok(())
}

fn run(file: &Path, (budget, seed): (Duration, u64), sums: &mut Sums) -> Result<(), Box<dyn Error>> {
    let text = std::fs::read_to_string(file)?;
    let is_job_shop = file.extension().is_some_and(|ending| ending == "jsp");
    let project = if is_job_shop {
        read_job_shop(&text)?
    } else {
        read_patterson(&text)?
    };
    let begin = Instant::now();
    let model = project.compile()?;
    let islands = std::thread::available_parallelism()?.get().min(8);
    let options = SearchOptions {
        seed,
        islands,
        schedules_max: SCHEDULES_MAX,
    };
    let found = search(&model, &[], &options, &Deadline(begin + budget))?;
    let seconds = begin.elapsed().as_secs_f64();
    check_schedule(&project, &model, &found.schedule)?;
    let makespan = found.cost.makespan;
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    println!("{name} {makespan} {} {seconds:.3}", found.lower_bound);
    let precedence = precedence_bound(&model);
    sums.instances += 1;
    sums.makespan += makespan as f64;
    sums.above_bound += found.gap();
    sums.above_precedence += if precedence > 0 {
        makespan as f64 / precedence as f64 - 1.0
    } else {
        0.0
    };
    sums.proven += u32::from(found.is_proven_optimal());
    Ok(())
}
