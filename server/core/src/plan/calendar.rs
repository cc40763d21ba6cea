//! Working calendars as people state them: weekly hours, exceptional days, first day available.
//!
//! Moments are whole minutes of the shops' local civil time counted from 1970-01-01 00:00, a day has 1,440
//! of them, and there is no clock here. Where clocks are put forward or back the civil count does not jump;
//! one working hour at night may then be counted that does not exist, or missed.

use std::collections::BTreeMap;

use crate::check::{Check, InvalidInput};

/// Minutes of a day.
pub const DAY_MINUTES: i64 = 1_440;
/// Minutes of a week.
pub const WEEK_MINUTES: i64 = 7 * DAY_MINUTES;
/// Latest moment accepted, in minutes from 1970-01-01 (beyond the year 3800), and, negative, the earliest.
pub const MOMENT_MAX: i64 = 1_000_000_000;
/// Most shifts of one day.
pub const SHIFTS_MAX: usize = 8;

/// A stretch of working time within a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shift {
    /// First minute of the day that is worked, 0 to 1,439.
    pub from_minute: u32,
    /// First minute of the day that is not worked any more, up to 1,440 and after `from_minute`.
    pub to_minute: u32,
}

/// When a bay or a person works.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WorkingCalendar {
    /// Shifts of each weekday, Monday first; ascending, not overlapping, at least one in the week.
    pub weekly: [Vec<Shift>; 7],
    /// Days that differ, by day number (whole days since 1970-01-01): the shifts of that day, none when
    /// closed.
    pub exceptions: BTreeMap<i64, Vec<Shift>>,
    /// Nothing is worked before this moment; `None`: no such limit.
    pub first_available_minute: Option<i64>,
}

/// Weekday of a day number, Monday 0 to Sunday 6.
pub fn weekday(day: i64) -> usize {
    // 1970-01-01 was a Thursday. The remainder is 0 to 6.
    (day + 3).rem_euclid(7) as usize
}

impl WorkingCalendar {
    /// The same hours on each of `weekdays` (Monday first), one shift a day from `opens_minute` of the day,
    /// `hours_per_week` in all, rounded to whole minutes a day. For a shop that states weekly hours only:
    /// which days and from when is then an assumption to show.
    ///
    /// # Errors
    /// `weekdays`: none. `hours_per_week`: not above 0 or more than fits between `opens_minute` and midnight.
    pub fn evenly(hours_per_week: f64, weekdays: [bool; 7], opens_minute: u32) -> Result<Self, InvalidInput> {
        let mut check = Check::new();
        check.between("hours_per_week", hours_per_week, 0.1, 168.0);
        let days = weekdays.iter().filter(|&&works| works).count();
        if days == 0 {
            check.refuse("weekdays", "must have a working day");
        }
        check.finish()?;
        // At least 1 and at most 168 x 60: the check above.
        let minutes = (hours_per_week * 60.0 / days as f64).round().max(1.0) as u32;
        let shift = Shift {
            from_minute: opens_minute,
            to_minute: opens_minute.saturating_add(minutes),
        };
        if i64::from(shift.to_minute) > DAY_MINUTES {
            let problem =
                format!("must fit between minute {opens_minute} and midnight, is {minutes} minutes a day");
            return Err(InvalidInput::one("hours_per_week", problem));
        }
        let weekly = weekdays.map(|works| if works { vec![shift] } else { Vec::new() });
        Ok(Self {
            weekly,
            ..Self::default()
        })
    }

    /// Closes these days, whatever was said of them before.
    pub fn close(&mut self, days: impl IntoIterator<Item = i64>) {
        self.exceptions
            .extend(days.into_iter().map(|day| (day, Vec::new())));
    }

    /// The time that all `calendars` have in common; that of none is every minute.
    pub fn common<'a>(calendars: impl IntoIterator<Item = &'a Self>) -> Self {
        calendars
            .into_iter()
            .cloned()
            .reduce(|left, right| left.and(&right))
            .unwrap_or_else(Self::always)
    }

    /// Every minute of every day.
    pub fn always() -> Self {
        let day = vec![Shift {
            from_minute: 0,
            to_minute: 1_440,
        }];
        Self {
            weekly: std::array::from_fn(|_| day.clone()),
            ..Self::default()
        }
    }

    fn and(&self, other: &Self) -> Self {
        let weekly =
            std::array::from_fn(|weekday| common_shifts(&self.weekly[weekday], &other.weekly[weekday]));
        let days = self.exceptions.keys().chain(other.exceptions.keys());
        let exceptions = days
            .map(|&day| (day, common_shifts(self.shifts(day), other.shifts(day))))
            .collect();
        let first_available_minute = self.first_available_minute.max(other.first_available_minute);
        Self {
            weekly,
            exceptions,
            first_available_minute,
        }
    }

    /// Shifts of a day, not looking at the first moment available.
    pub(crate) fn shifts(&self, day: i64) -> &[Shift] {
        self.exceptions.get(&day).unwrap_or(&self.weekly[weekday(day)])
    }

    /// Checks shifts, exceptional days and the first moment available.
    ///
    /// # Errors
    /// `weekly`: no working minute. `weekly[w][k]…`, `exceptions[day][k]…`: shifts out of the day, out of order
    /// or too many. `exceptions[day]`, `first_available_minute`: farther than [`MOMENT_MAX`].
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        for (weekday, shifts) in self.weekly.iter().enumerate() {
            check_shifts(&mut check, &format!("weekly[{weekday}]"), shifts);
        }
        if self.weekly.iter().all(Vec::is_empty) {
            check.refuse("weekly", "must have at least one shift in the week");
        }
        for (&day, shifts) in &self.exceptions {
            check_shifts(&mut check, &format!("exceptions[{day}]"), shifts);
            if day.abs() > MOMENT_MAX / DAY_MINUTES {
                check.refuse(
                    format_args!("exceptions[{day}]"),
                    "must be a day number since 1970-01-01 within 1,900 years",
                );
            }
        }
        if self
            .first_available_minute
            .is_some_and(|minute| minute.abs() > MOMENT_MAX)
        {
            check.refuse(
                "first_available_minute",
                format!("must be within {MOMENT_MAX} minutes of 1970-01-01"),
            );
        }
        check.finish()
    }
}

fn check_shifts(check: &mut Check, field: &str, shifts: &[Shift]) {
    if shifts.len() > SHIFTS_MAX {
        check.refuse(
            field,
            format!("must have at most {SHIFTS_MAX} shifts, has {}", shifts.len()),
        );
    }
    let mut free_from = 0;
    for (position, shift) in shifts.iter().enumerate() {
        if shift.from_minute < free_from || shift.to_minute <= shift.from_minute || shift.to_minute > 1_440 {
            let Shift {
                from_minute,
                to_minute,
            } = shift;
            check.refuse(
                format_args!("{field}[{position}]"),
                format!(
                    "must follow the shift before it and end within the day, is {from_minute} to {to_minute}"
                ),
            );
        }
        free_from = shift.to_minute;
    }
}

fn common_shifts(left: &[Shift], right: &[Shift]) -> Vec<Shift> {
    let pairs = left.iter().flat_map(|a| right.iter().map(move |b| (a, b)));
    let mut common: Vec<Shift> = pairs
        .map(|(a, b)| Shift {
            from_minute: a.from_minute.max(b.from_minute),
            to_minute: a.to_minute.min(b.to_minute),
        })
        .filter(|shift| shift.from_minute < shift.to_minute)
        .collect();
    common.sort_by_key(|shift| shift.from_minute);
    common
}
