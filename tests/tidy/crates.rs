//! Which crate may know which, and what keeps the core pure.

use std::collections::BTreeSet;

use toml::{Table, Value};

use crate::sources::sources;
use crate::tokens::{lines_with, outside_tests, std_modules};
use crate::{none, read};

/// The arrows: each crate, its folder, and the crates of this workspace that it may depend on, in whatever role.
/// A new crate takes its place here first.
const ARROWS: &[(&str, &str, &[&str])] = &[
    ("ostler-core", "server/core", &[]),
    ("ostler-proto", "proto", &[]),
    ("ostler-store", "server/store", &["ostler-core"]),
    ("ostler-paper", "server/paper", &[]),
    (
        "ostler-sheet",
        "server/sheet",
        &["ostler-core", "ostler-paper", "ostler-proto"],
    ),
    (
        "ostler-server",
        "server",
        &["ostler-core", "ostler-proto", "ostler-sheet", "ostler-store"],
    ),
    ("ostler-client", "client", &["ostler-proto"]),
    (
        "ostler-tests",
        "tests",
        &[
            "ostler-client",
            "ostler-core",
            "ostler-proto",
            "ostler-server",
            "ostler-sheet",
            "ostler-store",
        ],
    ),
];

/// Crates that bring into the core what comes in as an argument or does not belong there. A name stands for all that
/// begin with it and a hyphen.
const NOT_IN_CORE: &[&str] = &[
    "async-std",
    "chrono",
    "clap",
    "futures",
    "http",
    "hyper",
    "prost",
    "protox",
    "reqwest",
    "serde",
    "serde_json",
    "smol",
    "sqlx",
    "time",
    "tokio",
    "tonic",
    "tower",
    "tracing",
    "uuid",
];

/// Modules of `std` that read or change the world.
const STD_NOT_IN_CORE: &[&str] = &["env", "fs", "io", "net", "os", "process"];

/// Other tokens that do: the clock, outside randomness, asynchrony, printing.
const TOKENS_NOT_IN_CORE: &[&str] = &[
    "SystemTime",
    "Instant",
    "Zoned : : now",
    "Timestamp : : now",
    "rand : : rng (",
    "from_os_rng",
    "async",
    "await",
    "println !",
    "eprintln !",
    "print !",
    "eprint !",
    "dbg !",
];

fn manifest(folder: &str) -> Table {
    let path = if folder.is_empty() {
        "Cargo.toml".to_owned()
    } else {
        format!("{folder}/Cargo.toml")
    };
    read(&path)
        .parse()
        .unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn members() -> Vec<String> {
    let workspace = manifest("");
    let members = workspace["workspace"]["members"]
        .as_array()
        .expect("the workspace lists its members");
    members
        .iter()
        .map(|member| member.as_str().expect("a member is a folder").to_owned())
        .collect()
}

/// Name, table and specification of every dependency, those for one target included.
fn dependencies(manifest: &Table) -> Vec<(String, &'static str, Value)> {
    let mut tables = vec![manifest];
    let targets = manifest.get("target").and_then(Value::as_table);
    tables.extend(
        targets
            .into_iter()
            .flat_map(Table::values)
            .filter_map(Value::as_table),
    );
    let mut found = Vec::new();
    for table in tables {
        for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
            for (name, specification) in table.get(kind).and_then(Value::as_table).into_iter().flatten() {
                found.push((name.clone(), kind, specification.clone()));
            }
        }
    }
    found
}

#[test]
fn every_crate_has_its_place() {
    let mut breaches = Vec::new();
    for folder in members() {
        let name = manifest(&folder)["package"]["name"]
            .as_str()
            .unwrap_or_default()
            .to_owned();
        if !ARROWS
            .iter()
            .any(|(known, place, _)| *known == name && *place == folder)
        {
            breaches.push(format!("{name} in {folder}"));
        }
    }
    none(
        "every crate and its folder are listed with what it may depend on",
        &breaches,
    );
}

