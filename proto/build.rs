//! Compiles `ostler/v1/*.proto` in pure Rust: messages, services, and the descriptor set, with comments and without.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let out = PathBuf::from(env::var("OUT_DIR")?);
    let files = proto_files(&root.join("ostler/v1"))?;
    println!("cargo:rerun-if-changed=ostler/v1");

    let compiled = |comments| compiled(&root, &files, comments);
    // The encoded form keeps the options of `contract.proto`; the typed one would drop them.
    let commented = compiled(true)?;
    fs::write(
        out.join("descriptor_set.bin"),
        commented.encode_file_descriptor_set(),
    )?;
    fs::write(
        out.join("bare_descriptor_set.bin"),
        compiled(false)?.encode_file_descriptor_set(),
    )?;

    let descriptors = commented.file_descriptor_set();
    let mut config = tonic_prost_build::configure();
    for file in descriptors
        .file
        .iter()
        .filter(|file| file.package() == "ostler.v1")
    {
        for message in &file.message_type {
            let name = format!("ostler.v1.{}", message.name());
            config = config
                .type_attribute(&name, "#[derive(::prost_reflect::ReflectMessage)]")
                .type_attribute(
                    &name,
                    format!(
                        "#[prost_reflect(message_name = \"{name}\", descriptor_pool = \"crate::DESCRIPTOR_POOL\")]"
                    ),
                );
        }
    }
    config
        .btree_map(".")
        .compile_well_known_types(false)
        .compile_fds(descriptors)?;
    Ok(())
}

fn compiled(root: &Path, files: &[PathBuf], comments: bool) -> Result<protox::Compiler, protox::Error> {
    let mut compiler = protox::Compiler::new([root])?;
    compiler
        .include_source_info(comments)
        .include_imports(true)
        .open_files(files)?;
    Ok(compiler)
}

fn proto_files(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "proto") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}
