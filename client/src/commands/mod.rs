//! The commands: each makes its calls and says what is to be printed.

mod accept;
mod assess;
mod cargo;
mod defect;
mod driveline;
mod find;
mod fleet;
mod former_state;
mod fuel;
mod history;
mod issued_sheet;
mod job;
mod life;
mod load;
mod plan;
mod plan_chance;
mod power;
mod ready;
mod report;
mod resource;
mod rules;
mod sheet;
mod spares;
mod stow;
mod substitution;
mod time;
mod verdict;
mod watch;
mod water;
mod what_if;

use std::fs;
use std::io::Write;
use std::path::Path;

use crate::cli::{Command, Format, WriteArgs};
use crate::errors::CliError;
use crate::output::Document;
use crate::session::Session;

/// What a command came to.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// For standard output.
    pub(crate) printed: Printed,
    /// For standard error, a line each.
    pub(crate) notes: Vec<String>,
    /// The number to end with.
    pub(crate) exit_code: u8,
}

/// What goes to standard output.
#[derive(Debug)]
pub(crate) enum Printed {
    /// Something with a form for people and two for scripts.
    Document(Document),
    /// The bytes of a file, in whatever form they are.
    Raw(Vec<u8>),
}

impl Outcome {
    /// A document, and success.
    fn document(document: Document) -> Self {
        Self {
            printed: Printed::Document(document),
            notes: Vec::new(),
            exit_code: 0,
        }
    }

    /// Bytes as they are, and success.
    pub(crate) fn raw(bytes: Vec<u8>) -> Self {
        Self {
            printed: Printed::Raw(bytes),
            notes: Vec::new(),
            exit_code: 0,
        }
    }

    /// The same with a line for standard error.
    fn with_note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The same with a word about a dry run, if it was one.
    fn after_writing(self, write: &WriteArgs) -> Self {
        if write.dry_run {
            self.with_note("dry run: everything was checked, nothing was written")
        } else {
            self
        }
    }
}

/// Does `command`.
///
/// # Errors
/// When it fails.
pub(crate) async fn dispatch(
    session: &Session,
    command: &Command,
    format: Format,
) -> Result<Outcome, CliError> {
    match command {
        Command::Ready(args) if args.watch => watch::run(session, args, format).await,
        Command::Ready(args) => ready::run(session, args).await,
        Command::WhatIf(args) => what_if::run(session, args).await,
        Command::Accept(args) => accept::run(session, args).await,
        Command::Sheet(args) => sheet::run(session, args).await,
        Command::Load(command) => load::run(session, command).await,
        Command::Driveline(args) => driveline::run(session, args).await,
        Command::Fuel(args) => fuel::run(session, args).await,
        Command::Water(args) => water::run(session, args).await,
        Command::Power(args) => power::run(session, args).await,
        Command::Spares(args) => spares::run(session, args).await,
        Command::Stow(args) => stow::run(session, args).await,
        Command::Substitute(args) => substitution::substitute(session, args).await,
        Command::Assess(args) => assess::run(session, args).await,
        Command::Find(args) => find::run(session, args).await,
        Command::Settle(args) => life::settle(session, args).await,
        Command::Approve(args) => life::approve(session, args).await,
        Command::Fit(args) => substitution::fit(session, args).await,
        Command::Prove(args) => life::prove(session, args).await,
        Command::Undo(args) => life::undo(session, args).await,
        Command::Withdraw(args) => substitution::withdraw(session, args).await,
        Command::Rules(args) => rules::run(session, args).await,
        Command::Defect(command) => defect::run(session, command).await,
        Command::Job(command) => job::run(session, command).await,
        Command::Plan(args) => plan::run(session, args).await,
        Command::Cargo(command) => cargo::run(session, command).await,
        Command::Import(args) => fleet::import(session, args).await,
        Command::Export(args) => fleet::export(session, args).await,
        Command::History(args) if args.watch => history::follow(session, args, format).await,
        Command::History(args) => history::run(session, args).await,
        Command::List(args) => resource::list(session, args).await,
        Command::Show(args) => resource::show(session, args).await,
        Command::Create(args) => resource::create(session, args).await,
        Command::Change(args) => resource::change(session, args).await,
        Command::Delete(args) => resource::delete(session, args).await,
        Command::Completions { .. } | Command::Manual { .. } => Ok(Outcome::raw(Vec::new())),
    }
}

/// Writes a file so that it is there in whole or not at all.
fn write_file(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    let fault = |source| CliError::File {
        doing: "write",
        path: path.to_owned(),
        source,
    };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut options = tempfile::Builder::new();
    // As any new file; the default of temporary files would keep colleagues out.
    #[cfg(unix)]
    options.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o644));
    let mut file = options.prefix(".ostler-").tempfile_in(folder).map_err(fault)?;
    file.write_all(bytes)
        .and_then(|()| file.as_file().sync_all())
        .map_err(fault)?;
    file.persist(path).map_err(|error| fault(error.error))?;
    Ok(())
}

/// Makes the folder `path` with everything above it.
fn make_folder(path: &Path) -> Result<(), CliError> {
    fs::create_dir_all(path).map_err(|source| CliError::File {
        doing: "write",
        path: path.to_owned(),
        source,
    })
}
