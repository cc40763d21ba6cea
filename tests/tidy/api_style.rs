//! Style of the proto files: those of the public lint rules (category STANDARD of the buf linter) that the shape of the
//! descriptors shows. Left out on purpose: RPC_RESPONSE_STANDARD_NAME and RPC_REQUEST_RESPONSE_UNIQUE, since standard
//! methods answer with the resource itself.

use prost_types::{DescriptorProto, EnumDescriptorProto, FileDescriptorProto, ServiceDescriptorProto};

use crate::api::{PACKAGE, proto_files};
use crate::none;

/// Lower-case words with single underscores: `axle_load_kg`.
fn is_lower_snake(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase())
        && name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
        && !name.ends_with('_')
        && !name.contains("__")
}

/// Words with capitals: `AxleLoad`.
fn is_pascal(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_uppercase()) && name.chars().all(|c| c.is_ascii_alphanumeric())
}

/// `AxleLoad` as `AXLE_LOAD`.
fn upper_snake(pascal: &str) -> String {
    let mut out = String::new();
    for (at, c) in pascal.char_indices() {
        if at > 0 && c.is_ascii_uppercase() {
            out.push('_');
        }
        out.push(c.to_ascii_uppercase());
    }
    out
}

#[derive(Default)]
struct Breaches {
    file: String,
    found: Vec<String>,
}

impl Breaches {
    /// Notes a breach when a rule, by its public name, does not hold.
    fn unless(&mut self, holds: bool, rule: &str, name: &str) {
        if !holds {
            self.found.push(format!("proto/{}: {name}: {rule}", self.file));
        }
    }
}

fn file_style(file: &FileDescriptorProto, breaches: &mut Breaches) {
    let folder = PACKAGE.replace('.', "/");
    let stem = file
        .name()
        .strip_prefix(&format!("{folder}/"))
        .and_then(|name| name.strip_suffix(".proto"));
    breaches.unless(
        file.package() == PACKAGE,
        "PACKAGE_DEFINED, PACKAGE_SAME_DIRECTORY",
        file.package(),
    );
    breaches.unless(stem.is_some(), "PACKAGE_DIRECTORY_MATCH", file.package());
    breaches.unless(
        stem.is_some_and(is_lower_snake),
        "FILE_LOWER_SNAKE_CASE",
        file.name(),
    );
    breaches.unless(file.syntax() == "proto3", "SYNTAX_SPECIFIED", file.syntax());
    breaches.unless(file.public_dependency.is_empty(), "IMPORT_NO_PUBLIC", file.name());
    breaches.unless(file.weak_dependency.is_empty(), "IMPORT_NO_WEAK", file.name());
    for message in &file.message_type {
        message_style(message, breaches);
    }
    for value in &file.enum_type {
        enum_style(value, breaches);
    }
    for service in &file.service {
        service_style(service, breaches);
    }
}

fn message_style(message: &DescriptorProto, breaches: &mut Breaches) {
    if message
        .options
        .as_ref()
        .is_some_and(prost_types::MessageOptions::map_entry)
    {
        return;
    }
    breaches.unless(is_pascal(message.name()), "MESSAGE_PASCAL_CASE", message.name());
    for field in &message.field {
        let name = format!("{}.{}", message.name(), field.name());
        breaches.unless(is_lower_snake(field.name()), "FIELD_LOWER_SNAKE_CASE", &name);
        breaches.unless(field.name() != "descriptor", "FIELD_NO_DESCRIPTOR", &name);
    }
    let hidden = |at: usize| {
        message
            .field
            .iter()
            .any(|field| field.proto3_optional() && usize::try_from(field.oneof_index()) == Ok(at))
    };
    for (at, oneof) in message.oneof_decl.iter().enumerate() {
        breaches.unless(
            hidden(at) || is_lower_snake(oneof.name()),
            "ONEOF_LOWER_SNAKE_CASE",
            oneof.name(),
        );
    }
    for nested in &message.nested_type {
        message_style(nested, breaches);
    }
    for nested in &message.enum_type {
        enum_style(nested, breaches);
    }
}