#[test]
fn dependencies_point_towards_the_core() {
    let mut breaches = Vec::new();
    for folder in members() {
        let manifest = manifest(&folder);
        let name = manifest["package"]["name"]
            .as_str()
            .unwrap_or_default()
            .to_owned();
        let allowed = ARROWS
            .iter()
            .find(|(known, ..)| *known == name)
            .map_or(&[][..], |(.., allowed)| *allowed);
        for (dependency, kind, _) in dependencies(&manifest) {
            if dependency.starts_with("ostler-") && !allowed.contains(&dependency.as_str()) {
                breaches.push(format!("{folder}/Cargo.toml: {kind}: {dependency}"));
            }
        }
    }
    none("no arrow but those of the list", &breaches);
}

#[test]
fn versions_lints_and_licence_are_stated_once() {
    let mut breaches = Vec::new();
    for folder in members() {
        let manifest = manifest(&folder);
        for (dependency, kind, specification) in dependencies(&manifest) {
            if specification.get("workspace").and_then(Value::as_bool) != Some(true) {
                breaches.push(format!(
                    "{folder}/Cargo.toml: {kind}: {dependency} has a version of its own"
                ));
            }
        }
        for key in ["version", "edition", "rust-version", "license", "publish"] {
            let inherited = manifest["package"]
                .get(key)
                .and_then(|value| value.get("workspace"));
            if inherited.and_then(Value::as_bool) != Some(true) {
                breaches.push(format!("{folder}/Cargo.toml: {key} is not the workspace's"));
            }
        }
        let lints = manifest
            .get("lints")
            .and_then(|lints| lints.get("workspace"))
            .and_then(Value::as_bool);
        // The crate of generated code has lints of its own.
        if lints != Some(true) && folder != "proto" {
            breaches.push(format!("{folder}/Cargo.toml: the lints are not the workspace's"));
        }
    }
    none(
        "what holds for all crates is in the workspace's Cargo.toml",
        &breaches,
    );
}

#[test]
fn every_dependency_of_the_workspace_is_used() {
    let workspace = manifest("");
    let listed = workspace["workspace"]["dependencies"]
        .as_table()
        .expect("the workspace lists dependencies");
    let mut used = BTreeSet::new();
    for folder in members() {
        used.extend(
            dependencies(&manifest(&folder))
                .into_iter()
                .map(|(name, ..)| name),
        );
    }
    let breaches: Vec<String> = listed
        .keys()
        .filter(|name| !used.contains(*name))
        .cloned()
        .collect();
    none(
        "no dependency is listed in the workspace that no crate uses",
        &breaches,
    );
}

#[test]
fn core_depends_on_nothing_that_acts() {
    let begins = |name: &str, forbidden: &str| {
        name == forbidden
            || name
                .strip_prefix(forbidden)
                .is_some_and(|rest| rest.starts_with('-'))
    };
    let breaches: Vec<String> = dependencies(&manifest("server/core"))
        .into_iter()
        .filter(|(name, ..)| NOT_IN_CORE.iter().any(|forbidden| begins(name, forbidden)))
        .map(|(name, kind, _)| format!("{kind}: {name}"))
        .collect();
    none(
        "the core depends on nothing asynchronous, stored, sent or told",
        &breaches,
    );
}

#[test]
fn core_reads_no_clock_and_touches_no_world() {
    let mut breaches = Vec::new();
    for path in sources()
        .iter()
        .filter(|path| path.starts_with("server/core/src/"))
    {
        let tokens = outside_tests(path, &read(path));
        for (module, line) in std_modules(&tokens) {
            if STD_NOT_IN_CORE.contains(&module.as_str()) {
                breaches.push(format!("{path}:{line}: std::{module}"));
            }
        }
        for pattern in TOKENS_NOT_IN_CORE {
            breaches.extend(
                lines_with(&tokens, pattern)
                    .iter()
                    .map(|line| format!("{path}:{line}: {pattern}")),
            );
        }
    }
    none(
        "time, ids, seeds and files come into the core as arguments",
        &breaches,
    );
}
