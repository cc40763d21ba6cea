//! Rules for which files there are.

use std::collections::BTreeSet;
use std::fs;

use crate::{files, none, read, root};

/// What may be in the top folder, beside dotfiles.
const TOP: &[&str] = &[
    "CHANGELOG.md",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "client",
    "docker-compose.yml",
    "migrations",
    "proto",
    "server",
    "tests",
];

/// Beginnings of paths that exist on one machine only. In two parts, or this file would be its own first breach.
const MACHINE_PATHS: &[(&str, &str)] = &[("/wo", "rk/"), ("/ho", "me/"), ("/ro", "ot/")];

#[test]
fn the_top_folder_holds_what_was_agreed() {
    let top: BTreeSet<String> = files()
        .iter()
        .filter_map(|path| path.split('/').next())
        .map(str::to_owned)
        .collect();
    let breaches: Vec<String> = top
        .into_iter()
        .filter(|name| !name.starts_with('.') && !TOP.contains(&name.as_str()))
        .collect();
    none("the top folder holds the agreed entries and dotfiles", &breaches);
}

#[test]
fn no_file_names_a_path_of_one_machine() {
    let mut breaches = Vec::new();
    for path in files() {
        // What is not text holds no path that a person wrote.
        let Ok(text) = String::from_utf8(fs::read(root().join(&path)).expect("a listed file can be read"))
        else {
            continue;
        };
        for (number, line) in text.lines().enumerate() {
            for (first, second) in MACHINE_PATHS {
                if line.contains(&format!("{first}{second}")) {
                    breaches.push(format!("{path}:{}: {first}{second}", number + 1));
                }
            }
        }
    }
    none("no path of one machine in any file", &breaches);
}

#[test]
fn migrations_have_one_number_and_name_in_both_dialects() {
    let of = |dialect: &str| -> Vec<String> {
        let prefix = format!("migrations/{dialect}/");
        files()
            .iter()
            .filter_map(|path| path.strip_prefix(&prefix))
            .map(str::to_owned)
            .collect()
    };
    let (sqlite, postgres) = (of("sqlite"), of("postgres"));
    assert!(!sqlite.is_empty(), "no migrations");
    assert_eq!(sqlite, postgres, "SQLite on the left, PostgreSQL on the right");
    let mut breaches = Vec::new();
    for (at, name) in sqlite.iter().enumerate() {
        let begins = format!("{:04}_", at + 1);
        let rest = name
            .strip_prefix(&begins)
            .and_then(|rest| rest.strip_suffix(".sql"));
        if !rest
            .is_some_and(|rest| !rest.is_empty() && rest.chars().all(|c| c.is_ascii_lowercase() || c == '_'))
        {
            breaches.push(format!("{name}: not {begins}name.sql"));
        }
    }
    none("migrations count from 0001 without gaps", &breaches);
    let breaches: Vec<String> = files()
        .into_iter()
        .filter(|path| path.ends_with(".sql") && !path.starts_with("migrations/"))
        .collect();
    none("no schema outside migrations", &breaches);
}

#[test]
fn commands_can_be_run() {
    use std::os::unix::fs::PermissionsExt as _;
    let mut breaches = Vec::new();
    for path in files() {
        let Ok(bytes) = fs::read(root().join(&path)) else {
            continue;
        };
        let mode = fs::metadata(root().join(&path))
            .expect("a listed file is there")
            .permissions()
            .mode();
        let is_command = bytes.starts_with(b"#!/");
        if is_command != (mode & 0o111 != 0) {
            let what = if is_command {
                "begins with #! but cannot be run"
            } else {
                "can be run but does not begin with #!"
            };
            breaches.push(format!("{path}: {what}"));
        }
    }
    none("what begins with #! can be run, and nothing else", &breaches);
}

#[test]
fn there_is_one_test_command() {
    let run = read(".ci/run");
    let commands: Vec<&str> = run
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
        .collect();
    assert!(
        matches!(commands.as_slice(), [one] if one.contains("/tests/run")),
        ".ci/run calls tests/run and nothing else: {commands:?}"
    );
}
