//! A population of orders that improves by crossing, moving jobs and double justification.
//!
//! The method is a genetic algorithm on orders as surveyed by Kolisch and Hartmann (2006; results read in part, the
//! method from memory): two-point crossover, every child made by the serial scheme and justified twice. Moving jobs
//! within the room that precedence leaves them found shorter schedules than exchanging neighbours
//! (measured on the public 30-, 60- and 120-job sets, as were the constants below).

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::generate::{Generate, generator, justify};
use super::model::Model;
use super::rules::{order_by, tails};
use super::schedule::{Cost, Schedule};

/// Members of a population.
const SIZE: usize = 60;
/// Generations without a better schedule after which a population starts anew.
const STALE_MAX: usize = 60;
/// Chance that a child has a second job moved; the first is always moved.
const SECOND_MOVE: f64 = 0.5;
/// Chance that a new start keeps the best member.
const KEEP_BEST: f64 = 0.5;
/// Chance that a child is its mother with one step of her critical chain turned round, where two jobs follow each other
/// for want of a resource alone: the move that job shops are searched by (van Laarhoven and others 1992, from memory).
const TURN_CRITICAL: f64 = 0.25;
/// Schedules made for one member: one by the serial scheme, two by justification.
const SCHEDULES_A_MEMBER: u64 = 3;

/// One island: a population with its own random numbers and generator.
pub(crate) struct Island<'m> {
    model: &'m Model,
    maker: Box<dyn Generate + 'm>,
    random: ChaCha8Rng,
    /// Best first.
    members: Vec<Member>,
    best: Schedule,
    best_cost: Cost,
    stale: usize,
    made: u64,
    /// Scratch: the schedule just made, the jobs already in a child.
    schedule: Schedule,
    taken: Vec<bool>,
    /// Place of each job in the topological order.
    place: Vec<usize>,
    tails: Vec<i64>,
}

/// An order, the starts of the schedule that came of it, and its cost.
#[derive(Debug, Clone)]
pub(crate) struct Member {
    order: Vec<u32>,
    starts: Vec<i64>,
    cost: Cost,
}

/// Jobs in the generators' numbers.
pub(crate) fn as_order(jobs: &[usize]) -> Vec<u32> {
    // At most 10,000 jobs.
    jobs.iter().map(|&job| job as u32).collect()
}

