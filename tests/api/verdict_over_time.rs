//! How a verdict changes: as it comes, and between two moments.

use std::time::Duration;

use ostler_proto::v1;
use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use prost_types::Timestamp;
use tonic::{Code, Request, Streaming};

use crate::demo::{self, DEPARTURE, FLEET};

async fn watch(server: &Server, resume_token: &str) -> Streaming<v1::ReadinessChange> {
    let mut request = Request::new(v1::WatchReadinessRequest {
        departure: DEPARTURE.into(),
        resume_token: resume_token.into(),
        ..Default::default()
    });
    let bearer = server.admin().bearer().unwrap();
    request.metadata_mut().insert("authorization", bearer);
    let mut client = ReadinessServiceClient::new(server.channel());
    client.watch_readiness(request).await.unwrap().into_inner()
}

async fn next(changes: &mut Streaming<v1::ReadinessChange>) -> v1::ReadinessChange {
    let next = tokio::time::timeout(Duration::from_secs(60), changes.message()).await;
    next.expect("a change comes")
        .unwrap()
        .expect("the stream goes on")
}

/// Takes the load off the rear axle of v2 that is over, or puts it back.
async fn stow_spares(client: &Client, vehicle: &str, zone: &str) {
    for item in ["c047", "c048"] {
        let request = v1::UpdateCargoItemRequest {
            cargo_item: Some(v1::CargoItem {
                name: demo::name(&format!("cargoItems/{item}")),
                vehicle: vehicle.into(),
                zone: zone.into(),
                ..Default::default()
            }),
            update_mask: Some(prost_types::FieldMask {
                paths: vec!["vehicle".into(), "zone".into()],
            }),
            ..Default::default()
        };
        client.ask::<v1::CargoItem>(request).await.unwrap();
    }
}

fn axles(change: &v1::ReadinessChange) -> Option<(v1::Answer, v1::Answer)> {
    let vehicle = demo::name("vehicles/v2");
    let gate = change
        .gates
        .iter()
        .find(|gate| gate.vehicle == vehicle && gate.gate == "axles")?;
    Some((gate.before(), gate.after()))
}

/// Waits for the change of the axles of v2; changes of other gates may come before.
async fn until_axles_change(
    changes: &mut Streaming<v1::ReadinessChange>,
) -> (v1::ReadinessChange, v1::Answer, v1::Answer) {
    loop {
        let change = next(changes).await;
        if let Some((before, after)) = axles(&change) {
            return (change, before, after);
        }
    }
}

async fn now(client: &Client) -> Timestamp {
    let request = v1::ListHistoryRequest {
        parent: FLEET.into(),
        page_size: 1,
        ..Default::default()
    };
    let history: v1::ListHistoryResponse = client.ask(request).await.unwrap();
    history.entries[0].change_time.unwrap()
}

