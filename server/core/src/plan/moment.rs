//! Civil dates as day numbers and moments: the one place where the two meet.

use super::calendar::DAY_MINUTES;
use crate::record::Date;

/// Day 0 of the day numbers.
const DAY_0: Date = Date::constant(1970, 1, 1);

/// Whole days from 1970-01-01 to `date`.
pub fn day_number(date: Date) -> i64 {
    date.duration_since(DAY_0).as_hours() / 24
}

/// The date of a day number; the last or first date there is when it is beyond them.
pub fn date_of_day(day: i64) -> Date {
    let span = jiff::Span::new().try_days(day);
    span.and_then(|span| DAY_0.checked_add(span))
        .unwrap_or(if day < 0 { Date::MIN } else { Date::MAX })
}

/// Date and minute of the day of a moment: minutes from 1970-01-01 00:00 civil time.
pub fn civil(minute: i64) -> (Date, u32) {
    let day = minute.div_euclid(DAY_MINUTES);
    // 0 to 1,439.
    (date_of_day(day), minute.rem_euclid(DAY_MINUTES) as u32)
}

/// `YYYY-MM-DDTHH:MM` of a moment.
pub fn civil_text(minute: i64) -> String {
    let (date, minute) = civil(minute);
    format!("{date}T{:02}:{:02}", minute / 60, minute % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_and_days_go_both_ways() {
        // 2000-03-01 is day 11,017: 30 years of 365 days, 7 leap days to 1999, and 60 days of a leap year
        // (own calculation by hand).
        assert_eq!(day_number(Date::constant(2000, 3, 1)), 11_017);
        assert_eq!(date_of_day(11_017), Date::constant(2000, 3, 1));
        assert_eq!(day_number(Date::constant(1969, 12, 31)), -1);
        assert_eq!(civil_text(11_017 * DAY_MINUTES + 485), "2000-03-01T08:05");
        assert_eq!(civil_text(-1), "1969-12-31T23:59");
        assert_eq!(date_of_day(i64::MAX), Date::MAX);
    }
}
