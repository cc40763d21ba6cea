//! From a file to resources.

use std::collections::BTreeMap;

use ostler_core::check::InvalidInput;
use ostler_core::record::{Id, Name};
use prost_reflect::{DynamicMessage, Kind, ReflectMessage, Value};

use super::faults::{Faults, suggestion};
use super::message::{Reader, is_null, join, shortened, shown};
use super::node::{Content, Key, Node, Place, Plain, plain};
use super::parse::{WHOLE, parse};
use super::sections::{FITMENTS, FLEET, SECTIONS, Section, VEHICLES, entry};
use super::{FileResource, FleetFile, VERSION};
use crate::contract::{self, Presence, rule};

/// Reads a fleet file.
///
/// # Errors
/// Every fault with the path of its field; each problem starts with its line and column. A file that is
/// no YAML, or of another version of the format, has that one fault. More than 1,000 faults are counted
/// but not listed.
#[cfg(test)]
pub(in crate::app) fn read(bytes: &[u8]) -> Result<FleetFile, InvalidInput> {
    let (file, faults) = read_with_faults(bytes)?;
    faults.map_or(Ok(file), Err)
}

/// Reads a fleet file, and gives what could be read of it beside its faults, so that
/// faults which only the record can tell are found in the same round.
///
/// # Errors
/// A file that is no YAML, or of another version of the format.
pub(in crate::app) fn read_with_faults(
    bytes: &[u8],
) -> Result<(FleetFile, Option<InvalidInput>), InvalidInput> {
    let root = parse(bytes)?;
    let Content::Mapping(entries) = &root.content else {
        return Err(fault(
            WHOLE,
            root.place,
            format!("must be a mapping, is {}", shown(&root)),
        ));
    };
    version(root.place, entries)?;
    let mut faults = Faults::default();
    let fleet = fleet_name(root.place, entries, &mut faults)?;
    let mut file = File {
        faults: &mut faults,
        resources: Vec::new(),
        fleet,
    };
    file.sections(entries);
    let File { resources, fleet, .. } = file;
    Ok((FleetFile { fleet, resources }, faults.finish().err()))
}

fn fault(field: &str, place: Place, problem: impl std::fmt::Display) -> InvalidInput {
    InvalidInput::one(field, format!("{place}: {problem}"))
}

fn find<'a>(entries: &'a [(Key, Node)], key: &str) -> Option<&'a Node> {
    entries
        .iter()
        .find(|(candidate, _)| candidate.text == key)
        .map(|(_, node)| node)
}

fn version(place: Place, entries: &[(Key, Node)]) -> Result<(), InvalidInput> {
    let Some(node) = find(entries, WHOLE) else {
        return Err(fault(
            WHOLE,
            place,
            format!("must be set to the version of the format, {VERSION}"),
        ));
    };
    #[expect(clippy::cast_precision_loss, reason = "the version is a small number")]
    let wanted = Plain::Number(VERSION as f64);
    match &node.content {
        Content::Scalar { text, quoted: false } if plain(text) == wanted => Ok(()),
        _ => {
            let problem = format!(
                "must be {VERSION}, the version of the format this server reads, is {}",
                shown(node)
            );
            Err(fault(WHOLE, node.place, problem))
        }
    }
}

/// Stands in for the name of a fleet that has none.
const STAND_IN: &str = "fleets/unnamed";

/// The fleet's name. A file without one is refused in the end; until then a stand-in lets the rest be read.
fn fleet_name(place: Place, entries: &[(Key, Node)], faults: &mut Faults) -> Result<Name, InvalidInput> {
    let node = find(entries, FLEET.key);
    let id = node.and_then(|node| match &node.content {
        Content::Mapping(entries) => find(entries, "id"),
        _ => None,
    });
    let text = match id.map(|id| &id.content) {
        Some(Content::Scalar { text, .. }) => text.as_str(),
        _ => "",
    };
    if let Ok(name) = Id::new(text).and_then(|id| Name::new(format!("{}/{id}", FLEET.collection))) {
        return Ok(name);
    }
    let place = id.or(node).map_or(place, |node| node.place);
    let path = join(FLEET.key, "id");
    faults.refuse(
        &path,
        place,
        "must be the fleet's id: 1 to 63 lower-case letters, digits, `-`, `_` or `.`, starting and ending with a \
         letter or digit",
    );
    Name::new(STAND_IN)
}

struct File<'a> {
    fleet: Name,
    faults: &'a mut Faults,
    resources: Vec<FileResource>,
}