on_both_databases! {
    async fn changes_are_seen_from_any_server_and_after_a_break(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let other = server.another(database).await;
        let mut changes = watch(&other, "").await;
        let first = next(&mut changes).await;
        let readiness = demo::readiness(&admin).await;
        let every = readiness.vehicles.iter().map(|own| own.gates.len()).sum::<usize>() + readiness.gates.len();
        assert_eq!(first.gates.len(), every, "the first message has every gate");
        assert_eq!(axles(&first), Some((v1::Answer::Unspecified, v1::Answer::NotMet)));

        stow_spares(&admin, "", "").await;
        let (relieved, before, after) = until_axles_change(&mut changes).await;
        assert_eq!(before, v1::Answer::NotMet);
        assert_ne!(after, v1::Answer::NotMet);
        drop(changes);

        // While nobody listens it changes back; who goes on from the last message hears of it, from either server.
        stow_spares(&admin, &demo::name("vehicles/v2"), "canopy-front").await;
        for on in [&server, &other] {
            let mut changes = watch(on, &relieved.resume_token).await;
            let (_, _, again) = until_axles_change(&mut changes).await;
            assert_eq!(again, v1::Answer::NotMet);
        }
        let mut quiet = watch(&other, &first.resume_token).await;
        let nothing = tokio::time::timeout(Duration::from_millis(700), quiet.message()).await;
        assert!(nothing.is_err(), "nothing differs from the first message");

        let wrong = v1::WatchReadinessRequest {
            departure: DEPARTURE.into(),
            vehicle: demo::name("vehicles/v2"),
            resume_token: first.resume_token,
        };
        let refusal = refused(admin.ask_all::<v1::ReadinessChange>(wrong).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "RESUME_TOKEN_INVALID"));
        drop(quiet);
        other.stop().await;
        server.stop().await;
    }

    async fn two_moments_are_held_against_each_other(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let imported = now(&admin).await;
        let before = demo::readiness(&admin).await;
        stow_spares(&admin, "", "").await;
        let after = demo::readiness(&admin).await;
        let request = v1::CompareReadinessRequest {
            departure: DEPARTURE.into(),
            before_time: Some(imported),
            after_time: None,
        };
        let compared: v1::CompareReadinessResponse = admin.ask(request.clone()).await.unwrap();
        assert_eq!((compared.verdict_before, compared.verdict_after), (before.verdict, after.verdict));
        assert_eq!(compared.changes.len(), 2, "two things were moved");
        assert!(compared.changes.iter().all(|entry| entry.actor == "admin" && entry.resource.contains("cargoItems/c04")));
        let vehicle = demo::name("vehicles/v2");
        let own = |readiness: &v1::Readiness, id: &str| {
            let found = readiness.vehicles.iter().find(|own| own.vehicle == vehicle).unwrap();
            found.gates.iter().find(|gate| gate.id == id).unwrap().clone()
        };
        let axles = compared.gates.iter().find(|gate| gate.vehicle == vehicle && gate.gate == "axles").unwrap();
        assert_eq!(axles.before.as_ref(), Some(&own(&before, "axles")));
        assert_eq!(axles.after.as_ref(), Some(&own(&after, "axles")));

        let long_ago = Timestamp { seconds: 1_000_000_000, nanos: 0 };
        let from_nothing = v1::CompareReadinessRequest { before_time: Some(long_ago), ..request.clone() };
        let compared: v1::CompareReadinessResponse = admin.ask(from_nothing).await.unwrap();
        assert_eq!(compared.verdict_before(), v1::Verdict::Unspecified);
        assert!(compared.gates.iter().all(|gate| gate.before.is_none()));
        let backwards = v1::CompareReadinessRequest { after_time: Some(long_ago), ..request };
        let refusal = refused(admin.ask::<v1::CompareReadinessResponse>(backwards).await);
        assert_eq!(refusal.fields(), ["after_time"]);
        server.stop().await;
    }

    async fn a_known_version_is_answered_shortly(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let whole = demo::readiness(&admin).await;
        let request = v1::GetReadinessRequest {
            departure: DEPARTURE.into(),
            vehicle: String::new(),
            known_version: whole.record_version.clone(),
            view: v1::ReadinessView::Whole.into(),
        };
        let short: v1::Readiness = admin.ask(request.clone()).await.unwrap();
        assert!(short.unchanged && short.vehicles.is_empty() && short.gates.is_empty());
        assert_eq!((short.verdict, &short.record_version), (whole.verdict, &whole.record_version));
        stow_spares(&admin, "", "").await;
        let changed: v1::Readiness = admin.ask(request).await.unwrap();
        assert!(!changed.unchanged && !changed.vehicles.is_empty());
        assert_ne!(changed.record_version, whole.record_version);
        server.stop().await;
    }

    /// Each view leaves out of the one before what it says, and changes nothing else.
    async fn a_view_leaves_out_what_it_says(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let mut expected = demo::readiness(&admin).await;
        let request = v1::GetReadinessRequest { departure: DEPARTURE.into(), ..Default::default() };
        let viewed = async |view: v1::ReadinessView| {
            let request = v1::GetReadinessRequest { view: view.into(), ..request.clone() };
            admin.ask::<v1::Readiness>(request).await.unwrap()
        };
        assert_eq!(viewed(v1::ReadinessView::Whole).await, expected);
        assert!(!expected.first_steps.is_empty());
        expected.first_steps.clear();
        let vehicles = expected.vehicles.iter_mut().flat_map(|vehicle| &mut vehicle.gates);
        vehicles.chain(&mut expected.gates).for_each(|gate| gate.findings.clear());
        assert_eq!(viewed(v1::ReadinessView::Answers).await, expected);
        expected.gates.clear();
        expected.vehicles.iter_mut().for_each(|vehicle| vehicle.gates.clear());
        assert_eq!(viewed(v1::ReadinessView::Verdicts).await, expected);
        // Who knows the state of the record gets the short answer in any view.
        let known = v1::GetReadinessRequest {
            known_version: expected.record_version.clone(),
            view: v1::ReadinessView::Verdicts.into(),
            ..request.clone()
        };
        let short: v1::Readiness = admin.ask(known).await.unwrap();
        assert!(short.unchanged && short.vehicles.is_empty());
        server.stop().await;
    }
}
