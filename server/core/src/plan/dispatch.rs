//! The policy of the shop floor: whenever a bay or a person comes free, the first job in the order that can
//! start does.
//!
//! With fixed durations this is the parallel generation scheme (Kelley 1963, from memory, not verified); with sampled
//! durations it is what the shop would do without knowing the future: no decision here looks at a
//! duration before the job has finished.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::generate::first_words;
use super::model::{Mode, Model, WORDS_MAX};
use super::timeline::fits;
use super::working_time::WorkingTime;

/// What a job's start waited for last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Cause {
    /// The start of the plan, or opening hours after it.
    PlanStart,
    /// The job's own earliest start: a part that arrives, an agreed date.
    EarliestStart,
    /// The finish of this job: a predecessor, or the one that left the bay.
    Job(u32),
}

/// One run of the policy; jobs by index.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    pub(crate) starts: Vec<i64>,
    pub(crate) finishes: Vec<i64>,
    pub(crate) modes: Vec<usize>,
    pub(crate) causes: Vec<Cause>,
}

impl Run {
    pub(crate) fn blank(jobs: usize) -> Self {
        Self {
            starts: vec![0; jobs],
            finishes: vec![0; jobs],
            modes: vec![0; jobs],
            causes: vec![Cause::PlanStart; jobs],
        }
    }
}

/// Runs the policy on one model.
pub(crate) trait Dispatch: Send {
    /// Runs all jobs. `ranks` holds a different number per job, the least goes first; `durations` and `earliest` (not
    /// before the plan's start) per job.
    fn run(&mut self, ranks: &[u32], durations: &[i64], earliest: &[i64], run: &mut Run);
}

/// A dispatcher with as many words as the model's resources need.
pub(crate) fn dispatcher(model: &Model) -> Box<dyn Dispatch + '_> {
    let unlimited = model.modes.iter().flatten().all(|mode| mode.units.is_empty());
    match model.words {
        _ if unlimited => Box::new(PrecedenceOnly { model }),
        1 => Box::new(Floor::<1>::new(model)),
        2 => Box::new(Floor::<2>::new(model)),
        3 | 4 => Box::new(Floor::<4>::new(model)),
        _ => Box::new(Floor::<WORDS_MAX>::new(model)),
    }
}

/// Without resources there is nothing to decide: one pass in topological order.
struct PrecedenceOnly<'m> {
    model: &'m Model,
}

impl Dispatch for PrecedenceOnly<'_> {
    fn run(&mut self, _ranks: &[u32], durations: &[i64], earliest: &[i64], run: &mut Run) {
        let model = self.model;
        for &job in model.network.order() {
            let (mut start, mut cause) = (model.start, Cause::PlanStart);
            if earliest[job] > start && !model.is_pinned[job] {
                (start, cause) = (earliest[job], Cause::EarliestStart);
            }
            for &before in model.network.predecessors(job) {
                if run.finishes[before] > start {
                    (start, cause) = (run.finishes[before], Cause::Job(before as u32));
                }
            }
            (run.starts[job], run.causes[job]) = (start, cause);
            run.finishes[job] = start + durations[job];
        }
    }
}

/// Something that happens on the floor: a job finishes, or reaches its earliest start.
type Event = Reverse<(i64, u32, bool)>;

struct Floor<'m, const W: usize> {
    model: &'m Model,
    modes: Vec<Vec<FloorMode<'m, W>>>,
    guard: [u64; W],
    full: [u64; W],
    free: [u64; W],
    events: BinaryHeap<Event>,
    /// Jobs that could start but for resources or opening hours, by rank.
    waiting: Vec<u32>,
    open_predecessors: Vec<u32>,
    ready_cause: Vec<Cause>,
    /// Whether a waiting job was passed over for want of resources.
    passed_over: Vec<bool>,
    last_user: Vec<Option<u32>>,
}

struct FloorMode<'m, const W: usize> {
    mode: &'m Mode,
    demand: [u64; W],
    calendar: Option<&'m WorkingTime>,
}

