//! The API of Ostler: code generated from `ostler/v1/*.proto`, and its descriptor set.

use std::sync::LazyLock;

use prost_reflect::DescriptorPool;

/// Package `ostler.v1`.
pub mod v1 {
    #![allow(
        missing_docs,
        clippy::all,
        reason = "generated code; the proto files carry the documentation"
    )]
    tonic::include_proto!("ostler.v1");
}

/// The encoded `FileDescriptorSet` of the API with its imports, options and comments included.
pub const DESCRIPTOR_SET: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/descriptor_set.bin"));

/// The same without comments and where they stand, which are two thirds of it and half or more of what it takes to be read.
const BARE_DESCRIPTOR_SET: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/bare_descriptor_set.bin"));

/// The descriptors of the API, without comments.
#[expect(clippy::expect_used, reason = "the set is made by this crate's own build")]
pub static DESCRIPTOR_POOL: LazyLock<DescriptorPool> =
    LazyLock::new(|| DescriptorPool::decode(BARE_DESCRIPTOR_SET).expect("the built descriptor set decodes"));
