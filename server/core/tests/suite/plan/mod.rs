//! Checks of `ostler_core::plan`.

#![cfg(test)]

mod calendar;
mod chance;
mod demo;
mod demo_values;
mod inputs;
mod network;
mod properties;
mod random_project;
mod replan;
mod schedule;
pub(crate) mod shop;
mod three_point;
