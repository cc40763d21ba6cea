//! A schedule and its cost.

use super::model::Model;

/// When each job runs. Jobs in the project's order of indices, moments in its time unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// Start of each job: the moment from which it holds its resources.
    pub starts: Vec<i64>,
    /// Finish of each job: its resources are free from this moment on.
    pub finishes: Vec<i64>,
    /// Which of the ways to choose resources each job takes (see [`Model::occupied`]).
    pub modes: Vec<usize>,
}

/// What a schedule is judged by, the first thing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    /// Time by which jobs exceed their latest finish, summed over all jobs.
    pub lateness: i64,
    /// Time from the start of the plan to the last finish.
    pub makespan: i64,
}

impl Schedule {
    pub(crate) fn blank(jobs: usize) -> Self {
        Self {
            starts: vec![0; jobs],
            finishes: vec![0; jobs],
            modes: vec![0; jobs],
        }
    }

    /// Last finish.
    pub fn finish(&self) -> i64 {
        self.finishes.iter().copied().max().unwrap_or_default()
    }

    /// The cost of this schedule of `model`.
    pub fn cost(&self, model: &Model) -> Cost {
        let late = |(&finish, &latest): (&i64, &i64)| finish.saturating_sub(latest).max(0);
        Cost {
            lateness: self
                .finishes
                .iter()
                .zip(&model.latest)
                .map(late)
                .fold(0, i64::saturating_add),
            makespan: self.finish() - model.start,
        }
    }

    /// Jobs by start, each after its predecessors: the priority order that this schedule stands for.
    pub fn order(&self, model: &Model) -> Vec<usize> {
        let mut position = vec![0; self.starts.len()];
        model
            .network
            .order()
            .iter()
            .enumerate()
            .for_each(|(at, &job)| position[job] = at);
        let mut order: Vec<usize> = (0..self.starts.len()).collect();
        order.sort_by_key(|&job| (self.starts[job], position[job]));
        order
    }
}
