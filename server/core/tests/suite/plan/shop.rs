//! The plan of a departure from its record: what is missing is said, what is under way holds what it needs.

use ostler_core::plan::calendar::{DAY_MINUTES, WorkingCalendar};
use ostler_core::plan::moment::day_number;
use ostler_core::plan::shop::{ShopPlan, Stated, stated, stated_from};
use ostler_core::plan::three_point::ThreePoint;
use ostler_core::record::{AwaitedPart, Departure, Job, Progress, Record, Worker, Workshop};

use crate::builder::{date, departure, id, name, record};

const WORKING_DAYS: [bool; 7] = [true, true, true, true, true, false, false];

pub(crate) fn hours(likely: f64) -> ThreePoint {
    ThreePoint {
        optimistic: likely / 2.0,
        likely,
        pessimistic: likely * 2.0,
    }
}

pub(crate) fn job(id: &str, after: &[&str]) -> Job {
    Job {
        name: name(&format!("jobs/{id}")),
        display_name: format!("work {id}"),
        vehicles: vec![name("vehicles/v1")],
        whole_fleet: false,
        stage: Some(crate::builder::id("mechanical")),
        work_hours: Some(hours(4.0)),
        after: after.iter().map(|id| name(&format!("jobs/{id}"))).collect(),
        workshops: vec![name("workshops/shed")],
        without_bay: false,
        skills: Vec::new(),
        awaited_parts: Vec::new(),
        earliest_date: None,
        latest_date: None,
        serves: Vec::new(),
        progress: Progress::ToDo,
        note: String::new(),
    }
}

/// A job of `v1` that is done and needed nothing.
pub(crate) fn done_job(id: &str) -> Job {
    Job {
        workshops: Vec::new(),
        progress: Progress::Done {
            done_date: None,
            actual_hours: None,
        },
        ..job(id, &[])
    }
}

pub(crate) fn workshop(worker_count: usize) -> Workshop {
    let worker = |index| Worker {
        id: id(&format!("smith-{index}")),
        skills: vec![id("welding")],
        working_calendar: None,
    };
    Workshop {
        name: name("workshops/shed"),
        display_name: "shed".to_owned(),
        bay_count: Some(1),
        working_calendar: Some(WorkingCalendar::evenly(40.0, WORKING_DAYS, 480).unwrap()),
        workers: (0..worker_count).map(worker).collect(),
        note: String::new(),
    }
}

pub(crate) fn awaited() -> AwaitedPart {
    AwaitedPart {
        name: name("awaitedParts/bolts"),
        display_name: "bolts".to_owned(),
        part: None,
        quantity: None,
        lead_time_days: Some(ThreePoint::exactly(10.0)),
        ordered_date: Some(date("2027-03-25")),
        arrived_date: None,
        order_by_date: None,
        note: String::new(),
    }
}

/// Three jobs one after the other in one shed; the second waits for bolts.
pub(crate) fn shop() -> (Record, Departure) {
    let (mut record, mut departure) = (record(), departure());
    departure.status_date = Some(date("2027-03-29"));
    departure.policy.order_within_days = Some(7);
    departure.policy.ready_chance_min = Some(0.8);
    record.workshops.insert(name("workshops/shed"), workshop(2));
    record.awaited_parts.insert(name("awaitedParts/bolts"), awaited());
    let mut second = job("j2", &["j1"]);
    second.awaited_parts.push(name("awaitedParts/bolts"));
    for job in [job("j1", &[]), second, job("j3", &["j2"])] {
        record.jobs.insert(job.name.clone(), job);
    }
    (record, departure)
}

fn planned(record: &Record, departure: &Departure) -> ShopPlan {
    match stated_from(record, departure, date("2027-03-29")) {
        Stated::ToDo(shop) => *shop,
        other => panic!("{other:?}"),
    }
}

fn missing(record: &Record, departure: &Departure) -> Vec<String> {
    match stated_from(record, departure, date("2027-03-29")) {
        Stated::NotKnown(missing) => missing,
        other => panic!("{other:?}"),
    }
}

fn start() -> i64 {
    day_number(date("2027-03-29")) * DAY_MINUTES
}

#[test]
fn the_plan_is_what_the_record_says() {
    let (record, departure) = shop();
    let shop = planned(&record, &departure);
    assert_eq!(shop.plan.start_minute, start());
    assert_eq!(shop.plan.assumed_order_minute, start() + 7 * DAY_MINUTES);
    assert_eq!(shop.ready_by_minute, day_number(date("2027-05-24")) * DAY_MINUTES);
    assert_eq!(shop.plan.jobs[1].after, [0]);
    assert_eq!(shop.plan.jobs[1].awaits, [0]);
    assert_eq!(shop.plan.resources.len(), 1, "nobody asks for skills");
    // Ordered four days before the start, ten days on the way: there on the sixth day, and three jobs of 4.33 h
    // (PERT mean of 2, 4, 8) one after the other need an 8 h day for the last two (own calculation by hand).
    let project = shop.plan.project().unwrap();
    assert_eq!(project.jobs[1].earliest_start, Some(start() + 6 * DAY_MINUTES));
    assert_eq!(project.jobs[0].duration, 260);
}

