//! Issued load sheets: frozen whatever happens to the record, and found out when they are not.

use ostler_proto::v1::{self, LoadSheetState, SheetFormat};
use ostler_store::Change;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use prost::Message as _;
use sha2::{Digest, Sha256};
use tonic::{Code, Status};

use crate::demo::{self, DEPARTURE, FLEET};

fn request(vehicle: &str) -> v1::IssueLoadSheetRequest {
    v1::IssueLoadSheetRequest {
        parent: DEPARTURE.into(),
        vehicle: demo::name(&format!("vehicles/{vehicle}")),
        signer_role: "convoy lead".into(),
        signer_display_name: "lead".into(),
        reason: "to be driven to the weighbridge".into(),
        ..Default::default()
    }
}

async fn issue(client: &Client, vehicle: &str) -> v1::IssuedLoadSheet {
    client.ask(request(vehicle)).await.unwrap()
}

async fn get(client: &Client, name: &str) -> v1::IssuedLoadSheet {
    let request = v1::GetLoadSheetRequest { name: name.into() };
    client.ask(request).await.unwrap()
}

async fn verify(client: &Client, name: &str, content: &[u8]) -> v1::VerifyLoadSheetResponse {
    let request = v1::VerifyLoadSheetRequest {
        name: name.into(),
        content: content.to_vec(),
    };
    client.ask(request).await.unwrap()
}

async fn list(client: &Client) -> Vec<v1::IssuedLoadSheet> {
    let request = v1::ListLoadSheetsRequest {
        parent: DEPARTURE.into(),
        ..Default::default()
    };
    let answer: v1::ListLoadSheetsResponse = client.ask(request).await.unwrap();
    answer.load_sheets
}

/// SHA-256 by the library that everybody has, over bytes as they came.
fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

async fn issued_files(client: &Client, format: SheetFormat) -> Result<Vec<v1::RenderedLoadSheet>, Status> {
    let request = v1::RenderLoadSheetsRequest {
        departure: DEPARTURE.into(),
        format: format.into(),
        issued: true,
        ..Default::default()
    };
    client.ask_all(request).await
}

/// Changes of every sort that a sheet rests on: cargo gone, another day, a later version of a rule pack.
async fn change_the_record(client: &Client) {
    let gone = v1::DeleteCargoItemRequest {
        name: demo::name("cargoItems/c050"),
        ..Default::default()
    };
    client.ask::<()>(gone).await.unwrap();
    let packs = v1::ListRulePacksRequest {
        parent: FLEET.into(),
        ..Default::default()
    };
    let packs: v1::ListRulePacksResponse = client.ask(packs).await.unwrap();
    let mut later = packs.rule_packs.into_iter().next().unwrap();
    later.version.push_str("-later");
    let create = v1::CreateRulePackRequest {
        parent: FLEET.into(),
        rule_pack_id: "later".into(),
        rule_pack: Some(later),
        ..Default::default()
    };
    client.ask::<v1::RulePack>(create).await.unwrap();
    let departure = v1::GetDepartureRequest {
        name: DEPARTURE.into(),
    };
    let mut departure: v1::Departure = client.ask(departure).await.unwrap();
    departure.display_name = "another name".into();
    departure.rule_packs.push(demo::name("rulePacks/later"));
    let update = v1::UpdateDepartureRequest {
        departure: Some(departure),
        ..Default::default()
    };
    client.ask::<v1::Departure>(update).await.unwrap();
}

