//! Fleets as files.

use ostler_proto::v1;
use ostler_tests::client::{Refusal, refused};
use ostler_tests::databases::Database;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use tonic::Code;

use crate::demo;

/// Five faults, one of each sort: a range, a key, a date, a form, a word.
const FAULTY: &str = "\
fleet_file: 1
fleet: {id: shed, display_name: shed}
parts:
  seal:
    display_name: seal
    kind: seal
    mass: {mass_kg: -3, provenance: weighed}
vehicles:
  truck:
    display_name: truck
    rolle: lead
    specification: {wheelbase_mm: 2850}
weighings:
  w1:
    vehicle: truck
    weighed_date: 2027-02-30
    axles: {front_kg: 1200, rear_kg: 1300}
defects:
  d1:
    vehicle: big truck
    description: leak
    severity: awful
";

const FAULTS: [(&str, &str); 5] = [
    ("parts.seal.mass.mass_kg", "line 7"),
    ("vehicles.truck.rolle", "line 11"),
    ("weighings.w1.weighed_date", "line 16"),
    ("defects.d1.vehicle", "line 20"),
    ("defects.d1.severity", "line 22"),
];

/// A mass below nothing, a slot that the vehicle lacks, a vehicle that is nowhere.
const FAULTY_IN_THREE_WAYS: &str = "\
fleet_file: 1
fleet: {id: shed, display_name: shed}
parts:
  seal: {display_name: seal, kind: seal, mass: {mass_kg: -3, provenance: weighed}}
vehicles:
  truck:
    display_name: truck
    fitments: {lamp: {fitted_date: 2026-01-01}}
    specification: {wheelbase_mm: 2850}
defects: {d1: {vehicle: lorry, description: leak, severity: minor}}
";

