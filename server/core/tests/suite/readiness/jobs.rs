//! Jobs and schedule: all four answers, and what is taken away is not known.

use ostler_core::answer::Answer;
use ostler_core::plan::three_point::ThreePoint;
use ostler_core::record::{Departure, Progress, Record};

use super::fixture::{answer, gate, of, worst};
use crate::builder::{date, id, name};
use crate::plan::shop::shop;

fn answers(record: &Record, departure: &Departure) -> (Answer, Answer) {
    let readiness = of(record, departure);
    (answer(&readiness, "jobs"), answer(&readiness, "schedule"))
}

#[test]
fn open_jobs_planned_in_time_are_a_condition_and_the_chance_is_met() {
    let (record, departure) = shop();
    assert_eq!(
        answers(&record, &departure),
        (Answer::MetWithConditions, Answer::Met)
    );
    let readiness = of(&record, &departure);
    let finding = worst(&readiness, "jobs");
    assert!(
        finding
            .text
            .starts_with("mechanical: 0 of 3 jobs done, the last is planned"),
        "{}",
        finding.text
    );
    assert_eq!(finding.records.len(), 3);
    let figure = &worst(&readiness, "schedule").figures[0];
    assert_eq!(
        (figure.value, figure.limit),
        (1.0, Some(0.8)),
        "eight weeks for three short jobs"
    );
}

#[test]
fn jobs_that_are_done_meet_both() {
    let (mut record, departure) = shop();
    for job in record.jobs.values_mut() {
        job.progress = Progress::Done {
            done_date: None,
            actual_hours: None,
        };
    }
    assert_eq!(answers(&record, &departure), (Answer::Met, Answer::Met));
}

#[test]
fn a_plan_beyond_the_departure_meets_neither() {
    let (record, mut departure) = shop();
    departure.departure_date = date("2027-04-04");
    assert_eq!(answers(&record, &departure), (Answer::NotMet, Answer::NotMet));
}

#[test]
fn what_is_not_ordered_is_a_condition_of_the_chance() {
    let (mut record, departure) = shop();
    record
        .awaited_parts
        .get_mut(&name("awaitedParts/bolts"))
        .unwrap()
        .ordered_date = None;
    let schedule = gate(&of(&record, &departure), "schedule");
    assert_eq!(schedule.answer, Answer::MetWithConditions);
    assert_eq!(schedule.findings[0].remedy, "order it");
    // Ordered long ago and still not there: nobody knows when it comes.
    record
        .awaited_parts
        .get_mut(&name("awaitedParts/bolts"))
        .unwrap()
        .ordered_date = Some(date("2027-01-01"));
    let schedule = gate(&of(&record, &departure), "schedule");
    assert_eq!(schedule.answer, Answer::MetWithConditions);
    assert!(
        schedule.findings[0].text.contains("overdue"),
        "{}",
        schedule.findings[0].text
    );
}

#[test]
fn a_chance_near_the_threshold_is_doubtful() {
    let (mut record, mut departure) = shop();
    // One job alone decides: as likely ready as not by its mean, with a wide spread.
    record.jobs.retain(|name, _| name.id() == "j1");
    let job = record.jobs.get_mut(&name("jobs/j1")).unwrap();
    job.work_hours = Some(ThreePoint {
        optimistic: 0.0,
        likely: 200.0,
        pessimistic: 400.0,
    });
    // 25 days of 8 h are the mean: in the fifth week from the start.
    departure.departure_date = date("2027-05-01");
    let chance = worst(&of(&record, &departure), "schedule").figures[0].value;
    assert!(chance > 0.3 && chance < 0.7, "{chance}");
    departure.policy.ready_chance_min = Some(chance);
    assert_eq!(answers(&record, &departure).1, Answer::MetWithConditions);
    departure.policy.ready_chance_min = Some(chance + 0.001);
    assert_eq!(answers(&record, &departure).1, Answer::NotMet);
}

#[test]
fn every_input_taken_away_is_not_known() {
    type Forget = fn(&mut Record, &mut Departure);
    let both: [Forget; 5] = [
        |record, _| record.jobs.get_mut(&name("jobs/j3")).unwrap().work_hours = None,
        |record, _| {
            record
                .workshops
                .get_mut(&name("workshops/shed"))
                .unwrap()
                .bay_count = None
        },
        |record, _| {
            record
                .workshops
                .get_mut(&name("workshops/shed"))
                .unwrap()
                .working_calendar = None
        },
        |record, _| {
            record
                .awaited_parts
                .get_mut(&name("awaitedParts/bolts"))
                .unwrap()
                .lead_time_days = None
        },
        |record, _| record.jobs.clear(),
    ];
    for (index, forget) in both.into_iter().enumerate() {
        let (mut record, mut departure) = shop();
        forget(&mut record, &mut departure);
        assert_eq!(
            answers(&record, &departure),
            (Answer::NotKnown, Answer::NotKnown),
            "{index}"
        );
        assert!(!worst(&of(&record, &departure), "schedule").missing.is_empty());
    }
    let (record, mut departure) = shop();
    departure.policy.ready_chance_min = None;
    assert_eq!(
        answers(&record, &departure),
        (Answer::MetWithConditions, Answer::NotKnown)
    );
    let (mut record, departure) = shop();
    record.jobs.get_mut(&name("jobs/j1")).unwrap().stage = Some(id("dreaming"));
    assert_eq!(answers(&record, &departure).0, Answer::NotKnown);
    record.fleet.stages = vec![id("mechanical"), id("dreaming")];
    assert_eq!(answers(&record, &departure).0, Answer::MetWithConditions);
}