#[test]
fn a_later_day_starts_the_plan_and_an_earlier_one_does_not() {
    let (record, departure) = shop();
    for (today, expected) in [("2027-03-01", "2027-03-29"), ("2027-04-02", "2027-04-02")] {
        let Stated::ToDo(shop) = stated(&record, &departure, date(today)) else {
            panic!("{today}");
        };
        assert_eq!(
            shop.plan.start_minute,
            day_number(date(expected)) * DAY_MINUTES,
            "{today}"
        );
    }
}

#[test]
fn every_input_that_is_missing_is_named() {
    type Forget = fn(&mut Record, &mut Departure);
    let cases: [(&str, Forget); 7] = [
        ("hours of job j2", |record, _| {
            record.jobs.get_mut(&name("jobs/j2")).unwrap().work_hours = None;
        }),
        ("the bays of workshop shed", |record, _| {
            record
                .workshops
                .get_mut(&name("workshops/shed"))
                .unwrap()
                .bay_count = None;
        }),
        ("the working calendar of workshop shed", |record, _| {
            record
                .workshops
                .get_mut(&name("workshops/shed"))
                .unwrap()
                .working_calendar = None;
        }),
        ("the workshop shed", |record, _| record.workshops.clear()),
        ("the lead time of bolts", |record, _| {
            record
                .awaited_parts
                .get_mut(&name("awaitedParts/bolts"))
                .unwrap()
                .lead_time_days = None;
        }),
        ("order_within_days", |record, departure| {
            record
                .awaited_parts
                .get_mut(&name("awaitedParts/bolts"))
                .unwrap()
                .ordered_date = None;
            departure.policy.order_within_days = None;
        }),
        ("a person with the skill painting", |record, _| {
            record.jobs.get_mut(&name("jobs/j1")).unwrap().skills = vec![id("painting")];
        }),
    ];
    for (said, forget) in cases {
        let (mut record, mut departure) = shop();
        forget(&mut record, &mut departure);
        let missing = missing(&record, &departure);
        assert!(
            missing.iter().any(|text| text.contains(said)),
            "{said}: {missing:?}"
        );
    }
    let (mut record, departure) = shop();
    record.jobs.clear();
    assert_eq!(missing(&record, &departure), ["jobs of v1: none is on record"]);
}

#[test]
fn done_jobs_are_left_out_and_a_plan_can_be_done() {
    let (mut record, departure) = shop();
    let done = Progress::Done {
        done_date: None,
        actual_hours: None,
    };
    record.jobs.get_mut(&name("jobs/j1")).unwrap().progress = done.clone();
    let shop = planned(&record, &departure);
    assert_eq!(shop.plan.jobs.len(), 2);
    assert_eq!(shop.plan.jobs[0].after, Vec::<usize>::new());
    for job in record.jobs.values_mut() {
        job.progress = done.clone();
    }
    assert_eq!(
        stated_from(&record, &departure, date("2027-03-29")),
        Stated::AllDone
    );
}

#[test]
fn a_job_under_way_holds_its_bay_and_only_what_is_left_counts() {
    let (mut record, departure) = shop();
    let under_way = |actual_hours| Progress::UnderWay {
        started_date: None,
        workshop: Some(name("workshops/shed")),
        actual_hours,
        remaining_hours: None,
    };
    record.jobs.get_mut(&name("jobs/j1")).unwrap().progress = under_way(Some(3.0));
    let shop = planned(&record, &departure);
    assert!(shop.plan.jobs[0].in_progress);
    let left = shop.plan.jobs[0].work_hours;
    assert_eq!((left.optimistic, left.likely, left.pessimistic), (0.0, 1.0, 5.0));
    // The one bay is taken: the second waits, and the plan says so.
    record.jobs.get_mut(&name("jobs/j3")).unwrap().progress = under_way(None);
    let shop = planned(&record, &departure);
    assert!(shop.plan.jobs[0].in_progress && !shop.plan.jobs[2].in_progress);
    assert!(
        shop.notes
            .iter()
            .any(|note| note.contains("j3 is under way, but")),
        "{:?}",
        shop.notes
    );
    shop.plan.project().unwrap().compile().unwrap();
    // More was spent than the estimate allows: what is left only people know.
    record.jobs.get_mut(&name("jobs/j1")).unwrap().progress = under_way(Some(9.0));
    assert!(missing(&record, &departure)[0].contains("hours left of job j1"));
}

#[test]
fn people_with_the_same_skills_are_one_resource() {
    let (mut record, departure) = shop();
    record.jobs.get_mut(&name("jobs/j1")).unwrap().skills = vec![id("welding")];
    let shop = planned(&record, &departure);
    let people: Vec<u32> = shop
        .plan
        .resources
        .iter()
        .map(|resource| resource.capacity)
        .collect();
    assert_eq!(people, [1, 2], "one bay, two people");
    assert_eq!(shop.plan.jobs[0].needs.len(), 2);
}

#[test]
fn what_comes_before_on_another_vehicle_is_in_the_plan() {
    let (mut record, departure) = shop();
    let mut other = job("j0", &[]);
    other.vehicles = vec![name("vehicles/elsewhere")];
    record.jobs.insert(other.name.clone(), other);
    assert_eq!(
        planned(&record, &departure).plan.jobs.len(),
        3,
        "nobody waits for it"
    );
    record.jobs.get_mut(&name("jobs/j1")).unwrap().after = vec![name("jobs/j0")];
    assert_eq!(planned(&record, &departure).plan.jobs.len(), 4);
}
