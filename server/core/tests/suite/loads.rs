//! Checks of `ostler_core::loads`.

#![cfg(test)]

mod convoy;
mod limits;
mod missing;
mod moves;
mod outside;
mod properties;
mod reconcile;
mod states;