impl<'m, const W: usize> Floor<'m, W> {
    fn new(model: &'m Model) -> Self {
        let count = model.job_count();
        let floor_mode = |mode: &'m Mode| FloorMode {
            mode,
            demand: first_words(&mode.packed),
            calendar: model.calendar(mode),
        };
        Self {
            model,
            modes: model
                .modes
                .iter()
                .map(|modes| modes.iter().map(floor_mode).collect())
                .collect(),
            guard: first_words(&model.guard),
            full: first_words(&model.full),
            free: first_words(&model.full),
            events: BinaryHeap::with_capacity(2 * count),
            waiting: Vec::with_capacity(count),
            open_predecessors: vec![0; count],
            ready_cause: vec![Cause::PlanStart; count],
            passed_over: vec![false; count],
            last_user: vec![None; model.capacity.len()],
        }
    }

    fn open(&mut self, ranks: &[u32], durations: &[i64], earliest: &[i64], run: &mut Run) {
        let model = self.model;
        self.free = self.full;
        self.events.clear();
        self.waiting.clear();
        self.ready_cause.fill(Cause::PlanStart);
        self.passed_over.fill(false);
        self.last_user.fill(None);
        for (job, open) in self.open_predecessors.iter_mut().enumerate() {
            *open = model.network.predecessors(job).len() as u32;
        }
        for &job in &model.pinned {
            self.start(job, 0, model.start, durations, run);
        }
        for job in 0..model.job_count() {
            if self.open_predecessors[job] == 0 && !model.is_pinned[job] {
                self.make_ready(job, model.start, Cause::PlanStart, ranks, earliest);
            }
        }
    }

    /// All predecessors of `job` are finished at `now`.
    fn make_ready(&mut self, job: usize, now: i64, cause: Cause, ranks: &[u32], earliest: &[i64]) {
        if earliest[job] > now {
            self.ready_cause[job] = Cause::EarliestStart;
            self.events.push(Reverse((earliest[job], job as u32, false)));
        } else {
            self.ready_cause[job] = cause;
            self.wait(job, ranks);
        }
    }

    fn wait(&mut self, job: usize, ranks: &[u32]) {
        let position = self
            .waiting
            .partition_point(|&other| ranks[other as usize] < ranks[job]);
        self.waiting.insert(position, job as u32);
    }

    fn start(&mut self, job: usize, mode_index: usize, now: i64, durations: &[i64], run: &mut Run) {
        let mode = &self.modes[job][mode_index];
        let finish = mode.calendar.map_or(now + durations[job], |calendar| {
            calendar.finish(now, durations[job])
        });
        (0..W).for_each(|word| self.free[word] = self.free[word].wrapping_sub(mode.demand[word]));
        (run.starts[job], run.finishes[job], run.modes[job]) = (now, finish, mode_index);
        run.causes[job] = self.ready_cause[job];
        if self.passed_over[job] {
            let users = mode
                .mode
                .units
                .iter()
                .filter_map(|&(resource, _)| self.last_user[resource]);
            if let Some(user) = users.max_by_key(|&user| run.finishes[user as usize]) {
                run.causes[job] = Cause::Job(user);
            }
        }
        self.events.push(Reverse((finish, job as u32, true)));
    }

    /// Starts what can start at `now`; gives the next moment at which opening hours let a job start.
    fn decide(&mut self, now: i64, durations: &[i64], run: &mut Run) -> i64 {
        let mut wake = i64::MAX;
        let mut kept = 0;
        for at in 0..self.waiting.len() {
            let job = self.waiting[at] as usize;
            let mut started = false;
            let mut found_room = false;
            for index in 0..self.modes[job].len() {
                let mode = &self.modes[job][index];
                if !fits(&self.free, &mode.demand, &self.guard) {
                    continue;
                }
                found_room = true;
                let opens = mode
                    .calendar
                    .filter(|_| durations[job] > 0)
                    .map_or(now, |calendar| calendar.next_open(now));
                if opens == now {
                    self.start(job, index, now, durations, run);
                    started = true;
                    break;
                }
                wake = wake.min(opens);
            }
            if !started {
                self.passed_over[job] |= !found_room;
                self.waiting[kept] = job as u32;
                kept += 1;
            }
        }
        self.waiting.truncate(kept);
        wake
    }

    fn finish(&mut self, job: usize, now: i64, ranks: &[u32], earliest: &[i64], run: &Run) {
        let mode = &self.modes[job][run.modes[job]];
        (0..W).for_each(|word| self.free[word] = self.free[word].wrapping_add(mode.demand[word]));
        for &(resource, _) in &mode.mode.units {
            self.last_user[resource] = Some(job as u32);
        }
        for &next in self.model.network.successors(job) {
            self.open_predecessors[next] -= 1;
            if self.open_predecessors[next] == 0 {
                self.make_ready(next, now, Cause::Job(job as u32), ranks, earliest);
            }
        }
    }
}

impl<const W: usize> Dispatch for Floor<'_, W> {
    fn run(&mut self, ranks: &[u32], durations: &[i64], earliest: &[i64], run: &mut Run) {
        self.open(ranks, durations, earliest, run);
        let mut now = self.model.start;
        loop {
            let wake = self.decide(now, durations, run);
            let next = self
                .events
                .peek()
                .map_or(i64::MAX, |&Reverse((time, ..))| time)
                .min(wake);
            if next == i64::MAX {
                return;
            }
            now = next;
            while let Some(&Reverse((time, job, finishes))) = self.events.peek() {
                if time > now {
                    break;
                }
                self.events.pop();
                if finishes {
                    self.finish(job as usize, now, ranks, earliest, run);
                } else {
                    self.wait(job as usize, ranks);
                }
            }
        }
    }
}
