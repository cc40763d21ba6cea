//! What is asked of the part that goes into a slot, and what the part offers.

use std::collections::BTreeSet;

use super::compare::{metric_thread_mm, shown};
use super::vocabulary::{Checklist, Vocabulary};
use crate::record::{Comparison, Hand, Id, InterfaceValue, Part, Requirement, Slot};

/// Diameters of thread that a wheel nut must engage: common practice, no source.
const ENGAGEMENT_DIAMETERS: f64 = 1.0;

/// The kind of interface that tells the side a part is made for.
const HAND: &str = "hand";

/// One interface to compare.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Asked {
    pub(super) kind: Id,
    pub(super) required: Option<InterfaceValue>,
    pub(super) comparison: Comparison,
    pub(super) tolerance: f64,
    pub(super) essential: bool,
    pub(super) offered: Option<InterfaceValue>,
    /// How the offered value was found, where it is not simply stated.
    pub(super) derivation: String,
}

/// Everything asked of `incoming` in `slot`: the slot's own requirements; for kinds it does not list,
/// what the outgoing part had; then the checklist of the slot's kind; then whatever else the incoming
/// part states, of which it is not known what it must match.
pub(super) fn asked(
    vocabulary: &Vocabulary,
    slot: &Slot,
    outgoing: Option<&Part>,
    incoming: &Part,
) -> Vec<Asked> {
    let checklist = vocabulary.checklist(&slot.kind);
    let mut asking = Asking {
        vocabulary,
        incoming,
        handed: checklist.is_some_and(|checklist| checklist.handed),
        asked: Vec::new(),
        seen: BTreeSet::new(),
    };
    asking.wheel_nuts(slot, checklist);
    for requirement in &slot.requirements {
        if asking.settled(&requirement.interface.kind) {
            continue;
        }
        let essential = requirement.essential;
        asking.push(
            &requirement.interface.kind,
            requirement.interface.value.clone(),
            requirement,
            essential,
        );
    }
    let listed: Vec<Id> = slot
        .requirements
        .iter()
        .map(|requirement| requirement.interface.kind.clone())
        .collect();
    asking.seen.extend(listed);
    asking.side(slot);
    let stated = outgoing.into_iter().flat_map(|part| &part.interfaces);
    for interface in stated {
        asking.complete(&interface.kind, interface.value.clone());
    }
    for kind in checklist
        .into_iter()
        .flat_map(|checklist| &checklist.interface_kinds)
    {
        asking.complete(kind, None);
    }
    for interface in &incoming.interfaces {
        asking.complete(&interface.kind, None);
    }
    asking.asked
}

struct Asking<'record> {
    vocabulary: &'record Vocabulary,
    incoming: &'record Part,
    handed: bool,
    asked: Vec<Asked>,
    seen: BTreeSet<Id>,
}

impl Asking<'_> {
    fn settled(&self, kind: &Id) -> bool {
        self.seen.contains(kind)
    }

    fn push(
        &mut self,
        kind: &Id,
        required: Option<InterfaceValue>,
        requirement: &Requirement,
        essential: Option<bool>,
    ) {
        let (offered, derivation) = self.offered(kind, required.as_ref());
        self.asked.push(Asked {
            kind: kind.clone(),
            required,
            comparison: requirement.comparison,
            tolerance: requirement.tolerance,
            essential: essential.unwrap_or_else(|| self.vocabulary.essential(kind)),
            offered,
            derivation,
        });
    }

    /// Asks for `kind` as it was, unless it is asked already.
    fn complete(&mut self, kind: &Id, required: Option<InterfaceValue>) {
        if !self.seen.insert(kind.clone()) {
            return;
        }
        let (offered, derivation) = self.offered(kind, required.as_ref());
        self.asked.push(Asked {
            kind: kind.clone(),
            required,
            comparison: Comparison::Equal,
            tolerance: 0.0,
            essential: self.vocabulary.essential(kind),
            offered,
            derivation,
        });
    }

    fn offered(&self, kind: &Id, required: Option<&InterfaceValue>) -> (Option<InterfaceValue>, String) {
        let stated = self
            .incoming
            .interface(kind)
            .and_then(|interface| interface.value.clone());
        match (stated, &**kind) {
            (None, HAND) => match (self.incoming.hand, required) {
                (Some(hand), _) => (Some(InterfaceValue::Hand(hand)), String::new()),
                (None, Some(required)) if !self.handed => {
                    (Some(required.clone()), "made for either side".to_owned())
                }
                _ => (None, String::new()),
            },
            (stated, _) => (stated, String::new()),
        }
    }

    /// A slot on one side asks for a part of that side, where parts have sides.
    fn side(&mut self, slot: &Slot) {
        let hand = if slot.id.ends_with(".left") {
            Hand::Left
        } else if slot.id.ends_with(".right") {
            Hand::Right
        } else {
            return;
        };
        let stated = self.incoming.hand.is_some() || self.incoming.interface(HAND).is_some();
        if let (true, Ok(kind)) = (self.handed || stated, Id::new(HAND)) {
            self.complete(&kind, Some(InterfaceValue::Hand(hand)));
        }
    }

    /// On a wheel's slot the thread that nuts engage is computed, not declared: the studs' protrusion
    /// less the nave's thickness, against the stud's diameter. What goes into it is not compared itself.
    fn wheel_nuts(&mut self, slot: &Slot, checklist: Option<&Checklist>) {
        let Ok(kind) = Id::new("thread_engagement") else {
            return;
        };
        if !checklist.is_some_and(|checklist| checklist.interface_kinds.contains(&kind)) {
            return;
        }
        let given = |kind: &str| {
            slot.requirements
                .iter()
                .find(|requirement| &*requirement.interface.kind == kind)
        };
        let value = |kind: &str| given(kind).and_then(|requirement| requirement.interface.value.as_ref());
        let stated = given(&kind);
        let required = stated
            .and_then(|requirement| requirement.interface.value.clone())
            .or_else(|| {
                let InterfaceValue::Thread(thread) = value("stud_thread")? else {
                    return None;
                };
                let (diameter_mm, _) = metric_thread_mm(thread)?;
                Some(InterfaceValue::LengthMm(diameter_mm * ENGAGEMENT_DIAMETERS))
            });
        let nave = self
            .incoming
            .interface("nave_thickness")
            .and_then(|interface| interface.value.as_ref());
        let declared = self
            .incoming
            .interface(&kind)
            .and_then(|interface| interface.value.clone());
        let (offered, derivation) = match (value("stud_protrusion"), nave) {
            (Some(InterfaceValue::LengthMm(protrusion_mm)), Some(InterfaceValue::LengthMm(nave_mm))) => (
                Some(InterfaceValue::LengthMm(protrusion_mm - nave_mm)),
                format!(
                    "{protrusion_mm} mm of stud less {} of nave",
                    shown(&InterfaceValue::LengthMm(*nave_mm))
                ),
            ),
            _ => (declared, String::new()),
        };
        self.asked.push(Asked {
            required,
            comparison: stated.map_or(Comparison::AtLeast, |requirement| requirement.comparison),
            tolerance: stated.map_or(0.0, |requirement| requirement.tolerance),
            essential: stated
                .and_then(|requirement| requirement.essential)
                .unwrap_or_else(|| self.vocabulary.essential(&kind)),
            offered,
            derivation,
            kind: kind.clone(),
        });
        self.seen.insert(kind);
        for input in ["stud_protrusion", "stud_thread", "nave_thickness"] {
            self.seen.extend(Id::new(input));
        }
    }
}
