//! Looking compatibility notes up.

use std::collections::HashMap;

use crate::record::{CompatibilityNote, Name};

/// Compatibility notes by part and kind of interface: looking one up does not read all the others.
#[derive(Debug, Clone, Default)]
pub struct NoteIndex<'record> {
    /// Where in `held` the last note about a part at an interface is.
    last: HashMap<(&'record str, &'record str), usize>,
    held: Vec<Held<'record>>,
}

/// A note in the index. Notes about the same are a chain in one list, so that an index of many needs few allocations.
#[derive(Debug, Clone, Copy)]
struct Held<'record> {
    note: &'record CompatibilityNote,
    /// Where the one before it about the same part and interface is.
    before: Option<usize>,
}

impl<'record> NoteIndex<'record> {
    /// An index of `notes`.
    pub fn new(notes: impl IntoIterator<Item = &'record CompatibilityNote>) -> Self {
        let notes = notes.into_iter();
        // Most notes are about two parts.
        let most = notes.size_hint().0.saturating_mul(2);
        let mut last = HashMap::with_capacity(most);
        let mut held = Vec::with_capacity(most);
        for note in notes {
            let kind: &str = &note.interface_kind;
            let other = note.other_part.as_ref().filter(|other| **other != note.part);
            for part in [Some(&note.part), other].into_iter().flatten() {
                let before = last.insert((&**part, kind), held.len());
                held.push(Held { note, before });
            }
        }
        Self { last, held }
    }

    /// Notes about `part` at `interface_kind`, against any of the parts for which `meets` holds or
    /// against the kind of vehicle, in order of their names. A note about two parts holds both ways; one
    /// that names a part and a kind of vehicle holds where both do.
    pub fn about(
        &self,
        part: &Name,
        interface_kind: &str,
        vehicle_kind: Option<&str>,
        meets: impl Fn(&Name) -> bool,
    ) -> Vec<&'record CompatibilityNote> {
        let last = self.last.get(&(&**part, interface_kind));
        let last = last.and_then(|last| self.held.get(*last));
        let held = std::iter::successors(last, |held| self.held.get(held.before?));
        let mut about: Vec<&CompatibilityNote> = held
            .map(|held| held.note)
            .filter(|note| {
                let other = if note.part == *part {
                    note.other_part.as_ref()
                } else {
                    Some(&note.part)
                };
                let kind_holds = note
                    .vehicle_kind
                    .as_deref()
                    .is_none_or(|kind| Some(kind) == vehicle_kind);
                let part_holds = other.is_none_or(&meets);
                kind_holds && part_holds && (other.is_some() || note.vehicle_kind.is_some())
            })
            .collect();
        about.sort_by(|left, right| left.name.cmp(&right.name));
        about
    }
}
