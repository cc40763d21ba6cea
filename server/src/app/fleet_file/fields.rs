//! What reading and writing agree on about the fields of a message.

use prost_reflect::{EnumDescriptor, FieldDescriptor, Kind, MessageDescriptor, OneofDescriptor};

/// Fields that identify a resource rather than belong to it. The file says them by its keys.
const IDENTITY: [&str; 4] = ["name", "etag", "create_time", "update_time"];

/// Numbers that may be left out although the API has no way to say that they are not known: exact
/// unless a tolerance is stated.
const ZERO_UNLESS_STATED: [&str; 1] = ["ostler.v1.Requirement.tolerance"];

/// Whether a field of a resource identifies it.
pub(super) fn is_identity(field: &FieldDescriptor) -> bool {
    IDENTITY.contains(&field.name())
}

/// Whether a field is a number that must stand in the file: left out, it would read as 0 without anybody
/// having said so.
pub(super) fn must_be_written(field: &FieldDescriptor) -> bool {
    matches!(field.kind(), Kind::Double | Kind::Int32 | Kind::Int64)
        && !field.supports_presence()
        && !field.is_list()
        && !ZERO_UNLESS_STATED.contains(&field.full_name())
}

/// The choice that a field belongs to, with more than one member.
pub(super) fn shared_oneof(field: &FieldDescriptor) -> Option<OneofDescriptor> {
    field.containing_oneof().filter(|oneof| oneof.fields().len() > 1)
}

/// Whether a message is a fact, which stands in the file as a single value.
pub(super) fn is_fact(descriptor: &MessageDescriptor) -> bool {
    descriptor.full_name() == "ostler.v1.Fact"
}

/// The word for an enum value: its name without the enum's prefix, in lower case.
pub(super) fn enum_word(enumeration: &EnumDescriptor, name: &str) -> String {
    let zero = enumeration.get_value(0);
    let prefix = zero
        .as_ref()
        .and_then(|zero| zero.name().strip_suffix("UNSPECIFIED"))
        .unwrap_or_default();
    name.strip_prefix(prefix).unwrap_or(name).to_ascii_lowercase()
}
