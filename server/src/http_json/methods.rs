//! The methods that plain HTTP reaches, by their paths.

use std::collections::HashMap;
use std::sync::LazyLock;

use ostler_proto::DESCRIPTOR_POOL;
use prost_reflect::{DescriptorPool, MethodDescriptor};

static METHODS: LazyLock<HashMap<String, MethodDescriptor>> = LazyLock::new(|| {
    let mut pool: DescriptorPool = DESCRIPTOR_POOL.clone();
    if let Err(error) = pool.decode_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET) {
        tracing::error!(%error, "the health service cannot be served as JSON");
    }
    pool.services()
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
