//! Papers: load sheets in every form, the summary of the convoy and the readiness report, read back by libraries that
//! share no code with this project.

use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

use crate::shop::{DEPARTURE, Said, Shop, said};

fn file(path: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Reads the papers in `folder` back.
fn check(folder: &Path, words: &[&str]) -> Said {
    let python = file("../.venv/bin/python");
    assert!(
        python.exists(),
        "{} is missing: `tests/run` makes it",
        python.display()
    );
    said(
        Command::new(python)
            .arg(file("python/check_papers.py"))
            .arg(file("../server/sheet/load-sheet.schema.json"))
            .arg(folder)
            .arg(json!(words).to_string())
            .env("PYTHONDONTWRITEBYTECODE", "1"),
    )
}

/// Writes the sheets of the departure in every form, the pages in both sizes.
fn write_all(shop: &Shop, departure: &str, folder: &Path) {
    let out = folder.to_str().unwrap();
    for format in ["json", "csv", "xlsx"] {
        shop.ostler(&["sheet", departure, "--format", format, "--out", out, "-o", "json"])
            .well();
    }
    let pages = [
        "sheet",
        departure,
        "--format",
        "pdf",
        "--summary",
        "-o",
        "json",
        "--out",
    ];
    shop.ostler(&[&pages[..], &[out]].concat()).well();
    let letter = folder.join("letter");
    let letter = [&pages[..], &[letter.to_str().unwrap(), "--paper", "letter"]].concat();
    shop.ostler(&letter).well();
}

#[tokio::test(flavor = "multi_thread")]
async fn every_form_of_the_demos_sheets_is_read_back() {
    let shop = Shop::with_demo().await;
    let folder = shop.home.path().join("papers");
    write_all(&shop, DEPARTURE, &folder);
    let report = folder.join("report.pdf");
    let told = shop.ostler(&["ready", DEPARTURE, "--report", report.to_str().unwrap()]);
    assert_eq!(told.code, Some(4), "{told:?}");
    let checked = check(&folder, &[]);
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
    // Four sheets and a summary in two sizes, and the report.
    assert_eq!(
        checked.data.matches(" pages, nothing out of its place").count(),
        11,
        "{}",
        checked.data
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_record_gives_the_same_bytes() {
    let shop = Shop::with_demo().await;
    let other = Shop::with_demo().await;
    for shop in [&shop, &other] {
        write_all(shop, DEPARTURE, &shop.home.path().join("papers"));
    }
    let mut compared = 0;
    for entry in std::fs::read_dir(shop.home.path().join("papers")).unwrap() {
        let path = entry.unwrap().path();
        let ending = path
            .extension()
            .and_then(|ending| ending.to_str())
            .unwrap_or_default();
        if ["xlsx", "pdf"].contains(&ending) {
            let same = other.home.path().join("papers").join(path.file_name().unwrap());
            // The version of the record is in them, and is the same for the same calls.
            assert!(
                std::fs::read(&path).unwrap() == std::fs::read(same).unwrap(),
                "{}",
                path.display()
            );
            compared += 1;
        }
    }
    assert_eq!(compared, 9);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_report_as_markdown_says_what_blocks() {
    let shop = Shop::with_demo().await;
    let path = shop.home.path().join("report.md");
    let told = shop.ostler(&["ready", DEPARTURE, "--report", path.to_str().unwrap()]);
    assert_eq!(told.code, Some(4), "{told:?}");
    let report = std::fs::read_to_string(path).unwrap();
    for words in [
        "**NO-GO**",
        "## What blocks, and what first",
        "## How the plan stands",
        "## Conditions to sign for, or to clear",
        "## What it was computed from",
        "## Decision",
    ] {
        assert!(report.contains(words), "{words:?} is not in {report}");
    }
    // Every table has as many cells in each row as in its head, whatever the texts hold.
    let cells = |line: &str| line.replace("\\|", "").matches('|').count();
    for (before, line) in report.lines().zip(report.lines().skip(1)) {
        if before.starts_with('|') && line.starts_with('|') {
            assert_eq!(cells(before), cells(line), "{before}\n{line}");
        }
    }
    let wrong = shop.home.path().join("report.docx");
    shop.ostler(&["ready", DEPARTURE, "--report", wrong.to_str().unwrap()])
        .failed(2, &[".md", ".pdf"]);
}

/// 400 cargo lines, names of 80 characters without a space, names from right to left, names that no font here has, names that
/// a spreadsheet would take for a formula.
#[tokio::test(flavor = "multi_thread")]
async fn nasty_names_are_whole_on_the_pages() {
    let shop = Shop::with_demo().await;
    let long = "W".repeat(80);
    let names = [
        long.as_str(),
        "ארגז כלים עם מפתחות וברגים לציר האחורי",
        "صندوق أدوات المحور الخلفي",
        "ящик с инструментом для заднего моста",
        "εργαλειοθήκη για τον πίσω άξονα",
        "工具箱と予備部品",
        "=HYPERLINK(\"http://x\",\"y\")",
        "@SUM(1+1)*cmd|' /C calc'!A0",
        "mixed עברית and Latin 12.5 kg",
    ];
    let mut items: Vec<Value> = Vec::new();
    for index in 0..400 {
        let name = names[index % names.len()];
        items.push(json!({ "create_cargo_item": {
            "parent": "fleets/orrin",
            "cargo_item_id": format!("nasty-{index:03}"),
            "cargo_item": {
                "display_name": name,
                "vehicle": "fleets/orrin/vehicles/v1",
                "quantity": 1,
                "unit_mass": { "mass_kg": 0.5, "provenance": "MASS_PROVENANCE_ESTIMATED" },
                "category": "nasty",
            },
        } }));
    }
    let changes = shop.file("changes.json", json!({ "changes": items }).to_string());
    let made = shop.ostler(&[
        "what-if",
        DEPARTURE,
        "--changes",
        &changes,
        "--make",
        "-o",
        "json",
    ]);
    assert!(matches!(made.code, Some(0 | 3 | 4)), "{}", made.notes);
    let folder = shop.home.path().join("papers");
    write_all(&shop, DEPARTURE, &folder);
    // A box for a missing glyph is seen but cannot be copied; the order of mixed text is that of the eye.
    let copied = |name: &&str| !name.contains("mixed") && !name.contains('工');
    let words: Vec<&str> = names.iter().copied().filter(copied).collect();
    let checked = check(&folder, &words);
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
}
