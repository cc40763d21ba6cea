//! Jobs and what must come before each: the precedence network, its order, its cycles.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::check::{Check, InvalidInput};

/// Most jobs of one plan. A bound for memory and time, a hundred times a large preparation.
pub const JOBS_MAX: usize = 10_000;

/// A precedence network without cycles. Jobs are counted from 0 in the caller's order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Network {
    predecessors: Vec<Vec<usize>>,
    successors: Vec<Vec<usize>>,
    order: Vec<usize>,
}

impl Network {
    /// The network of `jobs`: each a name, used in messages only, and the indices of the jobs that must be
    /// finished before it starts (repeats are harmless).
    ///
    /// # Errors
    /// `jobs`: none or more than [`JOBS_MAX`]. `jobs[i].after[k]`: an index that is no job.
    /// `jobs[i].after`: the job waits for itself; the message names the whole cycle.
    pub fn new<'a>(jobs: impl IntoIterator<Item = (&'a str, &'a [usize])>) -> Result<Self, InvalidInput> {
        let (names, after): (Vec<&str>, Vec<&[usize]>) = jobs.into_iter().unzip();
        let count = names.len();
        let mut check = Check::new();
        if count == 0 || count > JOBS_MAX {
            check.refuse("jobs", format!("must be 1 to {JOBS_MAX} in number, are {count}"));
        }
        for (job, list) in after.iter().enumerate() {
            for (position, &before) in list.iter().enumerate() {
                if before >= count {
                    check.refuse(
                        format_args!("jobs[{job}].after[{position}]"),
                        format!("must be below {count}, is {before}"),
                    );
                }
            }
        }
        check.finish()?;

        let mut predecessors: Vec<Vec<usize>> = after.iter().map(|list| list.to_vec()).collect();
        let mut successors = vec![Vec::new(); count];
        for (job, list) in predecessors.iter_mut().enumerate() {
            list.sort_unstable();
            list.dedup();
            list.iter().for_each(|&before| successors[before].push(job));
        }
        let order = topological_order(&predecessors, &successors);
        if order.len() < count {
            return Err(cycle_refusal(&names, &predecessors, &order));
        }
        Ok(Self {
            predecessors,
            successors,
            order,
        })
    }

    /// Number of jobs.
    pub fn job_count(&self) -> usize {
        self.predecessors.len()
    }

    /// Jobs that must be finished before `job` starts, ascending.
    pub fn predecessors(&self, job: usize) -> &[usize] {
        &self.predecessors[job]
    }

    /// Jobs that wait for `job`, ascending.
    pub fn successors(&self, job: usize) -> &[usize] {
        &self.successors[job]
    }

    /// Every job after all its predecessors; of the possible orders the one with the lowest indices first.
    pub fn order(&self) -> &[usize] {
        &self.order
    }
}

fn topological_order(predecessors: &[Vec<usize>], successors: &[Vec<usize>]) -> Vec<usize> {
    let mut open: Vec<usize> = predecessors.iter().map(Vec::len).collect();
    let mut ready: BinaryHeap<_> = (0..open.len())
        .filter(|&job| open[job] == 0)
        .map(Reverse)
        .collect();
    let mut order = Vec::with_capacity(open.len());
    while let Some(Reverse(job)) = ready.pop() {
        order.push(job);
        for &next in &successors[job] {
            open[next] -= 1;
            if open[next] == 0 {
                ready.push(Reverse(next));
            }
        }
    }
    order
}

/// Names one cycle. Every job outside `order` has a predecessor outside it, so that walking back along
/// them meets a job twice.
fn cycle_refusal(names: &[&str], predecessors: &[Vec<usize>], order: &[usize]) -> InvalidInput {
    let mut ordered = vec![false; names.len()];
    order.iter().for_each(|&job| ordered[job] = true);
    let mut seen_at = vec![None; names.len()];
    let mut walk = Vec::new();
    let mut at = ordered.iter().position(|&done| !done).unwrap_or_default();
    while seen_at[at].is_none() {
        seen_at[at] = Some(walk.len());
        walk.push(at);
        at = predecessors[at]
            .iter()
            .copied()
            .find(|&before| !ordered[before])
            .unwrap_or(at);
    }
    let mut cycle = walk.split_off(seen_at[at].unwrap_or_default());
    cycle.reverse();
    let first = cycle
        .iter()
        .enumerate()
        .min_by_key(|&(_, job)| *job)
        .map_or(0, |(position, _)| position);
    cycle.rotate_left(first);
    let closed: Vec<&str> = cycle.iter().chain(cycle.first()).map(|&job| names[job]).collect();
    InvalidInput::one(
        format!("jobs[{}].after", cycle[0]),
        format!("must not make a job wait for itself: {}", closed.join(" before ")),
    )
}
