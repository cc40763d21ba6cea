//! Rules for every Rust source by itself.

use crate::tokens::{everything, lines_with, outside_tests};
use crate::{files, none, read};

/// Most lines of a source under a `src` folder.
const LINES_MAX: usize = 500;

/// Longer sources, each with the reason.
const LONGER: &[(&str, &str)] = &[];

/// What product code must not contain, as tokens, and why.
const FORBIDDEN: &[(&str, &str)] = &[
    (". unwrap (", "panics"),
    (". expect (", "panics"),
    ("todo !", "unfinished"),
    ("unimplemented !", "unfinished"),
    ("# [ ignore", "a test that does not run proves nothing"),
];

/// Product code that may contain it all the same: file, tokens, reason.
const ALLOWED: &[(&str, &str, &str)] = &[(
    "proto/src/lib.rs",
    ". expect (",
    "decodes what the same build encoded; a test would be the first to see it fail",
)];

/// The Rust sources.
pub(crate) fn sources() -> Vec<String> {
    files().into_iter().filter(|path| path.ends_with(".rs")).collect()
}

/// Whether a source becomes part of a program that is given to people.
fn is_product(path: &str) -> bool {
    let in_product = ["proto/", "server/", "client/"]
        .iter()
        .any(|folder| path.starts_with(folder));
    in_product && path.contains("/src/") && !path.ends_with("tests.rs") && !path.contains("/tests/")
}

#[test]
fn every_source_begins_with_its_module_documentation() {
    let without = |path: &String| {
        let source = read(path);
        let first = source.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
        !first.starts_with("//! ")
    };
    let breaches: Vec<String> = sources().into_iter().filter(without).collect();
    none(
        "every .rs file begins with a line of `//!` documentation",
        &breaches,
    );
}

#[test]
fn no_source_is_longer_than_a_reader_can_hold() {
    let mut breaches = Vec::new();
    for path in sources().iter().filter(|path| path.contains("/src/")) {
        let lines = read(path).lines().count();
        let excepted = LONGER.iter().any(|(longer, _)| longer == path);
        if lines > LINES_MAX && !excepted {
            breaches.push(format!("{path}: {lines} lines"));
        }
        if lines <= LINES_MAX && excepted {
            breaches.push(format!(
                "{path}: {lines} lines, its exception is not needed any more"
            ));
        }
    }
    none(
        &format!("at most {LINES_MAX} lines under src: split by topic"),
        &breaches,
    );
}

#[test]
fn product_code_neither_panics_nor_is_unfinished() {
    let mut breaches = Vec::new();
    for path in sources().iter().filter(|path| is_product(path)) {
        let tokens = outside_tests(path, &read(path));
        for (pattern, why) in FORBIDDEN {
            let allowed = ALLOWED
                .iter()
                .any(|(file, tokens, _)| file == path && tokens == pattern);
            let found = lines_with(&tokens, pattern);
            if allowed && found.is_empty() {
                breaches.push(format!(
                    "{path}: `{pattern}` is not there any more, nor need be its exception"
                ));
            }
            if !allowed {
                breaches.extend(
                    found
                        .iter()
                        .map(|line| format!("{path}:{line}: `{pattern}`: {why}")),
                );
            }
        }
    }
    none(
        "no unwrap, expect, todo, unimplemented or ignored test in product code",
        &breaches,
    );
}

#[test]
fn no_test_is_ignored() {
    let mut breaches = Vec::new();
    for path in sources() {
        for line in lines_with(&everything(&path, &read(&path)), "# [ ignore") {
            breaches.push(format!("{path}:{line}"));
        }
    }
    none("no `#[ignore]`: what cannot run fails and says why", &breaches);
}
