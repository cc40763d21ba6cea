//! Values from outside, and derived ones.

use ostler_core::answer::Answer;
use ostler_core::loads::{Baseline, compute};
use ostler_core::record::integrity::density_bounds_kg_per_l;
use ostler_core::record::{Fluid, Position, Readings};

use crate::builder::{add_cargo, at, cargo, departure, fill, kg, record, v1, v1_mut};

/// A page on towing weights (read): 300 kg on the coupling load the rear axle with 432 kg where the
/// coupling stands 0.44 wheelbases behind it. The front axle loses the difference.
#[test]
fn three_hundred_kilograms_on_the_coupling() {
    let mut record = record();
    let departure = departure();
    let before = compute(&record, &departure, v1(&record));
    let mut item = cargo("coupling", "v1", "rear", kg(300.0, 0.0));
    item.position = Some(at(3_000.0 * 1.44, 0.0));
    add_cargo(&mut record, item);
    let after = compute(&record, &departure, v1(&record));
    let gain = |load: fn(&ostler_core::loads::LoadResult) -> f64| load(&after) - load(&before);
    assert!((gain(|loads| loads.rear_axle.as_ref().unwrap().load_kg) - 432.0).abs() < 1e-9);
    assert!((gain(|loads| loads.front_axle.as_ref().unwrap().load_kg) + 132.0).abs() < 1e-9);
    assert!((gain(|loads| loads.total.load_kg) - 300.0).abs() < 1e-9);
    let line = after
        .lines
        .iter()
        .find(|line| &*line.display_name == "item coupling")
        .unwrap();
    assert!((line.rear_axle_kg.unwrap() - 432.0).abs() < 1e-9);
    assert!((line.front_axle_kg.unwrap() + 132.0).abs() < 1e-9);
}

/// Own calculation from moments: pads of 690, 710, 820, 780 kg, wheelbase 2,850 mm, tracks 1,550 and
/// 1,540 mm give 3,000 kg, 1,520 mm aft, 5.1 mm to the left.
#[test]
fn four_pads_give_the_place_of_the_baseline() {
    let mut record = record();
    let mut weighing = record.weighings.values().next().unwrap().clone();
    weighing.readings = Some(Readings::Wheels {
        front_left_kg: 690.0,
        front_right_kg: 710.0,
        rear_left_kg: 820.0,
        rear_right_kg: 780.0,
    });
    weighing.fills.clear();
    weighing.people.clear();
    record.weighings.insert(weighing.name.clone(), weighing.clone());
    let specification = &mut v1_mut(&mut record).specification;
    specification.wheelbase_mm = Some(2_850.0);
    specification.front_track_mm = Some(1_550.0);
    specification.rear_track_mm = Some(1_540.0);
    let loads = compute(&record, &departure(), v1(&record));
    assert_eq!(loads.baseline, Baseline::Weighing(weighing.name.clone()));
    let line = loads
        .lines
        .iter()
        .find(|line| line.record == weighing.name)
        .unwrap();
    let Position { x_mm, y_mm, .. } = line.position.unwrap();
    assert!((line.mass_kg - 3_000.0).abs() < 1e-9);
    assert!((x_mm - 1_520.0).abs() < 1e-9, "{x_mm}");
    assert!((y_mm + 5.1).abs() < 0.01, "{y_mm}");
    // Four readings of 5 kg each: 10 kg together, 7.1 kg on an axle.
    assert!((line.tolerance_kg.unwrap() - 10.0).abs() < 1e-9);
    assert!((line.front_axle_kg.unwrap() - 1_400.0).abs() < 1e-9);
}

