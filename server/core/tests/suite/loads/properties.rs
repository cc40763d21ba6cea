//! Properties of the sums.

use ostler_core::loads::{LoadResult, compute};
use ostler_core::record::Record;
use proptest::prelude::*;

use crate::builder::{add_cargo, at, cargo, departure, kg, record, v1};

/// Mass, tolerance, x, y of each item.
type Items = Vec<(f64, f64, f64, f64)>;

fn items() -> impl Strategy<Value = Items> {
    let item = (
        0.1..400.0_f64,
        0.0..20.0_f64,
        -900.0..5_000.0_f64,
        -800.0..800.0_f64,
    );
    prop::collection::vec(item, 1..12)
}

fn loaded(items: &Items) -> Record {
    let mut record = record();
    for (index, (mass_kg, tolerance_kg, x_mm, y_mm)) in items.iter().enumerate() {
        let mut item = cargo(&format!("c{index}"), "v1", "rear", kg(*mass_kg, *tolerance_kg));
        item.position = Some(at(*x_mm, *y_mm));
        add_cargo(&mut record, item);
    }
    record
}

fn loads(items: &Items) -> LoadResult {
    let record = loaded(items);
    compute(&record, &departure(), v1(&record))
}

fn axles_kg(loads: &LoadResult) -> (f64, f64) {
    let axle = |load: &Option<ostler_core::loads::LoadAgainstLimit>| load.as_ref().unwrap().load_kg;
    (axle(&loads.front_axle), axle(&loads.rear_axle))
}

proptest! {
    #[test]
    fn axles_sum_to_the_total_and_moments_balance(items in items()) {
        let loads = loads(&items);
        let (front_kg, rear_kg) = axles_kg(&loads);
        prop_assert!((front_kg + rear_kg - loads.total.load_kg).abs() < 1e-6);
        // About the front axle, with the wheelbase of 3,000 mm.
        let centre_x_mm = loads.centre_x_mm.unwrap();
        prop_assert!((rear_kg * 3_000.0 - loads.total.load_kg * centre_x_mm).abs() < 1e-3);
        let of_lines = |share: fn(&ostler_core::loads::LoadLine) -> f64| -> f64 {
            loads.lines.iter().map(|line| share(line)).sum()
        };
        prop_assert!((of_lines(|line| line.mass_kg) - loads.total.load_kg).abs() < 1e-6);
        prop_assert!((of_lines(|line| line.rear_axle_kg.unwrap()) - rear_kg).abs() < 1e-6);
        prop_assert!((of_lines(|line| line.front_axle_kg.unwrap()) - front_kg).abs() < 1e-6);
        let groups_kg = loads.baseline_mass_kg + loads.fitment_change_kg + loads.crew_mass_kg
            + loads.fuel_mass_kg + loads.water_mass_kg + loads.cargo_mass_kg;
        prop_assert!((groups_kg - loads.total.load_kg).abs() < 1e-6);
    }

    #[test]
    fn moving_aft_never_loads_the_front_axle(items in items(), by_mm in 0.0..3_000.0_f64) {
        let before = axles_kg(&loads(&items));
        let mut moved = items;
        moved[0].2 += by_mm;
        let after = axles_kg(&loads(&moved));
        prop_assert!(after.0 <= before.0 + 1e-9);
        prop_assert!(after.1 >= before.1 - 1e-9);
    }

    #[test]
    fn a_mass_between_the_axles_lightens_neither(items in items(), mass_kg in 0.1..500.0_f64, x_mm in 0.0..3_000.0_f64) {
        let before = axles_kg(&loads(&items));
        let mut more = items;
        more.push((mass_kg, 1.0, x_mm, 0.0));
        let after = axles_kg(&loads(&more));
        prop_assert!(after.0 >= before.0 - 1e-9 && after.1 >= before.1 - 1e-9);
    }

    #[test]
    fn mirrored_cargo_mirrors_its_moment(items in items()) {
        let bare = loads(&Vec::new()).lateral_moment_kgm;
        let mirrored: Items = items.iter().map(|(m, t, x, y)| (*m, *t, *x, -y)).collect();
        let (there, back) = (loads(&items), loads(&mirrored));
        prop_assert!((there.lateral_moment_kgm - bare + (back.lateral_moment_kgm - bare)).abs() < 1e-6);
        prop_assert_eq!(axles_kg(&there), axles_kg(&back));
    }

    #[test]
    fn uncertainty_grows_with_every_tolerance(items in items(), more_kg in 0.1..50.0_f64) {
        let before = loads(&items);
        let mut looser = items;
        looser[0].1 += more_kg;
        let after = loads(&looser);
        prop_assert!(after.total.uncertainty_kg > before.total.uncertainty_kg);
        prop_assert!(after.total.answer >= before.total.answer);
        let axles = |loads: &LoadResult| [loads.front_axle.clone().unwrap(), loads.rear_axle.clone().unwrap()];
        for (before, after) in axles(&before).iter().zip(&axles(&after)) {
            prop_assert!(after.uncertainty_kg >= before.uncertainty_kg);
            prop_assert!(after.answer >= before.answer);
        }
    }

    #[test]
    fn numbers_stay_finite_and_answers_are_given_for_any_item(
        mass_kg in prop::num::f64::ANY, tolerance_kg in prop::num::f64::ANY,
        x_mm in prop::num::f64::ANY, y_mm in prop::num::f64::ANY,
    ) {
        let loads = loads(&vec![(mass_kg, tolerance_kg, x_mm, y_mm)]);
        let (front_kg, rear_kg) = axles_kg(&loads);
        let numbers = [front_kg, rear_kg, loads.total.load_kg, loads.total.uncertainty_kg,
            loads.lateral_moment_kgm, loads.roof.load_kg, loads.cargo_mass_kg];
        prop_assert!(numbers.iter().all(|number| number.is_finite()), "{:?}", numbers);
    }
}
