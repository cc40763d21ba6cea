//! The parts in the slots of a vehicle, before and after a substitution, and what their records state.

use std::collections::BTreeMap;

use crate::record::{Gearing, InterfaceValue, Name, Part, Record, Substitution, Vehicle};
use crate::tyres::Designation;
use crate::tyres::size::nominal_diameter_mm;

/// Parts in the slots of a vehicle, with those of a substitution out or in.
pub(super) struct Fitted<'a>(pub(super) BTreeMap<&'a str, &'a Part>);

/// Which parts of a substitution are in.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Before,
    After,
}

impl<'a> Fitted<'a> {
    pub(super) fn of(
        record: &'a Record,
        vehicle: &'a Vehicle,
        change: Option<(&'a Substitution, Side)>,
    ) -> Self {
        let mut parts: BTreeMap<&str, &Name> = vehicle
            .fitments
            .iter()
            .filter_map(|(slot, fitment)| Some((&**slot, fitment.part.as_ref()?)))
            .collect();
        if let Some((substitution, side)) = change {
            for replacement in &substitution.replacements {
                match (side, &replacement.outgoing_part) {
                    (Side::After, _) => {
                        parts.insert(&replacement.slot, &replacement.incoming_part);
                    }
                    (Side::Before, Some(outgoing)) => {
                        parts.insert(&replacement.slot, outgoing);
                    }
                    (Side::Before, None) => {
                        // What was there is not on record; what goes in was not there.
                        if parts.get(&*replacement.slot) == Some(&&replacement.incoming_part) {
                            parts.remove(&*replacement.slot);
                        }
                    }
                }
            }
        }
        let known = parts
            .into_iter()
            .filter_map(|(slot, part)| Some((slot, record.parts.get(part)?)));
        Self(known.collect())
    }

    /// What parts state, with slot and part.
    pub(super) fn stated<T>(&self, of: impl Fn(&'a Gearing) -> Option<T>) -> Vec<(&'a str, &'a Part, T)> {
        self.0
            .iter()
            .filter_map(|(slot, part)| Some((*slot, *part, of(part.gearing.as_ref()?)?)))
            .collect()
    }
}

/// Outer diameter of a tyre: as its part states it, else from its designation.
pub(super) fn tyre_diameter_mm(part: &Part) -> Option<f64> {
    let stated = part
        .interface("overall_diameter")
        .and_then(|interface| match interface.value {
            Some(InterfaceValue::LengthMm(diameter_mm)) => Some(diameter_mm),
            _ => None,
        });
    stated.or_else(|| nominal_diameter_mm(&designation(part)?.size))
}

/// The designation of a tyre: its marking, else its number where that is one.
pub(super) fn designation(part: &Part) -> Option<Designation> {
    let marking = part.tyre.as_ref().map(|tyre| tyre.designation);
    marking.or_else(|| part.number.parse().ok())
}
