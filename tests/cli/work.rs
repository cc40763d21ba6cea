//! The day's work: substitutions from proposal to proof, defects, what the history says of it.

use crate::shop::{DEPARTURE, Said, Shop};

/// The gate `id` of `vehicle`, as its text.
fn gate(shop: &Shop, vehicle: &str, id: &str) -> String {
    let said = shop.ostler(&["ready", DEPARTURE, "--vehicle", vehicle, "-o", "json"]);
    let readiness: serde_json::Value = serde_json::from_str(&said.data).unwrap();
    let gates = readiness["vehicles"][0]["gates"].as_array().unwrap();
    gates.iter().find(|gate| gate["id"] == id).unwrap().to_string()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_substitution_goes_its_way() {
    let shop = Shop::with_demo().await;
    let before = gate(&shop, "v4", "substitutions");
    assert!(before.contains("substitutions/s06"), "{before}");
    // Carries more than each rear tyre must; everything else as the tyres that are on.
    let shown = shop
        .ostler(&["show", "part", "tyre-295-80r17.5", "-o", "json"])
        .well();
    let file = shop.file("part.json", shown.replace("2725", "2900"));
    shop.ostler(&["create", "part", "tyre-x", "--file", &file]).well();
    let mut arguments = vec!["substitute", "s11", "--vehicle", "v4", "--supersedes", "s06"];
    for slot in [
        "tyre.front.left",
        "tyre.front.right",
        "tyre.rear.left",
        "tyre.rear.right",
    ] {
        arguments.extend(["--slot", slot, "--part", "tyre-x"]);
    }
    arguments.extend(["--reason", "the flotation tyres carry too little"]);
    let rehearsed = shop.ostler(&[&arguments[..], &["--dry-run"]].concat());
    assert!(rehearsed.notes.contains("nothing was written"), "{rehearsed:?}");
    assert_eq!(gate(&shop, "v4", "substitutions"), before);

    let id = "4f2b7c1e-8a39-4a52-9d0b-6c1f3e5a7b90";
    let repeated = [&arguments[..], &["--request-id", id]].concat();
    let first = shop.ostler(&repeated).well();
    assert!(
        first.contains("substitution s11 recorded") && first.contains("proposed"),
        "{first}"
    );
    assert_eq!(shop.ostler(&repeated).well(), first, "sent twice, done once");
    assert!(!gate(&shop, "v4", "substitutions").contains("substitutions/s06"));
    let superseded = shop.ostler(&["show", "substitution", "s06"]).well();
    assert!(superseded.contains("withdrawn"), "{superseded}");

    let assessment = shop.ostler(&["assess", "s01"]).well();
    for word in ["stands in the way", "output_flange.rear", "remedy, not done"] {
        assert!(assessment.contains(word), "{word:?} is not in\n{assessment}");
    }
    shop.ostler(&["fit", "s11", "--date", "2027-04-01"])
        .failed(1, &["approve it first"]);
    shop.ostler(&["approve", "s11", "--by", "lead", "--date", "2027-03-31"])
        .failed(1, &["assess it"]);
    let kept = shop.ostler(&["assess", "s11", "--keep"]);
    assert!(kept.notes.contains("kept as the assessment of s11"), "{kept:?}");
    shop.ostler(&["approve", "s11", "--by", "lead", "--date", "2027-03-31"])
        .well();
    let fit = ["fit", "s11", "--date", "2027-04-01", "--old-parts", "tyre rack"];
    assert!(shop.ostler(&fit).well().contains("tyre rack"));
    let fitment = shop.ostler(&["show", "fitment", "v4/tyre.rear.left"]).well();
    assert!(
        fitment.contains("substitutions/s11") && fitment.contains("2027-04-01"),
        "{fitment}"
    );
    shop.ostler(&["withdraw", "s11"])
        .failed(1, &["undo the fitting first"]);
    shop.ostler(&["prove", "s11", "--evidence", "td3"])
        .failed(1, &["must be of a day after the parts went in"]);
    shop.ostler(&["undo", "s11", "--date", "2027-04-02"]).well();
    let fitment = shop.ostler(&["show", "fitment", "v4/tyre.rear.left"]).well();
    assert!(
        !fitment.contains("substitutions/s11") && fitment.contains("2027-04-02"),
        "{fitment}"
    );
    withdrawn_and_told(&shop);
}

/// What is withdrawn is out of the way and stays so; the history tells the rest.
fn withdrawn_and_told(shop: &Shop) {
    shop.ostler(&["withdraw", "s07"]).well();
    assert!(!gate(shop, "v2", "substitutions").contains("substitutions/s07"));
    shop.ostler(&["fit", "s07", "--date", "2027-04-01"])
        .failed(1, &["s07"]);

    // As data: what is not sealed yet makes a table wider, and its lines break elsewhere.
    let told = shop
        .ostler(&["history", "substitutions/s11", "-o", "json"])
        .json();
    let entries = told["entries"].as_array().unwrap();
    let actions: Vec<&str> = entries
        .iter()
        .rev()
        .filter_map(|entry| entry["action"].as_str())
        .collect();
    assert_eq!(actions[..2], ["record", "assess"], "{told}");
    let history = shop.ostler(&["history", "substitutions/s11"]).well();
    assert!(history.contains("admin"), "{history}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_does_not_fit_says_what_to_ask_first() {
    let shop = Shop::with_demo().await;
    // A gearbox of which nothing is known but its name.
    let part = shop.file(
        "part.yaml",
        "display_name: manual gearbox, make not known\nkind: gearbox\n",
    );
    shop.ostler(&["create", "part", "gearbox-x", "--file", &part])
        .well();
    shop.ostler(&[
        "substitute",
        "sx",
        "--vehicle",
        "v3",
        "--slot",
        "gearbox",
        "--part",
        "gearbox-x",
    ])
    .well();
    let assessment = shop.ostler(&["assess", "sx"]).well();
    for word in ["not known", "input_spline_count", "bell_housing_pattern"] {
        assert!(assessment.contains(word), "{word:?} is not in\n{assessment}");
    }
    let settle = [
        "settle",
        "sx",
        "--slot",
        "gearbox",
        "--interface",
        "input_spline_count",
    ];
    let how = ["--how", "counted", "--by", "mechanic", "--date", "2027-03-30"];
    let wrong = [&settle[..], &how, &["--on-part", "24"]].concat();
    shop.ostler(&wrong).failed(2, &["is no measured value"]);
    let right = [&settle[..], &how, &["--on-part", "count=21"]].concat();
    shop.ostler(&right).well();
    let assessment = shop.ostler(&["assess", "sx"]).well();
    assert!(
        assessment.contains("measured by mechanic: counted"),
        "{assessment}"
    );
    assert!(gate(&shop, "v3", "substitutions").contains("substitutions/sx"));
}

/// Accepts a defect with everything that this takes.
fn accept(shop: &Shop, defect: &str) -> Said {
    let (condition, owner) = ("guide on foot when reversing", "driver of V4");
    let what = [
        "defect",
        "accept",
        defect,
        "--condition",
        condition,
        "--owner",
        owner,
    ];
    let how = [
        "--check-interval",
        "every day",
        "--accepted-by",
        "lead",
        "--date",
        "2027-05-01",
    ];
    shop.ostler(&[&what[..], &how].concat())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_defect_is_found_accepted_or_fixed() {
    let shop = Shop::with_demo().await;
    let listed = |arguments: &[&str]| {
        let all = [&["defect", "list", "-o", "json"], arguments].concat();
        let defects = shop.ostler(&all).json();
        defects["defects"].as_array().map_or(0, Vec::len)
    };
    assert_eq!(
        (listed(&[]), listed(&["--open"]), listed(&["--vehicle", "v4"])),
        (12, 12, 3)
    );
    let add = [
        "defect",
        "add",
        "d13",
        "--vehicle",
        "v4",
        "--severity",
        "minor",
        "--description",
        "horn is weak",
    ];
    shop.ostler(&add).well();
    shop.ostler(&add).failed(1, &["d13", "exists"]);
    let accepted = accept(&shop, "d11").well();
    assert!(
        accepted.contains("accepted") && accepted.contains("every day"),
        "{accepted}"
    );
    accept(&shop, "d10").failed(1, &["d10 grounds the vehicle"]);
    let fix = [
        "defect",
        "fix",
        "d10",
        "--fix",
        "bearing adjusted",
        "--date",
        "2027-04-30",
    ];
    let fixed = shop.ostler(&fix).well();
    assert!(
        fixed.contains("fixed") && fixed.contains("bearing adjusted"),
        "{fixed}"
    );
    assert_eq!(listed(&["--open"]), 11);
    assert!(
        shop.ostler(&["defect", "show", "d10"])
            .well()
            .contains("2027-04-30")
    );
    let gate = gate(&shop, "v4", "defects");
    assert!(
        gate.contains("guide on foot") && !gate.contains("right side: open"),
        "{gate}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_is_begun_reported_on_and_done() {
    let shop = Shop::with_demo().await;
    let list = shop.ostler(&["job", "list", "-o", "csv"]).well();
    assert_eq!(list.lines().count(), 41, "a header and forty jobs: {list}");
    shop.ostler(&["job", "start", "j01", "--date", "2027-03-29"])
        .well();
    shop.ostler(&["job", "report", "j01", "--actual", "6"]).well();
    shop.ostler(&["job", "report", "j01", "--actual", "14"])
        .failed(1, &["remaining_hours"]);
    shop.ostler(&["job", "report", "j01", "--actual", "14", "--left", "1,2"])
        .failed(2, &["--left"]);
    let reported = shop
        .ostler(&["job", "report", "j01", "--actual", "14", "--left", "1,2,3"])
        .well();
    assert!(reported.contains("under way"), "{reported}");
    shop.ostler(&["job", "done", "j01", "--date", "2027-03-31"])
        .well();
    let done = shop.ostler(&["job", "list", "--state", "done"]).well();
    assert!(done.contains("j01") && !done.contains("j02"), "{done}");
    shop.ostler(&["job", "reopen", "j01"]).well();
    shop.ostler(&["job", "reopen", "j01"]).failed(1, &["j01"]);
}
