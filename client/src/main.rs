//! The program `ostler`.

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    ExitCode::from(ostler_client::run(&ostler_client::cli::Cli::parse()))
}
