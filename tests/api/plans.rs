//! Plans of the demo departure and their chances.

use std::collections::BTreeMap;

use ostler_proto::v1;
use ostler_proto::v1::compute_plan_response::Step;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo::{self, DEPARTURE, name};

fn plan_request() -> v1::ComputePlanRequest {
    v1::ComputePlanRequest {
        departure: DEPARTURE.to_owned(),
        // Whatever day it is where the tests run.
        start_date: "2027-03-29".to_owned(),
        time_limit_s: 60.0,
        schedules_max: 2_000,
        seed: 1,
        replan_freely: false,
        formats: Vec::new(),
        page_size: 0,
    }
}

async fn plan(client: &Client, request: v1::ComputePlanRequest) -> v1::BuildPlan {
    let mut steps: Vec<v1::ComputePlanResponse> = client.ask_all(request).await.unwrap();
    let last = steps.pop().unwrap().step;
    assert!(
        steps
            .iter()
            .all(|step| matches!(step.step, Some(Step::Progress(_))))
    );
    match last {
        Some(Step::Plan(plan)) => plan,
        other => panic!("a plan ends with {other:?}"),
    }
}

async fn chance(client: &Client, sample_count: i64, gains: bool) -> v1::PlanChance {
    let request = v1::ComputeChanceRequest {
        departure: DEPARTURE.to_owned(),
        start_date: "2027-03-29".to_owned(),
        sample_count,
        seed: 1,
        gains,
        arrival_chance: None,
    };
    let steps: Vec<v1::ComputeChanceResponse> = client.ask_all(request).await.unwrap();
    let (last, before) = steps.split_last().unwrap();
    assert!(last.last && before.iter().all(|step| !step.last));
    last.chance.clone().unwrap()
}

