//! The program `ostler` from outside: a real process against a made-up server.

#![expect(clippy::unwrap_used, reason = "a helper of tests fails by panicking")]

mod access;
mod command_line;
mod fake;
mod flow;
mod services;
