//! What holds for every kind of resource.
//!
//! Each test goes through the table of kinds, so that a new kind is held to the same.

mod deletion;
mod etags;
mod lifecycle;
mod masks;
mod pages;
mod references;
mod requests;

use std::collections::BTreeSet;

use ostler_tests::client::methods;

use crate::fixture::KINDS;

#[test]
fn the_table_holds_every_kind() {
    let listed: BTreeSet<String> = methods()
        .map(|method| method.name().to_owned())
        .filter(|name| name.starts_with("List"))
        // History is no resource; an acceptance comes about only where there is something to accept, a load sheet only
        // by issuing it.
        .filter(|name| !["ListHistory", "ListAcceptances", "ListLoadSheets"].contains(&name.as_str()))
        .collect();
    let known: BTreeSet<String> = KINDS.iter().map(|kind| format!("List{}", kind.words)).collect();
    assert_eq!(listed, known);
}
