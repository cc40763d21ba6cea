//! Defects.

use std::collections::BTreeMap;

use super::{Date, Id, Name};

/// A fault found on a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Defect {
    /// Its name.
    pub name: Name,
    /// The vehicle.
    pub vehicle: Name,
    /// What is wrong.
    pub description: String,
    /// How bad it is.
    pub severity: Severity,
    /// What became of it.
    pub disposition: Disposition,
    /// When it was found.
    pub found_date: Option<Date>,
    /// What caused it or would cure it.
    pub related: Vec<Name>,
    /// The substitutions or jobs that caused it.
    pub caused_by: Vec<Name>,
    /// What the workshop proposes.
    pub proposal: String,
    /// Measurements taken with it; each key ends in its unit.
    pub measurements: BTreeMap<Id, f64>,
}

/// How bad a defect is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// To watch or to put right when there is time.
    Minor,
    /// To fix before departure, or to accept with conditions.
    Restricting,
    /// The vehicle does not move until it is fixed.
    Grounding,
}

/// What became of a defect.
#[derive(Debug, Clone, PartialEq)]
pub enum Disposition {
    /// Nothing yet.
    Open,
    /// Fixed.
    Fixed {
        /// How.
        fix: String,
        /// When.
        fixed_date: Option<Date>,
        /// The evidence that shows it. Empty: none was named.
        evidence: Vec<Name>,
    },
    /// Accepted with conditions.
    Accepted(AcceptedCondition),
}

/// A condition under which something is accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AcceptedCondition {
    /// The limit or the rule to keep.
    pub condition: String,
    /// Role that keeps it.
    pub owner: String,
    /// How often it is checked.
    pub check_interval: String,
    /// Who accepted it: a role.
    pub accepted_by: String,
    /// When.
    pub accepted_date: Date,
}
