//! Volumes, levels, surfaces and centres.

use ostler_core::tanks::contents::ContentsInput;
use ostler_core::tanks::{CylinderAxis, Shape, Surface, TankPosition, contents};
use proptest::prelude::*;

use super::assert_close;

fn lying(diameter_mm: f64, length_mm: f64) -> Shape {
    Shape::HorizontalCylinder {
        diameter_mm,
        length_mm,
        axis: CylinderAxis::Lengthwise,
    }
}

/// Plain geometry; own calculation.
#[test]
fn capacities_are_those_of_the_solids() {
    let prism = Shape::RectangularPrism {
        length_mm: 1_200.0,
        width_mm: 500.0,
        height_mm: 300.0,
    };
    assert_close(prism.capacity_l().unwrap(), 180.0, 1e-12);
    let standing = Shape::VerticalCylinder {
        diameter_mm: 400.0,
        height_mm: 1_000.0,
    };
    assert_close(standing.capacity_l().unwrap(), 125.663_706_143_591_72, 1e-12);
    assert_close(
        lying(400.0, 1_000.0).capacity_l().unwrap(),
        125.663_706_143_591_72,
        1e-12,
    );
}

/// Circular segment of radius 1 and height 1/2: area `pi/3 - sqrt(3)/4 = 0.614 185`, standard geometry;
/// own calculation.
#[test]
fn a_lying_cylinder_filled_to_a_quarter_of_its_height_holds_the_segment() {
    let tank = lying(2_000.0, 1_000.0);
    assert_close(tank.volume_l(500.0).unwrap(), 614.184_849_304_378_4, 1e-12);
    assert_close(tank.level_mm(614.184_849_304_378_4).unwrap(), 500.0, 1e-12);
}

/// The centre of a half disc lies `4 r / 3 pi` from its centre, standard geometry; own calculation.
#[test]
fn a_half_full_lying_cylinder_has_the_centre_of_a_half_disc() {
    let radius_mm = 300.0;
    let expected_mm = radius_mm - 4.0 * radius_mm / (3.0 * std::f64::consts::PI);
    assert_close(
        lying(600.0, 900.0).liquid_centre_mm(300.0).unwrap(),
        expected_mm,
        1e-12,
    );
}

/// Half the mantle and two half discs; own calculation.
#[test]
fn wetted_surface_of_a_half_full_lying_cylinder_is_half_of_all() {
    let pi = std::f64::consts::PI;
    let expected_m2 = (pi * 0.6 * 0.9 + 2.0 * pi * 0.09) / 2.0;
    assert_close(
        lying(600.0, 900.0).wetted_surface_m2(300.0).unwrap(),
        expected_m2,
        1e-12,
    );
    let prism = Shape::RectangularPrism {
        length_mm: 800.0,
        width_mm: 600.0,
        height_mm: 400.0,
    };
    assert_close(prism.wetted_surface_m2(200.0).unwrap(), 0.48 + 0.4 * 1.4, 1e-12);
}

#[test]
fn the_free_surface_of_a_lying_cylinder_is_its_chord() {
    let tank = lying(500.0, 900.0);
    assert_eq!(tank.free_surface(0.0).unwrap(), None);
    let Some(Surface::Rectangle { length_mm, width_mm }) = tank.free_surface(50.0).unwrap() else {
        panic!("a lying cylinder has a rectangular surface");
    };
    assert_close(length_mm, 900.0, 1e-12);
    // 3-4-5 triangle: 200 below the axis on a radius of 250 leaves a chord of 2 x 150.
    assert_close(width_mm, 300.0, 1e-12);
}

/// 110 l of petrol at 745 kg/m3 in a 38 kg shell; own calculation.
#[test]
fn brimful_contents_give_the_mass_to_restrain() {
    let input = ContentsInput {
        shape: Shape::RectangularPrism {
            length_mm: 1_000.0,
            width_mm: 400.0,
            height_mm: 275.0,
        },
        position: TankPosition {
            x_mm: 2_350.0,
            y_mm: -120.0,
            floor_z_mm: 700.0,
        },
        density_kg_per_m3: 745.0,
        shell_mass_kg: 38.0,
        volume_l: None,
    };
    let full = contents(&input).unwrap();
    assert_close(full.liquid_mass_kg, 81.95, 1e-12);
    assert_close(full.mass_kg, 119.95, 1e-12);
    assert_close(full.weight_n, 119.95 * 9.80665, 1e-12);
    assert_close(full.z_mm, 837.5, 1e-12);
    assert_eq!((full.x_mm, full.y_mm), (2_350.0, -120.0));
    let half = contents(&ContentsInput {
        volume_l: Some(55.0),
        ..input
    })
    .unwrap();
    assert!(half.z_mm < full.z_mm && half.mass_kg < full.mass_kg);
}

fn shapes() -> impl Strategy<Value = Shape> {
    let side = 20.0..3_000.0_f64;
    prop_oneof![
        (side.clone(), side.clone(), side.clone()).prop_map(|(length_mm, width_mm, height_mm)| {
            Shape::RectangularPrism {
                length_mm,
                width_mm,
                height_mm,
            }
        }),
        (side.clone(), side.clone()).prop_map(|(diameter_mm, length_mm)| Shape::HorizontalCylinder {
            diameter_mm,
            length_mm,
            axis: CylinderAxis::Crosswise
        }),
        (side.clone(), side).prop_map(|(diameter_mm, height_mm)| Shape::VerticalCylinder {
            diameter_mm,
            height_mm
        }),
    ]
}

proptest! {
    #[test]
    fn volume_rises_with_level_and_can_be_inverted(
        shape in shapes(),
        one in 0.0..=1.0_f64,
        other in 0.0..=1.0_f64,
    ) {
        let (low_mm, high_mm) = (one.min(other) * shape.height_mm(), one.max(other) * shape.height_mm());
        let (low_l, high_l) = (shape.volume_l(low_mm).unwrap(), shape.volume_l(high_mm).unwrap());
        prop_assert!(low_l <= high_l);
        prop_assert!(high_l <= shape.capacity_l().unwrap());
        let back_l = shape.volume_l(shape.level_mm(low_l).unwrap()).unwrap();
        prop_assert!((back_l - low_l).abs() <= 1e-9 * shape.capacity_l().unwrap());
        prop_assert!(shape.wetted_surface_m2(low_mm).unwrap() <= shape.wetted_surface_m2(high_mm).unwrap());
    }

    #[test]
    fn the_centre_of_the_liquid_lies_within_it_and_rises_with_it(
        shape in shapes(),
        one in 0.0..=1.0_f64,
        other in 0.0..=1.0_f64,
    ) {
        let (low_mm, high_mm) = (one.min(other) * shape.height_mm(), one.max(other) * shape.height_mm());
        let (low, high) = (shape.liquid_centre_mm(low_mm).unwrap(), shape.liquid_centre_mm(high_mm).unwrap());
        prop_assert!(low >= 0.0 && low <= low_mm);
        prop_assert!(low <= high + 1e-5 * shape.height_mm());
    }

    #[test]
    fn a_lying_cylinder_is_symmetric_about_its_axis(
        diameter_mm in 20.0..3_000.0_f64,
        part in 0.0..=1.0_f64,
    ) {
        let tank = lying(diameter_mm, 1_000.0);
        let capacity_l = tank.capacity_l().unwrap();
        let level_mm = part * diameter_mm;
        let both_l = tank.volume_l(level_mm).unwrap() + tank.volume_l(diameter_mm - level_mm).unwrap();
        prop_assert!((both_l - capacity_l).abs() <= 1e-9 * capacity_l);
    }
}
