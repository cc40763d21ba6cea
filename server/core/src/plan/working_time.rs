//! A working calendar turned into tables: from a moment and working minutes to a moment, and back.

use super::calendar::{DAY_MINUTES, MOMENT_MAX, WEEK_MINUTES, WorkingCalendar, weekday};
use crate::check::{Check, InvalidInput};

/// Days that the table covers at least, so that the common case needs no arithmetic of weeks.
const TABLE_DAYS_MIN: i64 = 420;
/// Days that the table may cover: exceptional days farther than this from the start are refused.
const TABLE_DAYS_MAX: i64 = 20_000;

/// Fast answers about one calendar from a first day on.
///
/// The table holds every open stretch up to the last exceptional day (and some more); beyond it the weekly
/// pattern goes on for ever. A look-up by moment is one index by day; an advance by working minutes goes on
/// from there over a few stretches or by binary search. Before the first day every minute counts as open: plans
/// start later, and the backward passes need some answer there.
#[derive(Debug, Clone)]
pub struct WorkingTime {
    origin: i64,
    table_end: i64,
    stretches: Stretches,
    /// Index of the first stretch that ends after the start of each day of the table.
    first_of_day: Vec<u32>,
    /// One week of the pattern, moments from 0, valid from `table_end` on.
    week: Stretches,
}

#[derive(Debug, Clone, Default)]
struct Stretches {
    start: Vec<i64>,
    end: Vec<i64>,
    /// Open minutes before each stretch, and in the last place all of them.
    before: Vec<i64>,
}

impl Stretches {
    fn push(&mut self, start: i64, end: i64) {
        if start >= end {
            return;
        }
        if self.end.last() == Some(&start) {
            let last = self.end.len() - 1;
            self.end[last] = end;
        } else {
            self.start.push(start);
            self.end.push(end);
        }
    }

    fn sum_up(&mut self) {
        let mut total = 0;
        self.before = vec![0];
        for (start, end) in self.start.iter().zip(&self.end) {
            total += end - start;
            self.before.push(total);
        }
    }

    fn total(&self) -> i64 {
        self.before.last().copied().unwrap_or_default()
    }

    /// Index of the stretch that holds or follows `at`, searching from `from` on.
    #[inline]
    fn holding(&self, at: i64, from: usize) -> usize {
        let mut index = from;
        while index < self.end.len() && self.end[index] <= at {
            index += 1;
        }
        index
    }

    /// Open minutes before `at`, which `index` holds or follows.
    #[inline]
    fn open_before(&self, at: i64, index: usize) -> i64 {
        self.before[index] + self.start.get(index).map_or(0, |&start| (at - start).max(0))
    }

    /// Moment at which `minutes` (1 to the total) are done, searching from stretch `from` on.
    #[inline]
    fn end_of(&self, minutes: i64, from: usize) -> i64 {
        let mut index = from;
        let near = (from + 8).min(self.start.len() - 1);
        while index < near && self.before[index + 1] < minutes {
            index += 1;
        }
        if self.before[index + 1] < minutes {
            index += self.before[index + 1..].partition_point(|&before| before < minutes);
        }
        self.start[index] + minutes - self.before[index]
    }

    /// Open moment before which `minutes` (0 to less than the total) are done.
    fn start_after(&self, minutes: i64) -> i64 {
        let index = self.before.partition_point(|&before| before <= minutes) - 1;
        self.start[index] + minutes - self.before[index]
    }
}

impl WorkingTime {
    /// Tables of `calendar` from the day of `from_minute` on.
    ///
    /// # Errors
    /// See [`WorkingCalendar::check`]; `from_minute` out of range; exceptional days or the first moment available
    /// more than 20,000 days after it.
    pub fn new(calendar: &WorkingCalendar, from_minute: i64) -> Result<Self, InvalidInput> {
        let mut check = Check::new();
        check.merge("", calendar.check());
        if from_minute.abs() > MOMENT_MAX {
            check.refuse(
                "from_minute",
                format!("must be within {MOMENT_MAX} minutes of 1970-01-01"),
            );
        }
        check.finish()?;
        let first_day = from_minute.div_euclid(DAY_MINUTES);
        let opens_day = calendar
            .first_available_minute
            .map(|minute| minute.div_euclid(DAY_MINUTES));
        let special = calendar
            .exceptions
            .keys()
            .next_back()
            .copied()
            .max(opens_day)
            .unwrap_or(first_day);
        if special - first_day > TABLE_DAYS_MAX {
            let problem =
                format!("must lie within {TABLE_DAYS_MAX} days of the start, day {special} does not");
            return Err(InvalidInput::one("exceptions", problem));
        }
        let end_day = (first_day + TABLE_DAYS_MIN).max(special + 1);

        let mut stretches = Stretches::default();
        let opens = calendar.first_available_minute.unwrap_or(i64::MIN);
        for day in first_day..end_day {
            for shift in calendar.shifts(day) {
                let (start, end) = (i64::from(shift.from_minute), i64::from(shift.to_minute));
                stretches.push((day * DAY_MINUTES + start).max(opens), day * DAY_MINUTES + end);
            }
        }
        stretches.sum_up();
        let mut week = Stretches::default();
        for day in 0..7 {
            for shift in &calendar.weekly[weekday(end_day + day)] {
                let (start, end) = (i64::from(shift.from_minute), i64::from(shift.to_minute));
                week.push(day * DAY_MINUTES + start, day * DAY_MINUTES + end);
            }
        }
        week.sum_up();
        let mut index = 0;
        let day_starts = (first_day..end_day).map(|day| {
            index = stretches.holding(day * DAY_MINUTES, index);
            // At most 8 shifts on each of some 20,000 days.
            index as u32
        });
        let first_of_day = day_starts.collect();
        Ok(Self {
            origin: first_day * DAY_MINUTES,
            table_end: end_day * DAY_MINUTES,
            stretches,
            first_of_day,
            week,
        })
    }