impl File<'_> {
    fn sections(&mut self, entries: &[(Key, Node)]) {
        let mut found: BTreeMap<&str, &Node> = BTreeMap::new();
        let known = || {
            [WHOLE, FLEET.key]
                .into_iter()
                .chain(SECTIONS.iter().map(|section| section.key))
        };
        for (key, node) in self.reader(String::new()).once("", entries) {
            if known().any(|known| known == key.text) {
                found.insert(&key.text, node);
            } else {
                let problem = format!(
                    "is no section of a fleet file; {}",
                    suggestion(&key.text, known())
                );
                self.faults.refuse(&shortened(&key.text), key.place, problem);
            }
        }
        if let Some(node) = found.get(FLEET.key) {
            let fleet = self.fleet.clone();
            self.resource(&FLEET, FLEET.key.to_owned(), &fleet, node, &["id"]);
        }
        for section in &SECTIONS {
            if let Some(node) = found.get(section.key) {
                let fleet = self.fleet.clone();
                self.section(section, section.key, &fleet, node);
            }
        }
    }

    fn reader(&mut self, root: String) -> Reader<'_> {
        Reader {
            fleet: &self.fleet,
            root,
            places: BTreeMap::new(),
            faults: self.faults,
        }
    }

    /// Reads a mapping from ids to resources below `parent`.
    fn section(&mut self, section: &Section, path: &str, parent: &Name, node: &Node) {
        if is_null(node) {
            return;
        }
        let Content::Mapping(entries) = &node.content else {
            let problem = format!("must be a mapping from ids, is {}", shown(node));
            self.faults.refuse(path, node.place, problem);
            return;
        };
        for (key, node) in self.reader(path.to_owned()).once("", entries) {
            let path = entry(path, &shortened(&key.text));
            let Ok(id) = Id::new(key.text.as_str()) else {
                self.faults.refuse(
                    &path,
                    key.place,
                    "must have an id of 1 to 63 lower-case letters, digits, `-`, `_` or `.`, starting and ending with \
                     a letter or digit",
                );
                continue;
            };
            let name = parent.child(section.collection, &id);
            if section.key != VEHICLES.key {
                self.resource(section, path, &name, node, &[]);
                continue;
            }
            self.resource(section, path.clone(), &name, node, &[FITMENTS.key]);
            if let Content::Mapping(entries) = &node.content
                && let Some(node) = find(entries, FITMENTS.key)
            {
                self.section(&FITMENTS, &format!("{path}.{}", FITMENTS.key), &name, node);
            }
        }
    }

    fn resource(&mut self, section: &Section, path: String, name: &Name, node: &Node, besides: &[&str]) {
        let entries: &[(Key, Node)] = match &node.content {
            Content::Mapping(entries) => entries,
            _ if is_null(node) => &[],
            _ => {
                self.faults.refuse(
                    &path,
                    node.place,
                    format!("must be a mapping, is {}", shown(node)),
                );
                return;
            }
        };
        let mut reader = self.reader(path);
        let mut message = reader.message("", &section.descriptor(), node.place, entries, besides);
        let places = std::mem::take(&mut reader.places);
        begin_states(&mut message);
        let resource = FileResource {
            word: section.word,
            name: name.clone(),
            message,
            places,
        };
        self.check(section, &resource);
        self.resources.push(resource);
    }

    /// Holds a resource against the contract; what its values already failed at is not said twice.
    fn check(&mut self, section: &Section, resource: &FileResource) {
        let contract = contract::check(&resource.message, Presence::Record);
        let outcome = contract.and_then(|()| section.converts(&resource.name, &resource.message));
        let Err(refused) = outcome else { return };
        let root = resource.path();
        for violation in refused.violations {
            let path = join(&root, &violation.field);
            let place = resource.place(&violation.field);
            if let Some(place) = place.filter(|_| !self.faults.covers(&path)) {
                self.faults.refuse(&path, place, violation.problem);
            }
        }
    }
}

/// Gives a resource the state that the API starts it with, where the file says none: the first one.
fn begin_states(message: &mut DynamicMessage) {
    let descriptor = message.descriptor();
    for field in descriptor.fields() {
        let Kind::Enum(enumeration) = field.kind() else {
            continue;
        };
        if rule(&field).output_only && !message.has_field(&field) {
            let first = enumeration
                .values()
                .map(|value| value.number())
                .filter(|number| *number > 0)
                .min();
            if let Some(first) = first {
                message.set_field(&field, Value::EnumNumber(first));
            }
        }
    }
}
