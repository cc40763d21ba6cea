//! Checking the inputs of a computation: every violation is collected, each with its field's path.

use std::fmt;

/// Largest magnitude accepted for any plain number of an input. Far above every physical value the
/// record knows, far below where squares overflow.
pub const MAGNITUDE_MAX: f64 = 1e12;

/// One thing wrong with one field of an input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// Path of the field, relative to the input it belongs to: `springs[2].rate_n_per_mm`.
    pub field: String,
    /// What is wrong, as a predicate of the field: `must be greater than 0, is -3`.
    pub problem: String,
}

impl fmt::Display for Violation {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{} {}", self.field, self.problem)
    }
}

/// An input that a computation refuses, with all its violations.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", list(.violations))]
pub struct InvalidInput {
    /// At least one violation.
    pub violations: Vec<Violation>,
}

impl InvalidInput {
    /// An input with a single violation.
    pub fn one(field: impl Into<String>, problem: impl Into<String>) -> Self {
        Self {
            violations: vec![Violation {
                field: field.into(),
                problem: problem.into(),
            }],
        }
    }

    /// The same violations, each field below `parent`.
    pub fn within(self, parent: &str) -> Self {
        let violations = self
            .violations
            .into_iter()
            .map(|violation| Violation {
                field: join(parent, &violation.field),
                problem: violation.problem,
            })
            .collect();
        Self { violations }
    }
}

fn list(violations: &[Violation]) -> String {
    violations
        .iter()
        .map(Violation::to_string)
        .collect::<Vec<_>>()
        .join("; ")
}

fn join(parent: &str, field: &str) -> String {
    match (parent.is_empty(), field.is_empty()) {
        (true, _) => field.to_owned(),
        (_, true) => parent.to_owned(),
        _ if field.starts_with('[') => format!("{parent}{field}"),
        _ => format!("{parent}.{field}"),
    }
}

/// The path of a field of an element of a list, put together only when it is shown: `legs[2].litres`.
pub fn element<'a>(list: &'a str, index: usize, field: &'a str) -> Element<'a> {
    Element { list, index, field }
}

/// See [`element`].
#[derive(Debug, Clone, Copy)]
pub struct Element<'a> {
    list: &'a str,
    index: usize,
    field: &'a str,
}

impl fmt::Display for Element<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}[{}].{}", self.list, self.index, self.field)
    }
}

/// Collects the violations of an input.
///
/// Paths of fields are anything that can be shown: `format_args!` costs nothing for a field that passes, which nearly all do.
///
/// ```
/// use ostler_core::check::Check;
///
/// let mut check = Check::new();
/// check.positive("wheelbase_mm", 0.0);
/// check.non_negative("load_kg", f64::NAN);
/// let refused = check.finish().unwrap_err();
/// assert_eq!(refused.violations.len(), 2);
/// ```
#[derive(Debug, Default)]
pub struct Check {
    violations: Vec<Violation>,
}

impl Check {
    /// A check without violations.
    pub fn new() -> Self {
        Self::default()
    }

    /// Records that `field` breaks a rule.
    pub fn refuse(&mut self, field: impl fmt::Display, problem: impl Into<String>) {
        self.violations.push(Violation {
            field: field.to_string(),
            problem: problem.into(),
        });
    }

    /// Refuses a number that is not finite or larger than [`MAGNITUDE_MAX`]; says whether it passed.
    pub fn finite(&mut self, field: impl fmt::Display, value: f64) -> bool {
        let passes = value.is_finite() && value.abs() <= MAGNITUDE_MAX;
        if !passes {
            self.refuse(field, format!("must be a finite number, is {value}"));
        }
        passes
    }

    /// Refuses a number that is not finite and greater than zero.
    pub fn positive(&mut self, field: impl fmt::Display, value: f64) {
        if self.finite(&field, value) && value <= 0.0 {
            self.refuse(field, format!("must be greater than 0, is {value}"));
        }
    }

    /// Refuses a number that is not finite and zero or more.
    pub fn non_negative(&mut self, field: impl fmt::Display, value: f64) {
        if self.finite(&field, value) && value < 0.0 {
            self.refuse(field, format!("must be 0 or more, is {value}"));
        }
    }

    /// Refuses a number outside the closed interval from `least` to `most`.
    pub fn between(&mut self, field: impl fmt::Display, value: f64, least: f64, most: f64) {
        if self.finite(&field, value) && !(least..=most).contains(&value) {
            self.refuse(field, format!("must be between {least} and {most}, is {value}"));
        }
    }

    /// Refuses a number that is not above 0 or is above `most`, with one violation.
    pub fn up_to(&mut self, field: impl fmt::Display, value: f64, most: f64) {
        if value > 0.0 {
            self.between(field, value, 0.0, most);
        } else {
            self.positive(field, value);
        }
    }

    /// Takes over the violations of a part of the input, each field below `parent`.
    pub fn merge<T>(&mut self, parent: impl fmt::Display, outcome: Result<T, InvalidInput>) -> Option<T> {
        match outcome {
            Ok(value) => Some(value),
            Err(refused) => {
                self.violations
                    .extend(refused.within(&parent.to_string()).violations);
                None
            }
        }
    }

    /// Whether nothing was refused so far.
    pub fn passes(&self) -> bool {
        self.violations.is_empty()
    }

    /// Ends the check.
    ///
    /// # Errors
    /// All violations, if there are any.
    pub fn finish(self) -> Result<(), InvalidInput> {
        if self.violations.is_empty() {
            Ok(())
        } else {
            Err(InvalidInput {
                violations: self.violations,
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_violation_is_kept_with_its_path() {
        let mut inner = Check::new();
        inner.positive("rate_n_per_mm", -1.0);
        let mut outer = Check::new();
        assert!(outer.merge("springs[1]", inner.finish()).is_none());
        outer.between("angle_deg", 91.0, 0.0, 90.0);
        outer.finite("x_mm", f64::INFINITY);
        outer.up_to("share", 1.0, 1.0);
        outer.up_to("efficiency", 0.0, 1.0);
        outer.up_to("coefficient", f64::NAN, 1.0);
        let refused = outer.finish().unwrap_err();
        let fields: Vec<_> = refused
            .violations
            .iter()
            .map(|violation| violation.field.as_str())
            .collect();
        let refused = [
            "springs[1].rate_n_per_mm",
            "angle_deg",
            "x_mm",
            "efficiency",
            "coefficient",
        ];
        assert_eq!(fields, refused);
    }
}
