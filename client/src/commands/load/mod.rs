//! `ostler load`: how a vehicle is loaded, a topic a file.

mod axles;
mod reconcile;
mod states;

use super::Outcome;
use crate::cli::LoadCommand;
use crate::errors::CliError;
use crate::session::Session;

/// Does `command`.
pub(super) async fn run(session: &Session, command: &LoadCommand) -> Result<Outcome, CliError> {
    match command {
        LoadCommand::Axles(args) => axles::run(session, args).await,
        LoadCommand::Reconcile(args) => reconcile::run(session, args).await,
    }
}