on_both_databases! {
    async fn a_fleet_travels_to_an_empty_server(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let exported = demo::export(&admin, demo::FLEET).await;
        let readiness = demo::readiness(&admin).await;
        server.stop().await;

        let empty = Database::sqlite();
        let server = Server::start(&empty).await;
        let admin = server.admin();
        let outcome = demo::import(&admin, &exported).await.unwrap();
        assert_eq!((outcome.updated_count, outcome.unchanged_count), (0, 0));
        assert_eq!(demo::export(&admin, demo::FLEET).await, exported);
        let there = demo::readiness(&admin).await;
        assert_eq!((there.vehicles, there.gates), (readiness.vehicles, readiness.gates));
        server.stop().await;
        empty.remove().await;
    }

    async fn importing_twice_changes_nothing(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::latest_change(&admin, demo::FLEET).await;
        let version = demo::readiness(&admin).await.record_version;
        for file in [demo::FILE, &demo::export(&admin, demo::FLEET).await] {
            let outcome = demo::import(&admin, file).await.unwrap();
            assert_eq!((outcome.created_count, outcome.updated_count), (0, 0));
            assert!(outcome.unchanged_count > 200);
        }
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before);
        assert_eq!(demo::readiness(&admin).await.record_version, version);
        server.stop().await;
    }

    async fn an_import_changes_only_what_differs(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::latest_change(&admin, demo::FLEET).await;
        let changed = demo::FILE.replace("reversing lamp inoperative", "reversing lamp dead");
        assert_ne!(changed, demo::FILE);
        let request_id = "0e9d7f6a-0000-4000-8000-0000000000aa";
        let request = v1::ImportFleetRequest {
            fleet_file: changed.into(),
            request_id: request_id.into(),
            ..Default::default()
        };
        let rehearsal = v1::ImportFleetRequest {
            validate_only: true,
            request_id: String::new(),
            ..request.clone()
        };
        let shown = demo::outcome(admin.ask_all(rehearsal).await.unwrap()).unwrap();
        assert_eq!((shown.created_count, shown.updated_count), (0, 1));
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before, "a rehearsal writes nothing");
        let first = demo::outcome(admin.ask_all(request.clone()).await.unwrap()).unwrap();
        assert_eq!((first.created_count, first.updated_count), (0, 1));
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before + 1);
        let again = demo::outcome(admin.ask_all(request).await.unwrap()).unwrap();
        assert_eq!(again, first, "a repeat is answered as the first time");
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before + 1);
        server.stop().await;
    }

    async fn every_fault_is_listed_with_its_line_and_nothing_is_written(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        let refusal = refused(demo::import(&admin, FAULTY).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "FILE_FAULTY"));
        assert_eq!(refusal.fields(), FAULTS.map(|(field, _)| field), "{:#?}", refusal.violations);
        for ((_, line), (_, said)) in FAULTS.iter().zip(&refusal.violations) {
            assert!(said.contains(line), "{said} is not at {line}");
        }
        assert!(refusal.violations[1].1.contains("did you mean `role`?"), "{:?}", refusal.violations[1]);
        let fleets: v1::ListFleetsResponse = admin.ask(v1::ListFleetsRequest::default()).await.unwrap();
        assert_eq!(fleets.fleets, []);
        server.stop().await;
    }

    async fn faults_of_form_reference_and_integrity_are_listed_in_one_round(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        let refusal = refused(demo::import(&admin, FAULTY_IN_THREE_WAYS).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "FILE_FAULTY"));
        let expected = [
            ("parts.seal.mass.mass_kg", "line 4"),
            ("vehicles.truck.fitments.lamp.name", "line 8"),
            ("defects.d1.vehicle", "line 10"),
        ];
        let found = &refusal.violations;
        assert_eq!(found.len(), expected.len(), "{found:#?}");
        for (field, line) in expected {
            assert!(found.iter().any(|(at, said)| at == field && said.contains(line)), "{field} at {line}: {found:#?}");
        }
        server.stop().await;
    }

    async fn what_a_file_refers_to_is_in_it_or_on_the_server(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        let head = "fleet_file: 1\nfleet: {id: shed, display_name: shed}\n";
        let vehicle = "vehicles:\n  truck: {display_name: truck, specification: {wheelbase_mm: 2850}}\n";
        let defects = "defects:\n  d1: {vehicle: truck, description: leak, severity: minor}\n  d2: {vehicle: lorry, description: leak, severity: minor}\n";
        let refusal = refused(demo::import(&admin, &format!("{head}{defects}")).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "FILE_FAULTY"));
        assert_eq!(refusal.fields(), ["defects.d1.vehicle", "defects.d2.vehicle"]);
        for (line, (_, said)) in ["line 4", "line 5"].iter().zip(&refusal.violations) {
            assert!(said.contains(line) && said.contains("does not exist"), "{said}");
        }
        demo::import(&admin, &format!("{head}{vehicle}")).await.unwrap();
        let refusal = refused(demo::import(&admin, &format!("{head}{defects}")).await);
        assert_eq!(refusal.fields(), ["defects.d2.vehicle"]);
        server.stop().await;
    }

    async fn what_is_no_fleet_file_is_refused(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        let bomb = format!("a: &a [x]\n{}", (0..60).map(|i| format!("b{i}: &b{i} [*a, *a]\n")).collect::<String>());
        let deep = "[".repeat(5_000);
        let long = "x".repeat(8 * 1024 * 1024 + 1);
        for file in ["x", "- 1", "fleet_file: 2", "fleet_file: 1\nfleet: {id: shed", "\u{0}", &bomb, &deep, &long] {
            let outcome = demo::import(&admin, file).await;
            let status = outcome.expect_err(&file[..file.len().min(40)]);
            let refusal = Refusal::of(&status);
            assert_eq!(refusal.code, Code::InvalidArgument, "{}", refusal.message);
        }
        let not_text = v1::ImportFleetRequest { fleet_file: vec![0xff, 0xfe, 0x00, 0xd8], ..Default::default() };
        let refusal = refused(admin.ask_all::<v1::ImportFleetResponse>(not_text).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "FILE_FAULTY"));
        server.stop().await;
    }
}
