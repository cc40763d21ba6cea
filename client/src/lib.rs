//! `ostler`: the command line of Ostler, a thin client of its API.
//!
//! The way of a command: `cli` (what was asked) -> `settings` (where and with what token) ->
//! `session` (connection, names of short ids) -> `commands` (one call, one document) -> `output`
//! (table, JSON or CSV). Data goes to standard output, everything else to standard error. Nothing is
//! computed here: verdicts, sums and checks are the server's.

pub mod cli;
mod commands;
mod connection;
mod dynamic;
mod errors;
mod flatten;
mod input;
mod kinds;
mod output;
mod session;
mod settings;

use std::io::{self, Write};
use std::path::Path;

use clap::CommandFactory;

use cli::{Cli, Command};
use commands::{Outcome, Printed};
use errors::CliError;
use output::{Style, clean};
use session::Session;
use settings::Settings;

/// Runs the command and returns the number to end with; the help of the command line lists them.
pub fn run(cli: &Cli) -> u8 {
    match perform(cli).and_then(|outcome| print(cli, outcome)) {
        Ok(exit_code) => exit_code,
        Err(error) => {
            // Nothing is left to be done about a standard error that cannot be written to.
            let _ = io::stderr()
                .lock()
                .write_all(error.render(Style::of(&io::stderr())).as_bytes());
            error.exit_code()
        }
    }
}

fn perform(cli: &Cli) -> Result<Outcome, CliError> {
    if let Command::Completions { shell } = &cli.command {
        let mut script = Vec::new();
        clap_complete::generate(*shell, &mut Cli::command(), "ostler", &mut script);
        return Ok(Outcome::raw(script));
    }
    if let Command::Manual { out } = &cli.command {
        return manual(out);
    }
    let settings = Settings::load(&cli.global)?;
    if settings.token.is_some() && !settings::is_loopback(&settings.server) {
        note("caution: the token and all data travel unencrypted to another machine");
    }
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(CliError::Runtime)?;
    runtime.block_on(async {
        let session = Session::open(&settings).await?;
        commands::dispatch(&session, &cli.command, cli.global.output).await
    })
}

/// Writes a page for the program and one for each command, in the form of `man`.
fn manual(folder: &Path) -> Result<Outcome, CliError> {
    std::fs::create_dir_all(folder)
        .and_then(|()| clap_mangen::generate_to(Cli::command(), folder))
        .map_err(|source| CliError::File {
            doing: "write",
            path: folder.to_owned(),
            source,
        })?;
    note(&format!("wrote the manual pages into {}", folder.display()));
    Ok(Outcome::raw(Vec::new()))
}

fn print(cli: &Cli, outcome: Outcome) -> Result<u8, CliError> {
    let bytes = match outcome.printed {
        Printed::Document(document) => document
            .render(cli.global.output, Style::of(&io::stdout()))?
            .into_bytes(),
        Printed::Raw(bytes) => bytes,
    };
    let mut stdout = io::stdout().lock();
    match stdout.write_all(&bytes).and_then(|()| stdout.flush()) {
        Ok(()) => {}
        // Whoever reads has seen enough, for example `head`; the verdict stays the verdict.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {}
        Err(source) => {
            return Err(CliError::File {
                doing: "write",
                path: "standard output".into(),
                source,
            });
        }
    }
    for line in &outcome.notes {
        note(line);
    }
    Ok(outcome.exit_code)
}

/// Says something beside the data.
fn note(line: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", clean(line));
}
