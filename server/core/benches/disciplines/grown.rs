//! The demo plan made as large as is asked for. Shared with the benchmarks of the whole service.

use ostler_core::plan::build_plan::{Plan, PlanJob};

use super::demo;

/// The demo plan repeated until it has `jobs` jobs, all on the same resources.
pub(crate) fn grown(jobs: usize) -> Plan {
    let mut plan = demo::demo_plan();
    let block = plan.jobs.clone();
    for copy in 1..jobs.div_ceil(block.len()) {
        let shift = copy * block.len();
        plan.jobs.extend(block.iter().map(|job| PlanJob {
            name: format!("{}/{copy}", job.name),
            after: job.after.iter().map(|before| before + shift).collect(),
            ..job.clone()
        }));
    }
    plan.jobs.truncate(jobs);
    for job in &mut plan.jobs {
        job.after.retain(|&before| before < jobs);
    }
    plan
}
