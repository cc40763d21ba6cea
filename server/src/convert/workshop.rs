//! Workshops, their calendars, and awaited parts.

use ostler_core::check::InvalidInput;
use ostler_core::plan::calendar::{DAY_MINUTES, Shift, WorkingCalendar};
use ostler_core::plan::moment::day_number;
use ostler_core::plan::three_point::ThreePoint;
use ostler_core::record::{AwaitedPart, Name, Worker, Workshop};
use ostler_proto::v1;

use super::{Converted, Within, date, each, id, missing, optional_date, optional_name};

pub(crate) fn workshop(name: Name, message: v1::Workshop) -> Converted<Workshop> {
    let v1::Workshop {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        bay_count,
        working_calendar,
        workers,
        note,
    } = message;
    Ok(Workshop {
        name,
        display_name,
        bay_count: bay_count.map(i32::unsigned_abs),
        working_calendar: optional_calendar(working_calendar)?,
        workers: each("workers", workers, worker)?,
        note,
    })
}

fn worker(message: v1::Worker) -> Converted<Worker> {
    let v1::Worker {
        id: worker_id,
        skills,
        working_calendar,
    } = message;
    Ok(Worker {
        id: id("id", worker_id)?,
        skills: each("skills", skills, |skill| id("", skill))?,
        working_calendar: optional_calendar(working_calendar)?,
    })
}

fn optional_calendar(message: Option<v1::WorkingCalendar>) -> Converted<Option<WorkingCalendar>> {
    message
        .map(|message| calendar(message).within("working_calendar"))
        .transpose()
}

fn calendar(message: v1::WorkingCalendar) -> Converted<WorkingCalendar> {
    let v1::WorkingCalendar {
        weekly_shifts,
        closed_dates,
        first_available_date,
    } = message;
    let mut calendar = WorkingCalendar::default();
    for (weekday, shift) in each("weekly_shifts", weekly_shifts, weekly_shift)? {
        calendar.weekly[weekday].push(shift);
    }
    for shifts in &mut calendar.weekly {
        shifts.sort_by_key(|shift| (shift.from_minute, shift.to_minute));
    }
    let closed: Vec<i64> = each("closed_dates", closed_dates, |text| {
        Ok(day_number(date("", &text)?))
    })?;
    calendar.close(closed);
    calendar.first_available_minute = optional_date("first_available_date", &first_available_date)?
        .map(|date| day_number(date) * DAY_MINUTES);
    Ok(calendar)
}

/// The weekday, Monday 0, and the shift.
fn weekly_shift(message: v1::WeeklyShift) -> Converted<(usize, Shift)> {
    let weekday = message.weekday();
    let v1::WeeklyShift {
        weekday: _,
        start_time_of_day,
        end_time_of_day,
    } = message;
    let weekday = match weekday {
        v1::Weekday::Unspecified => return Err(missing("weekday")),
        v1::Weekday::Monday => 0,
        v1::Weekday::Tuesday => 1,
        v1::Weekday::Wednesday => 2,
        v1::Weekday::Thursday => 3,
        v1::Weekday::Friday => 4,
        v1::Weekday::Saturday => 5,
        v1::Weekday::Sunday => 6,
    };
    let from_minute = minute_of_day("start_time_of_day", &start_time_of_day)?;
    let to_minute = match minute_of_day("end_time_of_day", &end_time_of_day)? {
        0 => 1_440,
        minute => minute,
    };
    Ok((
        weekday,
        Shift {
            from_minute,
            to_minute,
        },
    ))
}

fn minute_of_day(field: &str, text: &str) -> Converted<u32> {
    let time = jiff::civil::Time::strptime("%H:%M", text)
        .map_err(|_| InvalidInput::one(field, format!("must be a time of day HH:MM, is {text:?}")))?;
    Ok(u32::from(time.hour().unsigned_abs()) * 60 + u32::from(time.minute().unsigned_abs()))
}

pub(crate) fn awaited_part(name: Name, message: v1::AwaitedPart) -> Converted<AwaitedPart> {
    let v1::AwaitedPart {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        part,
        quantity,
        lead_time,
        ordered_date,
        arrived_date,
        order_by_date,
        note,
    } = message;
    Ok(AwaitedPart {
        name,
        display_name,
        part: optional_name("part", part)?,
        quantity: quantity.map(i32::unsigned_abs),
        lead_time_days: lead_time.map(lead_time_days),
        ordered_date: optional_date("ordered_date", &ordered_date)?,
        arrived_date: optional_date("arrived_date", &arrived_date)?,
        order_by_date: optional_date("order_by_date", &order_by_date)?,
        note,
    })
}

fn lead_time_days(message: v1::LeadTime) -> ThreePoint {
    let v1::LeadTime {
        optimistic_days,
        likely_days,
        pessimistic_days,
    } = message;
    ThreePoint {
        optimistic: optimistic_days,
        likely: likely_days,
        pessimistic: pessimistic_days,
    }
}
