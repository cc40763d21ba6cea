//! The life of a substitution: which step may follow which, and what a kept assessment says no longer.

use super::result::{Fit, SubstitutionAssessment};
use crate::record::{Id, KeptAssessment, KeptInterface, SubstitutionState};

/// A step in the life of a substitution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LifeStep {
    /// Keep an assessment of it.
    Assess,
    /// Approve it.
    Approve,
    /// Put the parts in.
    Fit,
    /// Name the evidence that proves it.
    Prove,
    /// Take the parts out again.
    Undo,
    /// Give it up.
    Withdraw,
}

/// The state after `step`. `approved` says whether somebody approved it: what was recorded as fitted
/// without approval is proposed again when it is undone.
///
/// # Errors
/// Why the step is not allowed, as a predicate of the substitution.
pub fn state_after(
    state: SubstitutionState,
    step: LifeStep,
    approved: bool,
) -> Result<SubstitutionState, &'static str> {
    use LifeStep::{Approve, Assess, Fit, Prove, Undo, Withdraw};
    use SubstitutionState as State;
    match (step, state) {
        (Assess, state) if state.is_open() => Ok(State::Assessed),
        (Approve, State::Assessed) => Ok(State::Approved),
        (Fit, State::Approved) => Ok(State::Fitted),
        (Prove, State::Fitted) => Ok(State::Proven),
        (Undo, state) if state.is_in() => Ok(if approved {
            State::Approved
        } else {
            State::Proposed
        }),
        (Withdraw, state) if state.is_open() => Ok(State::Withdrawn),
        (_, State::Withdrawn) => Err("is withdrawn: record another one"),
        (Approve, State::Proposed) => Err("has no kept assessment: assess it and keep that first"),
        (Approve, State::Approved) => Err("is approved already"),
        (Fit, State::Proposed | State::Assessed) => Err("is not approved: approve it first"),
        (Prove, State::Proven) => Err("is proven already"),
        (Prove | Undo, _) => Err("is not fitted"),
        (_, _) => Err("is fitted: undo the fitting first"),
    }
}

/// What changed in an interface since an assessment was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AssessmentChange {
    /// Slot of the vehicle.
    pub slot: Id,
    /// Kind of interface.
    pub interface_kind: Id,
    /// How it was, for people. Empty: it was not asked about.
    pub before: String,
    /// How it is now, for people. Empty: it is not asked about any more.
    pub now: String,
}

/// An assessment in the short form that is kept: every interface, in order of slots and kinds.
pub fn kept_interfaces(assessment: &SubstitutionAssessment) -> Vec<KeptInterface> {
    let mut kept: Vec<KeptInterface> = assessment
        .interfaces
        .iter()
        .map(|interface| KeptInterface {
            slot: interface.slot.clone(),
            interface_kind: interface.interface_kind.clone(),
            fit: interface.fit,
            blocks: interface.blocks,
            required: interface.required.clone(),
            offered: interface.offered.clone(),
        })
        .collect();
    kept.sort_by(|left, right| place(left).cmp(&place(right)));
    kept
}

/// What an assessment says differently from a kept one, in order of slots and kinds.
pub fn changes_since(kept: &KeptAssessment, now: &SubstitutionAssessment) -> Vec<AssessmentChange> {
    let now = kept_interfaces(now);
    let mut changes: Vec<AssessmentChange> = kept
        .interfaces
        .iter()
        .filter_map(|before| {
            let after = now.iter().find(|after| place(after) == place(before));
            (after != Some(before)).then(|| change(before, Some(before), after))
        })
        .collect();
    let known = |after: &&KeptInterface| kept.interfaces.iter().any(|before| place(before) == place(after));
    changes.extend(
        now.iter()
            .filter(|after| !known(after))
            .map(|after| change(after, None, Some(after))),
    );
    changes
        .sort_by(|left, right| (&left.slot, &left.interface_kind).cmp(&(&right.slot, &right.interface_kind)));
    changes
}

/// Interfaces on which a substitution cannot be approved: they clash or are not known.
pub fn unsettled(assessment: &SubstitutionAssessment) -> Vec<String> {
    assessment
        .interfaces
        .iter()
        .filter(|interface| matches!(interface.fit, Fit::Clashes | Fit::NotKnown))
        .map(|interface| {
            format!(
                "{}, {}: {}",
                interface.slot,
                interface.interface_kind,
                words(interface.fit)
            )
        })
        .collect()
}

fn place(interface: &KeptInterface) -> (&Id, &Id) {
    (&interface.slot, &interface.interface_kind)
}

fn change(
    at: &KeptInterface,
    before: Option<&KeptInterface>,
    now: Option<&KeptInterface>,
) -> AssessmentChange {
    AssessmentChange {
        slot: at.slot.clone(),
        interface_kind: at.interface_kind.clone(),
        before: before.map_or_else(String::new, shown),
        now: now.map_or_else(String::new, shown),
    }
}

fn shown(interface: &KeptInterface) -> String {
    let or_unknown = |text: &str| {
        if text.is_empty() {
            "not known".to_owned()
        } else {
            text.to_owned()
        }
    };
    let blocks = if interface.blocks {
        ", stands in the way"
    } else {
        ""
    };
    format!(
        "{}{blocks}; asked {}, offered {}",
        words(interface.fit),
        or_unknown(&interface.required),
        or_unknown(&interface.offered)
    )
}

fn words(fit: Fit) -> &'static str {
    match fit {
        Fit::Matches => "matches",
        Fit::Bridged => "bridged",
        Fit::NotKnown => "not known",
        Fit::Clashes => "clashes",
    }
}