impl<'m> Island<'m> {
    /// A population around `first`, filled up with random orders unless `is_over` ends that.
    pub(crate) fn new(
        model: &'m Model,
        (seed, index): (u64, u64),
        first: &Schedule,
        is_over: &dyn Fn() -> bool,
    ) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(index);
        let count = model.job_count();
        let mut place = vec![0; count];
        model
            .network
            .order()
            .iter()
            .enumerate()
            .for_each(|(at, &job)| place[job] = at);
        let cost = first.cost(model);
        let member = Member {
            order: as_order(&first.order(model)),
            starts: first.starts.clone(),
            cost,
        };
        let mut island = Self {
            model,
            maker: generator(model),
            random,
            members: vec![member],
            best: first.clone(),
            best_cost: cost,
            stale: 0,
            made: 0,
            schedule: Schedule::blank(count),
            taken: vec![false; count],
            place,
            tails: tails(model),
        };
        island.fill(is_over);
        island
    }

    pub(crate) fn best(&self) -> &Schedule {
        &self.best
    }

    pub(crate) fn best_cost(&self) -> Cost {
        self.best_cost
    }

    pub(crate) fn best_member(&self) -> Option<Member> {
        self.members.first().cloned()
    }

    /// Schedules made so far.
    pub(crate) fn made(&self) -> u64 {
        self.made
    }

    /// Takes in a member from another island.
    pub(crate) fn welcome(&mut self, member: Member) {
        self.members.push(member);
        self.select();
    }

    /// Lives some generations. Ends early when `made_max` schedules are made in all, the best costs no more than
    /// `target`, or `is_over` says so.
    pub(crate) fn evolve(
        &mut self,
        generations: usize,
        made_max: u64,
        target: Cost,
        is_over: &dyn Fn() -> bool,
    ) {
        for _ in 0..generations {
            if self.made >= made_max || self.best_cost <= target || is_over() {
                break;
            }
            self.stale += 1;
            if self.stale > STALE_MAX {
                self.stale = 0;
                self.members
                    .truncate(usize::from(self.random.random_bool(KEEP_BEST)));
                self.fill(is_over);
                continue;
            }
            let parents = self.members.len();
            for _ in 0..SIZE {
                if is_over() {
                    break;
                }
                let (mother, father) = (
                    self.random.random_range(0..parents),
                    self.random.random_range(0..parents),
                );
                let child = self.child(mother, father);
                self.add(child);
            }
            self.select();
        }
    }

    /// A new order from two members.
    fn child(&mut self, mother: usize, father: usize) -> Vec<u32> {
        if self.random.random_bool(TURN_CRITICAL)
            && let Some(turned) = self.turn_critical(mother)
        {
            return turned;
        }
        let mut child = self.cross(mother, father);
        self.move_job(&mut child);
        if self.random.random_bool(SECOND_MOVE) {
            self.move_job(&mut child);
        }
        child
    }

    /// The member's order with one step of a critical chain turned round. `None`: no step of the chain can be.
    ///
    /// A chain goes back from the last finish by jobs that end where the next begins. Where opening hours lie between, it
    /// ends.
    fn turn_critical(&mut self, member: usize) -> Option<Vec<u32>> {
        let Self {
            model,
            random,
            members,
            ..
        } = self;
        let (network, duration, starts) = (&model.network, &model.duration, &members[member].starts);
        let finish = |job: usize| starts[job] + duration[job];
        let mut job = (0..starts.len()).max_by_key(|&job| finish(job))?;
        let (mut turned, mut steps) = (None, 0);
        for _ in 0..starts.len() {
            let (mut before, mut ways) = (None, 0);
            for other in
                (0..starts.len()).filter(|&other| finish(other) == starts[job] && duration[other] > 0)
            {
                let precedes = network.predecessors(job).binary_search(&other).is_ok();
                if precedes || shares_a_resource(model, other, job) {
                    ways += 1;
                    if random.random_range(0..ways) == 0 {
                        before = Some((other, precedes));
                    }
                }
            }
            let Some((other, precedes)) = before else { break };
            if !precedes {
                steps += 1;
                if random.random_range(0..steps) == 0 {
                    turned = Some((other, job));
                }
            }
            job = other;
        }
        let (first, second) = turned?;
        let mut order = members[member].order.clone();
        let place = |job: usize| order.iter().position(|&other| other as usize == job);
        let (from, to) = (place(first)?, place(second)?);
        let between = order.get(from + 1..to)?;
        let is_link = |links: &[usize], other: u32| links.binary_search(&(other as usize)).is_ok();
        if !between
            .iter()
            .any(|&other| is_link(network.predecessors(second), other))
        {
            order[from..=to].rotate_right(1);
        } else if !between
            .iter()
            .any(|&other| is_link(network.successors(first), other))
        {
            order[from..=to].rotate_left(1);
        } else {
            return None;
        }
        Some(order)
    }

    /// Fills the population with random orders that lean to the longest tail first.
    fn fill(&mut self, is_over: &dyn Fn() -> bool) {
        let reach = 1 + self.tails.iter().copied().max().unwrap_or(0) / 3;
        while self.members.len() < SIZE && (self.members.is_empty() || !is_over()) {
            let ranks: Vec<i64> = self
                .tails
                .iter()
                .map(|tail| self.random.random_range(0..reach) - tail)
                .collect();
            self.add(as_order(&order_by(self.model, &ranks)));
        }
        self.select();
    }

    /// Makes and justifies the schedule of an order. The member's order is that of the schedule.
    fn add(&mut self, mut order: Vec<u32>) {
        self.made += SCHEDULES_A_MEMBER;
        self.maker.forward(&order, false, &mut self.schedule);
        self.keep_if_best();
        justify(self.maker.as_mut(), &mut self.schedule);
        self.keep_if_best();
        let (starts, place) = (&self.schedule.starts, &self.place);
        order.sort_unstable_by_key(|&job| (starts[job as usize], place[job as usize]));
        self.members.push(Member {
            order,
            starts: starts.clone(),
            cost: self.schedule.cost(self.model),
        });
    }

    fn keep_if_best(&mut self) {
        let cost = self.schedule.cost(self.model);
        if cost < self.best_cost {
            self.best_cost = cost;
            self.best.clone_from(&self.schedule);
            self.stale = 0;
        }
    }

    /// Keeps the best members, one of each schedule, among equals those that were there first.
    fn select(&mut self) {
        self.members.sort_by_key(|member| member.cost);
        let mut kept: Vec<Member> = Vec::with_capacity(SIZE);
        for member in self.members.drain(..) {
            let mut equals = kept.iter().rev().take_while(|other| other.cost == member.cost);
            if kept.len() < SIZE && equals.all(|other| other.starts != member.starts) {
                kept.push(member);
            }
        }
        self.members = kept;
    }

    /// The mother's order with a stretch in the middle in the father's order. Each job still follows its
    /// predecessors: they come before it in both.
    fn cross(&mut self, mother: usize, father: usize) -> Vec<u32> {
        let count = self.model.job_count();
        let cuts = (
            self.random.random_range(0..=count),
            self.random.random_range(0..=count),
        );
        let (from, to) = (cuts.0.min(cuts.1), cuts.0.max(cuts.1));
        let (mother, father) = (&self.members[mother].order, &self.members[father].order);
        let taken = &mut self.taken;
        taken.fill(false);
        let mut child = Vec::with_capacity(count);
        child.extend_from_slice(&mother[..from]);
        child.iter().for_each(|&job| taken[job as usize] = true);
        for &job in father {
            if child.len() == to {
                break;
            }
            if !taken[job as usize] {
                taken[job as usize] = true;
                child.push(job);
            }
        }
        child.extend(mother.iter().filter(|&&job| !taken[job as usize]));
        child
    }

    /// Moves a random job to a random place between its predecessors and its successors.
    fn move_job(&mut self, order: &mut [u32]) {
        let network = &self.model.network;
        let at = self.random.random_range(0..order.len());
        let job = order[at] as usize;
        let is_link = |links: &[usize], other: u32| links.binary_search(&(other as usize)).is_ok();
        let before = order[..at]
            .iter()
            .rposition(|&other| is_link(network.predecessors(job), other));
        let after = order[at + 1..]
            .iter()
            .position(|&other| is_link(network.successors(job), other));
        let least = before.map_or(0, |position| position + 1);
        let most = after.map_or(order.len() - 1, |position| at + position);
        let to = self.random.random_range(least..=most);
        if to < at {
            order[to..=at].rotate_right(1);
        } else {
            order[at..=to].rotate_left(1);
        }
    }
}

/// Whether two jobs may want the same resource.
fn shares_a_resource(model: &Model, one: usize, other: usize) -> bool {
    let of = |job: usize| model.modes[job].iter().flat_map(|mode| &mode.units);
    of(one).any(|(resource, _)| of(other).any(|(another, _)| resource == another))
}
