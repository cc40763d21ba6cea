//! Lower bounds on the length of a project: what no schedule can beat.
//!
//! All bounds are destructive: a length is assumed, every job gets the window that precedence leaves it, the
//! windows are narrowed, and if they contradict the resources no schedule is that short. Narrowing: two jobs that
//! cannot run side by side must run one after the other (critical sequence); contradiction: more work must lie
//! within an interval than the resource can do in it (energetic reasoning, Erschler and Lopez; the
//! method from memory, not verified; that it is a bound follows from the argument beside each step).

use super::model::Model;
use super::working_time::WorkingTime;

/// Terms that the energy of one resource may take; beyond it fewer intervals are looked at.
const ENERGY_TERMS_MAX: usize = 2_000_000;
/// Above this many jobs pairs are not looked at (quadratic effort, many rounds).
const PAIR_JOBS_MAX: usize = 1_000;
/// Rounds of narrowing before giving up; each round that matters tightens something.
const ROUNDS_MAX: usize = 50;

/// Lower bound on the makespan by precedence, earliest starts and calendars alone.
pub fn precedence_bound(model: &Model) -> i64 {
    let heads = Heads::new(model);
    heads.finish.iter().copied().max().unwrap_or(model.start) - model.start
}

/// Lower bound on the makespan, by resources too: the greatest length below `upper`, a makespan that is known to be
/// possible, that can be refuted, plus one. `is_over` is asked before every refutation and may end the
/// improvement early, with a valid bound.
pub fn lower_bound(model: &Model, upper: i64, is_over: &dyn Fn() -> bool) -> i64 {
    let bounds = Bounds::new(model, is_over);
    let (mut proven, mut open) = (precedence_bound(model), upper);
    while proven < open && !is_over() {
        let middle = proven + (open - proven) / 2;
        if bounds.refuted(middle) {
            proven = middle + 1
        } else {
            open = middle
        }
    }
    proven.min(upper)
}

/// Earliest starts and finishes by precedence.
struct Heads {
    start: Vec<i64>,
    finish: Vec<i64>,
}

impl Heads {
    fn new(model: &Model) -> Self {
        let mut heads = Self {
            start: model.earliest.clone(),
            finish: vec![0; model.job_count()],
        };
        for &job in &model.pinned {
            heads.start[job] = model.start;
        }
        heads.push_on(model);
        heads
    }

    /// Pushes raised starts through the network; says whether anything moved.
    fn push_on(&mut self, model: &Model) -> bool {
        let mut moved = false;
        for &job in model.network.order() {
            let before = model
                .network
                .predecessors(job)
                .iter()
                .map(|&before| self.finish[before]);
            self.start[job] = before.fold(self.start[job], i64::max);
            let finish = earliest_finish(model, job, self.start[job]);
            moved |= finish > self.finish[job];
            self.finish[job] = finish;
        }
        moved
    }
}

/// Latest finishes and starts by precedence.
struct Limits {
    start: Vec<i64>,
    finish: Vec<i64>,
}

impl Limits {
    fn new(model: &Model, end: i64) -> Self {
        let mut limits = Self {
            start: vec![end; model.job_count()],
            finish: vec![end; model.job_count()],
        };
        limits.push_back(model);
        limits
    }

    fn push_back(&mut self, model: &Model) {
        for &job in model.network.order().iter().rev() {
            let after = model
                .network
                .successors(job)
                .iter()
                .map(|&after| self.start[after]);
            self.finish[job] = after.fold(self.finish[job], i64::min);
            self.start[job] = latest_start(model, job, self.finish[job]);
        }
    }
}

fn earliest_finish(model: &Model, job: usize, from: i64) -> i64 {
    let finishes = model.modes[job].iter().map(|mode| match model.calendar(mode) {
        Some(calendar) => calendar.finish(from, model.duration[job]),
        None => from + model.duration[job],
    });
    finishes.min().unwrap_or(from)
}

fn latest_start(model: &Model, job: usize, by: i64) -> i64 {
    let starts = model.modes[job].iter().map(|mode| match model.calendar(mode) {
        Some(calendar) => calendar.start_for(by, model.duration[job]),
        None => by - model.duration[job],
    });
    starts.max().unwrap_or(by)
}

struct Bounds<'m> {
    model: &'m Model,
    is_over: &'m dyn Fn() -> bool,
    /// Pairs of jobs that cannot run side by side.
    pairs: Vec<(usize, usize)>,
    /// Per resource the jobs that surely use it, with their units.
    users: Vec<Vec<(usize, i64)>>,
}

