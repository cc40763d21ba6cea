//! Moments and days as people give them.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

use crate::errors::CliError;

/// Today in the machine's time zone, `YYYY-MM-DD`.
pub(super) fn today() -> String {
    ZonedDateTime::now().date().to_string()
}

/// A moment as the API takes it, from `2027-04-01T08:00:00Z` or a day, which begins at midnight UTC.
pub(super) fn moment(option: &str, text: &str) -> Result<prost_types::Timestamp, CliError> {
    let day = |text: &str| {
        let date: Date = text.parse().ok()?;
        TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0)).ok()
    };
    let time = text.parse::<Timestamp>().ok().or_else(|| day(text));
    let time = time.ok_or_else(|| CliError::Usage {
        problem: format!("{text:?} is no moment"),
        hint: format!("write {option} as 2027-04-01T08:00:00Z or 2027-04-01"),
    })?;
    Ok(prost_types::Timestamp {
        seconds: time.as_second(),
        nanos: time.subsec_nanosecond(),
    })
}

/// A time for people, in UTC: `2027-03-29 07:15`. Empty for none.
pub(super) fn utc(time: Option<prost_types::Timestamp>) -> String {
    let text = time.map(|time| time.to_string()).unwrap_or_default();
    text.get(..16).unwrap_or(&text).replace('T', " ")
}
