//! Critical path, slack and the path method's chance, by precedence alone: no bays, people or calendars.

use statrs::distribution::{ContinuousCDF, Normal};

use super::network::Network;
use super::three_point::ThreePoint;
use crate::check::{Check, InvalidInput};

/// When a job can and must run, in the unit of the durations, counted from the start of the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobTimes {
    /// Earliest start.
    pub early_start: f64,
    /// Earliest finish.
    pub early_finish: f64,
    /// Latest start that does not lengthen the whole.
    pub late_start: f64,
    /// Latest finish that does not lengthen the whole.
    pub late_finish: f64,
    /// Latest less earliest start; 0 on a critical path, never negative.
    pub slack: f64,
}

/// The longest chain through a network.
#[derive(Debug, Clone, PartialEq)]
pub struct CriticalPath {
    /// Length of the longest chain, in the unit of the durations.
    pub duration: f64,
    /// Per job, in the network's order of indices.
    pub jobs: Vec<JobTimes>,
    /// Jobs of one longest chain from first to last.
    pub path: Vec<usize>,
}

/// The longest chain of `network` when job `i` takes `durations[i]` (one unit throughout, 0 or more).
///
/// # Errors
/// `durations`: not one per job. `durations[i]`: not finite or negative.
pub fn critical_path(network: &Network, durations: &[f64]) -> Result<CriticalPath, InvalidInput> {
    check_durations(network, durations)?;
    Ok(critical_path_preferring(
        network,
        durations,
        &vec![0.0; durations.len()],
    ))
}

/// The textbook path method: the chain that is longest by PERT means, its variance the sum of its jobs'
/// PERT variances, its length taken as normal.
///
/// It looks at one chain only and so **overstates the chance** wherever a second chain is nearly as long
/// (merge bias), knows no bays or people, and is kept for comparison with sampled chances.
#[derive(Debug, Clone, PartialEq)]
pub struct PathMethod {
    /// Sum of the PERT means along the path.
    pub expected: f64,
    /// Sum of the PERT variances along the path, unit squared.
    pub variance: f64,
    /// Jobs of the path; among chains of equal mean the one of greatest variance.
    pub path: Vec<usize>,
}

impl PathMethod {
    /// The path method on `network`, estimates one per job and in one unit.
    ///
    /// # Errors
    /// `estimates`: not one per job. `estimates[i].…`: see [`ThreePoint::check`].
    pub fn new(network: &Network, estimates: &[ThreePoint]) -> Result<Self, InvalidInput> {
        let mut check = Check::new();
        if estimates.len() != network.job_count() {
            check.refuse(
                "estimates",
                format!(
                    "must be one per job, {}, are {}",
                    network.job_count(),
                    estimates.len()
                ),
            );
        }
        for (job, estimate) in estimates.iter().enumerate() {
            check.merge(format_args!("estimates[{job}]"), estimate.check());
        }
        check.finish()?;
        let means: Vec<f64> = estimates.iter().map(ThreePoint::pert_mean).collect();
        let variances: Vec<f64> = estimates.iter().map(ThreePoint::pert_variance).collect();
        let path = critical_path_preferring(network, &means, &variances).path;
        Ok(Self {
            expected: path.iter().map(|&job| means[job]).sum(),
            variance: path.iter().map(|&job| variances[job]).sum(),
            path,
        })
    }

    /// Chance, by this method, that the path takes at most `duration`. Not a number counts as 0.
    pub fn chance_within(&self, duration: f64) -> f64 {
        match Normal::new(self.expected, self.variance.sqrt()) {
            Ok(normal) if self.variance > 0.0 && !duration.is_nan() => normal.cdf(duration),
            _ => f64::from(duration >= self.expected),
        }
    }
}

fn check_durations(network: &Network, durations: &[f64]) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if durations.len() != network.job_count() {
        check.refuse(
            "durations",
            format!(
                "must be one per job, {}, are {}",
                network.job_count(),
                durations.len()
            ),
        );
    }
    for (job, &duration) in durations.iter().enumerate() {
        check.non_negative(format_args!("durations[{job}]"), duration);
    }
    check.finish()
}

/// As [`critical_path`]; among equally long chains the path has the greatest sum of `weights`.
fn critical_path_preferring(network: &Network, durations: &[f64], weights: &[f64]) -> CriticalPath {
    let count = network.job_count();
    let (mut start, mut finish, mut weight) = (vec![0.0_f64; count], vec![0.0_f64; count], weights.to_vec());
    let mut before = vec![None; count];
    for &job in network.order() {
        for &earlier in network.predecessors(job) {
            let later = finish[earlier] > start[job] || before[job].is_none();
            let weightier = finish[earlier] == start[job] && weight[earlier] + weights[job] > weight[job];
            if later || weightier {
                start[job] = finish[earlier];
                weight[job] = weight[earlier] + weights[job];
                before[job] = Some(earlier);
            }
        }
        finish[job] = start[job] + durations[job];
    }
    let last = (0..count).fold(0, |best, job| {
        let (ahead, behind) = ((finish[job], weight[job]), (finish[best], weight[best]));
        if ahead > behind { job } else { best }
    });
    let duration = finish[last];
    let mut late_finish = vec![duration; count];
    for &job in network.order().iter().rev() {
        for &later in network.successors(job) {
            late_finish[job] = late_finish[job].min(late_finish[later] - durations[later]);
        }
    }
    let mut path = vec![last];
    while let Some(earlier) = before[path[path.len() - 1]] {
        path.push(earlier);
    }
    path.reverse();
    let jobs = (0..count)
        .map(|job| {
            // The two passes add in different orders: rounding must not show as negative slack.
            let slack = (late_finish[job] - finish[job]).max(0.0);
            let slack = if slack < 1e-9 * duration { 0.0 } else { slack };
            JobTimes {
                early_start: start[job],
                early_finish: finish[job],
                late_start: start[job] + slack,
                late_finish: finish[job] + slack,
                slack,
            }
        })
        .collect();
    CriticalPath { duration, jobs, path }
}
