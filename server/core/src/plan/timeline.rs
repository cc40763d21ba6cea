//! Free units over time, as a list of breakpoints, in one direction of time.
//!
//! The generators that shift jobs to the right use the same list with time mirrored at zero.

use super::working_time::WorkingTime;

/// Packed free units, piecewise constant from each breakpoint to the next.
#[derive(Debug)]
pub(crate) struct Timeline<const W: usize> {
    times: Vec<i64>,
    free: Vec<[u64; W]>,
    full: [u64; W],
    guard: [u64; W],
}

/// Whether `demand` leaves all guard bits in place.
#[inline]
pub(crate) fn fits<const W: usize>(free: &[u64; W], demand: &[u64; W], guard: &[u64; W]) -> bool {
    (0..W).all(|word| free[word].wrapping_sub(demand[word]) & guard[word] == guard[word])
}

impl<const W: usize> Timeline<W> {
    pub(crate) fn new(full: [u64; W], guard: [u64; W]) -> Self {
        let mut timeline = Self {
            times: Vec::new(),
            free: Vec::new(),
            full,
            guard,
        };
        timeline.clear();
        timeline
    }

    /// Everything free at all times.
    pub(crate) fn clear(&mut self) {
        self.times.clear();
        self.free.clear();
        self.times.push(i64::MIN);
        self.free.push(self.full);
    }

    /// Earliest start at or after `from`, and the finish, of work that needs `duration` (above 0) and holds
    /// `demand` throughout. Also the segment that holds the start, for [`Timeline::occupy`].
    ///
    /// Terminates: the last segment is free and demands do not exceed capacities.
    pub(crate) fn earliest<const MIRRORED: bool>(
        &self,
        from: i64,
        duration: i64,
        demand: &[u64; W],
        calendar: Option<&WorkingTime>,
    ) -> (i64, i64, usize) {
        let mut start = next_open::<MIRRORED>(calendar, from);
        let mut segment = self.times.partition_point(|&time| time <= start) - 1;
        'start: loop {
            let finish = ended::<MIRRORED>(calendar, start, duration);
            let mut at = segment;
            loop {
                if !fits(&self.free[at], demand, &self.guard) {
                    segment = at + 1;
                    while !fits(&self.free[segment], demand, &self.guard) {
                        segment += 1;
                    }
                    start = next_open::<MIRRORED>(calendar, self.times[segment]);
                    while segment + 1 < self.times.len() && self.times[segment + 1] <= start {
                        segment += 1;
                    }
                    continue 'start;
                }
                at += 1;
                if at == self.times.len() || self.times[at] >= finish {
                    return (start, finish, segment);
                }
            }
        }
    }

    /// Takes `demand` from `start` (in `segment`) to `finish`; it must fit.
    pub(crate) fn occupy(&mut self, start: i64, finish: i64, segment: usize, demand: &[u64; W]) {
        let mut first = segment;
        if self.times[segment] < start {
            first += 1;
            self.times.insert(first, start);
            self.free.insert(first, self.free[segment]);
        }
        let mut end = first + 1;
        while end < self.times.len() && self.times[end] < finish {
            end += 1;
        }
        if end == self.times.len() || self.times[end] > finish {
            self.times.insert(end, finish);
            self.free.insert(end, self.free[end - 1]);
        }
        for free in &mut self.free[first..end] {
            (0..W).for_each(|word| free[word] = free[word].wrapping_sub(demand[word]));
        }
    }

    /// The segment that holds `time`.
    pub(crate) fn segment(&self, time: i64) -> usize {
        self.times.partition_point(|&breakpoint| breakpoint <= time) - 1
    }
}

#[inline]
fn next_open<const MIRRORED: bool>(calendar: Option<&WorkingTime>, at: i64) -> i64 {
    match calendar {
        None => at,
        Some(calendar) if MIRRORED => -calendar.last_open(-at),
        Some(calendar) => calendar.next_open(at),
    }
}

#[inline]
fn ended<const MIRRORED: bool>(calendar: Option<&WorkingTime>, start: i64, duration: i64) -> i64 {
    match calendar {
        None => start + duration,
        Some(calendar) if MIRRORED => -calendar.start_for(-start, duration),
        Some(calendar) => calendar.finish(start, duration),
    }
}
