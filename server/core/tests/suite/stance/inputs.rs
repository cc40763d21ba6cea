//! Bad input gets an error that names its fields.

use ostler_core::stance::angles::tangent_angle_deg;
use ostler_core::stance::rates::{coil_rate, series_rate_n_per_mm};
use ostler_core::stance::springs::{Characteristic, ForcePoint};
use ostler_core::stance::{StanceError, solve, solve_on_floor};

use super::plain_vehicle;

fn fields(error: StanceError) -> Vec<String> {
    match error {
        StanceError::Invalid(refused) => refused
            .violations
            .into_iter()
            .map(|violation| violation.field)
            .collect(),
        other => panic!("{other}"),
    }
}

#[test]
fn every_bad_field_is_named() {
    let mut vehicle = plain_vehicle();
    vehicle.wheelbase_mm = 0.0;
    vehicle.sprung.mass_kg = 0.0;
    vehicle.sprung.y_mm = f64::NAN;
    vehicle.front.left.spring.characteristic = Characteristic::Linear { rate_n_per_mm: -30.0 };
    vehicle.rear.track_mm = f64::INFINITY;
    vehicle.rear.right.motion_ratio = 0.0;
    vehicle.rear.right.unsprung_mass_kg = -1.0;
    assert_eq!(
        fields(solve(&vehicle).unwrap_err()),
        [
            "wheelbase_mm",
            "sprung.mass_kg",
            "sprung.y_mm",
            "front.left.spring.rate_n_per_mm",
            "rear.track_mm",
            "rear.right.motion_ratio",
            "rear.right.unsprung_mass_kg"
        ]
    );
}

#[test]
fn a_falling_force_table_is_refused() {
    let mut vehicle = plain_vehicle();
    vehicle.front.right.spring.characteristic = Characteristic::Table {
        points: [(0.0, 0.0), (50.0, 1_000.0), (60.0, 900.0), (60.0, f64::NAN)]
            .map(|(compression_mm, force_n)| ForcePoint {
                compression_mm,
                force_n,
            })
            .to_vec(),
    };
    assert_eq!(
        fields(solve(&vehicle).unwrap_err()),
        [
            "front.right.spring.points[2].force_n",
            "front.right.spring.points[3].force_n",
            "front.right.spring.points[3].compression_mm"
        ]
    );
    vehicle.front.right.spring.characteristic = Characteristic::Table { points: Vec::new() };
    assert_eq!(
        fields(solve(&vehicle).unwrap_err()),
        ["front.right.spring.points"]
    );
}

#[test]
fn floors_and_bench_formulas_refuse_too() {
    let refused = fields(solve_on_floor(&plain_vehicle(), [0.0, f64::NAN, 0.0, 900.0]).unwrap_err());
    assert_eq!(refused, ["floor_mm[1]", "floor_mm[3]"]);
    assert_eq!(
        coil_rate(80.0, 0.0, -1.0, f64::NAN).unwrap_err().violations.len(),
        3
    );
    assert!(coil_rate(80.0, 1e-300, 2e-300, 1e-300).is_err());
    assert!(series_rate_n_per_mm(&[]).is_err());
    assert_eq!(
        series_rate_n_per_mm(&[30.0, 0.0]).unwrap_err().violations[0].field,
        "rates_n_per_mm[1]"
    );
    assert!(tangent_angle_deg(0.0, f64::NAN, 394.0).is_err());
    // A point inside the tyre's outline is protected by it; one on the ground leaves no angle.
    assert_eq!(tangent_angle_deg(100.0, 394.0, 394.0).unwrap(), None);
    assert_eq!(tangent_angle_deg(100.0, -5.0, 394.0).unwrap(), Some(0.0));
}
