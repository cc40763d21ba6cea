//! Other tools: the published description of the API, and the examples that ask by plain HTTP.

use std::path::{Path, PathBuf};
use std::process::Command;

use ostler_tests::process::{admin_token, program};
use serde_json::Value;

use crate::shop::{Said, Shop, said};

const DEPARTURE: &str = "fleets/orrin/departures/crossing-2027";

fn file(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn python() -> Command {
    let python = file("../.venv/bin/python");
    assert!(
        python.exists(),
        "{} is missing: `tests/run` makes it",
        python.display()
    );
    let mut command = Command::new(python);
    command.env("PYTHONDONTWRITEBYTECODE", "1");
    command
}

impl Shop {
    /// The admin's token.
    fn secret(&self) -> String {
        admin_token(&self.home.path().join("data/ostler"))
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_description_is_valid_and_tells_the_truth() {
    let shop = Shop::with_demo().await;
    let described = said(Command::new(program("ostlerd")).arg("describe"));
    let document = shop.file("api.json", described.well());
    let checked = said(
        python()
            .arg(file("python/check_description.py"))
            .args([&document, &shop.server.address().to_string(), &shop.secret()])
            .arg(DEPARTURE),
    );
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
    assert_eq!(checked.data.matches("holds: ").count(), 10, "{}", checked.data);
}

fn readiness(shop: &Shop, departure: &str) -> Said {
    let address = format!("http://{}", shop.server.address());
    said(
        python()
            .arg(file("examples/readiness.py"))
            .args([&address, departure])
            .env("OSTLER_TOKEN", shop.secret()),
    )
}

#[tokio::test(flavor = "multi_thread")]
async fn the_example_in_python_asks_for_the_verdict() {
    let shop = Shop::with_demo().await;
    let asked = readiness(&shop, DEPARTURE);
    assert_eq!(asked.code, Some(4), "{asked:?}");
    assert_eq!(asked.data.lines().last(), Some("no go"), "{}", asked.data);
    assert!(asked.data.contains("  not met: "), "{}", asked.data);
    let refused = readiness(&shop, "fleets/orrin/departures/nowhere");
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(refused.notes.starts_with("not_found: "), "{}", refused.notes);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_example_in_shell_fetches_drafts() {
    let shop = Shop::with_demo().await;
    let fetch = |vehicles: &[&str]| {
        said(
            Command::new(file("examples/draft_sheets.sh"))
                .arg(format!("http://{}", shop.server.address()))
                .args([DEPARTURE, "sheets"])
                .args(vehicles)
                .current_dir(shop.home.path())
                .env("OSTLER_TOKEN", shop.secret()),
        )
    };
    let fetched = fetch(&["fleets/orrin/vehicles/v1", "fleets/orrin/vehicles/v4"]).well();
    assert_eq!(fetched, "sheets/v1.json\nsheets/v4.json\n");
    let sheet: Value =
        serde_json::from_slice(&std::fs::read(shop.home.path().join("sheets/v4.json")).unwrap()).unwrap();
    assert_eq!(sheet["vehicle"], "fleets/orrin/vehicles/v4");
    let refused = fetch(&["fleets/orrin/vehicles/v9"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(
        refused.notes.contains("does not go on this departure"),
        "{refused:?}"
    );
    assert!(!shop.home.path().join("sheets/v9.json").exists());
}
