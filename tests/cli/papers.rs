//! Papers: load sheets in every form, the summary of the convoy and the readiness report, read back by libraries that
//! share no code with this project.

use std::path::Path;
use std::process::Command;

use ostler_tests::process::Launch;
use serde_json::{Value, json};

use crate::shop::{DEPARTURE, Said, Shop, said};

fn file(path: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Runs a reader in Python.
fn python(script: &str, arguments: &[&std::ffi::OsStr]) -> Said {
    let python = file("../.venv/bin/python");
    assert!(
        python.exists(),
        "{} is missing: `tests/run` makes it",
        python.display()
    );
    said(
        Command::new(python)
            .arg(file(script))
            .args(arguments)
            .env("PYTHONDONTWRITEBYTECODE", "1"),
    )
}

/// Reads the papers in `folder` back.
fn check(folder: &Path, words: &[&str]) -> Said {
    let schema = file("../server/sheet/load-sheet.schema.json");
    let words = json!(words).to_string();
    python(
        "python/check_papers.py",
        &[schema.as_os_str(), folder.as_os_str(), words.as_ref()],
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
    // A box for a missing glyph is seen but cannot be copied, and the foot says what it stands for; the order of mixed text is that
    // of the eye.
    let copied = |name: &&str| !name.contains("mixed") && !name.contains('工');
    let mut words: Vec<&str> = names.iter().copied().filter(copied).collect();
    words.extend(["no glyph for", "U+5177", "U+54C1"]);
    let checked = check(&folder, &words);
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
}

/// A server that was given a font for them draws characters that the fonts of the program lack: they can be copied from the page,
/// and no note of boxes is left. The signs of the font are made up (fontTools 4, `FontBuilder`: a pattern for each character).
#[tokio::test(flavor = "multi_thread")]
async fn a_folder_of_fonts_draws_what_the_program_cannot() {
    let fonts = file("cli/fonts");
    let shop = Shop::launched(Launch::plain().variable("OSTLERD_FONTS", fonts.to_str().unwrap()))
        .await
        .and_demo();
    let name = "工具箱と予備部品";
    let item = json!({ "create_cargo_item": {
        "parent": "fleets/orrin",
        "cargo_item_id": "signs",
        "cargo_item": { "display_name": name, "vehicle": "fleets/orrin/vehicles/v1", "quantity": 1 },
    } });
    let changes = shop.file("changes.json", json!({ "changes": [item] }).to_string());
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
    let checked = check(&folder, &[name]);
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
    let boxes = check(&folder, &["no glyph for"]);
    assert_eq!(boxes.code, Some(1), "{}", boxes.data);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_folder_without_fonts_is_refused_at_the_start() {
    let empty = tempfile::tempdir().unwrap();
    let home = tempfile::tempdir().unwrap();
    let ended = Launch::on(home.path())
        .argument("--fonts")
        .argument(empty.path().to_str().unwrap())
        .run_to_its_end();
    let said = format!("{ended:?}");
    assert!(said.contains("holds no font"), "{said}");
}

/// A plan in every form, the chart on pages of both sizes.
#[tokio::test(flavor = "multi_thread")]
async fn every_form_of_a_plan_is_read_back() {
    let shop = Shop::with_demo().await;
    let folder = shop.home.path().join("plan");
    std::fs::create_dir(&folder).unwrap();
    let path = |name: &str| folder.join(name).to_str().unwrap().to_owned();
    let (csv, ics, svg, pdf) = (path("plan.csv"), path("ics"), path("plan.svg"), path("plan.pdf"));
    let plan = ["plan", DEPARTURE, "--seconds", "0.5", "-o", "json"];
    let files = ["--csv", &csv, "--ics", &ics, "--svg", &svg, "--pdf", &pdf];
    let told = shop.ostler(&[&plan[..], &files].concat());
    for path in [&csv, &svg, &pdf] {
        assert!(told.notes.contains(&format!("wrote {path}")), "{}", told.notes);
    }
    std::fs::write(path("plan.json"), told.well()).unwrap();
    let letter = path("letter.pdf");
    shop.ostler(&[&plan[..], &["--pdf", &letter, "--paper", "letter"]].concat())
        .well();
    let checked = python("python/check_plan_files.py", &[folder.as_os_str()]);
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
    for wrong in [&["--chance", "--pdf", &pdf][..], &["--paper", "letter"]] {
        let said = shop.ostler(&[&["plan", DEPARTURE], wrong].concat());
        assert_eq!((said.code, said.data.as_str()), (Some(2), ""), "{said:?}");
        assert!(
            said.notes.contains("--pdf") && said.notes.contains(wrong[0]),
            "{said:?}"
        );
    }
}

/// The summary of issued sheets names the vehicle that has none, and the sheet that was overtaken.
#[tokio::test(flavor = "multi_thread")]
async fn the_summary_of_issued_sheets_says_what_is_not_current() {
    let shop = Shop::with_demo().await;
    for vehicle in ["v1", "v2"] {
        let signer = ["--role", "lead", "--name", "made up", "--reason", "to be moved"];
        shop.ostler(&[&["sheet", "issue", DEPARTURE, "--vehicle", vehicle][..], &signer].concat())
            .well();
    }
    let issued = |form: &str, folder: &Path| {
        let out = folder.to_str().unwrap();
        shop.ostler(&[
            "sheet",
            DEPARTURE,
            "--issued",
            "--format",
            form,
            "--summary",
            "--out",
            out,
        ])
    };
    let current = shop.home.path().join("current");
    let told = issued("pdf", &current);
    assert!(told.notes.contains("2 load sheets and the summary"), "{told:?}");
    told.well();
    check_summary(
        &current,
        &[
            "NOT CURRENT v3 has no issued sheet v4 has no issued sheet",
            "sheet No 1",
        ],
    );
    let changes = json!({ "changes": [{ "delete_cargo_item": { "name": "fleets/orrin/cargoItems/c031" } }] });
    let changes = shop.file("one.json", changes.to_string());
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
    let overtaken = shop.home.path().join("overtaken");
    issued("pdf", &overtaken).well();
    check_summary(
        &overtaken,
        &["Sheet v1-1 is overtaken", "Sheet v2-1 is overtaken"],
    );
    issued("csv", &overtaken).failed(1, &["summary"]);
}

/// Reads pages alone back.
fn check_summary(folder: &Path, words: &[&str]) {
    let words = json!(words).to_string();
    let checked = python(
        "python/check_papers.py",
        &["-".as_ref(), folder.as_os_str(), words.as_ref()],
    );
    assert_eq!(checked.code, Some(0), "{}{}", checked.data, checked.notes);
}
