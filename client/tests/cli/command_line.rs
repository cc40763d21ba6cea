//! The command line itself: its help is complete and stays as it is.

use clap::{CommandFactory, Parser};
use ostler_client::cli::Cli;

#[test]
fn the_command_line_is_sound() {
    Cli::command().debug_assert();
}

#[test]
fn help_says_what_there_is() {
    let mut command = Cli::command();
    insta::assert_snapshot!("help", command.render_long_help().to_string());
    for name in ["ready", "sheet", "substitute", "change"] {
        let help = command
            .find_subcommand_mut(name)
            .unwrap()
            .render_long_help()
            .to_string();
        insta::assert_snapshot!(format!("help_{name}"), help);
    }
}

#[test]
fn help_fits_80_columns_and_explains_every_argument() {
    fn check(command: &mut clap::Command) {
        let name = command.get_name().to_owned();
        for line in command.render_help().to_string().lines() {
            assert!(line.chars().count() <= 80, "{name}: {line}");
        }
        for argument in command.get_arguments() {
            assert!(argument.get_help().is_some(), "{name} {}", argument.get_id());
        }
        for inner in command.get_subcommands_mut() {
            assert!(inner.get_about().is_some(), "{}", inner.get_name());
            check(inner);
        }
    }
    let mut command = Cli::command();
    command.build();
    check(&mut command);
}

#[test]
fn wrong_commands_end_with_two() {
    let home = tempfile::tempdir().unwrap();
    for args in [
        &["ready"] as &[&str],
        &["redy", "north"],
        &["ready", "north", "--output", "xml"],
        &["ready", "north", "--timeout", "0"],
        &["ready", "north", "--server", "https://shop:1"],
        &["sheet", "north", "--format", "json"],
        &["substitute", "s1", "--vehicle", "v1"],
        &["change", "defect", "d1"],
        &["withdraw", "s1", "--request-id", "not-a-uuid"],
    ] {
        let output = crate::fake::ostler(home.path().to_owned(), args)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty() && !output.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn completions_are_printed_without_a_server() {
    let home = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let output = crate::fake::ostler(home.path().to_owned(), &["completions", shell])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{shell}");
        assert!(
            String::from_utf8(output.stdout).unwrap().contains("substitute"),
            "{shell}"
        );
    }
}

#[test]
fn every_command_has_a_manual_page() {
    fn pages(command: &clap::Command, above: &str, found: &mut Vec<String>) {
        let name = format!("{above}{}", command.get_name());
        found.push(format!("{name}.1"));
        for below in command.get_subcommands() {
            pages(below, &format!("{name}-"), found);
        }
    }
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("manual/man1");
    let output = crate::fake::ostler(
        home.path().to_owned(),
        &["manual", "--out", folder.to_str().unwrap()],
    )
    .output()
    .unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let mut expected = Vec::new();
    pages(&Cli::command(), "", &mut expected);
    assert!(expected.len() > 40, "{expected:?}");
    for page in expected {
        let text =
            std::fs::read_to_string(folder.join(&page)).unwrap_or_else(|error| panic!("{page}: {error}"));
        assert!(
            text.contains(".TH ostler") && text.contains(".SH SYNOPSIS"),
            "{page}"
        );
    }
}

#[test]
fn words_of_the_contract_with_scripts_parse() {
    for line in [
        "ostler ready north",
        "ostler ready north --vehicle v1 --output table",
        "ostler sheet north --vehicle v1 --format json --out sheets --output csv",
        "ostler sheet north --format csv --out sheets",
        "ostler sheet north --issued --format json --out sheets",
        "ostler sheet issue north --vehicle v1 --role lead --name N.N.",
        "ostler sheet list north",
        "ostler sheet show north/v1-1",
        "ostler sheet verify sheets/north-v1-1.json",
        "ostler substitute s1 --vehicle v1 --slot gearbox --part p2 --output json",
        "ostler --output json import fleet.yaml",
    ] {
        Cli::try_parse_from(line.split(' ')).unwrap();
    }
}
