//! Prints the plan of the demo fleet and the chances that its samples give, for comparison with a simulation written
//! apart: `cargo run -p ostler-core --example chance_table | python3 tests/python/check_chance.py`.
//!
//! Lines: `start MINUTE`; `assumed_order MINUTE`; `resource NAME CAPACITY FIRST_AVAILABLE DAY:FROM-TO,...` with the weekly shifts,
//! Monday 0; `part NAME A M B ORDERED` in days; `job NAME A M B RESOURCE PREDECESSORS PART` in hours, in the order in which
//! they go first; `samples COUNT`; `mean`, `deviation`, `quantile SHARE MINUTE` after the start; `ready MINUTE SHARE`. `-` is none.

use ostler_core::check::InvalidInput;
use ostler_core::plan::build_plan::Plan;
use ostler_core::plan::chance::{ChanceOptions, chance};
use ostler_core::plan::search::Unwatched;
use ostler_core::plan::three_point::{Spread, ThreePoint};

#[expect(clippy::unwrap_used, reason = "the plan is constant and known to be right")]
#[path = "../tests/suite/plan/demo.rs"]
mod demo;

const SAMPLES: u64 = 100_000;
const QUANTILES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];

fn main() -> Result<(), InvalidInput> {
    for plan in [demo::demo_plan(), demo::demo_network()] {
        print_plan(&plan);
        print_chance(&plan)?;
    }
    Ok(())
}

fn print_chance(plan: &Plan) -> Result<(), InvalidInput> {
    let order = plan.network()?.order().to_vec();
    println!("samples {SAMPLES}");
    let options = |ready_by_minute| ChanceOptions {
        seed: 3,
        samples: SAMPLES,
        spread: Spread::BetaPert,
        ready_by_minute,
        quantiles: QUANTILES.to_vec(),
    };
    let first = chance(plan, &order, &options(demo::DEPARTURE), &Unwatched)?.fleet;
    let start = plan.start_minute as f64;
    println!("mean {:.3}", first.mean_finish_minute - start);
    println!("deviation {:.3}", first.standard_deviation_min);
    for (share, minute) in QUANTILES.iter().zip(&first.quantile_minutes) {
        println!("quantile {share} {:.3}", minute - start);
        let ready_by = minute.round() as i64;
        let found = chance(plan, &order, &options(ready_by), &Unwatched)?.fleet;
        println!("ready {} {}", ready_by - plan.start_minute, found.chance_ready);
    }
    println!("end");
    Ok(())
}

fn three(estimate: &ThreePoint) -> String {
    format!(
        "{} {} {}",
        estimate.optimistic, estimate.likely, estimate.pessimistic
    )
}

fn or_none(minute: Option<i64>) -> String {
    minute.map_or_else(|| "-".to_owned(), |minute| minute.to_string())
}

fn print_plan(plan: &Plan) {
    println!("start {}", plan.start_minute);
    println!("assumed_order {}", plan.assumed_order_minute);
    for resource in &plan.resources {
        let calendar = resource.calendar.clone().unwrap_or_default();
        let shifts: Vec<String> = calendar
            .weekly
            .iter()
            .enumerate()
            .flat_map(|(day, shifts)| shifts.iter().map(move |shift| (day, shift)))
            .map(|(day, shift)| format!("{day}:{}-{}", shift.from_minute, shift.to_minute))
            .collect();
        println!(
            "resource {} {} {} {}",
            resource.name,
            resource.capacity,
            or_none(calendar.first_available_minute),
            shifts.join(",")
        );
    }
    for part in &plan.parts {
        println!(
            "part {} {} {}",
            part.name,
            three(&part.lead_time_days),
            or_none(part.ordered_minute)
        );
    }
    let names = |indices: &[usize], name: &dyn Fn(usize) -> String| match indices {
        [] => "-".to_owned(),
        indices => indices
            .iter()
            .map(|&index| name(index))
            .collect::<Vec<_>>()
            .join(","),
    };
    for job in &plan.jobs {
        let needed: Vec<usize> = job.needs.iter().flat_map(|need| need.any_of.clone()).collect();
        println!(
            "job {} {} {} {} {}",
            job.name,
            three(&job.work_hours),
            names(&needed, &|index| plan.resources[index].name.clone()),
            names(&job.after, &|index| plan.jobs[index].name.clone()),
            names(&job.awaits, &|index| plan.parts[index].name.clone())
        );
    }
}
