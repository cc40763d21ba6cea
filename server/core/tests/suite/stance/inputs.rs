//! Bad input gets an error that names its fields.

use ostler_core::stance::angles::tangent_angle_deg;
use ostler_core::stance::rates::{coil_rate, series_rate_n_per_mm};
use ostler_core::stance::springs::{Characteristic, ForcePoint};
use ostler_core::stance::{SprungVehicle, StanceError, solve, solve_on_floor};

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

type Field = fn(&mut SprungVehicle) -> &mut f64;
const FIELDS: [Field; 16] = [
    |vehicle| &mut vehicle.wheelbase_mm,
    |vehicle| &mut vehicle.sprung.mass_kg,
    |vehicle| &mut vehicle.sprung.x_mm,
    |vehicle| &mut vehicle.sprung.y_mm,
    |vehicle| &mut vehicle.sprung.z_mm,
    |vehicle| vehicle.sprung.roll_axis_height_mm.get_or_insert(0.0),
    |vehicle| &mut vehicle.front.track_mm,
    |vehicle| &mut vehicle.front.anti_roll_bar_nm_per_rad,
    |vehicle| &mut vehicle.front.tyre.loaded_radius_mm,
    |vehicle| &mut vehicle.rear.left.spring.free_length_mm,
    |vehicle| &mut vehicle.rear.left.spring_length_at_reference_mm,
    |vehicle| &mut vehicle.rear.left.motion_ratio,
    |vehicle| &mut vehicle.rear.left.installation_angle_deg,
    |vehicle| vehicle.rear.left.droop_limit_mm.get_or_insert(0.0),
    |vehicle| &mut vehicle.rear.left.unsprung_mass_kg,
    |vehicle| match &mut vehicle.rear.left.spring.characteristic {
        Characteristic::Linear { rate_n_per_mm } => rate_n_per_mm,
        other => panic!("{other:?}"),
    },
];
const EXTREMES: [f64; 15] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN_POSITIVE,
    0.0,
    -0.0,
    -1.0,
    1e-9,
    1.0,
    80.0,
    500.0,
    4_000.0,
    10_000.0,
    100_000.0,
];

#[test]
fn no_extreme_of_any_field_gives_a_number_that_is_none() {
    for field in FIELDS {
        for extreme in EXTREMES {
            let mut vehicle = plain_vehicle();
            *field(&mut vehicle) = extreme;
            match solve(&vehicle) {
                Ok(stance) => {
                    let mut numbers = vec![stance.heave_mm, stance.lean_deg, stance.rake_deg];
                    numbers.push(stance.cross_weight_share);
                    for wheel in stance.wheels {
                        numbers.extend([
                            wheel.load_n,
                            wheel.spring_force_n,
                            wheel.travel_mm,
                            wheel.spring_length_mm,
                        ]);
                    }
                    assert!(
                        numbers.iter().all(|number| number.is_finite()),
                        "{extreme}: {stance:?}"
                    );
                    let weight_n = vehicle.mass_kg() * 9.80665;
                    assert!(
                        (stance.total_load_n() - weight_n).abs() <= 1e-8 * weight_n,
                        "{extreme}: {stance:?}"
                    );
                }
                Err(StanceError::NotConverged { residual_n }) => {
                    panic!("{extreme}: {residual_n} {vehicle:?}")
                }
                Err(_) => {}
            }
        }
    }
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
