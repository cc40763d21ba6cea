//! The fleet file: one YAML document that holds a whole fleet, for a person to write.
//!
//! ```yaml
//! fleet_file: 1
//! fleet: {id: orrin, display_name: Orrin Basin crossing}
//! parts:
//!   gearbox-a: {display_name: gearbox, kind: gearbox, interfaces: [{kind: input_spline, count: 21}]}
//! vehicles:
//!   v1:
//!     display_name: lead
//!     specification: {wheelbase_mm: 2850}
//!     fitments: {gearbox: {part: gearbox-a, fitted_date: 2026-01-01}}
//! ```
//!
//! The format has no types of its own: it is the API's messages, read and written by their descriptors.
//! - Keys are the fields of the API, so that units stand in them. An unknown key is refused.
//! - Each section is a mapping from ids to resources; what is fitted stands below its vehicle.
//! - A reference is an id, `v1`; where several collections may be meant, `evidence/k04`.
//! - An enum value is its name without prefix in lower case: `weighed`.
//! - A fact is a plain value: `true`, `12.5`, `text`; `null` for one that is not known.
//! - In a mapping of references, `null` stands for none: `fitted_parts: {tank.auxiliary: null}`.
//! - A number that the API cannot leave open must be written, also when it is 0.
//! - States may stand in the file; a substitution without one is proposed, a defect open.
//! - Names, etags and times do not stand in it.
//!
//! [`read_with_faults`] finds every fault of a file with its path, line and column. What it cannot see are
//! references to resources that are not in the file; [`FileResource::violation`] places those.

mod emit;
mod faults;
mod fields;
mod message;
mod node;
mod parse;
mod read;
mod sections;
mod write;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use ostler_core::check::Violation;
use ostler_core::record::Name;
use prost_reflect::DynamicMessage;

pub(in crate::app) use faults::suggestion;
pub(in crate::app) use node::Place;
#[cfg(test)]
pub(in crate::app) use read::read;
pub(in crate::app) use read::read_with_faults;
pub(in crate::app) use write::write;

/// Version of the format.
const VERSION: i64 = 1;

/// The resources of one fleet.
#[derive(Debug, Clone)]
pub(in crate::app) struct FleetFile {
    /// Name of the fleet.
    pub fleet: Name,
    /// The fleet itself and everything below it, parents before what stands below them.
    ///
    /// References may point forward: a vehicle names the weighing that it is computed from, and the
    /// weighing names the vehicle.
    pub resources: Vec<FileResource>,
}

/// A resource and where it stands in the file.
#[derive(Debug, Clone)]
pub(in crate::app) struct FileResource {
    /// The word for its kind, as `Kind::WORD`.
    pub word: &'static str,
    /// Its name.
    pub name: Name,
    /// The resource; its identity fields are not set.
    pub message: DynamicMessage,
    /// Places of its fields by their paths in the message; that of the resource itself is at the empty path.
    places: BTreeMap<String, Place>,
}

impl FileResource {
    /// A resource to be written. `None` when a fleet file has no section for it.
    pub(in crate::app) fn new(name: Name, message: DynamicMessage) -> Option<Self> {
        let word = sections::of_name(&name)?.word;
        Some(Self {
            word,
            name,
            message,
            places: BTreeMap::new(),
        })
    }

    /// Its path in the file: `vehicles.v1`.
    pub(in crate::app) fn path(&self) -> String {
        sections::path_of(&self.name)
    }

    /// Where the field at `path` in the message stands, or the nearest around it. `None` for a resource
    /// that was not read from a file.
    pub(in crate::app) fn place(&self, path: &str) -> Option<Place> {
        let mut path = path;
        loop {
            match self.places.get(path) {
                Some(place) => return Some(*place),
                None if path.is_empty() => return None,
                None => path = &path[..path.rfind(['.', '[']).unwrap_or(0)],
            }
        }
    }

    /// A violation of the field at `path` in the message, with its path, line and column in the file.
    pub(in crate::app) fn violation(&self, path: &str, problem: &str) -> Violation {
        let problem = match self.place(path) {
            Some(place) => format!("{place}: {problem}"),
            None => problem.to_owned(),
        };
        Violation {
            field: message::join(&self.path(), path),
            problem,
        }
    }
}