on_both_databases! {
    async fn the_demo_is_planned_and_the_plan_keeps_to_the_record(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let plan = plan(&admin, plan_request()).await;
        assert_eq!(plan.missing, Vec::<String>::new());
        assert_eq!(plan.jobs.len(), 40);
        assert!(plan.finish_civil_time < plan.ready_by_civil_time, "{}", plan.finish_civil_time);
        assert!(plan.bound_civil_time <= plan.finish_civil_time);
        // Confirming the fuel drums ends last: they take five weeks from the day on which they are taken to be ordered.
        let last = plan.jobs.iter().max_by(|left, right| left.finish_civil_time.cmp(&right.finish_civil_time)).unwrap();
        assert_eq!((last.job.as_str(), last.critical), (name("jobs/j37").as_str(), true));
        let planned: BTreeMap<&str, &v1::PlannedJob> = plan.jobs.iter().map(|job| (job.job.as_str(), job)).collect();
        let list = v1::ListJobsRequest { parent: demo::FLEET.to_owned(), page_size: 100, ..Default::default() };
        let v1::ListJobsResponse { jobs, .. } = admin.ask(list).await.unwrap();
        for job in &jobs {
            let own = planned[job.name.as_str()];
            assert_eq!(own.workshop, job.workshops[0], "{}", job.name);
            for before in &job.after {
                assert!(planned[before.as_str()].finish_civil_time <= own.start_civil_time, "{} {before}", job.name);
            }
        }
        // The first workshop has one bay.
        let mut there: Vec<_> = plan.jobs.iter().filter(|job| job.workshop == name("workshops/w1")).collect();
        there.sort_by(|left, right| left.start_civil_time.cmp(&right.start_civil_time));
        assert!(there.windows(2).all(|pair| pair[0].finish_civil_time <= pair[1].start_civil_time));
        // The engineer comes on Mondays from 2027-04-26 on.
        assert!(planned[name("jobs/j11").as_str()].start_civil_time.as_str() >= "2027-04-26T08:00");
        server.stop().await;
    }

    async fn an_adopted_plan_stays_after_a_small_change(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let first = plan(&admin, plan_request()).await;
        assert_eq!(first.exchanged_pairs_count, None, "none was adopted");
        let adopted = v1::Departure {
            name: DEPARTURE.to_owned(),
            job_order: first.job_order.clone(),
            ..Default::default()
        };
        let update = v1::UpdateDepartureRequest { departure: Some(adopted), ..Default::default() };
        admin.ask::<v1::Departure>(update).await.unwrap();
        let again = plan(&admin, plan_request()).await;
        assert_eq!((again.exchanged_pairs_count, &again.job_order), (Some(0), &first.job_order));

        let done = v1::CompleteJobRequest {
            name: name("jobs/j29"),
            done_date: "2027-03-29".to_owned(),
            ..Default::default()
        };
        admin.ask::<v1::Job>(done).await.unwrap();
        let after = plan(&admin, plan_request()).await;
        assert_eq!(after.jobs.len(), 39);
        let rest: Vec<_> = first.job_order.iter().filter(|id| *id != "j29").collect();
        assert_eq!(after.job_order.iter().collect::<Vec<_>>(), rest);
        let freely = plan(&admin, v1::ComputePlanRequest { replan_freely: true, ..plan_request() }).await;
        assert_eq!(freely.exchanged_pairs_count, None);
        server.stop().await;
    }

    async fn what_a_plan_is_missing_is_said(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let job = v1::Job { name: name("jobs/j06"), ..Default::default() };
        let update = v1::UpdateJobRequest {
            job: Some(job),
            update_mask: Some(prost_types::FieldMask { paths: vec!["work_hours".to_owned()] }),
            ..Default::default()
        };
        admin.ask::<v1::Job>(update).await.unwrap();
        let plan = plan(&admin, plan_request()).await;
        assert!(plan.jobs.is_empty() && plan.finish_civil_time.is_empty());
        assert_eq!(plan.missing.len(), 1);
        assert!(plan.missing[0].contains("hours of job j06"), "{:?}", plan.missing);
        let chance = chance(&admin, 100, false).await;
        assert_eq!((chance.convoy, chance.missing), (None, plan.missing));
        server.stop().await;
    }

    async fn chances_come_as_they_are_sampled(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let chance_of = chance(&admin, 10_000, true).await;
        assert_eq!(chance_of.sample_count, 10_000);
        let convoy = chance_of.convoy.as_ref().unwrap();
        assert!(convoy.ready_chance > 0.9, "{}", convoy.ready_chance);
        assert!(convoy.ready_chance_low <= convoy.ready_chance && convoy.ready_chance <= convoy.ready_chance_high);
        for vehicle in &chance_of.vehicles {
            // The last jobs concern every vehicle: none is ready before all are.
            assert_eq!(vehicle.outcome.as_ref().unwrap().ready_chance, convoy.ready_chance);
        }
        let ordered = |id: &str| chance_of.awaited_parts.iter().find(|part| part.awaited_part == name(id)).unwrap();
        assert!(ordered("awaitedParts/pu5").assumed_ordered && !ordered("awaitedParts/pu2").assumed_ordered);
        assert!(ordered("awaitedParts/pu5").order_by_date.as_str() > "2027-03-29");
        assert_eq!(ordered("awaitedParts/pu7").order_by_date, "2027-04-05", "no order is taken later");
        assert!(!chance_of.gains.is_empty());
        assert!(chance_of.gains.windows(2).all(|pair| pair[0].mean_gain_hours >= pair[1].mean_gain_hours));
        assert_eq!(chance(&admin, 10_000, true).await, chance_of, "the same seed, the same chances");
        server.stop().await;
    }

    async fn a_plan_comes_as_files_where_they_are_asked_for(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let formats = [v1::PlanFormat::Csv, v1::PlanFormat::Icalendar, v1::PlanFormat::Svg, v1::PlanFormat::Pdf];
        let request = v1::ComputePlanRequest {
            formats: formats.iter().map(|format| (*format).into()).collect(),
            schedules_max: 50,
            ..plan_request()
        };
        let plan = plan(&admin, request.clone()).await;
        let text = |file: &v1::PlanFile| String::from_utf8(file.content.clone()).unwrap();
        let of = |format| plan.files.iter().filter(move |file| file.format() == format);
        let csv = text(of(v1::PlanFormat::Csv).next().unwrap());
        assert_eq!(csv.lines().count(), plan.jobs.len() + 1);
        let mut workshops: Vec<&str> = plan.jobs.iter().map(|job| job.workshop.as_str()).collect();
        workshops.sort_unstable();
        workshops.dedup();
        assert_eq!(of(v1::PlanFormat::Icalendar).count(), workshops.len());
        let events = of(v1::PlanFormat::Icalendar).map(|file| text(file).matches("BEGIN:VEVENT").count()).sum::<usize>();
        assert_eq!(events, plan.jobs.len());
        let svg = text(of(v1::PlanFormat::Svg).next().unwrap());
        assert!(svg.starts_with("<svg") && plan.jobs.iter().all(|job| !job.workshop.is_empty() || svg.contains("no workshop")));
        let pdf: Vec<&v1::PlanFile> = of(v1::PlanFormat::Pdf).collect();
        assert!(matches!(pdf.as_slice(), [file] if file.content.starts_with(b"%PDF") && file.media_type == "application/pdf"));
        let twice = v1::ComputePlanRequest { formats: vec![1, 1], ..request };
        let refusal = refused(admin.ask_all::<v1::ComputePlanResponse>(twice).await);
        assert_eq!(refusal.code, Code::InvalidArgument);
        server.stop().await;
    }

    async fn sampling_that_nobody_waits_for_ends(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let long = v1::ComputeChanceRequest {
            departure: DEPARTURE.to_owned(),
            start_date: "2027-03-29".to_owned(),
            sample_count: 10_000_000,
            ..Default::default()
        };
        // The caller goes away. Sampling that went on would keep this test's runtime from ending for minutes.
        let asked = admin.ask_all::<v1::ComputeChanceResponse>(long);
        let gone = tokio::time::timeout(std::time::Duration::from_millis(500), asked).await;
        assert!(gone.is_err(), "ten million samples in half a second");
        server.stop().await;
    }

    async fn an_unknown_departure_is_refused(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let unknown = v1::ComputePlanRequest { departure: name("departures/none"), ..plan_request() };
        let refusal = refused(admin.ask_all::<v1::ComputePlanResponse>(unknown).await);
        assert_eq!(refusal.code, Code::NotFound);
        server.stop().await;
    }
}
