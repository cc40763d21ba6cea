//! Priority rules: orders of jobs to start from, computed from precedence, durations and demands.

use super::model::Model;

/// How to rank jobs that could come next. All rules are common in the literature on project scheduling
/// (surveyed by Kolisch and Hartmann; the names from memory, not verified).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Least latest finish by precedence first (LFT).
    LatestFinish,
    /// Least latest start by precedence first (LST, and minimum slack in the serial scheme).
    LatestStart,
    /// Most jobs waiting, directly or not, first (MTS).
    MostTotalSuccessors,
    /// Greatest duration of the job and of those that directly wait for it first (GRPW).
    GreatestRankPositionalWeight,
    /// Shortest duration first (SPT).
    ShortestFirst,
}

impl Rule {
    /// Every rule.
    pub const ALL: [Self; 5] = [
        Self::LatestFinish,
        Self::LatestStart,
        Self::MostTotalSuccessors,
        Self::GreatestRankPositionalWeight,
        Self::ShortestFirst,
    ];

    /// Rank of each job, the least first. In working time, without calendars.
    pub fn ranks(self, model: &Model) -> Vec<i64> {
        let jobs = 0..model.job_count();
        match self {
            // Latest finish and start, counted back from the end: 0 at the end, negative before it.
            Self::LatestFinish => jobs.zip(tails(model)).map(|(_, tail)| -tail).collect(),
            Self::LatestStart => jobs
                .zip(tails(model))
                .map(|(job, tail)| -tail - model.duration[job])
                .collect(),
            Self::MostTotalSuccessors => total_successors(model).iter().map(|&count| -count).collect(),
            Self::GreatestRankPositionalWeight => jobs.map(|job| -positional_weight(model, job)).collect(),
            Self::ShortestFirst => model.duration.clone(),
        }
    }

    /// All jobs in the order of this rule, each after its predecessors.
    pub fn order(self, model: &Model) -> Vec<usize> {
        order_by(model, &self.ranks(model))
    }
}

/// Jobs by rank, the least first, among those whose predecessors have had their turn; ties by index.
pub(crate) fn order_by(model: &Model, ranks: &[i64]) -> Vec<usize> {
    use std::cmp::Reverse;
    let network = &model.network;
    let mut open: Vec<usize> = (0..ranks.len())
        .map(|job| network.predecessors(job).len())
        .collect();
    let first = (0..ranks.len()).filter(|&job| open[job] == 0);
    let mut ready: std::collections::BinaryHeap<_> = first.map(|job| Reverse((ranks[job], job))).collect();
    let mut order = Vec::with_capacity(ranks.len());
    while let Some(Reverse((_, job))) = ready.pop() {
        order.push(job);
        for &next in network.successors(job) {
            open[next] -= 1;
            if open[next] == 0 {
                ready.push(Reverse((ranks[next], next)));
            }
        }
    }
    order
}

/// Longest working time that must follow each job.
pub(crate) fn tails(model: &Model) -> Vec<i64> {
    let mut tail = vec![0; model.job_count()];
    for &job in model.network.order().iter().rev() {
        let after = model
            .network
            .successors(job)
            .iter()
            .map(|&next| tail[next] + model.duration[next]);
        tail[job] = after.max().unwrap_or(0);
    }
    tail
}

fn positional_weight(model: &Model, job: usize) -> i64 {
    model.duration[job]
        + model
            .network
            .successors(job)
            .iter()
            .map(|&next| model.duration[next])
            .sum::<i64>()
}

fn total_successors(model: &Model) -> Vec<i64> {
    let count = model.job_count();
    let words = count.div_ceil(64);
    let mut sets = vec![0_u64; count * words];
    for &job in model.network.order().iter().rev() {
        for &next in model.network.successors(job) {
            sets[job * words + next / 64] |= 1 << (next % 64);
            for word in 0..words {
                sets[job * words + word] |= sets[next * words + word];
            }
        }
    }
    sets.chunks(words)
        .map(|set| set.iter().map(|word| i64::from(word.count_ones())).sum())
        .collect()
}
