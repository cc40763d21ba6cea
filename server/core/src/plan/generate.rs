//! Schedules from orders of jobs: serial generation, and justification to the right and back to the left.
//!
//! Sources of the methods: serial generation scheme, Kelley 1963; double justification, Valls, Ballestín and
//! Quintanilla 2005 (both from memory, not verified).

use super::model::{Mode, Model, WORDS_MAX};
use super::schedule::Schedule;
use super::timeline::Timeline;
use super::working_time::WorkingTime;

/// Bits of a sort key that hold a job's place in the topological order; above [`super::network::JOBS_MAX`].
const PLACE_BITS: u32 = 14;

/// Makes schedules of one model. Holds the scratch memory, so that a schedule allocates nothing.
pub(crate) trait Generate: Send {
    /// Serial generation: takes the jobs in `order` (each after its predecessors) and starts each as early as its
    /// predecessors and resources allow. Where a job may choose its resources it takes those that finish it
    /// first, or with `keep_modes` those of `schedule` as given.
    fn forward(&mut self, order: &[u32], keep_modes: bool, schedule: &mut Schedule);

    /// Shifts every job as late as `limit`, its latest finish, its successors and its resources allow, the last to
    /// finish first. `limit` must not be before the last finish. The resources chosen stay, jobs in
    /// progress stay where they are.
    fn justify_right(&mut self, limit: i64, schedule: &mut Schedule);

    /// Shifts every job as early as possible, the first to start first.
    fn justify_left(&mut self, schedule: &mut Schedule);
}

/// A generator of `model` with as many words as its resources need.
pub(crate) fn generator(model: &Model) -> Box<dyn Generate + '_> {
    match model.words {
        1 => Box::new(Generator::<1>::new(model)),
        2 => Box::new(Generator::<2>::new(model)),
        3 | 4 => Box::new(Generator::<4>::new(model)),
        _ => Box::new(Generator::<WORDS_MAX>::new(model)),
    }
}

/// Double justification: right, then left. Never lengthens the schedule: every job finds at least the
/// place that it had still free.
pub(crate) fn justify(generator: &mut dyn Generate, schedule: &mut Schedule) {
    generator.justify_right(schedule.finish(), schedule);
    generator.justify_left(schedule);
}

struct Generator<'m, const W: usize> {
    model: &'m Model,
    timeline: Timeline<W>,
    modes: Vec<Vec<PackedMode<'m, W>>>,
    /// Place of each job in the topological order.
    place: Vec<usize>,
    keys: Vec<u64>,
    order: Vec<u32>,
}

#[derive(Clone, Copy)]
struct PackedMode<'m, const W: usize> {
    demand: [u64; W],
    calendar: Option<&'m WorkingTime>,
}

/// The first words of a packed set of units.
pub(crate) fn first_words<const W: usize>(words: &[u64; WORDS_MAX]) -> [u64; W] {
    std::array::from_fn(|word| words[word])
}

