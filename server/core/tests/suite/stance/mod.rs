//! Checks of `ostler_core::stance`.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper that fails fails its test"
)]

mod contact;
mod handed;
mod heights;
mod inputs;
mod lean;
mod properties;
mod published;

use ostler_core::stance::springs::Spring;
use ostler_core::stance::vehicle::Tyre;
use ostler_core::stance::{Axle, AxleKind, SprungMass, SprungVehicle, WheelStation};

/// A station with a linear coil spring acting at the wheel, without stops or unsprung mass.
fn station(rate_n_per_mm: f64, free_length_mm: f64) -> WheelStation {
    WheelStation {
        spring: Spring::coil(rate_n_per_mm, free_length_mm),
        spring_length_at_reference_mm: 300.0,
        air_helper: None,
        motion_ratio: 1.0,
        installation_angle_deg: 0.0,
        bump_stop: None,
        droop_limit_mm: None,
        unsprung_mass_kg: 0.0,
    }
}

/// An axle with equal stations.
fn axle(kind: AxleKind, track_mm: f64, station: &WheelStation) -> Axle {
    Axle {
        kind,
        track_mm,
        anti_roll_bar_nm_per_rad: 0.0,
        tyre: Tyre {
            loaded_radius_mm: 394.0,
            vertical: None,
        },
        left: station.clone(),
        right: station.clone(),
    }
}

/// Independent wheels front and rear; every spring carries 500 kg in the reference position.
fn plain_vehicle() -> SprungVehicle {
    SprungVehicle {
        wheelbase_mm: 2850.0,
        sprung: SprungMass {
            mass_kg: 2000.0,
            x_mm: 1425.0,
            y_mm: 0.0,
            z_mm: 900.0,
            roll_axis_height_mm: None,
        },
        front: axle(
            AxleKind::Independent,
            1200.0,
            &station(30.0, 300.0 + 500.0 * 9.80665 / 30.0),
        ),
        rear: axle(
            AxleKind::Independent,
            1100.0,
            &station(40.0, 300.0 + 500.0 * 9.80665 / 40.0),
        ),
    }
}
