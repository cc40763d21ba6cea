//! Checks of `ostler_core::spares`.

#![cfg(test)]

mod convoy;
mod cover;
mod demand;
mod kit;
mod placement;

#[track_caller]
fn close(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "found {found}, wanted {wanted} within {tolerance}"
    );
}
