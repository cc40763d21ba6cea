//! Which step may follow which, and what a kept assessment says no longer.

use ostler_core::fit::{LifeStep, changes_since, kept_interfaces, state_after, unsettled};
use ostler_core::record::{KeptAssessment, SubstitutionState as State};

use super::demo::assessed;
use super::demo_fleet::demo;
use super::fixture::name;

#[test]
fn every_step_from_every_state_is_allowed_or_refused_with_a_reason() {
    use LifeStep::{Approve, Assess, Fit, Prove, Undo, Withdraw};
    let states = [
        State::Proposed,
        State::Assessed,
        State::Approved,
        State::Fitted,
        State::Proven,
        State::Withdrawn,
    ];
    let expected = [
        (
            Assess,
            [
                Some(State::Assessed),
                Some(State::Assessed),
                Some(State::Assessed),
                None,
                None,
                None,
            ],
        ),
        (Approve, [None, Some(State::Approved), None, None, None, None]),
        (Fit, [None, None, Some(State::Fitted), None, None, None]),
        (Prove, [None, None, None, Some(State::Proven), None, None]),
        (
            Undo,
            [
                None,
                None,
                None,
                Some(State::Approved),
                Some(State::Approved),
                None,
            ],
        ),
        (
            Withdraw,
            [
                Some(State::Withdrawn),
                Some(State::Withdrawn),
                Some(State::Withdrawn),
                None,
                None,
                None,
            ],
        ),
    ];
    for (step, after) in expected {
        for (state, after) in states.into_iter().zip(after) {
            let found = state_after(state, step, true);
            assert_eq!(found.ok(), after, "{step:?} of {state:?}");
            assert!(
                found.is_ok_and(|_| true)
                    || found.is_err_and(|reason| reason.starts_with("is ") || reason.starts_with("has "))
            );
        }
    }
    assert_eq!(state_after(State::Fitted, Undo, false), Ok(State::Proposed));
}

#[test]
fn a_kept_assessment_shows_exactly_what_became_different() {
    let mut build = demo();
    let before = assessed(&build, "s07");
    let kept = KeptAssessment {
        assessed_date: None,
        record_version: String::new(),
        interfaces: kept_interfaces(&before),
    };
    assert!(changes_since(&kept, &before).is_empty());
    assert!(unsettled(&before).is_empty());
    build
        .record
        .compatibility_notes
        .remove(&name("compatibilityNotes", "s07-loom"));
    let now = assessed(&build, "s07");
    let changes = changes_since(&kept, &now);
    assert_eq!(changes.len(), 1);
    assert_eq!(&*changes[0].interface_kind, "connector");
    assert!(changes[0].before.starts_with("bridged"), "{changes:?}");
    assert!(
        changes[0].now.starts_with("clashes, stands in the way"),
        "{changes:?}"
    );
    assert_eq!(unsettled(&now), ["alternator, connector: clashes"]);
}
