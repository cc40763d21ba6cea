//! Checks of `ostler_core::driveline`.

mod grade;
mod properties;
mod recorded;
mod refusals;
mod speeds;

use ostler_core::driveline::{Driveline, Gear, Setup, TransferRange};

/// Asserts that two numbers differ by no more than `allowed`.
#[track_caller]
fn assert_near(found: f64, expected: f64, allowed: f64) {
    assert!(
        (found - expected).abs() <= allowed,
        "found {found}, expected {expected} within {allowed}"
    );
}

fn gear(name: &str, ratio: f64) -> Gear {
    Gear {
        name: name.to_owned(),
        ratio,
        is_reverse: false,
    }
}

fn range(name: &str, ratio: f64) -> TransferRange {
    TransferRange {
        name: name.to_owned(),
        ratio,
    }
}

/// A gearbox of 4.0 to 0.75 with reverse, ranges of 1 and 2.5, axles of 4.1, on 265/75R16: invented.
fn setup() -> Setup {
    let reverse = Gear {
        name: "R".to_owned(),
        ratio: 4.2,
        is_reverse: true,
    };
    Setup {
        driveline: Driveline {
            gears: vec![
                gear("1", 4.0),
                gear("2", 2.2),
                gear("3", 1.4),
                gear("4", 1.0),
                gear("5", 0.75),
                reverse,
            ],
            ranges: vec![range("high", 1.0), range("low", 2.5)],
            axle_ratio: 4.1,
            hub_ratio: 1.0,
        },
        tyre_diameter_mm: 803.9,
        circumference_factor: 3.05,
    }
}
