//! Load sheets of the demo fleet.

use std::collections::BTreeSet;

use ostler_proto::v1::{self, SheetFormat};
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo;

async fn render(client: &Client, format: SheetFormat, vehicle: &str) -> Vec<v1::RenderedLoadSheet> {
    let request = v1::RenderLoadSheetsRequest {
        departure: demo::DEPARTURE.into(),
        vehicle: vehicle.into(),
        format: format.into(),
        ..Default::default()
    };
    client.ask_all(request).await.unwrap()
}

async fn draft(client: &Client, vehicle: &str) -> v1::LoadSheet {
    let request = v1::DraftLoadSheetRequest {
        departure: demo::DEPARTURE.into(),
        vehicle: vehicle.into(),
    };
    client.ask(request).await.unwrap()
}

on_both_databases! {
    async fn every_vehicle_gets_its_sheet_in_both_forms(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let json = render(&admin, SheetFormat::Json, "").await;
        let csv = render(&admin, SheetFormat::Csv, "").await;
        let vehicles: BTreeSet<&str> = json.iter().map(|sheet| sheet.vehicle.as_str()).collect();
        let all = ["v1", "v2", "v3", "v4"].map(|id| demo::name(&format!("vehicles/{id}")));
        assert_eq!(vehicles, all.iter().map(String::as_str).collect());
        assert_eq!(csv.len(), 4);
        let files: BTreeSet<&str> = json.iter().chain(&csv).map(|sheet| sheet.file_name.as_str()).collect();
        assert_eq!(files.len(), 8, "each file has a name of its own: {files:?}");
        for (json, csv) in json.iter().zip(&csv) {
            let drafted = draft(&admin, &json.vehicle).await;
            assert!(drafted.draft);
            assert_eq!((&json.vehicle, &json.content_hash), (&csv.vehicle, &csv.content_hash));
            assert_eq!(json.content_hash, drafted.content_hash);
            assert_eq!(json.content_hash.len(), 64);
            let content: serde_json::Value = serde_json::from_slice(&json.content).unwrap();
            assert_eq!(content["vehicle"], json.vehicle.as_str());
            let text = String::from_utf8(csv.content.clone()).unwrap();
            assert!(text.lines().count() > 20, "{text}");
            let items: usize = drafted.zones.iter().map(|zone| zone.items.len()).sum();
            assert!(items > 10 && !drafted.crew.is_empty() && !drafted.fills.is_empty());
            assert!(!drafted.open_gates.is_empty() && drafted.verdict() == v1::Verdict::NoGo);
        }
        server.stop().await;
    }

    async fn a_sheet_changes_with_what_it_says(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let vehicle = demo::name("vehicles/v1");
        let before = draft(&admin, &vehicle).await;
        assert_eq!(draft(&admin, &vehicle).await, before);
        let one = render(&admin, SheetFormat::Json, &vehicle).await;
        assert_eq!(one.len(), 1);
        let item = before.zones.iter().flat_map(|zone| &zone.items).next().unwrap();
        let request = v1::DeleteCargoItemRequest { name: item.cargo_item.clone(), ..Default::default() };
        admin.ask::<()>(request).await.unwrap();
        assert_ne!(draft(&admin, &vehicle).await.content_hash, before.content_hash);
        server.stop().await;
    }

    async fn who_does_not_go_has_no_sheet(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let vehicle = v1::Vehicle {
            display_name: "stays".into(),
            specification: Some(v1::Specification::default()),
            ..Default::default()
        };
        let request = v1::CreateVehicleRequest {
            parent: demo::FLEET.into(),
            vehicle_id: "v9".into(),
            vehicle: Some(vehicle),
            ..Default::default()
        };
        let vehicle: v1::Vehicle = admin.ask(request).await.unwrap();
        let request = v1::DraftLoadSheetRequest { departure: demo::DEPARTURE.into(), vehicle: vehicle.name };
        let refusal = refused(admin.ask::<v1::LoadSheet>(request).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["vehicle"]));
        server.stop().await;
    }
}
