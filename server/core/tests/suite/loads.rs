//! Checks of `ostler_core::loads`.

#![cfg(test)]

mod convoy;
mod limits;
mod missing;
mod outside;
mod properties;
mod reconcile;
mod states;