on_both_databases! {
    async fn what_is_issued_stays_byte_for_byte(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let issued = issue(&admin, "v2").await;
        assert_eq!(issued.name, format!("{DEPARTURE}/loadSheets/v2-1"));
        assert_eq!((issued.number, issued.state()), (1, LoadSheetState::Issued));
        assert_eq!(issued.content_hash, hash(&issued.content));
        let sheet = issued.sheet.clone().unwrap();
        assert!(!sheet.draft && !sheet.record_version.is_empty() && !sheet.rule_packs.is_empty());
        assert_eq!(sheet.signatures.len(), 1);
        assert!(!sheet.signatures[0].token.is_empty() && sheet.signatures[0].sign_time.is_some());
        let fresh = get(&admin, &issued.name).await;
        assert!(!fresh.overtaken && fresh.overtaken_by.is_empty());
        let files = issued_files(&admin, SheetFormat::Json).await.unwrap();
        let table = issued_files(&admin, SheetFormat::Csv).await.unwrap();
        change_the_record(&admin).await;
        let after = get(&admin, &issued.name).await;
        assert_eq!((&after.content, &after.content_hash), (&issued.content, &issued.content_hash));
        assert_eq!(after.sheet, Some(sheet));
        assert_eq!(issued_files(&admin, SheetFormat::Json).await.unwrap(), files);
        assert_eq!(issued_files(&admin, SheetFormat::Csv).await.unwrap(), table);
        assert_eq!(files[0].content, issued.content);
        assert_eq!(files[0].file_name, "crossing-2027-v2-1.json");
        assert!(after.overtaken);
        let changed: Vec<(&str, &str)> = after
            .overtaken_by
            .iter()
            .map(|change| (change.resource.rsplit('/').next().unwrap(), change.action.as_str()))
            .collect();
        assert_eq!(changed, [("crossing-2027", "update"), ("later", "create"), ("c050", "delete")]);
        assert!(after.overtaken_by.iter().all(|change| !change.actor.is_empty()));
        server.stop().await;
    }

    async fn a_later_sheet_supersedes(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let first = issue(&admin, "v1").await;
        issue(&admin, "v2").await;
        let second = issue(&admin, "v1").await;
        assert_eq!((second.number, second.sheet.unwrap().supersedes), (2, first.name.clone()));
        let before = get(&admin, &first.name).await;
        assert_eq!(before.state(), LoadSheetState::Superseded);
        assert_eq!(before.superseded_by, second.name);
        assert_eq!((before.content, before.content_hash), (first.content, first.content_hash));
        let listed = list(&admin).await;
        let ids: Vec<&str> = listed.iter().map(|sheet| sheet.name.rsplit('/').next().unwrap()).collect();
        assert_eq!(ids, ["v1-1", "v1-2", "v2-1"]);
        assert!(listed.iter().all(|sheet| sheet.content.is_empty() && !sheet.overtaken));
        let files = issued_files(&admin, SheetFormat::Json).await.unwrap();
        let names: Vec<&str> = files.iter().map(|file| file.file_name.as_str()).collect();
        assert_eq!(names, ["crossing-2027-v1-2.json", "crossing-2027-v2-1.json"]);
        // Issuing is no change of the record, and a fleet file is the record.
        assert!(!demo::export(&admin, FLEET).await.contains("loadSheets"));
        server.stop().await;
    }

    async fn a_file_is_that_sheet_or_it_is_not(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let issued = issue(&admin, "v4").await;
        let good = verify(&admin, &issued.name, &issued.content).await;
        assert!(good.intact && good.given_matches && good.differences.is_empty());
        let text = String::from_utf8(issued.content.clone()).unwrap();
        let tampered = text.replacen("VERDICT_NO_GO", "VERDICT_GO", 1);
        assert_ne!(tampered, text);
        let bad = verify(&admin, &issued.name, tampered.as_bytes()).await;
        assert!(bad.intact && !bad.given_matches);
        assert_eq!(bad.differences, ["verdict: issued \"VERDICT_NO_GO\", given \"VERDICT_GO\""]);
        // What somebody does to the database behind the server's back is found out, too, hash and all.
        let row = server.store().get(&issued.name).await.unwrap().unwrap();
        let mut body = v1::IssuedLoadSheet::decode(row.body.as_slice()).unwrap();
        body.content = tampered.into_bytes();
        body.content_hash = hash(&body.content);
        let mut transaction = server.store().begin().await.unwrap();
        let change = Change {
            name: &row.name,
            seen: row.seen(),
            scope: &row.scope,
            body: &body.encode_to_vec(),
            time: row.update_time,
        };
        transaction.update(&change).await.unwrap();
        transaction.commit().await.unwrap();
        let behind = verify(&admin, &issued.name, &issued.content).await;
        assert!(!behind.intact && behind.given_matches);
        server.stop().await;
    }

    async fn no_go_needs_a_reason_and_signing_a_lead(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let silent = v1::IssueLoadSheetRequest { reason: String::new(), ..request("v1") };
        let refusal = refused(admin.ask::<v1::IssuedLoadSheet>(silent).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["reason"]));
        let workshop = server.add_token("bench", v1::Role::Workshop).await;
        let refusal = refused(workshop.ask::<v1::IssuedLoadSheet>(request("v1")).await);
        assert_eq!(refusal.code, Code::PermissionDenied);
        assert!(list(&admin).await.is_empty());
        let nothing = refused(issued_files(&admin, SheetFormat::Json).await);
        assert_eq!(nothing.code, Code::FailedPrecondition);
        let lead = server.add_token("lead", v1::Role::Lead).await;
        let rehearsal = v1::IssueLoadSheetRequest { validate_only: true, ..request("v1") };
        lead.ask::<v1::IssuedLoadSheet>(rehearsal).await.unwrap();
        assert!(list(&admin).await.is_empty());
        let sheet = issue(&lead, "v1").await.sheet.unwrap();
        assert_eq!(sheet.signatures[0].token, "lead");
        assert_eq!(sheet.reason, "to be driven to the weighbridge");
        server.stop().await;
    }

    async fn a_repeat_is_one_sheet(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let once = v1::IssueLoadSheetRequest {
            request_id: "5b0a3c52-6d0a-4b5e-9d2b-0c6b1f6c7e01".into(),
            ..request("v3")
        };
        let first: v1::IssuedLoadSheet = admin.ask(once.clone()).await.unwrap();
        let again: v1::IssuedLoadSheet = admin.ask(once).await.unwrap();
        assert_eq!(first, again);
        assert_eq!(list(&admin).await.len(), 1);
        server.stop().await;
    }
}
