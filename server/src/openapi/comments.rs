//! What the proto files say beside a declaration.

use std::collections::HashMap;
use std::sync::LazyLock;

use ostler_proto::DESCRIPTOR_SET;
use prost::Message as _;
use prost_reflect::FileDescriptor;
use prost_types::FileDescriptorSet;

/// By file and path within it.
static COMMENTS: LazyLock<HashMap<(String, Vec<i32>), String>> = LazyLock::new(|| {
    let mut comments = HashMap::new();
    // It decodes: it is what the API was built with.
    let set = FileDescriptorSet::decode(DESCRIPTOR_SET).unwrap_or_default();
    for file in &set.file {
        let locations = file.source_code_info.iter().flat_map(|info| &info.location);
        for location in locations {
            if let Some(comment) = &location.leading_comments {
                let lines: Vec<&str> = comment.lines().map(str::trim).collect();
                let key = (file.name().to_owned(), location.path.clone());
                comments.insert(key, lines.join(" ").trim().to_owned());
            }
        }
    }
    comments
});

/// The comment above the declaration at `path` of `file`; empty when there is none.
pub(super) fn of(file: &FileDescriptor, path: &[i32]) -> &'static str {
    COMMENTS
        .get(&(file.name().to_owned(), path.to_vec()))
        .map_or("", String::as_str)
}
