//! What is done about a verdict: asking what changes would make of it, making them, signing, watching, looking
//! back.

use std::io::{BufRead as _, BufReader};
use std::process::Stdio;

use serde_json::Value;

use crate::shop::{DEPARTURE, Shop};

/// The gates of a vehicle in the JSON form of `ostler ready`.
fn gate(readiness: &Value, vehicle: &str, id: &str) -> Value {
    let name = format!("fleets/orrin/vehicles/{vehicle}");
    let vehicles = readiness["vehicles"].as_array().unwrap();
    let own = vehicles.iter().find(|own| own["vehicle"] == *name).unwrap();
    let gates = own["gates"].as_array().unwrap();
    gates.iter().find(|gate| gate["id"] == id).unwrap().clone()
}

fn readiness(shop: &Shop) -> Value {
    let said = shop.ostler(&["ready", DEPARTURE, "-o", "json"]);
    serde_json::from_str(&said.data).unwrap()
}

/// Two things aboard v2 that together lighten its rear axle enough: 37 kg at 3,050 mm and 23 kg at 3,350 mm.
const LIGHTER: [&str; 4] = ["--drop", "c047", "--drop", "c048"];

#[tokio::test(flavor = "multi_thread")]
async fn what_is_asked_is_not_done_and_what_is_made_is() {
    let shop = Shop::with_demo().await;
    let before = readiness(&shop);
    let asked = shop.ostler(&[&["what-if", DEPARTURE], &LIGHTER[..]].concat());
    assert_eq!(asked.code, Some(4), "{asked:?}");
    assert!(
        asked.data.contains("v2 axles: not met -> met with conditions"),
        "{}",
        asked.data
    );
    assert!(asked.notes.contains("nothing was written"), "{asked:?}");
    assert_eq!(readiness(&shop), before);

    let json = shop.ostler(&[&["what-if", DEPARTURE, "-o", "json"], &LIGHTER[..]].concat());
    let foretold: Value = serde_json::from_str(&json.data).unwrap();
    shop.ostler(&[&["what-if", DEPARTURE, "--make"], &LIGHTER[..]].concat())
        .well();
    let after = readiness(&shop);
    let gates = foretold["gates"].as_array().unwrap();
    let axles = gates
        .iter()
        .find(|gate| gate["gate"] == "axles" && gate["vehicle"].as_str().unwrap().ends_with("/v2"));
    assert_eq!(axles.unwrap()["after"], gate(&after, "v2", "axles"));

    let said = shop.ostler(&["ready", DEPARTURE, "--since", "2020-01-01"]);
    assert_eq!(said.code, Some(4));
    let said = shop.ostler(&["history"]).well();
    assert!(said.contains("delete"), "{said}");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_sort_of_change_can_be_asked_about() {
    let shop = Shop::with_demo().await;
    for (change, words) in [
        (vec!["--leave", "v3"], "v3 axles"),
        (vec!["--fill", "v2/t2c=0"], "v2 axles"),
        (vec!["--depart", "2027-05-01"], "papers"),
        (vec!["--fix", "d02"], "no longer: "),
        (vec!["--move", "c047=v4"], "v2 axles"),
        (vec!["--withdraw", "s08"], "v1 substitutions"),
        (vec!["--withdraw", "s03"], "v3 substitutions"),
    ] {
        let said = shop.ostler(&[&["what-if", DEPARTURE], &change[..]].concat());
        assert_eq!(said.code, Some(4), "{change:?}: {said:?}");
        assert!(said.data.contains(words), "{change:?}: {}", said.data);
    }
    let file = shop.file(
        "changes.yaml",
        "changes:\n  - delete_cargo_item: {name: fleets/orrin/cargoItems/c047}\n  - delete_cargo_item: {name: fleets/orrin/cargoItems/c048}\n",
    );
    let said = shop.ostler(&["what-if", DEPARTURE, "--changes", &file]);
    assert!(said.data.contains("v2 axles: not met"), "{said:?}");
    shop.ostler(&["what-if", DEPARTURE])
        .failed(2, &["nothing is to be changed"]);
    shop.ostler(&["what-if", DEPARTURE, "--drop", "c999"])
        .failed(1, &["c999 does not exist"]);
    shop.ostler(&["what-if", DEPARTURE, "--move", "c047"])
        .failed(2, &["CARGO=VEHICLE"]);
    shop.ostler(&["what-if", DEPARTURE, "--leave", "v9"])
        .failed(2, &["v9 does not go"]);
    shop.ostler(&["what-if", DEPARTURE, "--fill", "v2/t2c=lots"])
        .failed(2, &["no number of litres"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_condition_is_signed_for_by_its_key() {
    let shop = Shop::with_demo().await;
    let shown = shop.ostler(&["ready", DEPARTURE, "--vehicle", "v4"]);
    let key = "key to sign for it: front_axle_load_kg";
    assert!(shown.data.contains(key), "{}", shown.data);
    let sign = |finding: &str| {
        shop.ostler(&[
            "accept",
            "front-of-v4",
            DEPARTURE,
            "--vehicle",
            "v4",
            "--gate",
            "axles",
            "--finding",
            finding,
            "--condition",
            "nothing more in front",
            "--owner",
            "driver",
            "--check-interval",
            "every morning",
            "--accepted-by",
            "convoy lead",
            "--date",
            "2027-05-20",
        ])
    };
    sign("rear").failed(1, &["acceptance.finding", "front_axle_load_kg"]);
    sign("front_axle_load_kg").well();
    let axles = gate(&readiness(&shop), "v4", "axles");
    assert_eq!(axles["answer"], "ANSWER_MET", "{axles}");
    assert!(
        shop.ostler(&["list", "acceptance"])
            .well()
            .contains("front-of-v4")
    );
    shop.ostler(&["delete", "acceptance", "front-of-v4"]).well();
    assert_eq!(
        gate(&readiness(&shop), "v4", "axles")["answer"],
        "ANSWER_MET_WITH_CONDITIONS"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_watch_shows_changes_as_they_come() {
    let shop = Shop::with_demo().await;
    let mut watch = shop
        .command()
        .args(["ready", DEPARTURE, "--watch"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(watch.stdout.take().unwrap())
        .lines()
        .map(Result::unwrap);
    assert!(
        lines.any(|line| line.contains("v2 axles: not met")),
        "the answers as they are"
    );
    shop.ostler(&[&["what-if", DEPARTURE, "--make"], &LIGHTER[..]].concat())
        .well();
    assert!(lines.any(|line| line.contains("v2 axles: not met -> met with conditions")));
    watch.kill().unwrap();
    watch.wait().unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_answer_reads_the_same_every_time() {
    let shop = Shop::with_demo().await;
    let first = shop
        .ostler(&["show", "departure", DEPARTURE, "-o", "json"])
        .well();
    assert!(first.contains("surfaceKm"), "{first}");
    for _ in 0..5 {
        assert_eq!(
            shop.ostler(&["show", "departure", DEPARTURE, "-o", "json"])
                .well(),
            first
        );
    }
}
