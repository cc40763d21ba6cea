//! Drivelines, of vehicles and of files.

use crate::shop::Shop;

/// First gear of 4.31 and 4.84 with an axle of 4.1, and a speedometer drive that turns 1.083 times as fast: the demo's own
/// figures; 17.671, 19.844 and 0.9234 are their products.
#[tokio::test(flavor = "multi_thread")]
async fn cli_driveline_before_and_after_with_a_picture() {
    let shop = Shop::with_demo().await;
    let picture = shop.file("speeds.svg", "");
    let said = shop
        .ostler(&["driveline", "v3", "--with", "s01", "--picture", &picture])
        .well();
    for told in ["1 high", "0.9234", "121.5", "gearbox-b in gearbox", "Crawl after"] {
        assert!(said.contains(told), "{told}: {said}");
    }
    let drawn = std::fs::read_to_string(&picture).unwrap();
    assert!(drawn.starts_with("<svg") && drawn.contains("5 high"), "{drawn}");
    let table = shop
        .ostler(&["driveline", "v3", "--with", "s01", "-o", "csv"])
        .well();
    assert!(
        table.contains("1,high,no,before,17.67") && table.contains("1,high,no,after,19.84"),
        "{table}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn cli_driveline_of_a_file_and_wrong_input() {
    let shop = Shop::with_demo().await;
    let file = shop.file(
        "driveline.yaml",
        "before:\n  gearing:\n    gears: [{name: '1', ratio: 4}]\n    ranges: [{name: high, ratio: 1}]\n    axle_ratio: 4.1\n  \
         tyre_designation: LT265/75R16\n",
    );
    let said = shop.ostler(&["driveline", "--file", &file]).well();
    assert!(said.contains("16.4"), "{said}");
    let picture = shop.file("none.svg", "");
    shop.ostler(&["driveline", "--file", &file, "--picture", &picture])
        .failed(1, &["engine speeds"]);
    assert_eq!(shop.ostler(&["driveline"]).code, Some(2));
    shop.ostler(&["driveline", "v3", "--with", "s99"])
        .failed(1, &["s99"]);
    let wrong = shop.file(
        "wrong.yaml",
        "before: {gearing: {gears: [{name: '1', ratio: 400}]}}",
    );
    shop.ostler(&["driveline", "--file", &wrong])
        .failed(1, &["before.gearing.gears[0].ratio"]);
}
