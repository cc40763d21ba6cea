//! Fleet files there and back, and what is wrong with faulty ones.

mod demo;
mod faults;
mod format;
mod packs;
mod random;
mod round_trip;

use ostler_core::record::Name;
use prost::Message as _;
use prost_reflect::{DynamicMessage, ReflectMessage as _};

use super::{FileResource, FleetFile, read};

/// A file that begins as every file does.
fn file(rest: &str) -> String {
    format!("fleet_file: 1\nfleet: {{id: orrin, display_name: Orrin}}\n{rest}")
}

fn read_text(text: &str) -> FleetFile {
    read(text.as_bytes()).unwrap_or_else(|refused| panic!("{refused}\n{text}"))
}

/// What a file holds, without places.
fn content(file: &FleetFile) -> Vec<(Name, DynamicMessage)> {
    // As it is stored: a number that is 0 and cannot be unset is then the same as one that was never set.
    let stored = |message: &DynamicMessage| {
        DynamicMessage::decode(message.descriptor(), message.encode_to_vec().as_slice()).unwrap()
    };
    let mut content: Vec<_> = file
        .resources
        .iter()
        .map(|resource| (resource.name.clone(), stored(&resource.message)))
        .collect();
    content.sort_by(|left, right| left.0.cmp(&right.0));
    content
}

fn resource<'a>(file: &'a FleetFile, path: &str) -> &'a FileResource {
    file.resources
        .iter()
        .find(|resource| resource.path() == path)
        .unwrap_or_else(|| panic!("no {path}"))
}