fn enum_style(value: &EnumDescriptorProto, breaches: &mut Breaches) {
    breaches.unless(is_pascal(value.name()), "ENUM_PASCAL_CASE", value.name());
    let aliased = value
        .options
        .as_ref()
        .is_some_and(prost_types::EnumOptions::allow_alias);
    breaches.unless(!aliased, "ENUM_NO_ALLOW_ALIAS", value.name());
    let prefix = format!("{}_", upper_snake(value.name()));
    for constant in &value.value {
        let name = constant.name();
        let upper = name
            .chars()
            .all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_');
        breaches.unless(upper && !name.contains("__"), "ENUM_VALUE_UPPER_SNAKE_CASE", name);
        breaches.unless(name.starts_with(&prefix), "ENUM_VALUE_PREFIX", name);
        let is_zero_name = name == format!("{prefix}UNSPECIFIED");
        breaches.unless(
            (constant.number() == 0) == is_zero_name,
            "ENUM_ZERO_VALUE_SUFFIX",
            name,
        );
    }
    let first = value
        .value
        .first()
        .map(prost_types::EnumValueDescriptorProto::number);
    breaches.unless(first == Some(0), "ENUM_FIRST_VALUE_ZERO", value.name());
}

fn service_style(service: &ServiceDescriptorProto, breaches: &mut Breaches) {
    breaches.unless(is_pascal(service.name()), "SERVICE_PASCAL_CASE", service.name());
    breaches.unless(
        service.name().ends_with("Service"),
        "SERVICE_SUFFIX",
        service.name(),
    );
    for method in &service.method {
        let name = format!("{}.{}", service.name(), method.name());
        breaches.unless(is_pascal(method.name()), "RPC_PASCAL_CASE", &name);
        let local = |full: &str| full.strip_prefix(&format!(".{PACKAGE}.")).map(str::to_owned);
        let request = local(method.input_type());
        let right = Some(format!("{}Request", method.name()));
        breaches.unless(request == right, "RPC_REQUEST_STANDARD_NAME", &name);
        // An answer is a resource, nothing, or a message that belongs to this method alone.
        let right = format!("{}Response", method.name());
        let response = local(method.output_type()).unwrap_or_default();
        breaches.unless(
            !response.ends_with("Response") || response == right,
            "a Response belongs to its method",
            &name,
        );
    }
}

#[test]
fn the_api_keeps_the_public_style_rules() {
    let mut breaches = Breaches::default();
    for file in proto_files() {
        file.name().clone_into(&mut breaches.file);
        file_style(&file, &mut breaches);
    }
    none("public style rules", &breaches.found);
}

#[test]
fn no_import_is_unused() {
    let mut breaches = Vec::new();
    for file in proto_files() {
        let text = crate::read(&format!("proto/{}", file.name()));
        for import in &file.dependency {
            let uses: &[&str] = match import.as_str() {
                "google/protobuf/descriptor.proto" => {
                    &["google.protobuf.FieldOptions", "google.protobuf.MethodOptions"]
                }
                "google/protobuf/empty.proto" => &["google.protobuf.Empty"],
                "google/protobuf/field_mask.proto" => &["google.protobuf.FieldMask"],
                "google/protobuf/timestamp.proto" => &["google.protobuf.Timestamp"],
                "google/protobuf/duration.proto" => &["google.protobuf.Duration"],
                "ostler/v1/contract.proto" => &["(rule)", "(access)"],
                _ => &[],
            };
            if uses.is_empty() {
                breaches.extend(unused_local(&file, import));
            } else if !uses.iter().any(|used| text.contains(used)) {
                breaches.push(format!("proto/{}: {import}", file.name()));
            }
        }
    }
    none("IMPORT_USED", &breaches);
}

/// Says when a file uses no message or enum of a file of this project that it imports.
fn unused_local(file: &FileDescriptorProto, import: &str) -> Option<String> {
    let files = proto_files();
    let imported = files.iter().find(|file| file.name() == import)?;
    let messages = imported.message_type.iter().map(DescriptorProto::name);
    let names: Vec<String> = messages
        .chain(imported.enum_type.iter().map(EnumDescriptorProto::name))
        .map(|name| format!(".{PACKAGE}.{name}"))
        .collect();
    let fields = file.message_type.iter().flat_map(|message| {
        let nested = message.nested_type.iter().flat_map(|nested| &nested.field);
        message
            .field
            .iter()
            .chain(nested)
            .map(prost_types::FieldDescriptorProto::type_name)
    });
    let methods = file.service.iter().flat_map(|service| &service.method);
    let used = fields.chain(methods.flat_map(|method| [method.input_type(), method.output_type()]));
    let is_used = used.into_iter().any(|used| names.iter().any(|name| name == used));
    (!is_used).then(|| format!("proto/{}: {import}", file.name()))
}
