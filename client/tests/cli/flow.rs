//! Calls, answers and exit codes.

use ostler_proto::v1::Verdict;
use serde_json::json;

use crate::fake::{Fake, State, fake, run};

#[test]
fn ready_ends_with_the_verdict() {
    for (verdict, words, code) in [
        (Verdict::Go, "Departure north: GO\n", 0),
        (
            Verdict::GoWithConditions,
            "Departure north: GO WITH CONDITIONS\n",
            3,
        ),
        (Verdict::NoGo, "Departure north: NO-GO\n", 4),
    ] {
        let fake = Fake::start(State {
            verdict,
            ..State::default()
        });
        let (stdout, stderr, ended) = run(fake.ostler(&["ready", "fleets/orrin/departures/north"]));
        assert_eq!((ended, stderr.as_str()), (code, ""));
        assert!(stdout.starts_with(words), "{stdout}");
    }
    let fake = Fake::start(State::default());
    let (stdout, stderr, ended) = run(fake.ostler(&["ready", "fleets/orrin/departures/north"]));
    assert_eq!((ended, stdout.as_str()), (1, ""));
    assert!(stderr.contains("no known verdict"), "{stderr}");
}

#[test]
fn short_ids_belong_to_the_only_fleet_or_the_given_one() {
    let fake = fake();
    run(fake.ostler(&["ready", "north", "--vehicle", "v1"]));
    let expected =
        json!({"departure": "fleets/orrin/departures/north", "vehicle": "fleets/orrin/vehicles/v1"});
    assert_eq!(fake.last_request(), expected);
    run(fake.ostler(&["ready", "north", "--fleet", "other"]));
    assert_eq!(
        fake.last_request(),
        json!({"departure": "fleets/other/departures/north"})
    );
    run(fake.ostler(&[
        "ready",
        "fleets/third/departures/north",
        "--vehicle",
        "v1",
        "--fleet",
        "other",
    ]));
    assert_eq!(fake.last_request()["vehicle"], "fleets/third/vehicles/v1");

    let fake = Fake::start(State {
        fleets: vec!["one", "two"],
        ..State::default()
    });
    let (_, stderr, ended) = run(fake.ostler(&["ready", "north"]));
    assert_eq!(ended, 2);
    assert!(
        stderr.contains("--fleet") && stderr.contains("one, two"),
        "{stderr}"
    );
    let fake = Fake::start(State::default());
    let (_, stderr, _) = run(fake.ostler(&["ready", "north"]));
    assert!(stderr.contains("ostler import"), "{stderr}");
}

#[test]
fn a_substitution_is_recorded_with_its_pairs() {
    let fake = fake();
    let args = [
        "substitute",
        "s1",
        "--vehicle",
        "v1",
        "--slot",
        "gearbox",
        "--part",
        "p2",
        "--slot",
        "clutch",
        "--part",
        "parts/p3",
        "--reason",
        "old one worn",
        "--fitted",
        "2027-03-29",
        "--supersedes",
        "s0",
        "--request-id",
        "0190a5b8-0000-7000-8000-000000000001",
        "--dry-run",
        "--output",
        "json",
    ];
    let (stdout, stderr, ended) = run(fake.ostler(&args));
    assert_eq!(ended, 0, "{stderr}");
    assert_eq!(
        fake.last_request(),
        json!({
            "parent": "fleets/orrin",
            "substitutionId": "s1",
            "requestId": "0190a5b8-0000-7000-8000-000000000001",
            "validateOnly": true,
            "substitution": {
                "vehicle": "fleets/orrin/vehicles/v1",
                "reason": "old one worn",
                "fittedDate": "2027-03-29",
                "supersedes": "fleets/orrin/substitutions/s0",
                "replacements": [
                    {"slot": "gearbox", "incomingPart": "fleets/orrin/parts/p2"},
                    {"slot": "clutch", "incomingPart": "fleets/orrin/parts/p3"},
                ],
            },
        })
    );
    let answer: serde_json::Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!(answer["state"], "SUBSTITUTION_STATE_PROPOSED");
    assert!(stderr.contains("dry run"), "{stderr}");

    let uneven = [
        "substitute",
        "s1",
        "--vehicle",
        "v1",
        "--slot",
        "a",
        "--slot",
        "b",
        "--part",
        "p",
    ];
    let (_, stderr, ended) = run(fake.ostler(&uneven));
    assert_eq!(ended, 2);
    assert!(
        stderr.contains("--slot is given 2 times, but --part 1 times"),
        "{stderr}"
    );
}

