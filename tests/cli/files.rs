//! Whole files: the fleet in and out, the cargo list in and out.

use crate::shop::{DEPARTURE, Shop, demo_fleet};

#[tokio::test(flavor = "multi_thread")]
async fn importing_twice_changes_nothing_and_export_gives_the_same_record() {
    let shop = Shop::open().await;
    let demo = demo_fleet();
    let import = |file: &str| shop.ostler(&["import", file]).well();
    let first = import(demo.to_str().unwrap());
    assert!(
        first.starts_with("Fleet orrin: ") && first.contains(" new, 0 changed, 0 as they were"),
        "{first}"
    );
    // Its seal comes a moment after an entry, so the number alone is compared.
    let latest =
        || shop.ostler(&["history", "--limit", "1", "-o", "json"]).json()["entries"][0]["sequence"].take();
    let history = latest();
    assert!(history.is_string());
    let again = import(demo.to_str().unwrap());
    let count = first.split(' ').nth(2).unwrap();
    assert!(
        again.contains(&format!("0 new, 0 changed, {count} as they were")),
        "{again}"
    );
    assert_eq!(latest(), history);

    let exported = shop.ostler(&["export"]).well();
    let other = Shop::open().await;
    let file = other.file("orrin.yaml", &exported);
    assert_eq!(other.ostler(&["import", &file]).well(), first);
    assert_eq!(other.ostler(&["export"]).well(), exported);
    let ready = |shop: &Shop| {
        let said = shop.ostler(&["ready", DEPARTURE, "-o", "json"]);
        let mut readiness: serde_json::Value = serde_json::from_str(&said.data).unwrap();
        readiness["recordVersion"].take();
        readiness
    };
    assert_eq!(ready(&shop), ready(&other));

    let out = shop.home.path().join("out.yaml");
    shop.ostler(&["export", "--out", out.to_str().unwrap()]).well();
    assert_eq!(std::fs::read_to_string(out).unwrap(), exported);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_faulty_file_is_told_in_full_and_nothing_is_written() {
    let shop = Shop::open().await;
    let text = std::fs::read_to_string(demo_fleet()).unwrap();
    let faulty = text
        .replacen("wheelbase_mm: 2850", "wheelbase: 2850", 1)
        .replacen("gross_mass_kg: 6500", "gross_mass_kg: -1", 1);
    let file = shop.file("faulty.yaml", &faulty);
    let line_of = |what: &str| faulty.lines().position(|line| line.trim() == what).unwrap() + 1;
    shop.ostler(&["import", &file]).failed(
        1,
        &[
            "vehicles.v1.specification",
            &format!("line {}", line_of("wheelbase: 2850")),
            "wheelbase_mm",
            &format!("line {}", line_of("gross_mass_kg: -1")),
        ],
    );
    assert_eq!(
        shop.ostler(&["list", "fleet", "-o", "json"]).json(),
        serde_json::json!({})
    );
    shop.ostler(&["import", "no/such/file.yaml"])
        .failed(1, &["no/such/file.yaml"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cargo_list_comes_and_goes_as_a_table() {
    let shop = Shop::with_demo().await;
    let list = shop.ostler(&["cargo", "export"]).well();
    let rows: Vec<_> = csv::Reader::from_reader(list.as_bytes())
        .records()
        .map(Result::unwrap)
        .collect();
    assert_eq!(rows.len(), 121, "lines of the demo's cargo list");
    let file = shop.file("cargo.csv", &list);
    let unchanged = shop.ostler(&["cargo", "import", &file]).well();
    assert!(unchanged.contains("0 new, 0 changed, 121"), "{unchanged}");

    let heavier = list.replacen(
        "c001,HF radio with tuner,v1,cargo-front,1,6.5",
        "c001,HF radio with tuner,v1,cargo-front,2,6.5",
        1,
    );
    assert_ne!(heavier, list);
    let file = shop.file("cargo.csv", &heavier);
    let changed = shop.ostler(&["cargo", "import", &file]).well();
    assert!(changed.contains("0 new, 1 changed, 120"), "{changed}");
    assert_eq!(shop.ostler(&["cargo", "export"]).well(), heavier);

    let faulty = heavier.replacen(",v1,cargo-front,2,", ",v9,cargo-front,many,", 1);
    let file = shop.file("cargo.csv", &faulty);
    shop.ostler(&["cargo", "import", &file])
        .failed(1, &["quantity", "line 2"]);
    assert_eq!(shop.ostler(&["cargo", "export"]).well(), heavier);
    let of_one = shop.ostler(&["cargo", "export", "--vehicle", "v1"]).well();
    assert!(of_one.lines().count() < 121 && of_one.contains("c001"));
}
