//! `ostler load`: how a vehicle is loaded, a topic a file.

mod axles;
mod lean;
mod reconcile;
mod restraint;
mod spares;
mod stability;
mod states;
mod tank;
mod tyres;
mod wheels;

use std::path::Path;

use super::{Outcome, write_file};
use crate::cli::LoadCommand;
use crate::errors::CliError;
use crate::session::Session;

/// The refusal of a command line that says neither what on record nor which file is meant.
fn nothing_named(what: &str) -> CliError {
    CliError::Usage {
        problem: format!("{what}, or a file, is needed"),
        hint: format!("name {what}, or give --file"),
    }
}

/// The outcome after its picture was written, where one was asked for.
fn with_picture(outcome: Outcome, path: Option<&Path>, svg: &str) -> Result<Outcome, CliError> {
    let Some(path) = path else {
        return Ok(outcome);
    };
    write_file(path, svg.as_bytes())?;
    Ok(outcome.with_note(format!("wrote {}", path.display())))
}

/// Does `command`.
pub(super) async fn run(session: &Session, command: &LoadCommand) -> Result<Outcome, CliError> {
    match command {
        LoadCommand::Axles(args) => axles::run(session, args).await,
        LoadCommand::Wheels(args) => wheels::run(session, args).await,
        LoadCommand::Lean(args) => lean::run(session, args).await,
        LoadCommand::Stability(args) => stability::run(session, args).await,
        LoadCommand::Tank(args) => tank::run(session, args).await,
        LoadCommand::Restraint(args) => restraint::run(session, args).await,
        LoadCommand::Reconcile(args) => reconcile::run(session, args).await,
        LoadCommand::Tyres(args) => tyres::run(session, args).await,
        LoadCommand::Spares(args) => spares::run(session, args).await,
    }
}
