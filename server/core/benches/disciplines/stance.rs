//! Benchmarks of `ostler_core::stance`.

use divan::{Bencher, black_box};
use ostler_core::stance::diagnosis::{
    DiagnosisInput, Floor, HeightKind, HeightReading, Priors, Tolerances, diagnose,
};
use ostler_core::stance::heights::{Carrier, Outline, VehiclePoint, attitude};
use ostler_core::stance::springs::{AirHelper, Characteristic, Spring};
use ostler_core::stance::vehicle::{AxlePosition, BumpStop, Tyre, TyreRate};
use ostler_core::stance::{Axle, AxleKind, SprungMass, SprungVehicle, Wheel, WheelStation, solve};

fn station(rate_n_per_mm: f64, load_n: f64) -> WheelStation {
    WheelStation {
        spring: Spring::coil(rate_n_per_mm, 300.0 + load_n / rate_n_per_mm),
        spring_length_at_reference_mm: 300.0,
        air_helper: None,
        motion_ratio: 1.0,
        installation_angle_deg: 0.0,
        bump_stop: Some(BumpStop {
            gap_mm: 80.0,
            rate_n_per_mm: 400.0,
        }),
        droop_limit_mm: Some(110.0),
        unsprung_mass_kg: 90.0,
    }
}

fn axle(spring_spacing_mm: f64, station: &WheelStation, vertical: Option<TyreRate>) -> Axle {
    Axle {
        kind: AxleKind::Beam { spring_spacing_mm },
        track_mm: 1_550.0,
        anti_roll_bar_nm_per_rad: 12_000.0,
        tyre: Tyre {
            loaded_radius_mm: 390.0,
            vertical,
        },
        left: station.clone(),
        right: station.clone(),
    }
}

/// Two beam axles with stops; a load off centre.
fn vehicle(vertical: Option<TyreRate>) -> SprungVehicle {
    SprungVehicle {
        wheelbase_mm: 2_850.0,
        sprung: SprungMass {
            mass_kg: 2_700.0,
            x_mm: 1_600.0,
            y_mm: 20.0,
            z_mm: 950.0,
            roll_axis_height_mm: Some(450.0),
        },
        front: axle(950.0, &station(40.0, 5_500.0), vertical),
        rear: axle(1_050.0, &station(55.0, 7_000.0), vertical),
    }
}

/// As `vehicle`, with two-stage springs, a helper, and so much load that stops engage.
fn overloaded() -> SprungVehicle {
    let mut vehicle = vehicle(None);
    vehicle.sprung.mass_kg = 4_200.0;
    vehicle.sprung.y_mm = 150.0;
    for wheel in Wheel::ALL {
        let station = vehicle.station_mut(wheel);
        station.spring.characteristic = Characteristic::TwoStage {
            initial_rate_n_per_mm: 40.0,
            transition_compression_mm: 140.0,
            final_rate_n_per_mm: 70.0,
        };
        station.air_helper = Some(AirHelper {
            preload_n: 500.0,
            rate_n_per_mm: 8.0,
        });
    }
    vehicle
}

fn outline() -> Outline {
    let point = |x_mm, y_mm, z_mm| VehiclePoint {
        x_mm,
        y_mm,
        z_mm,
        carried_by: Carrier::Body,
    };
    Outline {
        arches: [(0.0, -800.0), (0.0, 800.0), (2_850.0, -800.0), (2_850.0, 800.0)]
            .map(|(x, y)| point(x, y, 900.0)),
        lean_width_mm: 1_600.0,
        underside: vec![
            point(-850.0, 0.0, 450.0),
            point(1_425.0, 300.0, 300.0),
            point(3_900.0, 0.0, 520.0),
            VehiclePoint {
                x_mm: 2_850.0,
                y_mm: 100.0,
                z_mm: 230.0,
                carried_by: Carrier::Axle(AxlePosition::Rear),
            },
        ],
    }
}

#[divan::bench]
fn position_of_rest_linear(bencher: Bencher<'_, '_>) {
    let vehicle = vehicle(None);
    bencher.bench_local(|| solve(black_box(&vehicle)));
}

#[divan::bench]
fn position_of_rest_with_yielding_tyres(bencher: Bencher<'_, '_>) {
    let vehicle = vehicle(Some(TyreRate {
        rate_n_per_mm: 280.0,
        load_at_radius_n: 7_000.0,
    }));
    bencher.bench_local(|| solve(black_box(&vehicle)));
}

#[divan::bench]
fn position_of_rest_with_stops_engaged(bencher: Bencher<'_, '_>) {
    let vehicle = overloaded();
    bencher.bench_local(|| solve(black_box(&vehicle)));
}

/// What one vehicle-state costs: rest, heights, clearance and angles.
#[divan::bench]
fn vehicle_state(bencher: Bencher<'_, '_>) {
    let (vehicle, outline) = (vehicle(None), outline());
    bencher.bench_local(|| {
        let stance = solve(black_box(&vehicle))?;
        let attitude = attitude(&vehicle, &stance, &outline)?;
        Ok::<_, ostler_core::stance::StanceError>((stance, attitude))
    });
}

/// All hypotheses of a lean with the next measurements, from two heights.
#[divan::bench]
fn lean_diagnosis(bencher: Bencher<'_, '_>) {
    let (vehicle, outline) = (vehicle(None), outline());
    let readings =
        [(Wheel::RearLeft, 905.0), (Wheel::RearRight, 882.0)].map(|(wheel, height_mm)| HeightReading {
            wheel,
            kind: HeightKind::ArchToFloor,
            height_mm,
            standard_deviation_mm: 2.0,
        });
    bencher.bench_local(|| {
        diagnose(&DiagnosisInput {
            recorded: black_box(&vehicle),
            arches: &outline.arches,
            readings: &readings,
            floor: Floor::NotStated,
            variants: &[],
            unladen: Some(SprungMass {
                mass_kg: 1_900.0,
                ..vehicle.sprung
            }),
            priors: &Priors::default(),
            tolerances: &Tolerances::default(),
        })
    });
}