impl<'m> Bounds<'m> {
    fn new(model: &'m Model, is_over: &'m dyn Fn() -> bool) -> Self {
        let mut users = vec![Vec::new(); model.capacity.len()];
        let sure: Vec<Vec<(usize, u32)>> = (0..model.job_count()).map(|job| model.sure_units(job)).collect();
        for (job, units) in sure
            .iter()
            .enumerate()
            .filter(|&(job, _)| model.duration[job] > 0)
        {
            units
                .iter()
                .for_each(|&(resource, units)| users[resource].push((job, i64::from(units))));
        }
        let mut pairs = Vec::new();
        if model.job_count() <= PAIR_JOBS_MAX {
            for (resource, users) in users.iter().enumerate() {
                let capacity = i64::from(model.capacity[resource]);
                for (position, &(left, left_units)) in users.iter().enumerate() {
                    let clashing = users[position + 1..]
                        .iter()
                        .filter(|&&(_, units)| units + left_units > capacity);
                    pairs.extend(clashing.map(|&(right, _)| (left, right)));
                }
            }
            pairs.sort_unstable();
            pairs.dedup();
        }
        Self {
            model,
            is_over,
            pairs,
            users,
        }
    }

    /// Whether no schedule has this makespan or a shorter one. Not, when the work is over.
    fn refuted(&self, makespan: i64) -> bool {
        let mut heads = Heads::new(self.model);
        let mut limits = Limits::new(self.model, self.model.start + makespan);
        for _ in 0..ROUNDS_MAX {
            if (0..self.model.job_count()).any(|job| heads.finish[job] > limits.finish[job]) {
                return true;
            }
            match self.narrow(&mut heads, &mut limits) {
                None => return true,
                Some(false) => break,
                Some(true) => {
                    heads.push_on(self.model);
                    limits.push_back(self.model);
                }
            }
        }
        (0..self.users.len()).any(|resource| !(self.is_over)() && self.overfull(resource, &heads, &limits))
    }

    /// Orders the pairs whose order is forced; `None` when a pair fits in neither order.
    fn narrow(&self, heads: &mut Heads, limits: &mut Limits) -> Option<bool> {
        let mut moved = false;
        for &(left, right) in &self.pairs {
            let left_first = heads.finish[left] <= limits.start[right];
            let right_first = heads.finish[right] <= limits.start[left];
            let (first, second) = match (left_first, right_first) {
                (true, true) => continue,
                (true, false) => (left, right),
                (false, true) => (right, left),
                (false, false) => return None,
            };
            if heads.start[second] < heads.finish[first] {
                heads.start[second] = heads.finish[first];
                heads.finish[second] = earliest_finish(self.model, second, heads.start[second]);
                moved = true;
            }
            if limits.finish[first] > limits.start[second] {
                limits.finish[first] = limits.start[second];
                limits.start[first] = latest_start(self.model, first, limits.finish[first]);
                moved = true;
            }
        }
        Some(moved)
    }

    /// Whether some interval must hold more work of `resource` than fits into it.
    fn overfull(&self, resource: usize, heads: &Heads, limits: &Limits) -> bool {
        let users = &self.users[resource];
        let calendar = self.model.resource_calendar[resource].map(|index| &self.model.calendars[index]);
        let moments_max = (ENERGY_TERMS_MAX / users.len().max(1)).isqrt().max(1);
        let distinct = |moments: &[i64]| {
            let mut distinct: Vec<i64> = users.iter().map(|&(job, _)| moments[job]).collect();
            distinct.sort_unstable();
            distinct.dedup();
            let step = distinct.len().div_ceil(moments_max);
            distinct.into_iter().step_by(step.max(1)).collect::<Vec<i64>>()
        };
        let (froms, tos) = (distinct(&heads.start), distinct(&limits.finish));
        let capacity = i64::from(self.model.capacity[resource]);
        froms.iter().any(|&from| {
            tos.iter().filter(|&&to| to > from).any(|&to| {
                let room = capacity * worked(calendar, from, to);
                let work =
                    |&(job, units): &(usize, i64)| units * self.work_within(job, from, to, heads, limits);
                users.iter().map(work).sum::<i64>() > room
            })
        })
    }

    /// Working time of `job` that lies between `from` and `to` wherever it is put in its window: it has the
    /// least there when it starts as early, or as late, as it can. With a choice of calendars only a job
    /// whose whole window lies inside counts.
    fn work_within(&self, job: usize, from: i64, to: i64, heads: &Heads, limits: &Limits) -> i64 {
        let duration = self.model.duration[job];
        if heads.start[job] >= from && limits.finish[job] <= to {
            return duration;
        }
        if heads.finish[job] <= from || limits.start[job] >= to || self.model.modes[job].len() > 1 {
            return 0;
        }
        let calendar = self.model.calendar(&self.model.modes[job][0]);
        let early = worked(calendar, heads.start[job].max(from), heads.finish[job]);
        let late = worked(calendar, limits.start[job], limits.finish[job].min(to));
        early.min(late).min(duration).min(worked(calendar, from, to))
    }
}

fn worked(calendar: Option<&WorkingTime>, from: i64, to: i64) -> i64 {
    calendar.map_or(to - from, |calendar| calendar.working_minutes(from, to))
}
