//! Counts over samples. All are whole numbers, so that adding them up in any order gives the same.

use super::histogram::Histogram;
use super::sampled_plan::Sample;
use crate::plan::dispatch::Cause;

/// What the samples are asked for.
#[derive(Debug)]
pub(super) struct Questions {
    pub(super) start: i64,
    pub(super) ready_by: i64,
    /// Jobs that each vehicle waits for.
    pub(super) vehicle_jobs: Vec<Vec<usize>>,
    /// Per job; `i64::MAX` where there is none.
    pub(super) latest: Vec<i64>,
    pub(super) parts: usize,
}

/// Finishes of one vehicle or of the fleet.
#[derive(Debug, Clone)]
pub(super) struct Finishes {
    pub(super) ready: u64,
    pub(super) histogram: Histogram,
}

/// Everything counted.
#[derive(Debug, Clone)]
pub(super) struct Tally {
    pub(super) samples: u64,
    pub(super) fleet: Finishes,
    pub(super) vehicles: Vec<Finishes>,
    pub(super) job_critical: Vec<u64>,
    pub(super) job_late: Vec<u64>,
    /// Minutes from the start of the plan, summed.
    pub(super) job_starts: Vec<u128>,
    pub(super) part_critical: Vec<u64>,
}

impl Finishes {
    fn new() -> Self {
        Self {
            ready: 0,
            histogram: Histogram::new(),
        }
    }

    fn add(&mut self, finish: i64, questions: &Questions) {
        self.ready += u64::from(finish <= questions.ready_by);
        // Finishes are not before the start.
        self.histogram.add((finish - questions.start) as u64);
    }

    fn merge(&mut self, other: Self) {
        self.ready += other.ready;
        self.histogram.merge(other.histogram);
    }
}

impl Tally {
    pub(super) fn new(questions: &Questions) -> Self {
        let jobs = questions.latest.len();
        Self {
            samples: 0,
            fleet: Finishes::new(),
            vehicles: questions.vehicle_jobs.iter().map(|_| Finishes::new()).collect(),
            job_critical: vec![0; jobs],
            job_late: vec![0; jobs],
            job_starts: vec![0; jobs],
            part_critical: vec![0; questions.parts],
        }
    }

    pub(super) fn add(&mut self, sample: &Sample<'_>, questions: &Questions) {
        let finishes = &sample.run.finishes;
        self.samples += 1;
        let mut last = 0;
        for (job, &finish) in finishes.iter().enumerate() {
            if finish > finishes[last] {
                last = job;
            }
            self.job_late[job] += u64::from(finish > questions.latest[job]);
            self.job_starts[job] += (sample.run.starts[job] - questions.start) as u128;
        }
        self.fleet.add(finishes[last], questions);
        for (vehicle, jobs) in self.vehicles.iter_mut().zip(&questions.vehicle_jobs) {
            if let Some(finish) = jobs.iter().map(|&job| finishes[job]).max() {
                vehicle.add(finish, questions);
            }
        }
        self.trace(sample, last);
    }

    /// Counts the chain of jobs that ends with the last finish: each started when the one before let it. A cause
    /// never starts later than its effect, and a chain is no longer than there are jobs.
    fn trace(&mut self, sample: &Sample<'_>, last: usize) {
        let mut job = last;
        for _ in 0..self.job_critical.len() {
            self.job_critical[job] += 1;
            match sample.run.causes[job] {
                Cause::Job(before) => job = before as usize,
                Cause::EarliestStart => {
                    if let Some(part) = sample.awaited_part(job) {
                        self.part_critical[part] += 1;
                    }
                    return;
                }
                Cause::PlanStart => return,
            }
        }
    }

    pub(super) fn merge(mut self, other: Self) -> Self {
        self.samples += other.samples;
        self.fleet.merge(other.fleet);
        self.vehicles
            .iter_mut()
            .zip(other.vehicles)
            .for_each(|(mine, theirs)| mine.merge(theirs));
        let pairs = [
            (&mut self.job_critical, other.job_critical),
            (&mut self.job_late, other.job_late),
            (&mut self.part_critical, other.part_critical),
        ];
        self.job_starts
            .iter_mut()
            .zip(other.job_starts)
            .for_each(|(mine, theirs)| *mine += theirs);
        for (mine, theirs) in pairs {
            mine.iter_mut()
                .zip(theirs)
                .for_each(|(mine, theirs)| *mine += theirs);
        }
        self
    }
}
