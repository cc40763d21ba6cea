//! Parts for slots and slots for parts, and what shows a defect to be fixed.

use crate::shop::Shop;

/// The gearbox that is in fits as it is; the other of the family needs work at several interfaces, so it comes later.
#[tokio::test(flavor = "multi_thread")]
async fn cli_find_ranks_parts_for_a_slot_and_slots_for_a_part() {
    let shop = Shop::with_demo().await;
    let found = shop
        .ostler(&["find", "--vehicle", "v3", "--slot", "gearbox", "-o", "json"])
        .json();
    let parts: Vec<&str> = found["candidates"]
        .as_array()
        .unwrap()
        .iter()
        .map(|candidate| candidate["part"].as_str().unwrap())
        .collect();
    let place = |part: &str| parts.iter().position(|found| found.ends_with(part)).unwrap();
    assert!(place("/gearbox-a") < place("/gearbox-b"), "{parts:?}");
    let said = shop
        .ostler(&["find", "--vehicle", "v3", "--slot", "gearbox"])
        .well();
    assert!(
        said.contains("gearbox-a") && said.contains("fitted there now"),
        "{said}"
    );

    let slots = shop
        .ostler(&["find", "--part", "tyre-265-75r16", "-o", "csv"])
        .well();
    let fitted = slots
        .lines()
        .filter(|line| line.contains("vehicles/v1,tyre.") && line.contains("yes"));
    assert_eq!(fitted.count(), 4, "{slots}");

    assert_eq!(shop.ostler(&["find"]).code, Some(2));
    assert_eq!(shop.ostler(&["find", "--vehicle", "v3"]).code, Some(2));
    shop.ostler(&["find", "--part", "no-such-part"])
        .failed(1, &["no-such-part"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn cli_defect_names_its_cause_and_is_closed_by_fitting_evidence() {
    let shop = Shop::with_demo().await;
    let arguments = [
        "defect",
        "add",
        "d90",
        "--vehicle",
        "v3",
        "--severity",
        "restricting",
        "--description",
        "output flange leaks",
        "--found",
        "2027-03-20",
        "--caused-by",
        "s01",
    ];
    shop.ostler(&arguments).well();
    let shown = shop.ostler(&["show", "defect", "d90", "-o", "json"]).json();
    assert!(shown.to_string().contains("substitutions/s01"), "{shown}");
    for (id, vehicle, date) in [
        ("old", "v3", "2027-03-19"),
        ("other", "v1", "2027-03-21"),
        ("good", "v3", "2027-03-21"),
    ] {
        let file = shop.file(
            "evidence.yaml",
            format!(
                "display_name: leak test\nkind: test\nvehicle: {vehicle}\ntopic: leak_test\nresult: passed\n\
                 issued_date: {date}\n"
            ),
        );
        shop.ostler(&["create", "evidence", id, "--file", &file]).well();
    }
    let fix = |evidence: &str| {
        let arguments = [
            "defect",
            "fix",
            "d90",
            "--fix",
            "new seal",
            "--date",
            "2027-03-21",
            "--evidence",
            evidence,
        ];
        shop.ostler(&arguments)
    };
    fix("old").failed(1, &["no older than the defect"]);
    fix("other").failed(1, &["must be about v3"]);
    fix("good").well();
    let shown = shop.ostler(&["show", "defect", "d90", "-o", "json"]).json();
    assert!(shown.to_string().contains("evidence/good"), "{shown}");
}
