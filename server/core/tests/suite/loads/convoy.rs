//! Four invented vehicles with their cargo put together at its centre, against values of simple statics
//! that were computed beforehand by other means.

use ostler_core::loads::compute;
use ostler_core::record::{Fluid, Position, Readings};

use crate::builder::{add_cargo, at, cargo, departure, fill, going, kg, person, record, tank, v1, v1_mut};

struct Case {
    wheelbase_mm: f64,
    weighed_kg: (f64, f64),
    /// Litres of diesel when weighed, in the first tank.
    weighed_fuel_l: f64,
    /// Fluid, litres, mass of the container, place.
    tanks: &'static [(Fluid, f64, f64, f64)],
    /// Mass and place.
    people: &'static [(f64, f64)],
    /// Mass and place of cargo and of what was fitted after the weighing.
    cargo: &'static [(f64, f64)],
    /// Total, front, rear.
    expected_kg: (f64, f64, f64),
}

use Fluid::{Diesel, Water};

const CASES: [Case; 4] = [
    Case {
        wheelbase_mm: 2_850.0,
        weighed_kg: (1_378.0, 1_340.0),
        weighed_fuel_l: 40.0,
        tanks: &[
            (Diesel, 93.0, 0.0, 1_950.0),
            (Diesel, 180.0, 0.0, 3_230.0),
            (Diesel, 100.0, 20.0, 2_350.0),
            (Water, 90.0, 4.0, 1_980.0),
        ],
        people: &[(88.0, 1_400.0), (76.0, 1_400.0)],
        cargo: &[(472.9, 1_309_350.0 / 472.9)],
        expected_kg: (3_748.6, 1_515.8, 2_232.9),
    },
    Case {
        wheelbase_mm: 3_220.0,
        weighed_kg: (1_330.0, 1_170.0),
        weighed_fuel_l: 30.0,
        tanks: &[
            (Diesel, 145.0, 0.0, 2_350.0),
            (Diesel, 115.0, 9.0, 2_950.0),
            (Diesel, 60.0, 12.0, 4_640.0),
            (Water, 40.0, 3.0, 3_050.0),
            (Water, 40.0, 5.0, 2_830.0),
        ],
        people: &[(85.0, 1_520.0), (72.0, 1_520.0)],
        cargo: &[(422.4, 1_533_480.0 / 422.4)],
        expected_kg: (3_432.0, 1_374.2, 2_057.8),
    },
    Case {
        wheelbase_mm: 2_980.0,
        weighed_kg: (1_235.0, 1_276.0),
        weighed_fuel_l: 50.0,
        tanks: &[
            (Diesel, 180.0, 0.0, 2_600.0),
            (Diesel, 110.0, 0.0, 2_350.0),
            (Diesel, 100.0, 20.0, 3_350.0),
            (Water, 70.0, 0.0, 2_050.0),
            (Water, 40.0, 3.0, 2_550.0),
        ],
        people: &[(90.0, 1_320.0), (70.0, 1_320.0), (80.0, 2_120.0)],
        cargo: &[(555.3, 1_634_310.0 / 555.3), (38.0, 2_350.0)],
        expected_kg: (3_762.9, 1_410.7, 2_352.2),
    },
    Case {
        wheelbase_mm: 3_400.0,
        weighed_kg: (2_150.0, 1_900.0),
        weighed_fuel_l: 60.0,
        tanks: &[
            (Diesel, 140.0, 0.0, 1_850.0),
            (Diesel, 132.0, 0.0, 1_850.0),
            (Diesel, 200.0, 18.0, 1_500.0),
            (Diesel, 120.0, 24.0, 2_500.0),
            (Water, 280.0, 28.0, 2_350.0),
        ],
        people: &[(95.0, 150.0), (82.0, 150.0)],
        cargo: &[(1_387.6, 4_465_355.0 / 1_387.6)],
        expected_kg: (6_411.5, 2_706.7, 3_704.8),
    },
];

#[test]
fn four_vehicles_within_a_tenth_of_a_kilogram() {
    for case in &CASES {
        let mut record = record();
        let mut departure = departure();
        record.cargo_items.clear();
        let weighing = record.weighings.values_mut().next().unwrap();
        weighing.readings = Some(Readings::Axles {
            front_kg: case.weighed_kg.0,
            rear_kg: case.weighed_kg.1,
        });
        weighing.fills = vec![fill("t0", case.weighed_fuel_l)];
        weighing.people.clear();
        weighing.fitted_parts.clear();
        let vehicle = v1_mut(&mut record);
        vehicle.fitments.clear();
        vehicle.specification.wheelbase_mm = Some(case.wheelbase_mm);
        vehicle.specification.tanks = case
            .tanks
            .iter()
            .enumerate()
            .map(|(index, (fluid, capacity_l, empty_kg, x_mm))| {
                let mut tank = tank(&format!("t{index}"), *fluid, *capacity_l, at(*x_mm, 0.0));
                tank.empty_mass = Some(kg(*empty_kg, 0.5)).filter(|_| *empty_kg > 0.0);
                tank
            })
            .collect();
        let fills = vehicle
            .specification
            .tanks
            .iter()
            .map(|tank| fill(&tank.id, tank.capacity_l))
            .collect();
        departure.vehicles = vec![going("v1", fills)];
        departure.crew = case
            .people
            .iter()
            .enumerate()
            .map(|(index, (mass_kg, x_mm))| {
                person(&format!("p{index}"), "v1", kg(*mass_kg, 1.0), at(*x_mm, 0.0))
            })
            .collect();
        for (index, (mass_kg, x_mm)) in case.cargo.iter().enumerate() {
            let mut item = cargo(&format!("c{index}"), "v1", "rear", kg(*mass_kg, 1.0));
            item.position = Some(Position {
                x_mm: *x_mm,
                ..at(0.0, 0.0)
            });
            add_cargo(&mut record, item);
        }
        let loads = compute(&record, &departure, v1(&record));
        assert_eq!(loads.missing, Vec::<String>::new());
        let (total_kg, front_kg, rear_kg) = case.expected_kg;
        assert!(
            (loads.total.load_kg - total_kg).abs() < 0.1,
            "{}",
            loads.total.load_kg
        );
        assert!((loads.front_axle.unwrap().load_kg - front_kg).abs() < 0.1);
        assert!((loads.rear_axle.unwrap().load_kg - rear_kg).abs() < 0.1);
    }
}