    /// First open moment at or after `at`.
    #[inline]
    pub fn next_open(&self, at: i64) -> i64 {
        if at < self.origin {
            return at;
        }
        if at < self.table_end {
            let index = self.holding(at);
            if let Some(&start) = self.stretches.start.get(index) {
                return start.max(at);
            }
        }
        let (weeks, rest) = self.week_of(at.max(self.table_end));
        let index = self.week.holding(rest, 0);
        match self.week.start.get(index) {
            Some(&start) => weeks + start.max(rest),
            None => weeks + WEEK_MINUTES + self.week.start[0],
        }
    }

    /// Latest moment at or before `at` whose last minute was open: where work may have ended.
    pub fn last_open(&self, at: i64) -> i64 {
        self.finish_of(self.worked(at)).min(at)
    }

    /// Moment at which work begun at `start` and needing `minutes` of working time ends. 0 minutes end at
    /// once, open or not.
    #[inline]
    pub fn finish(&self, start: i64, minutes: i64) -> i64 {
        if minutes <= 0 {
            return start;
        }
        if start >= self.origin && start < self.table_end {
            let index = self.holding(start);
            let target = self.stretches.open_before(start, index) + minutes;
            if target <= self.stretches.total() {
                return self.stretches.end_of(target, index);
            }
        }
        self.finish_of(self.worked(start) + minutes)
    }

    /// Latest open moment at which work of `minutes` must begin to end by `finish`.
    pub fn start_for(&self, finish: i64, minutes: i64) -> i64 {
        if minutes <= 0 {
            return finish;
        }
        let target = self.worked(finish) - minutes;
        let beyond = target - self.stretches.total();
        if target < 0 {
            self.origin + target
        } else if beyond < 0 {
            self.stretches.start_after(target)
        } else {
            let weeks = beyond / self.week.total();
            self.table_end + weeks * WEEK_MINUTES + self.week.start_after(beyond % self.week.total())
        }
    }

    /// Open minutes from `from` to `to`; negative when `to` lies before `from`.
    pub fn working_minutes(&self, from: i64, to: i64) -> i64 {
        self.worked(to) - self.worked(from)
    }

    /// Open minutes from the origin to `at`.
    fn worked(&self, at: i64) -> i64 {
        if at < self.origin {
            return at - self.origin;
        }
        if at < self.table_end {
            return self.stretches.open_before(at, self.holding(at));
        }
        let (weeks, rest) = self.week_of(at);
        let full = (weeks - self.table_end) / WEEK_MINUTES * self.week.total();
        self.stretches.total() + full + self.week.open_before(rest, self.week.holding(rest, 0))
    }

    /// Earliest moment by which `worked` open minutes since the origin are done.
    fn finish_of(&self, worked: i64) -> i64 {
        let beyond = worked - self.stretches.total();
        if worked <= 0 {
            self.origin + worked
        } else if beyond <= 0 {
            self.stretches.end_of(worked, 0)
        } else {
            let weeks = (beyond - 1) / self.week.total();
            self.table_end + weeks * WEEK_MINUTES + self.week.end_of(beyond - weeks * self.week.total(), 0)
        }
    }

    /// Start of the week of the pattern that holds `at`, and the minutes into it.
    fn week_of(&self, at: i64) -> (i64, i64) {
        let rest = (at - self.table_end).rem_euclid(WEEK_MINUTES);
        (at - rest, rest)
    }

    #[inline]
    fn holding(&self, at: i64) -> usize {
        let day = (at - self.origin) / DAY_MINUTES;
        self.stretches
            .holding(at, self.first_of_day[day as usize] as usize)
    }
}
