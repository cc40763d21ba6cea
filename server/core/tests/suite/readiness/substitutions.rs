//! The gate of substitutions.

use ostler_core::answer::Answer;
use ostler_core::readiness::Verdict;
use ostler_core::record::SubstitutionState;

use super::fixture::{answer, gate, of, propose, ready, worst};

#[test]
fn a_clash_is_not_met_and_names_its_interface() {
    let (mut record, departure) = ready();
    let substitution = propose(&mut record, Some(21), SubstitutionState::Proposed);
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "substitutions"), Answer::NotMet);
    let finding = gate(&readiness, "substitutions")
        .findings
        .into_iter()
        .find(|finding| finding.text.contains("input_spline"))
        .unwrap();
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.records.contains(&substitution));
}

/// Every interface that is not known is a finding of its own, and nothing of it reads as ready.
#[test]
fn an_interface_without_data_is_not_known_and_named() {
    for state in [SubstitutionState::Proposed, SubstitutionState::Fitted] {
        let (mut record, departure) = ready();
        propose(&mut record, None, state);
        let readiness = of(&record, &departure);
        assert!(answer(&readiness, "substitutions") >= Answer::NotKnown);
        assert_eq!(readiness.verdict, Verdict::NoGo);
        let named = gate(&readiness, "substitutions").findings.iter().any(|finding| {
            finding.answer == Answer::NotKnown
                && finding
                    .missing
                    .iter()
                    .any(|missing| missing.contains("input_spline"))
        });
        assert!(named, "{:?}", gate(&readiness, "substitutions"));
    }
}

#[test]
fn a_part_that_fits_but_is_not_in_is_a_condition() {
    for (state, expected) in [
        (SubstitutionState::Proposed, Answer::MetWithConditions),
        (SubstitutionState::Fitted, Answer::Met),
        (SubstitutionState::Withdrawn, Answer::Met),
    ] {
        let (mut record, departure) = ready();
        propose(&mut record, Some(24), state);
        let readiness = of(&record, &departure);
        assert_eq!(
            answer(&readiness, "substitutions"),
            expected,
            "{:?}",
            gate(&readiness, "substitutions")
        );
    }
}

#[test]
fn a_withdrawn_clash_does_not_count() {
    let (mut record, departure) = ready();
    propose(&mut record, Some(21), SubstitutionState::Withdrawn);
    assert_eq!(answer(&of(&record, &departure), "substitutions"), Answer::Met);
}

#[test]
fn a_substitution_that_cannot_be_assessed_is_not_known() {
    let (mut record, departure) = ready();
    let name = propose(&mut record, Some(24), SubstitutionState::Fitted);
    record.parts.retain(|part, _| part.id() != "pump-b");
    let readiness = of(&record, &departure);
    let finding = worst(&readiness, "substitutions");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert_eq!(finding.records, [name]);
    assert!(!finding.missing.is_empty());
}