impl<'m, const W: usize> Generator<'m, W> {
    fn new(model: &'m Model) -> Self {
        let packed = |mode: &'m Mode| PackedMode {
            demand: first_words(&mode.packed),
            calendar: model.calendar(mode),
        };
        let mut place = vec![0; model.job_count()];
        model
            .network
            .order()
            .iter()
            .enumerate()
            .for_each(|(at, &job)| place[job] = at);
        Self {
            model,
            timeline: Timeline::new(first_words(&model.full), first_words(&model.guard)),
            modes: model
                .modes
                .iter()
                .map(|modes| modes.iter().map(packed).collect())
                .collect(),
            place,
            keys: Vec::with_capacity(model.job_count()),
            order: Vec::with_capacity(model.job_count()),
        }
    }

    /// Jobs in progress stay where they are.
    fn pin(&mut self, schedule: &mut Schedule) {
        for &job in &self.model.pinned {
            let (mode, duration) = (self.modes[job][0], self.model.duration[job]);
            let start = self.model.start;
            let finish = mode
                .calendar
                .map_or(start + duration, |calendar| calendar.finish(start, duration));
            (schedule.starts[job], schedule.finishes[job], schedule.modes[job]) = (start, finish, 0);
            if finish > start {
                self.timeline
                    .occupy(start, finish, self.timeline.segment(start), &mode.demand);
            }
        }
    }

    /// Jobs ascending by `moments`, among equals in topological order.
    fn sort(&mut self, moments: &[i64]) {
        let start = self.model.start;
        self.keys.clear();
        // Moments are not before the start, and below 2^40 after it.
        let keys = moments
            .iter()
            .zip(&self.place)
            .map(|(&at, &place)| ((at - start) as u64) << PLACE_BITS | place as u64);
        self.keys.extend(keys);
        self.keys.sort_unstable();
        self.order.clear();
        let order = self.model.network.order();
        self.order.extend(
            self.keys
                .iter()
                .map(|key| order[(key & ((1 << PLACE_BITS) - 1)) as usize] as u32),
        );
    }

    fn place_forward(&mut self, job: usize, keep_modes: bool, schedule: &mut Schedule) {
        let model = self.model;
        let ready = model
            .network
            .predecessors(job)
            .iter()
            .map(|&before| schedule.finishes[before]);
        let ready = ready.fold(model.earliest[job], i64::max);
        let duration = model.duration[job];
        if duration == 0 {
            (schedule.starts[job], schedule.finishes[job]) = (ready, ready);
            return;
        }
        let modes = &self.modes[job];
        let range = if keep_modes {
            schedule.modes[job]..schedule.modes[job] + 1
        } else {
            0..modes.len()
        };
        let mut best: Option<(usize, (i64, i64, usize))> = None;
        for index in range {
            let mode = &modes[index];
            let found = self
                .timeline
                .earliest::<false>(ready, duration, &mode.demand, mode.calendar);
            if best.is_none_or(|(_, (_, finish, _))| found.1 < finish) {
                best = Some((index, found));
            }
        }
        if let Some((index, (start, finish, segment))) = best {
            self.timeline.occupy(start, finish, segment, &modes[index].demand);
            (schedule.starts[job], schedule.finishes[job], schedule.modes[job]) = (start, finish, index);
        }
    }
}

impl<const W: usize> Generate for Generator<'_, W> {
    fn forward(&mut self, order: &[u32], keep_modes: bool, schedule: &mut Schedule) {
        self.timeline.clear();
        self.pin(schedule);
        for &job in order {
            if !self.model.is_pinned[job as usize] {
                self.place_forward(job as usize, keep_modes, schedule);
            }
        }
    }

    fn justify_right(&mut self, limit: i64, schedule: &mut Schedule) {
        self.sort(&schedule.finishes);
        self.timeline.clear();
        for at in (0..self.order.len()).rev() {
            let job = self.order[at] as usize;
            if self.model.is_pinned[job] {
                continue;
            }
            let later = self
                .model
                .network
                .successors(job)
                .iter()
                .map(|&after| -schedule.starts[after]);
            // A job that is late already must not get later.
            let own = self.model.latest[job].max(schedule.finishes[job]).min(limit);
            let from = later.fold(-own, i64::max);
            let duration = self.model.duration[job];
            if duration == 0 {
                (schedule.starts[job], schedule.finishes[job]) = (-from, -from);
                continue;
            }
            let mode = self.modes[job][schedule.modes[job]];
            let (start, finish, segment) =
                self.timeline
                    .earliest::<true>(from, duration, &mode.demand, mode.calendar);
            self.timeline.occupy(start, finish, segment, &mode.demand);
            (schedule.starts[job], schedule.finishes[job]) = (-finish, -start);
        }
    }

    fn justify_left(&mut self, schedule: &mut Schedule) {
        self.sort(&schedule.starts);
        let order = std::mem::take(&mut self.order);
        self.forward(&order, true, schedule);
        self.order = order;
    }
}
