//! Working calendars by hand and against counting minute by minute.

use ostler_core::plan::calendar::{DAY_MINUTES, Shift, WorkingCalendar, weekday};
use ostler_core::plan::working_time::WorkingTime;
use proptest::prelude::*;

/// 2027-03-29, a Monday (day number and weekday: Python's datetime).
const MONDAY: i64 = 20_906;

fn at(day: i64, hour: i64) -> i64 {
    (MONDAY + day) * DAY_MINUTES + hour * 60
}

/// Monday to Friday 08:00 to 12:00 and 13:00 to 17:00.
fn shop() -> WorkingCalendar {
    let day = vec![
        Shift {
            from_minute: 480,
            to_minute: 720,
        },
        Shift {
            from_minute: 780,
            to_minute: 1_020,
        },
    ];
    let weekly = std::array::from_fn(|weekday| if weekday < 5 { day.clone() } else { Vec::new() });
    WorkingCalendar {
        weekly,
        ..Default::default()
    }
}

#[test]
fn weekdays_are_those_of_the_calendar() {
    assert_eq!(weekday(MONDAY), 0);
    assert_eq!(weekday(0), 3, "1970-01-01 was a Thursday");
    assert_eq!(weekday(-1), 2);
}

#[test]
fn work_goes_on_over_lunch_nights_weekends_and_closed_days() {
    let mut calendar = shop();
    calendar.close([MONDAY + 7]);
    let time = WorkingTime::new(&calendar, at(0, 0)).unwrap();
    assert_eq!(time.finish(at(0, 11), 120), at(0, 14), "over lunch");
    assert_eq!(time.finish(at(0, 16), 120), at(1, 9), "over night");
    assert_eq!(
        time.finish(at(0, 8), 480),
        at(0, 17),
        "ends with the shift, not with the next"
    );
    assert_eq!(
        time.finish(at(4, 16), 120),
        at(8, 9),
        "over the weekend and a closed Monday"
    );
    assert_eq!(time.next_open(at(5, 10)), at(8, 8));
    assert_eq!(time.last_open(at(8, 7)), at(4, 17));
    assert_eq!(time.start_for(at(8, 9), 120), at(4, 16));
    assert_eq!(time.working_minutes(at(0, 0), at(14, 0)), 9 * 480);
    assert_eq!(time.finish(at(5, 10), 0), at(5, 10), "no work takes no time");
}

#[test]
fn far_beyond_the_table_the_week_goes_on() {
    let time = WorkingTime::new(&shop(), at(0, 0)).unwrap();
    // 1,000 weeks of 40 hours end on the Friday of the last week.
    assert_eq!(time.finish(at(0, 8), 1_000 * 2_400), at(999 * 7 + 4, 17));
    assert_eq!(time.start_for(at(999 * 7 + 4, 17), 1_000 * 2_400), at(0, 8));
    assert_eq!(time.next_open(at(5_000 * 7 + 5, 10)), at(5_001 * 7, 8));
    assert_eq!(time.last_open(at(5_000 * 7 + 5, 10)), at(5_000 * 7 + 4, 17));
}

#[test]
fn nothing_before_the_first_moment_available() {
    let mut calendar = shop();
    calendar.first_available_minute = Some(at(2, 10));
    let time = WorkingTime::new(&calendar, at(0, 0)).unwrap();
    assert_eq!(time.next_open(at(0, 9)), at(2, 10));
    assert_eq!(time.finish(at(0, 9), 60), at(2, 11));
}

#[test]
fn two_calendars_have_their_overlap_in_common() {
    let morning = WorkingCalendar::evenly(20.0, [true, false, true, false, false, true, false], 600).unwrap();
    let common = WorkingCalendar::common([&shop(), &morning]);
    let shifts = [
        Shift {
            from_minute: 600,
            to_minute: 720,
        },
        Shift {
            from_minute: 780,
            to_minute: 1_000,
        },
    ];
    assert_eq!(common.weekly[0], shifts);
    assert!(common.weekly[1].is_empty() && common.weekly[5].is_empty());
}

#[test]
fn wrong_calendars_are_refused_with_their_field() {
    assert_eq!(
        WorkingCalendar::default().check().unwrap_err().violations[0].field,
        "weekly"
    );
    let mut calendar = shop();
    calendar.weekly[2] = vec![
        Shift {
            from_minute: 600,
            to_minute: 500,
        },
        Shift {
            from_minute: 400,
            to_minute: 1_500,
        },
    ];
    let fields: Vec<String> = calendar
        .check()
        .unwrap_err()
        .violations
        .into_iter()
        .map(|found| found.field)
        .collect();
    assert_eq!(fields, ["weekly[2][0]", "weekly[2][1]"]);
    let mut far = shop();
    far.close([MONDAY + 100_000]);
    assert!(WorkingTime::new(&far, at(0, 0)).is_err());
    assert!(WorkingTime::new(&shop(), i64::MAX).is_err());
    assert!(WorkingCalendar::evenly(100.0, [true, false, false, false, false, false, false], 480).is_err());
    assert!(WorkingCalendar::evenly(f64::NAN, [true; 7], 480).is_err());
}

fn random_calendar() -> impl Strategy<Value = WorkingCalendar> {
    let shift = (0..23_u32, 1..8_u32).prop_map(|(hour, hours)| {
        vec![Shift {
            from_minute: hour * 60,
            to_minute: ((hour + hours) * 60).min(1_440),
        }]
    });
    let days = prop::collection::vec((shift, any::<bool>()), 7);
    (days, prop::collection::btree_set(0..40_i64, 0..6)).prop_map(|(days, closed)| {
        let mut calendar = WorkingCalendar::default();
        for (weekday, (shifts, works)) in days.into_iter().enumerate() {
            if works || weekday == 0 {
                calendar.weekly[weekday] = shifts;
            }
        }
        calendar.close(closed.into_iter().map(|day| MONDAY + day));
        calendar
    })
}

/// Whether the minute from `moment` on is worked.
fn works(calendar: &WorkingCalendar, moment: i64) -> bool {
    let (day, minute) = (moment.div_euclid(DAY_MINUTES), moment.rem_euclid(DAY_MINUTES));
    let shifts = calendar
        .exceptions
        .get(&day)
        .unwrap_or(&calendar.weekly[weekday(day)]);
    shifts
        .iter()
        .any(|shift| (i64::from(shift.from_minute)..i64::from(shift.to_minute)).contains(&minute))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn tables_agree_with_counting(calendar in random_calendar(), start in 0..30_000_i64, work in 1..3_000_i64) {
        let time = WorkingTime::new(&calendar, at(0, 0)).unwrap();
        let start = at(0, 0) + start;
        let (mut moment, mut left) = (start, work);
        while left > 0 {
            left -= i64::from(works(&calendar, moment));
            moment += 1;
        }
        prop_assert_eq!(time.finish(start, work), moment);
        prop_assert_eq!(time.working_minutes(start, moment), work);
        prop_assert_eq!(time.start_for(moment, work), time.next_open(start));
        prop_assert_eq!(time.last_open(moment), moment);
        prop_assert!(works(&calendar, time.next_open(start)));
    }
}
