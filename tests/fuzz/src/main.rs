//! Fuzzes the parser that `OSTLER_PARSER` names. `tests/fuzz/run` compiles and runs it.

#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use ostler_server::parsers::{PARSERS, Parser};

static PARSER: LazyLock<&Parser> = LazyLock::new(|| {
    let name = std::env::var("OSTLER_PARSER").unwrap_or_default();
    PARSERS
        .iter()
        .find(|parser| parser.name == name)
        .unwrap_or_else(|| panic!("OSTLER_PARSER must be one of {:?}", PARSERS.iter().map(|parser| parser.name).collect::<Vec<_>>()))
});

fuzz_target!(|data: &[u8]| {
    if let Err(unfaithful) = (PARSER.read)(data) {
        panic!("{unfaithful}");
    }
});
