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

use super::Outcome;
use crate::cli::LoadCommand;
use crate::errors::CliError;
use crate::session::Session;

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
