//! What others count on is not deleted.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::json;
use tonic::Code;

use crate::fixture::{self, FLEET, KINDS, PART, VEHICLE};
use crate::messages::{json as to_json, request};

fn kind(word: &str) -> &'static fixture::Kind {
    KINDS.iter().find(|kind| kind.word == word).unwrap()
}

on_both_databases! {
    async fn what_is_referred_to_stays_and_the_refusal_says_by_whom(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for (word, id, target) in [
            ("Fitment", "a", PART),
            ("Substitution", "a", PART),
            ("CompatibilityNote", "a", PART),
            ("Defect", "a", VEHICLE),
            ("CargoItem", "a", VEHICLE),
            ("Weighing", "a", VEHICLE),
            ("RegulatedItem", "a", VEHICLE),
            ("Evidence", "a", VEHICLE),
            ("Job", "a", VEHICLE),
            ("Departure", "a", VEHICLE),
        ] {
            let referrer = kind(word);
            referrer.make(&admin, id).await;
            let method = if target == PART { "DeletePart" } else { "DeleteVehicle" };
            let delete = request(method, json!({ "name": target }));
            let used = refused(admin.call(&delete).await);
            assert_eq!((used.code, used.reason.as_str()), (Code::FailedPrecondition, "RESOURCE_IN_USE"), "{word}");
            assert_eq!(used.metadata["name"], target);
            assert_eq!(used.metadata["by"], referrer.name(id), "{word}");
            admin.call(&referrer.delete_request(id, json!({}))).await.unwrap();
        }
        admin.call(&request("DeletePart", json!({ "name": PART }))).await.unwrap();
        admin.call(&request("DeleteVehicle", json!({ "name": VEHICLE }))).await.unwrap();
        server.stop().await;
    }

    async fn what_stands_below_goes_only_by_force(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        let fitment = kind("Fitment");
        fitment.make(&admin, "a").await;
        let delete = |force: bool| request("DeleteVehicle", json!({ "name": VEHICLE, "force": force }));
        let below = refused(admin.call(&delete(false)).await);
        assert_eq!((below.code, below.reason.as_str()), (Code::FailedPrecondition, "RESOURCE_IN_USE"));
        assert_eq!(below.metadata["by"], fitment.name("a"));

        // Force takes what is below, not what refers to it from outside.
        kind("Defect").make(&admin, "a").await;
        let outside = refused(admin.call(&delete(true)).await);
        assert_eq!(outside.reason, "RESOURCE_IN_USE");
        assert_eq!(outside.metadata["by"], kind("Defect").name("a"));
        admin.call(&kind("Defect").delete_request("a", json!({}))).await.unwrap();

        admin.call(&delete(true)).await.unwrap();
        assert_eq!(refused(fitment.get(&admin, "a").await).code, Code::NotFound);
        let gone: Vec<_> = fitment.history(&admin, "a").await.iter().map(|entry| entry["action"].clone()).collect();
        assert_eq!(gone, ["create", "delete"]);
        server.stop().await;
    }

    async fn a_fleet_goes_whole_and_its_history_stays(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for kind in KINDS.iter().filter(|kind| !kind.parent.is_empty()) {
            kind.make(&admin, "a").await;
        }
        let delete = |force: bool| request("DeleteFleet", json!({ "name": FLEET, "force": force }));
        assert_eq!(refused(admin.call(&delete(false)).await).reason, "RESOURCE_IN_USE");
        admin.call(&delete(true)).await.unwrap();
        assert_eq!(refused(admin.call(&request("GetFleet", json!({ "name": FLEET }))).await).code, Code::NotFound);
        let history = admin.call(&request("ListHistory", json!({ "parent": FLEET }))).await.unwrap();
        let history = to_json(&history);
        let deleted = history["entries"].as_array().unwrap().iter().filter(|entry| entry["action"] == "delete").count();
        assert_eq!(deleted, KINDS.len() + 2, "each of the kinds, and the vehicle and the part beside them");
        server.stop().await;
    }
}
