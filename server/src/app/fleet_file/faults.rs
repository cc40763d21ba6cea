//! The faults of a file, collected with their paths and places.

use std::collections::BTreeSet;

use ostler_core::check::{InvalidInput, Violation};

use super::node::Place;

/// Most faults that are kept; the rest is counted.
const FAULTS_MAX: usize = 1_000;

/// Longest word that is compared with the known ones.
const WORD_MAX: usize = 80;

/// Least likeness, 0 to 1, at which a key is taken for a slip of another.
const LIKENESS_MIN: f64 = 0.5;

#[derive(Debug, Default)]
pub(super) struct Faults {
    violations: Vec<(Place, Violation)>,
    fields: BTreeSet<String>,
    beyond: usize,
}

impl Faults {
    /// Records a fault of the field at `path`.
    pub(super) fn refuse(&mut self, path: &str, place: Place, problem: impl std::fmt::Display) {
        if self.violations.len() == FAULTS_MAX {
            self.beyond += 1;
            return;
        }
        self.fields.insert(path.to_owned());
        let problem = format!("{place}: {problem}");
        self.violations.push((
            place,
            Violation {
                field: path.to_owned(),
                problem,
            },
        ));
    }

    /// Whether `path` or something that it stands in has a fault already.
    pub(super) fn covers(&self, path: &str) -> bool {
        let ends = path
            .match_indices(['.', '['])
            .map(|(end, _)| end)
            .chain([path.len()]);
        ends.into_iter().any(|end| self.fields.contains(&path[..end]))
    }

    /// Ends the collection; the faults come in the order of their places.
    pub(super) fn finish(mut self) -> Result<(), InvalidInput> {
        self.violations.sort_by_key(|(place, _)| *place);
        let mut violations: Vec<Violation> = self
            .violations
            .into_iter()
            .map(|(_, violation)| violation)
            .collect();
        if self.beyond > 0 {
            let problem = format!("has {} more faults than the {FAULTS_MAX} listed", self.beyond);
            violations.push(Violation {
                field: super::parse::WHOLE.to_owned(),
                problem,
            });
        }
        if violations.is_empty() {
            Ok(())
        } else {
            Err(InvalidInput { violations })
        }
    }
}

/// Says what a wrong word may stand for: the nearest of the known ones, or all of them.
pub(in crate::app) fn suggestion<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    let likeness = |candidate: &str| strsim::normalized_damerau_levenshtein(&word.to_lowercase(), candidate);
    let comparable = word.len() <= WORD_MAX;
    let nearest = known
        .iter()
        .filter(|_| comparable)
        .map(|candidate| (likeness(candidate), *candidate))
        .max_by(|left, right| left.0.total_cmp(&right.0));
    match nearest {
        Some((likeness, nearest)) if likeness >= LIKENESS_MIN => format!("did you mean `{nearest}`?"),
        _ => format!("known are {}", known.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_word_is_named() {
        let known = ["capacity_l", "fluid", "position"];
        assert_eq!(suggestion("capcity_l", known), "did you mean `capacity_l`?");
        assert_eq!(suggestion("capacity", known), "did you mean `capacity_l`?");
        assert_eq!(suggestion("Fluid", known), "did you mean `fluid`?");
        assert_eq!(
            suggestion("colour", known),
            "known are capacity_l, fluid, position"
        );
    }

    #[test]
    fn faults_beyond_the_most_are_counted() {
        let mut faults = Faults::default();
        for index in 0..FAULTS_MAX + 5 {
            faults.refuse(&format!("a.b{index}"), Place { line: 1, column: 1 }, "is wrong");
        }
        assert!(faults.covers("a.b1[2].c") && !faults.covers("a"));
        let violations = faults.finish().unwrap_err().violations;
        assert_eq!(violations.len(), FAULTS_MAX + 1);
        assert!(violations[FAULTS_MAX].problem.starts_with("has 5 more"));
    }
}
