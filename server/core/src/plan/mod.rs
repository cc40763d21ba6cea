//! The build plan: jobs on bays and people, critical path, schedule, chance of being ready.
//!
//! From the bottom up:
//! - [`three_point`] estimates, the precedence [`network`], its [`critical_path`] and the textbook path method;
//! - [`calendar`] and [`working_time`]: when bays and people work, and how far work gets;
//! - [`project`]: jobs of fixed duration on limited resources; [`instance`] reads public ones;
//! - [`schedule`], made by serial generation under [`rules`], improved by [`search()`](search::search), bounded by
//!   [`bounds`], checked independently by [`feasibility`];
//! - [`build_plan`]: the plan as the shop states it, with three-point hours and awaited parts; [`latest`]: slack and
//!   order-by dates; [`replan`]: planning anew with little change;
//! - [`shop`]: the plan of a departure from its record; [`outlook`]: what it comes to;
//! - [`chance`]: the probability of being ready by a date, and what wins most time.
//!
//! Typically: `plan.project()?.compile()?`, [`search::search`] or [`replan::replan`] on the model, [`chance::chance`] on the
//! plan with the order of the schedule found.
//!
//! A schedule and its chances are an aid to planning: they are as good as the hours that people estimate.

pub mod bounds;
pub mod build_plan;
pub mod calendar;
pub mod chance;
pub mod critical_path;
mod dispatch;
pub mod feasibility;
mod generate;
pub mod instance;
pub mod latest;
mod model;
pub mod moment;
pub mod network;
pub mod outlook;
mod population;
pub mod project;
pub mod replan;
pub mod rules;
mod sampler;
pub mod schedule;
pub mod search;
pub mod shop;
pub mod three_point;
mod timeline;
pub mod working_time;

pub use model::Model;