/// EN 590 allows diesel of 0.820 to 0.845 kg/l and EN 228 petrol of 0.720 to 0.775 kg/l at 15 degrees
/// Celsius (both read in a secondary copy): 100 l weigh between 82.0 and 84.5, and 72.0 and 77.5 kg.
#[test]
fn a_hundred_litres_of_fuel_at_the_bounds_of_the_standards() {
    for (fluid, least_kg, most_kg) in [(Fluid::Diesel, 82.0, 84.5), (Fluid::Petrol, 72.0, 77.5)] {
        let (least, most) = density_bounds_kg_per_l(fluid).unwrap();
        for (density, expected_kg) in [(least, least_kg), (most, most_kg)] {
            let mut record = record();
            record.fleet.fluid_densities_kg_per_l.insert(fluid, density);
            v1_mut(&mut record).specification.tanks[0].fluid = fluid;
            let loads = compute(&record, &departure(), v1(&record));
            assert!(
                (loads.fuel_mass_kg - expected_kg).abs() < 1e-9,
                "{}",
                loads.fuel_mass_kg
            );
        }
    }
}

/// By hand. Baseline: 1,250 + 1,150 kg, less 42 kg of diesel at 2/3 and a man of 80 kg at 7/15 of the
/// wheelbase. Then the gearbox (+20 kg at 0.3), a man, 84 kg of diesel, 60 kg of water in its tank of
/// 4 kg, 30 kg on the roof and 80 kg in the rear.
#[test]
fn every_term_by_hand() {
    let record = record();
    let loads = compute(&record, &departure(), v1(&record));
    assert_eq!(loads.missing, Vec::<String>::new());
    let rear_kg = 1_150.0 - 42.0 * 2.0 / 3.0 - 80.0 * 7.0 / 15.0
        + 20.0 * 0.3
        + 85.0 * 7.0 / 15.0
        + 84.0 * 2.0 / 3.0
        + 64.0 * 0.6
        + 30.0 * 0.5
        + 80.0 * 1.1;
    let total_kg = 2_400.0 - 42.0 - 80.0 + 20.0 + 85.0 + 84.0 + 64.0 + 30.0 + 80.0;
    assert!((loads.total.load_kg - total_kg).abs() < 1e-9);
    assert!((loads.rear_axle.as_ref().unwrap().load_kg - rear_kg).abs() < 1e-9);
    assert!((loads.front_axle.as_ref().unwrap().load_kg - (total_kg - rear_kg)).abs() < 1e-9);
    assert!((loads.baseline_mass_kg - 2_278.0).abs() < 1e-9);
    assert!((loads.fitment_change_kg - 20.0).abs() < 1e-9);
    assert!((loads.crew_mass_kg - 85.0).abs() < 1e-9);
    assert!((loads.fuel_mass_kg - 84.0).abs() < 1e-9);
    assert!((loads.water_mass_kg - 64.0).abs() < 1e-9);
    assert!((loads.cargo_mass_kg - 110.0).abs() < 1e-9);
    // 85 kg at 0.4 m, 84 kg at 0.3 m, 64 kg at -0.3 m.
    assert!((loads.lateral_moment_kgm - (34.0 + 25.2 - 19.2)).abs() < 1e-9);
    // Readings 5 and 5, weigher 1, gearboxes 0.5 and 0.5, man 1, water tank 0.1, tent 1, crates 2 x 1.
    let variance = 25.0 + 25.0 + 1.0 + 0.5 + 1.0 + 0.01 + 1.0 + 4.0_f64;
    assert!((loads.total.uncertainty_kg - variance.sqrt()).abs() < 1e-9);
    // The diesel at the weighing, the diesel and the water now.
    assert_eq!(loads.total.untoleranced_count, 3);
    assert_eq!(loads.total.answer, Answer::Met);
}

/// A container that held water on the scale goes with it; a tank that the weighing does not list was
/// empty, and its container was not there.
#[test]
fn a_full_container_leaves_the_baseline_with_its_contents() {
    let mut record = record();
    let before = compute(&record, &departure(), v1(&record));
    record
        .weighings
        .values_mut()
        .next()
        .unwrap()
        .fills
        .push(fill("water", 10.0));
    let after = compute(&record, &departure(), v1(&record));
    assert!((before.baseline_mass_kg - after.baseline_mass_kg - 14.0).abs() < 1e-9);
}
