//! Rules for what the proto files promise: comments and access.

use std::collections::HashMap;

use ostler_proto::{DESCRIPTOR_POOL, DESCRIPTOR_SET};
use prost::Message as _;
use prost_types::source_code_info::Location;
use prost_types::{DescriptorProto, EnumDescriptorProto, FileDescriptorProto, FileDescriptorSet};

use crate::{files, none};

/// The package, and with dots as slashes its folder under `proto`.
pub(crate) const PACKAGE: &str = "ostler.v1";

/// Field numbers of descriptors, as `google/protobuf/descriptor.proto` gives them: the steps of a source path.
mod step {
    pub(super) const FILE_MESSAGE: i32 = 4;
    pub(super) const FILE_ENUM: i32 = 5;
    pub(super) const FILE_SERVICE: i32 = 6;
    pub(super) const FILE_EXTENSION: i32 = 7;
    pub(super) const MESSAGE_FIELD: i32 = 2;
    pub(super) const MESSAGE_NESTED: i32 = 3;
    pub(super) const MESSAGE_ENUM: i32 = 4;
    pub(super) const MESSAGE_ONEOF: i32 = 8;
    pub(super) const ENUM_VALUE: i32 = 2;
    pub(super) const SERVICE_METHOD: i32 = 2;
    /// The package statement, which the description of the file stands before.
    pub(super) const FILE_PACKAGE: i32 = 2;
}

/// The project's proto files, as they were compiled, with their comments.
pub(crate) fn proto_files() -> Vec<FileDescriptorProto> {
    let sources = files()
        .into_iter()
        .filter(|path| path.starts_with("proto/") && path.ends_with(".proto"));
    let mut files = FileDescriptorSet::decode(DESCRIPTOR_SET)
        .expect("the built descriptor set decodes")
        .file;
    files.retain(|file| !file.name().starts_with("google/"));
    assert_eq!(files.len(), sources.count(), "every file is compiled");
    files
}

/// Something a reader of the API meets, and where its comment is.
struct Item {
    name: String,
    path: Vec<i32>,
}

/// Everything in a file that needs a comment.
fn items(file: &FileDescriptorProto) -> Vec<Item> {
    let mut items = vec![Item {
        name: "the file".to_owned(),
        path: vec![step::FILE_PACKAGE],
    }];
    for (at, message) in numbered(&file.message_type) {
        message_items(message, "", vec![step::FILE_MESSAGE, at], &mut items);
    }
    for (at, value) in numbered(&file.enum_type) {
        enum_items(value, "", vec![step::FILE_ENUM, at], &mut items);
    }
    for (at, extension) in numbered(&file.extension) {
        items.push(Item {
            name: extension.name().to_owned(),
            path: vec![step::FILE_EXTENSION, at],
        });
    }
    for (at, service) in numbered(&file.service) {
        let path = vec![step::FILE_SERVICE, at];
        for (at, method) in numbered(&service.method) {
            let path = deeper(&path, step::SERVICE_METHOD, at);
            items.push(Item {
                name: format!("{}.{}", service.name(), method.name()),
                path,
            });
        }
        items.push(Item {
            name: service.name().to_owned(),
            path,
        });
    }
    items
}

fn message_items(message: &DescriptorProto, outer: &str, path: Vec<i32>, items: &mut Vec<Item>) {
    if message
        .options
        .as_ref()
        .is_some_and(prost_types::MessageOptions::map_entry)
    {
        return;
    }
    let name = format!("{outer}{}", message.name());
    for (at, field) in numbered(&message.field) {
        let path = deeper(&path, step::MESSAGE_FIELD, at);
        items.push(Item {
            name: format!("{name}.{}", field.name()),
            path,
        });
    }
    // The oneof that `optional` makes behind the scenes has no place of its own in the file.
    let hidden = |at: i32| {
        message
            .field
            .iter()
            .any(|field| field.proto3_optional() && field.oneof_index == Some(at))
    };
    for (at, oneof) in numbered(&message.oneof_decl).filter(|(at, _)| !hidden(*at)) {
        let path = deeper(&path, step::MESSAGE_ONEOF, at);
        items.push(Item {
            name: format!("{name}.{}", oneof.name()),
            path,
        });
    }
    let inner = format!("{name}.");
    for (at, nested) in numbered(&message.nested_type) {
        message_items(nested, &inner, deeper(&path, step::MESSAGE_NESTED, at), items);
    }
    for (at, nested) in numbered(&message.enum_type) {
        enum_items(nested, &inner, deeper(&path, step::MESSAGE_ENUM, at), items);
    }
    items.push(Item { name, path });
}

fn enum_items(value: &EnumDescriptorProto, outer: &str, path: Vec<i32>, items: &mut Vec<Item>) {
    let name = format!("{outer}{}", value.name());
    for (at, constant) in numbered(&value.value) {
        let path = deeper(&path, step::ENUM_VALUE, at);
        items.push(Item {
            name: format!("{name}.{}", constant.name()),
            path,
        });
    }
    items.push(Item { name, path });
}

fn numbered<T>(items: &[T]) -> impl Iterator<Item = (i32, &T)> {
    (0..).zip(items)
}

fn deeper(path: &[i32], step: i32, at: i32) -> Vec<i32> {
    [path, &[step, at]].concat()
}

#[test]
fn everything_in_the_api_has_a_comment() {
    let mut breaches = Vec::new();
    for file in proto_files() {
        let info = file
            .source_code_info
            .as_ref()
            .expect("compiled with source information");
        let places: HashMap<&[i32], &Location> = info
            .location
            .iter()
            .map(|location| (location.path.as_slice(), location))
            .collect();
        for item in items(&file) {
            let place = places.get(item.path.as_slice());
            let comment = place.map_or("", |location| location.leading_comments()).trim();
            if comment.is_empty() {
                let line = place
                    .and_then(|location| location.span.first())
                    .map_or(0, |line| line + 1);
                breaches.push(format!("proto/{}:{line}: {}", file.name(), item.name));
            } else if !comment.ends_with(['.', '?', ':', ';']) {
                breaches.push(format!(
                    "proto/{}: {}: the comment is no sentence",
                    file.name(),
                    item.name
                ));
            }
        }
    }
    none(
        "every file, message, field, oneof, enum, value, service and method has a comment before it",
        &breaches,
    );
}

#[test]
fn every_method_states_who_may_call_it() {
    let access = DESCRIPTOR_POOL
        .get_extension_by_name("ostler.v1.access")
        .expect("contract.proto declares the option `access`");
    let mut breaches = Vec::new();
    let mut methods = 0;
    for service in DESCRIPTOR_POOL
        .services()
        .filter(|service| service.package_name() == PACKAGE)
    {
        for method in service.methods() {
            methods += 1;
            let options = method.options();
            let rule = options.get_extension(&access);
            let role = rule
                .as_message()
                .and_then(|rule| rule.get_field_by_name("role")?.as_enum_number());
            if role.unwrap_or(0) == 0 {
                breaches.push(method.full_name().to_owned());
            }
        }
    }
    assert!(methods > 20, "only {methods} methods: the wrong package?");
    none(
        "every method carries `option (access) = {role: ...}` with a role",
        &breaches,
    );
}
