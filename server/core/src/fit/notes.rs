//! Looking compatibility notes up.

use std::collections::HashMap;

use crate::record::{CompatibilityNote, Name};

/// Compatibility notes by part and kind of interface: looking one up does not read all the others.
#[derive(Debug, Clone, Default)]
pub struct NoteIndex<'record> {
    by_part: HashMap<(&'record str, &'record str), Vec<&'record CompatibilityNote>>,
}

impl<'record> NoteIndex<'record> {
    /// An index of `notes`.
    pub fn new(notes: impl IntoIterator<Item = &'record CompatibilityNote>) -> Self {
        let mut by_part: HashMap<_, Vec<_>> = HashMap::new();
        for note in notes {
            let kind: &str = &note.interface_kind;
            by_part.entry((&*note.part, kind)).or_default().push(note);
            if let Some(other) = note.other_part.as_ref().filter(|other| **other != note.part) {
                by_part.entry((&**other, kind)).or_default().push(note);
            }
        }
        Self { by_part }
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
        let held = self
            .by_part
            .get(&(&**part, interface_kind))
            .map_or(&[][..], Vec::as_slice);
        let mut about: Vec<&CompatibilityNote> = held
            .iter()
            .copied()
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
