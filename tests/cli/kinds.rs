//! Every kind of record is listed, shown, made, changed and deleted with the same five commands.

use serde_json::Value;

use crate::shop::Shop;

/// A kind, one of the demo's records, a field that may change and its new value.
const KINDS: [(&str, &str, &str, &str); 15] = [
    ("fleet", "orrin", "description", "as copied"),
    ("vehicle", "v4", "role", "spare vehicle"),
    ("part", "tyre-295-80r17.5", "display_name", "some tyre"),
    ("note", "gearbox-b-lever-position", "remedy", "bend it"),
    ("substitution", "s01", "reason", "because"),
    ("defect", "d03", "proposal", "look again"),
    ("cargo", "c001", "quantity", "4711"),
    ("weighing", "wb-1154", "ticket", "WB-9"),
    ("evidence", "k10", "display_name", "paper"),
    ("regulated-item", "k07", "note", "to be seen"),
    ("rule-pack", "orrin-basin-2027", "", ""),
    ("workshop", "w1", "note", "moved next door"),
    ("awaited-part", "pu1", "note", "by road"),
    ("job", "j02", "note", "with the tunnel off"),
    ("departure", "crossing-2027", "display_name", "another crossing"),
];

/// A record without what the server sets.
fn content(mut record: Value) -> Value {
    let fields = record.as_object_mut().unwrap();
    for field in ["name", "etag", "createTime", "updateTime"] {
        fields.remove(field);
    }
    record
}

#[tokio::test(flavor = "multi_thread")]
async fn five_commands_work_on_every_kind() {
    let shop = Shop::with_demo().await;
    for (kind, id, field, value) in KINDS {
        // The fleet is given, as from the copy of the fleet on there are two.
        let ostler = |arguments: &[&str]| shop.ostler(&[arguments, &["--fleet", "orrin"]].concat());
        ostler(&["list", kind]).well();
        let rows = ostler(&["list", kind, "-o", "csv"]).well();
        assert!(
            rows.lines().any(|line| line.contains(id)),
            "{id} is not in\n{rows}"
        );
        ostler(&["show", kind, id]).well();
        let shown = ostler(&["show", kind, id, "-o", "json"]).json();
        let file = shop.file("record.json", shown.to_string());
        let copy = format!("copy-of-{kind}");
        ostler(&["create", kind, &copy, "--file", &file]).well();
        let made = ostler(&["show", kind, &copy, "-o", "json"]).json();
        assert_eq!(content(made.clone()), content(shown), "{kind}");
        ostler(&["create", kind, &copy, "--file", &file]).failed(1, &[&copy, "exists"]);

        let change = format!("{field}={value}");
        if field.is_empty() {
            ostler(&["change", kind, &copy, "--set", "version=2"]).failed(2, &[]);
        } else {
            let stale = made["etag"].as_str().unwrap().to_owned();
            ostler(&["change", kind, &copy, "--set", &change]).well();
            let changed = ostler(&["show", kind, &copy]).well();
            assert!(changed.contains(value), "{kind}: {changed}");
            ostler(&["change", kind, &copy, "--set", &change, "--etag", &stale]).failed(1, &[]);
            ostler(&["delete", kind, &copy, "--etag", &stale]).failed(1, &[]);
            ostler(&["change", kind, &copy, "--set", "no_such_field=1"]).failed(1, &["no_such_field"]);
        }
        ostler(&["delete", kind, &copy, "--dry-run"]).well();
        ostler(&["delete", kind, &copy]).well();
        ostler(&["show", kind, &copy]).failed(1, &[&copy]);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn fitments_are_named_by_vehicle_and_slot() {
    let shop = Shop::with_demo().await;
    let list = shop.ostler(&["list", "fitment", "--vehicle", "v4"]).well();
    assert!(list.contains("tyre.rear.left"), "{list}");
    shop.ostler(&["delete", "fitment", "v4/tyre.rear.left"]).well();
    shop.ostler(&["show", "fitment", "v4/tyre.rear.left"])
        .failed(1, &["tyre.rear.left"]);
    let file = shop.file(
        "fitment.yaml",
        "part: tyre-295-80r17.5\nfitted_date: 2027-04-02\nfacts: {torqued: yes}\n",
    );
    shop.ostler(&["create", "fitment", "v4/tyre.rear.left", "--file", &file])
        .well();
    shop.ostler(&[
        "change",
        "fitment",
        "v4/tyre.rear.left",
        "--set",
        "note=torque again after 50 km",
    ])
    .well();
    let shown = shop.ostler(&["show", "fitment", "v4/tyre.rear.left"]).well();
    for word in ["parts/tyre-295-80r17.5", "2027-04-02", "torqued", "torque again"] {
        assert!(shown.contains(word), "{word} is not in\n{shown}");
    }
    shop.ostler(&["list", "fitment"]).failed(2, &["--vehicle"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_others_refer_to_is_not_deleted() {
    let shop = Shop::with_demo().await;
    shop.ostler(&["delete", "part", "tyre-295-80r17.5"])
        .failed(1, &["tyre-295-80r17.5"]);
    shop.ostler(&["delete", "vehicle", "v4"]).failed(1, &["v4"]);
    shop.ostler(&["delete", "fleet", "orrin"]).failed(1, &["orrin"]);
    shop.ostler(&["delete", "fleet", "orrin", "--force"]).well();
    assert_eq!(
        shop.ostler(&["list", "fleet", "-o", "json"]).json(),
        serde_json::json!({})
    );
}
