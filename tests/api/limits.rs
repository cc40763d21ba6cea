//! What a server takes on, and what it says to the rest.

use std::time::Duration;

use ostler_proto::v1::{self, readiness_service_client::ReadinessServiceClient};
use ostler_server::limits::Limits;
use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use tonic::{Code, Request, Status, Streaming};
use tonic_types::StatusExt as _;

use crate::demo;

async fn watch(server: &Server) -> Result<Streaming<v1::ReadinessChange>, Status> {
    let mut request = Request::new(v1::WatchReadinessRequest {
        departure: demo::DEPARTURE.into(),
        ..Default::default()
    });
    let bearer = server.admin().bearer().expect("the admin has a token");
    request.metadata_mut().insert("authorization", bearer);
    let mut client = ReadinessServiceClient::new(server.channel());
    Ok(client.watch_readiness(request).await?.into_inner())
}

on_both_databases! {
    async fn a_token_that_calls_too_often_is_told_when_to_come_again(database: &Database) {
        let server = Server::told(database, |config| {
            config.limits = Limits { calls_per_second: 5, ..Limits::default() };
        })
        .await;
        let (admin, other) = (server.admin(), server.add_token("other", v1::Role::Reader).await);
        let mut refused = None;
        for _ in 0..40 {
            if let Err(status) = admin.ask::<v1::ListFleetsResponse>(v1::ListFleetsRequest::default()).await {
                refused = Some(status);
                break;
            }
        }
        let status = refused.expect("forty calls at once are more than ten");
        assert_eq!(status.code(), Code::ResourceExhausted);
        let details = status.get_error_details();
        assert_eq!(details.error_info().unwrap().reason, "CALLED_TOO_OFTEN");
        let pause = details.retry_info().unwrap().retry_delay.unwrap();
        assert!(pause <= Duration::from_secs(1), "{pause:?}");
        // Another token is not held up, and after the pause this one is let in again.
        let _: v1::ListFleetsResponse = other.ask(v1::ListFleetsRequest::default()).await.unwrap();
        tokio::time::sleep(pause).await;
        let _: v1::ListFleetsResponse = admin.ask(v1::ListFleetsRequest::default()).await.unwrap();
        server.stop().await;
    }
}

on_both_databases! {
    async fn a_stream_is_one_until_it_ends(database: &Database) {
        let server = Server::told(database, |config| {
            config.limits = Limits { streams_in_flight: 1, ..Limits::default() };
        })
        .await;
        let admin = server.admin();
        demo::import(&admin, demo::FILE).await.unwrap();
        let first = watch(&server).await.unwrap();
        let status = watch(&server).await.expect_err("one watch is all there may be");
        assert_eq!(status.get_error_details().error_info().unwrap().reason, "TOO_MUCH_AT_ONCE");
        // It does not keep its token from asking, and its place is free once it is given up.
        let _: v1::ListFleetsResponse = admin.ask(v1::ListFleetsRequest::default()).await.unwrap();
        drop(first);
        for attempt in 0.. {
            match watch(&server).await {
                Ok(_) => break,
                Err(status) if attempt == 100 => panic!("{status}"),
                Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
            }
        }
        server.stop().await;
    }
}

on_both_databases! {
    async fn what_is_too_large_is_refused_before_it_is_read(database: &Database) {
        const MIB: usize = 1024 * 1024;
        let server = Server::start(database).await;
        let admin = server.admin();
        let import = |bytes: usize| v1::ImportFleetRequest { fleet_file: vec![b'#'; bytes], ..Default::default() };

        // A file over its own limit is a fault of the field.
        let refusal = refused(admin.ask_all::<v1::ImportFleetResponse>(import(8 * MIB + 1)).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["fleet_file"]));
        // A message over the limit of all is not taken in, so nobody looks at its fields; the connection stays good.
        let status = admin.ask_all::<v1::ImportFleetResponse>(import(9 * MIB + 1)).await.expect_err("9 MiB is all");
        assert_eq!(status.code(), Code::OutOfRange, "{status:?}");
        let _: v1::ListFleetsResponse = admin.ask(v1::ListFleetsRequest::default()).await.unwrap();
        server.stop().await;
    }
}
