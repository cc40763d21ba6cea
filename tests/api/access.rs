//! Who may call what.

use std::time::{Duration, Instant};

use ostler_proto::DESCRIPTOR_POOL;
use ostler_proto::v1::{self, Role};
use ostler_server::access::role_word;
use ostler_server::clock::{Clock, SystemClock};
use ostler_tests::client::{Client, Refusal, method, methods, path, refused};
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use prost_reflect::MethodDescriptor;
use tonic::Code;
use tonic_reflection::pb::v1::ServerReflectionRequest;
use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;

const ROLES: [Role; 4] = [Role::Reader, Role::Workshop, Role::Lead, Role::Admin];

/// The weakest role that may call a method, by its option.
fn needed(method: &MethodDescriptor) -> Role {
    let extension = DESCRIPTOR_POOL.get_extension_by_name("ostler.v1.access").unwrap();
    let options = method.options();
    assert!(
        options.has_extension(&extension),
        "{} states no role",
        method.full_name()
    );
    let rule = options.get_extension(&extension);
    let rule: v1::AccessRule = rule.as_message().unwrap().transcode_to().unwrap();
    rule.role()
}

/// Calls a method with an empty request.
async fn knock(client: &Client, method: &MethodDescriptor) -> Option<Refusal> {
    let answer = client.raw(&path(method), Vec::new()).await;
    answer.err().map(|status| Refusal::of(&status))
}

async fn is_shut_out(client: &Client) -> bool {
    match knock(client, &method("ListFleets")).await {
        None => false,
        Some(refusal) => {
            assert_eq!(
                (refusal.code, refusal.reason.as_str()),
                (Code::Unauthenticated, "TOKEN_INVALID")
            );
            true
        }
    }
}

on_both_databases! {
    async fn every_method_needs_a_valid_token(database: &Database) {
        let server = Server::start(database).await;
        let stranger = server.stranger();
        for method in methods() {
            let refusal = knock(&stranger, &method).await.unwrap_or_else(|| panic!("{} is open", method.full_name()));
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::Unauthenticated, "TOKEN_INVALID"), "{}", method.full_name());
        }
        stranger.health().await.unwrap();
        for wrong in ["", "ost_", "admin", &format!("ost_{}", "A".repeat(43))] {
            assert!(is_shut_out(&server.caller(wrong)).await, "{wrong:?}");
        }
        assert!(!is_shut_out(&server.admin()).await);
        server.stop().await;
    }

    async fn a_token_ends(database: &Database) {
        let server = Server::start(database).await;
        let now = SystemClock::default().now_micros();
        assert!(is_shut_out(&server.add_expiring_token("expired", now).await).await);
        let hour = 3_600_000_000;
        assert!(!is_shut_out(&server.add_expiring_token("valid", now + hour).await).await);

        let revoked = server.add_token("revoked", Role::Admin).await;
        assert!(server.store().revoke_token("revoked", now).await.unwrap());
        assert!(is_shut_out(&revoked).await);

        // One that the server has seen lately takes it a few seconds.
        let seen = server.add_token("seen", Role::Reader).await;
        assert!(!is_shut_out(&seen).await);
        server.store().revoke_token("seen", now).await.unwrap();
        let deadline = Instant::now() + Duration::from_secs(60);
        while !is_shut_out(&seen).await {
            assert!(Instant::now() < deadline, "still let in");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        server.stop().await;
    }

    async fn a_role_opens_what_the_contract_says(database: &Database) {
        let server = Server::start(database).await;
        for role in ROLES {
            let client = server.add_token(&format!("role-{}", role_word(role)), role).await;
            for method in methods() {
                let needed = needed(&method);
                let refusal = knock(&client, &method).await;
                let shut = refusal.as_ref().is_some_and(|refusal| refusal.code == Code::PermissionDenied);
                assert_eq!(shut, role < needed, "{} for {role:?}", method.full_name());
                if let Some(refusal) = refusal.filter(|_| shut) {
                    assert_eq!(refusal.reason, "ROLE_TOO_WEAK");
                    assert_eq!(refusal.metadata["needed_role"], role_word(needed));
                }
            }
        }
        server.stop().await;
    }

    async fn who_wrote_is_on_record(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        crate::fixture::furnish(&admin).await;
        let workshop = server.add_token("bay-2", Role::Workshop).await;
        let kind = crate::fixture::KINDS.iter().find(|kind| kind.word == "Defect").unwrap();
        kind.make(&workshop, "a").await;
        assert_eq!(kind.history(&admin, "a").await[0]["actor"], "bay-2");
        server.stop().await;
    }

    async fn reflection_needs_a_token(database: &Database) {
        let server = Server::start(database).await;
        let request = ServerReflectionRequest {
            host: String::new(),
            message_request: Some(MessageRequest::ListServices(String::new())),
        };
        let mut stranger = ServerReflectionClient::new(server.channel());
        let shut = refused(stranger.server_reflection_info(tokio_stream::iter([request.clone()])).await);
        assert_eq!(shut.reason, "TOKEN_INVALID");

        let reader = server.add_token("reader", Role::Reader).await;
        let bearer = reader.bearer().unwrap();
        let mut known = ServerReflectionClient::with_interceptor(server.channel(), move |mut call: tonic::Request<()>| {
            call.metadata_mut().insert("authorization", bearer.clone());
            Ok(call)
        });
        let mut answers = known.server_reflection_info(tokio_stream::iter([request])).await.unwrap().into_inner();
        let answer = format!("{:?}", answers.message().await.unwrap().unwrap());
        for method in methods() {
            assert!(answer.contains(method.parent_service().full_name()), "{}", method.full_name());
        }
        server.stop().await;
    }
}
