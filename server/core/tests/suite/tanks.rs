//! Checks of `ostler_core::tanks`.

mod density;
mod flow;
mod free_surface;
mod plates;
mod refusals;
mod shape;
mod slosh;
mod ullage;
mod vent_and_leak_test;

/// Asserts that two numbers differ by no more than a part of the expected one.
#[track_caller]
fn assert_close(found: f64, expected: f64, relative: f64) {
    let allowed = relative * expected.abs();
    assert!(
        (found - expected).abs() <= allowed,
        "found {found}, expected {expected} within {allowed}"
    );
}