#[test]
fn every_violation_is_told_on_standard_error() {
    let fake = fake();
    let args = [
        "substitute",
        "s1",
        "--vehicle",
        "v1",
        "--slot",
        "",
        "--part",
        "p",
        "--slot",
        "",
        "--part",
        "q",
    ];
    let (stdout, stderr, ended) = run(fake.ostler(&args));
    assert_eq!((ended, stdout.as_str()), (1, ""));
    insta::assert_snapshot!(stderr);
}

#[test]
fn a_busy_database_is_tried_again_with_the_same_request_id() {
    let fake = Fake::start(State {
        failures_left: 2,
        ..State::default()
    });
    let name = "fleets/orrin/vehicles/v1";
    let (_, stderr, ended) = run(fake.ostler(&[
        "substitute",
        "s1",
        "--vehicle",
        name,
        "--slot",
        "a",
        "--part",
        "p",
    ]));
    assert_eq!(ended, 0, "{stderr}");
    let requests = fake.requests();
    assert_eq!(requests.len(), 3);
    assert!(requests[0]["requestId"].as_str().is_some_and(|id| id.len() == 36));
    assert_eq!(requests[0], requests[2]);

    let fake = Fake::start(State {
        failures_left: 9,
        ..State::default()
    });
    let (_, stderr, ended) = run(fake.ostler(&["ready", "fleets/orrin/departures/north"]));
    assert_eq!(ended, 1);
    assert_eq!(fake.requests().len(), 3);
    assert!(stderr.contains("hint: the server's database is busy"), "{stderr}");
}

