//! A plan ready for sampling: distributions, the model and the order of the policy.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::check::InvalidInput;
use crate::plan::build_plan::{LeadTime, Plan, minutes};
use crate::plan::dispatch::{Dispatch, Run, dispatcher};
use crate::plan::model::Model;
use crate::plan::sampler::{Sampler, Samplers};
use crate::plan::search::check_order;
use crate::plan::three_point::Spread;

/// Samples of one block. A block has its own stream of random numbers: what a sample is does not depend on
/// which thread draws it.
pub(super) const BLOCK: u64 = 1_024;

/// A plan with its distributions.
pub(super) struct SampledPlan {
    pub(super) model: Model,
    /// Place of each job in the policy's order; jobs in progress first.
    ranks: Vec<u32>,
    hours: Vec<Sampler>,
    leads: Vec<LeadTime>,
    awaits: Vec<Vec<usize>>,
}

/// What one thread needs to draw samples of a plan.
pub(super) struct Sample<'p> {
    plan: &'p SampledPlan,
    dispatcher: Box<dyn Dispatch + 'p>,
    durations: Vec<i64>,
    earliest: Vec<i64>,
    pub(super) arrivals: Vec<i64>,
    pub(super) run: Run,
}

/// The uniform numbers of the samples of one block, one after the other.
pub(super) struct Uniforms {
    random: ChaCha8Rng,
    /// One per job, then one per part.
    pub(super) values: Vec<f64>,
}

impl Uniforms {
    pub(super) fn new(seed: u64, block: u64, count: usize) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(block);
        Self {
            random,
            values: vec![0.0; count],
        }
    }

    /// Numbers in the middles of 2^32 equal steps: neither 0 nor 1.
    pub(super) fn next(&mut self) {
        for value in &mut self.values {
            *value = (f64::from(self.random.next_u32()) + 0.5) / 4_294_967_296.0;
        }
    }
}

impl SampledPlan {
    pub(super) fn new(
        plan: &Plan,
        order: &[usize],
        spread: Spread,
        samplers: &mut Samplers,
    ) -> Result<Self, InvalidInput> {
        plan.check()?;
        let model = plan.project_with(|_| None).compile()?;
        check_order(&model, order).map_err(|refused| refused.within("order"))?;
        let mut ranks = vec![0; order.len()];
        order
            .iter()
            .enumerate()
            .for_each(|(place, &job)| ranks[job] = place as u32);
        Ok(Self {
            model,
            ranks,
            hours: plan
                .jobs
                .iter()
                .map(|job| samplers.sampler(&job.work_hours, spread))
                .collect(),
            leads: plan
                .parts
                .iter()
                .map(|part| LeadTime::new(plan, part, spread, samplers))
                .collect(),
            awaits: plan.jobs.iter().map(|job| job.awaits.clone()).collect(),
        })
    }

    pub(super) fn uniform_count(&self) -> usize {
        self.hours.len() + self.leads.len()
    }

    pub(super) fn sample(&self) -> Sample<'_> {
        let jobs = self.hours.len();
        Sample {
            plan: self,
            dispatcher: dispatcher(&self.model),
            durations: vec![0; jobs],
            earliest: self.model.earliest.clone(),
            arrivals: vec![0; self.leads.len()],
            run: Run::blank(jobs),
        }
    }

    /// Parts that are overdue beyond their pessimistic lead time.
    pub(super) fn overdue(&self) -> Vec<usize> {
        (0..self.leads.len())
            .filter(|&part| self.leads[part].is_overdue())
            .collect()
    }
}

impl Sample<'_> {
    /// Runs the policy on the durations and arrivals at these uniform numbers.
    #[inline]
    pub(super) fn draw(&mut self, uniforms: &[f64]) {
        let plan = self.plan;
        let (job_uniforms, part_uniforms) = uniforms.split_at(plan.hours.len());
        for ((duration, hours), &uniform) in self.durations.iter_mut().zip(&plan.hours).zip(job_uniforms) {
            *duration = minutes(hours.at(uniform));
        }
        for ((arrival, lead), &uniform) in self.arrivals.iter_mut().zip(&plan.leads).zip(part_uniforms) {
            *arrival = lead.arrival_minute(uniform);
        }
        if !plan.leads.is_empty() {
            for (job, awaits) in plan
                .awaits
                .iter()
                .enumerate()
                .filter(|(_, awaits)| !awaits.is_empty())
            {
                let arrivals = awaits.iter().map(|&part| self.arrivals[part]);
                self.earliest[job] = arrivals.fold(plan.model.earliest[job], i64::max);
            }
        }
        self.dispatcher
            .run(&plan.ranks, &self.durations, &self.earliest, &mut self.run);
    }

    /// Last finish of the run.
    pub(super) fn finish(&self) -> i64 {
        self.run
            .finishes
            .iter()
            .copied()
            .max()
            .unwrap_or(self.plan.model.start)
    }

    /// The last of the parts that `job` awaited, if it was what set the job's earliest start.
    pub(super) fn awaited_part(&self, job: usize) -> Option<usize> {
        let last = self.plan.awaits[job]
            .iter()
            .copied()
            .max_by_key(|&part| self.arrivals[part])?;
        (self.arrivals[last] == self.earliest[job]).then_some(last)
    }
}
