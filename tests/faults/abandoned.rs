//! Callers that went away: what was asked for ends, and what was begun is done or is not.

use std::time::{Duration, Instant};

use ostler_proto::v1::part_service_client::PartServiceClient;
use ostler_proto::v1::plan_service_client::PlanServiceClient;
use ostler_proto::v1::{ComputeChanceRequest, CreatePartRequest, GetPartRequest, Part};
use ostler_tests::process::{Launch, Server, admin_token};
use tonic::{Code, Request};

use crate::record;
use crate::writes::FLEET;

const DEMO: &[u8] = include_bytes!("../../server/demo/orrin.yaml");
const DEPARTURE: &str = "fleets/orrin/departures/crossing-2027";

/// How long work that nobody waits for may go on.
const PATIENCE: Duration = Duration::from_secs(20);

/// Ticks of processor time that the server has used, from fields 14 and 15 of `/proc/PID/stat` (proc(5)).
fn ticks(server: &Server) -> u64 {
    let stat = std::fs::read_to_string(format!("/proc/{}/stat", server.process_id())).unwrap();
    let after_name = stat.rsplit_once(')').unwrap().1;
    let mut fields = after_name.split_whitespace().skip(11);
    (0..2)
        .map(|_| fields.next().unwrap().parse::<u64>().unwrap())
        .sum()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn long_work_ends_when_its_caller_goes() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let channel = server.authorized(&admin_token(folder.path())).await.unwrap();
    record::import_file(&channel, DEMO.to_vec()).await;

    // As many samples as one may ask for: minutes of work on every processor.
    let request = ComputeChanceRequest {
        departure: DEPARTURE.to_owned(),
        sample_count: 10_000_000,
        ..Default::default()
    };
    let mut answers = PlanServiceClient::new(channel)
        .compute_chance(request)
        .await
        .unwrap()
        .into_inner();
    let first = answers.message().await.unwrap().unwrap();
    assert!(!first.last, "the work is under way");
    let before = ticks(&server);
    tokio::time::sleep(Duration::from_secs(1)).await;
    assert!(ticks(&server) > before, "and is seen from outside");
    drop(answers);

    // A server at rest uses less than a tenth of a processor: 10 of the 100 ticks of a second.
    let gone = Instant::now();
    loop {
        let before = ticks(&server);
        tokio::time::sleep(Duration::from_secs(1)).await;
        if ticks(&server) - before < 10 {
            break;
        }
        assert!(gone.elapsed() < PATIENCE, "the work goes on for nobody");
    }
}

/// A part of the fleet of the faults, under an id of its own.
fn part(number: usize) -> CreatePartRequest {
    CreatePartRequest {
        parent: FLEET.to_owned(),
        part_id: format!("late-{number}"),
        part: Some(Part {
            display_name: "Late".to_owned(),
            kind: "seal".to_owned(),
            ..Default::default()
        }),
        request_id: format!("7d3c1b52-0000-4000-8000-{number:012}"),
        ..Default::default()
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_write_past_its_deadline_is_done_or_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let channel = server.authorized(&admin_token(folder.path())).await.unwrap();
    record::import(&channel).await;
    let before = record::history(&channel, 0).await.last().unwrap().sequence;
    let mut service = PartServiceClient::new(channel.clone());
    let (mut answered, mut late) = (0, 0);
    for number in 0..200 {
        // From nothing to a second, slowly growing at first, so that deadlines fall into every moment of the work, and the last are
        // enough on any machine.
        let mut request = Request::new(part(number));
        request.set_timeout(Duration::from_micros(25 * (number * number) as u64));
        match service.create_part(request).await {
            Ok(_) => answered += 1,
            Err(status) => {
                assert!(
                    matches!(status.code(), Code::DeadlineExceeded | Code::Cancelled),
                    "{status:?}"
                );
                late += 1;
                continue;
            }
        }
        let name = format!("{FLEET}/parts/late-{number}");
        service.get_part(GetPartRequest { name }).await.unwrap();
    }
    assert!(answered > 0 && late > 0, "{answered} answered, {late} late");

    // Asked again under the same id, each is done once, whatever became of it before.
    for number in 0..200 {
        let made = service.create_part(part(number)).await.unwrap().into_inner();
        assert_eq!(made.name, format!("{FLEET}/parts/late-{number}"));
    }
    let entries = record::history(&channel, before).await;
    assert_eq!((entries.len(), record::requests(&entries)), (200, 200));
}