#[test]
fn standard_methods_go_by_descriptor() {
    let fake = fake();
    let (stdout, _, ended) = run(fake.ostler(&["list", "substitutions", "--vehicle", "v1", "-o", "csv"]));
    assert_eq!(ended, 0);
    assert_eq!(stdout.lines().count(), 3, "both pages: {stdout}");
    assert!(
        stdout.starts_with("name,etag,create_time,update_time,vehicle,replacements,"),
        "{stdout}"
    );
    assert_eq!(
        fake.last_request()["filter"],
        "vehicle = \"fleets/orrin/vehicles/v1\""
    );

    let (stdout, stderr, ended) = run(fake.ostler(&["list", "substitutions", "--limit", "1"]));
    assert_eq!(ended, 0);
    assert!(
        stdout.ends_with("\n1 substitution\n") && stderr.contains("--limit"),
        "{stdout}{stderr}"
    );

    let (stdout, stderr, ended) = run(fake.ostler(&["show", "substitution", "s7"]));
    assert_eq!((ended, stdout.as_str()), (1, ""));
    insta::assert_snapshot!(stderr, @r"
    error: fleets/orrin/substitutions/s7 does not exist
    hint: see what there is with `ostler list KIND`, and check --fleet
    ");

    run(fake.ostler(&[
        "change",
        "substitution",
        "s1",
        "--set",
        "note=checked",
        "--set",
        "reason=",
        "--etag",
        "e1",
    ]));
    let request = fake.last_request();
    assert_eq!(request["updateMask"], "note,reason");
    let expected = json!({"name": "fleets/orrin/substitutions/s1", "etag": "e1", "note": "checked"});
    assert_eq!(request["substitution"], expected);

    let file = fake.file(
        "s.yaml",
        "vehicle: v1\nreplacements:\n- {slot: gearbox, incoming_part: p2}\n",
    );
    let (_, stderr, ended) = run(fake.ostler(&[
        "create",
        "substitution",
        "s2",
        "--file",
        &file.display().to_string(),
    ]));
    assert_eq!(ended, 0, "{stderr}");
    let request = fake.last_request();
    assert_eq!(
        (&request["parent"], &request["substitutionId"]),
        (&json!("fleets/orrin"), &json!("s2"))
    );
    assert_eq!(
        request["substitution"]["replacements"][0]["incomingPart"],
        "fleets/orrin/parts/p2"
    );

    let (stdout, _, ended) = run(fake.ostler(&["delete", "substitution", "s2"]));
    assert_eq!((ended, stdout.as_str()), (0, "substitution s2 deleted\n"));
    let (_, stderr, ended) = run(fake.ostler(&["delete", "substitution", "s2", "--force"]));
    assert_eq!(ended, 2, "{stderr}");
    let (_, stderr, ended) = run(fake.ostler(&["change", "rule-pack", "p", "--set", "version=2"]));
    assert_eq!(ended, 2, "{stderr}");
    let (_, stderr, ended) = run(fake.ostler(&["list", "fitments"]));
    assert_eq!(ended, 2, "{stderr}");
}

#[test]
fn imports_show_progress_and_every_fault() {
    let fake = fake();
    let good = fake.file("good.yaml", "fleet: orrin\n").display().to_string();
    let (stdout, stderr, ended) = run(fake.ostler(&["import", &good]));
    assert_eq!(
        (ended, stdout.as_str()),
        (0, "Fleet orrin: 3 new, 0 changed, 0 as they were.\n")
    );
    assert_eq!(stderr, "import: read (3)\nimport: check (3)\n");

    let bad = fake.file("bad.yaml", "faulty\n").display().to_string();
    let (stdout, stderr, ended) = run(fake.ostler(&["import", &bad]));
    assert_eq!((ended, stdout.as_str()), (1, ""));
    insta::assert_snapshot!(stderr);

    let mut command = fake.ostler(&["import", "-", "--dry-run"]);
    command.write_stdin("fleet: orrin\n");
    let (_, stderr, ended) = run(command);
    assert_eq!(ended, 0, "{stderr}");
    assert_eq!(fake.last_request()["validateOnly"], true);

    let (_, stderr, ended) = run(fake.ostler(&["import", "no-such-file.yaml"]));
    assert_eq!(ended, 1);
    assert!(
        stderr.contains("cannot read no-such-file.yaml") && stderr.contains("hint:"),
        "{stderr}"
    );
}

#[test]
fn exports_go_where_they_are_asked_to() {
    let fake = fake();
    let (stdout, _, _) = run(fake.ostler(&["export"]));
    assert_eq!(stdout, "fleet: orrin\n");
    let path = fake.file("out/fleet.yaml", "");
    let (stdout, stderr, ended) = run(fake.ostler(&["export", "--out", &path.display().to_string()]));
    assert_eq!((ended, stdout.as_str()), (0, ""));
    assert!(stderr.starts_with("wrote 13 bytes to "), "{stderr}");
    assert_eq!(std::fs::read_to_string(path).unwrap(), "fleet: orrin\n");
}

#[test]
fn load_sheets_are_written_into_the_folder() {
    let fake = Fake::start(State {
        sheets: vec!["north-v1.csv", "north-v2.csv"],
        ..State::default()
    });
    let folder = fake.file("sheets/old.txt", "").with_file_name("new");
    let out = folder.display().to_string();
    let departure = "fleets/orrin/departures/north";
    let args = [
        "sheet", departure, "--format", "csv", "--out", &out, "--output", "json",
    ];
    let (stdout, stderr, ended) = run(fake.ostler(&args));
    assert_eq!((ended, stderr.as_str()), (0, "wrote 2 load sheets\n"));
    assert_eq!(
        std::fs::read_to_string(folder.join("north-v2.csv")).unwrap(),
        "sheet 2\n"
    );
    assert_eq!(
        fake.last_request(),
        json!({"departure": departure, "format": "SHEET_FORMAT_CSV", "pageSize": "PAGE_SIZE_A4"})
    );
    let answer: serde_json::Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!(answer["loadSheets"][0]["path"], format!("{out}/north-v1.csv"));

    let fake = Fake::start(State {
        sheets: vec!["north-v1.csv", "../outside.csv"],
        ..State::default()
    });
    let folder = fake.file("sheets/old.txt", "").with_file_name("new");
    let out = folder.display().to_string();
    let (_, stderr, ended) = run(fake.ostler(&["sheet", departure, "--format", "csv", "--out", &out]));
    assert_eq!(ended, 1);
    assert!(stderr.contains("is not the name of a file"), "{stderr}");
    assert!(!folder.exists(), "all of them or none");
}
