//! The methods that plain HTTP reaches, by their paths.

use std::collections::HashMap;
use std::sync::LazyLock;

use ostler_proto::DESCRIPTOR_POOL;
use prost_reflect::{DescriptorPool, MethodDescriptor};

static METHODS: LazyLock<HashMap<String, MethodDescriptor>> = LazyLock::new(|| {
    // In a pool of its own: added to a copy of the API's, all of that would be made a second time.
    let health = DescriptorPool::decode(tonic_health::pb::FILE_DESCRIPTOR_SET).unwrap_or_else(|error| {
        tracing::error!(%error, "the health service cannot be served as JSON");
        DescriptorPool::new()
    });
    let services = DESCRIPTOR_POOL.services().chain(health.services());
    services
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .map(|method| {
            let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
            (path, method)
        })
        .collect()
});

/// The method at `path`, such as `/ostler.v1.FleetService/GetFleet`.
pub(super) fn at(path: &str) -> Option<MethodDescriptor> {
    METHODS.get(path).cloned()
}
