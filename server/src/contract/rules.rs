//! The options of `contract.proto`, read once from the descriptors.

use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

use ostler_proto::{DESCRIPTOR_POOL, v1};
use prost::Message;
use prost_reflect::{DynamicMessage, FieldDescriptor, MessageDescriptor};

/// Largest magnitude of a number without a range of its own.
pub(super) const MAGNITUDE_MAX: f64 = 1e9;
/// Most characters of a text without a limit of its own.
pub(super) const LENGTH_MAX: usize = 1_000;
/// Most entries of a list or map without a limit of its own.
pub(super) const ITEMS_MAX: usize = 10_000;

static NO_RULE: LazyLock<v1::FieldRule> = LazyLock::new(v1::FieldRule::default);

static RULES: LazyLock<HashMap<String, v1::FieldRule>> = LazyLock::new(|| {
    let extension = DESCRIPTOR_POOL.get_extension_by_name("ostler.v1.rule");
    let Some(extension) = extension else {
        return HashMap::new();
    };
    DESCRIPTOR_POOL
        .all_messages()
        .flat_map(|message| message.fields().collect::<Vec<_>>())
        .filter_map(|field| {
            let options = field.options();
            options.has_extension(&extension).then(|| {
                let rule = options
                    .get_extension(&extension)
                    .as_message()
                    .and_then(decode)
                    .unwrap_or_default();
                (field.full_name().to_owned(), rule)
            })
        })
        .collect()
});

static ACCESS: LazyLock<HashMap<String, v1::AccessRule>> = LazyLock::new(|| {
    let extension = DESCRIPTOR_POOL.get_extension_by_name("ostler.v1.access");
    let Some(extension) = extension else {
        return HashMap::new();
    };
    DESCRIPTOR_POOL
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .filter_map(|method| {
            let options = method.options();
            let access: v1::AccessRule = options.get_extension(&extension).as_message().and_then(decode)?;
            let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
            Some((path, access))
        })
        .collect()
});

static STREAMS: LazyLock<HashSet<String>> = LazyLock::new(|| {
    DESCRIPTOR_POOL
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .filter(|method| method.is_client_streaming() || method.is_server_streaming())
        .map(|method| format!("/{}/{}", method.parent_service().full_name(), method.name()))
        .collect()
});

static METHODS_OF_REQUESTS: LazyLock<HashMap<String, String>> = LazyLock::new(|| {
    DESCRIPTOR_POOL
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .map(|method| {
            let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
            (method.input().full_name().to_owned(), path)
        })
        .collect()
});

/// Reads the rules of all fields and methods, which who needs the first of them would do otherwise: it takes some milliseconds.
pub fn prepare() {
    LazyLock::force(&RULES);
    LazyLock::force(&ACCESS);
    LazyLock::force(&STREAMS);
    LazyLock::force(&METHODS_OF_REQUESTS);
}

fn decode<M: Message + Default>(message: &DynamicMessage) -> Option<M> {
    M::decode(message.encode_to_vec().as_slice()).ok()
}

/// The rule of a field.
pub(crate) fn rule(field: &FieldDescriptor) -> &'static v1::FieldRule {
    RULES.get(field.full_name()).unwrap_or(&NO_RULE)
}

/// The weakest role that may call the method at `path`, such as
/// `/ostler.v1.FleetService/GetFleet`. `None`: the method states none.
pub fn access_role(path: &str) -> Option<v1::Role> {
    ACCESS.get(path).map(v1::AccessRule::role)
}

/// Whether the method at `path` sends or takes more than one message.
pub fn is_stream(path: &str) -> bool {
    STREAMS.contains(path)
}

/// Whether a method at `path` is one of this API.
pub fn is_method(path: &str) -> bool {
    ACCESS.contains_key(path)
}

/// Whether the method that takes such a request answers with nothing outside of its caller's scope by itself.
pub(crate) fn is_shared(request: &MessageDescriptor) -> bool {
    METHODS_OF_REQUESTS
        .get(request.full_name())
        .and_then(|path| ACCESS.get(path))
        .is_some_and(|access| access.shared)
}

/// The weakest role that may call the method that takes such a request. `None`: no method does.
pub fn role_of_request(request: &MessageDescriptor) -> Option<v1::Role> {
    access_role(METHODS_OF_REQUESTS.get(request.full_name())?)
}

/// The collections that a rule lets a field refer to.
pub(crate) fn targets(rule: &v1::FieldRule) -> impl Iterator<Item = &str> {
    let one = (!rule.refers_to.is_empty()).then_some(rule.refers_to.as_str());
    one.into_iter()
        .chain(rule.refers_to_any.iter().map(String::as_str))
}

/// The collection of a resource name as rules write it: `vehicles`, `vehicles/*/fitments`.
pub fn collection_of(name: &str) -> String {
    let segments: Vec<&str> = name.split('/').skip(2).collect();
    let mut collection = String::new();
    for (index, segment) in segments.iter().enumerate() {
        if index + 1 == segments.len() {
            break;
        }
        if index > 0 {
            collection.push('/');
        }
        collection.push_str(if index % 2 == 0 { segment } else { "*" });
    }
    collection
}
