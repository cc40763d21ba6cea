//! Jobs: how far they are, and that none comes after itself.

use ostler_proto::v1;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tonic::Code;

use crate::fixture::{self, FLEET, KINDS, VEHICLE};
use crate::messages::request;

const HOURS: [f64; 3] = [1.0, 2.0, 4.0];

fn hours([optimistic_hours, likely_hours, pessimistic_hours]: [f64; 3]) -> v1::WorkHours {
    v1::WorkHours {
        optimistic_hours,
        likely_hours,
        pessimistic_hours,
    }
}

/// Makes a job that comes after others.
async fn make(client: &Client, id: &str, after: &[&str]) -> Result<v1::Job, tonic::Status> {
    let job = v1::Job {
        display_name: id.to_owned(),
        vehicles: vec![VEHICLE.to_owned()],
        work_hours: Some(hours(HOURS)),
        after: after.iter().map(|id| format!("{FLEET}/jobs/{id}")).collect(),
        ..Default::default()
    };
    let request = v1::CreateJobRequest {
        parent: FLEET.to_owned(),
        job_id: id.to_owned(),
        job: Some(job),
        ..Default::default()
    };
    client.ask(request).await
}

fn start(id: &str) -> v1::StartJobRequest {
    v1::StartJobRequest {
        name: format!("{FLEET}/jobs/{id}"),
        started_date: "2027-02-03".to_owned(),
        ..Default::default()
    }
}

fn report(id: &str, actual_hours: f64, left: Option<[f64; 3]>) -> v1::ReportJobRequest {
    v1::ReportJobRequest {
        name: format!("{FLEET}/jobs/{id}"),
        actual_hours,
        remaining_hours: left.map(hours),
        ..Default::default()
    }
}

fn complete(id: &str, done_date: &str) -> v1::CompleteJobRequest {
    v1::CompleteJobRequest {
        name: format!("{FLEET}/jobs/{id}"),
        done_date: done_date.to_owned(),
        ..Default::default()
    }
}

on_both_databases! {
    async fn a_job_goes_from_to_do_to_done_and_back(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let made = make(&admin, "a", &[]).await.unwrap();
        assert_eq!(made.state(), v1::JobState::ToDo);
        let early = refused(admin.ask::<v1::Job>(report("a", 1.0, None)).await);
        assert_eq!((early.code, early.reason.as_str()), (Code::FailedPrecondition, "WRONG_STATE"));

        let begun: v1::Job = admin.ask(start("a")).await.unwrap();
        assert_eq!((begun.state(), begun.started_date.as_str()), (v1::JobState::UnderWay, "2027-02-03"));
        assert_eq!(refused(admin.ask::<v1::Job>(start("a")).await).reason, "WRONG_STATE");
        let reported: v1::Job = admin.ask(report("a", 1.5, None)).await.unwrap();
        assert_eq!(reported.actual_hours, Some(1.5));
        // The estimate says 4 hours at most: what is left after 5 only people know.
        let beyond = refused(admin.ask::<v1::Job>(report("a", 5.0, None)).await);
        assert_eq!((beyond.code, beyond.fields()), (Code::InvalidArgument, vec!["remaining_hours"]));
        admin.ask::<v1::Job>(report("a", 5.0, Some([1.0, 1.0, 2.0]))).await.unwrap();

        let before = refused(admin.ask::<v1::Job>(complete("a", "2027-02-02")).await);
        assert_eq!(before.fields(), ["done_date"]);
        let done: v1::Job = admin.ask(complete("a", "2027-02-04")).await.unwrap();
        assert_eq!((done.state(), done.actual_hours, done.remaining_hours), (v1::JobState::Done, Some(5.0), None));
        assert_eq!(refused(admin.ask::<v1::Job>(complete("a", "2027-02-04")).await).reason, "WRONG_STATE");

        let reopen = v1::ReopenJobRequest { name: done.name.clone(), ..Default::default() };
        let again: v1::Job = admin.ask(reopen.clone()).await.unwrap();
        let bare = v1::Job { etag: again.etag.clone(), update_time: again.update_time, ..made };
        assert_eq!(again, bare, "as it was made");
        assert_eq!(refused(admin.ask::<v1::Job>(reopen).await).reason, "WRONG_STATE");
        server.stop().await;
    }

    async fn no_job_comes_after_itself(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        make(&admin, "a", &[]).await.unwrap();
        make(&admin, "b", &["a"]).await.unwrap();
        make(&admin, "c", &["b"]).await.unwrap();
        let update = |id: &str, after: &str| v1::UpdateJobRequest {
            job: Some(v1::Job {
                name: format!("{FLEET}/jobs/{id}"),
                after: vec![format!("{FLEET}/jobs/{after}")],
                ..Default::default()
            }),
            ..Default::default()
        };
        for (id, after, circle) in [("a", "c", "a, b, c"), ("b", "b", "b")] {
            let refusal = refused(admin.ask::<v1::Job>(update(id, after)).await);
            assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["job.after"]));
            assert!(refusal.violations[0].1.ends_with(circle), "{:?}", refusal.violations);
        }
        admin.ask::<v1::Job>(update("c", "a")).await.unwrap();

        let file = "fleet_file: 1\nfleet: {id: other, display_name: other}\njobs:\n  \
                    a: {display_name: a, after: [b]}\n  b: {display_name: b, after: [a]}\n  c: {display_name: c, after: [a]}\n";
        let refusal = refused(crate::demo::import(&admin, file).await);
        assert_eq!(refusal.fields(), ["jobs.a.after", "jobs.b.after"]);
        server.stop().await;
    }

    async fn what_a_job_needs_goes_together(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let job = KINDS.iter().find(|kind| kind.word == "Job").unwrap();
        let workshop = KINDS.iter().find(|kind| kind.word == "Workshop").unwrap();
        workshop.make(&admin, "yard").await;
        workshop.make(&admin, "shed").await;
        for (fields, path) in [
            (json!({"whole_fleet": true}), "job.vehicles"),
            (json!({"skills": ["welding"]}), "job.skills"),
            (json!({"workshops": ["fleets/shed/workshops/yard"], "without_bay": true}), "job.without_bay"),
            (json!({"earliest_date": "2027-03-02", "latest_date": "2027-03-01"}), "job.latest_date"),
            (json!({"work_hours": {"optimistic_hours": 3.0, "likely_hours": 2.0, "pessimistic_hours": 4.0}}), "job.work_hours.likely_hours"),
        ] {
            let mut kind = job.clone();
            kind.body.as_object_mut().unwrap().extend(fields.as_object().unwrap().clone());
            let refusal = refused(admin.call(&kind.create_request("x", json!({}))).await);
            assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec![path]), "{fields}");
        }
        for (shifts, said) in [
            (json!([["08:00", "16:00"], ["15:00", "18:00"]]), "overlap"),
            (json!([["16:00", "08:00"]]), "end after"),
        ] {
            let shifts: Vec<_> = shifts.as_array().unwrap().iter().map(|pair| {
                json!({"weekday": "WEEKDAY_FRIDAY", "start_time_of_day": pair[0], "end_time_of_day": pair[1]})
            }).collect();
            let change = json!({"name": "fleets/shed/workshops/yard", "working_calendar": {"weekly_shifts": shifts}});
            let refusal = refused(admin.call(&request("UpdateWorkshop", json!({"workshop": change}))).await);
            assert_eq!(refusal.fields(), ["workshop.working_calendar.weekly_shifts"]);
            assert!(refusal.violations[0].1.contains(said), "{:?}", refusal.violations);
        }
        // A night shift ends at midnight, and a job that several workshops could do says where it begins.
        let night = json!([{"weekday": "WEEKDAY_FRIDAY", "start_time_of_day": "22:00", "end_time_of_day": "00:00"}]);
        let change = json!({"name": "fleets/shed/workshops/yard", "working_calendar": {"weekly_shifts": night}});
        admin.call(&request("UpdateWorkshop", json!({"workshop": change}))).await.unwrap();
        let mut kind = job.clone();
        kind.body["workshops"] = json!(["fleets/shed/workshops/yard", "fleets/shed/workshops/shed"]);
        kind.make(&admin, "a").await;
        assert_eq!(refused(admin.ask::<v1::Job>(start("a")).await).fields(), ["workshop"]);
        let there = v1::StartJobRequest { workshop: "fleets/shed/workshops/shed".to_owned(), ..start("a") };
        let begun: v1::Job = admin.ask(there).await.unwrap();
        assert_eq!(begun.started_workshop, "fleets/shed/workshops/shed");
        server.stop().await;
    }
}
