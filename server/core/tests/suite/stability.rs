//! Checks of `ostler_core::stability`.

#![cfg(test)]

use ostler_core::stability::{
    AxleLift, HeightMethod, ItemHeight, LiftReading, LiftedAxle, PadReadings, Precondition, Stance,
    axle_lift_height, ceilings, height_by_estimate, height_from_items, plan_centre, static_stability_factor,
};
use proptest::prelude::*;

fn pads() -> PadReadings {
    PadReadings {
        front_left_kg: 690.0,
        front_right_kg: 710.0,
        rear_left_kg: 820.0,
        rear_right_kg: 780.0,
        reading_uncertainty_kg: 2.0,
        wheelbase_mm: 2_850.0,
        track_front_mm: 1_550.0,
        track_rear_mm: 1_540.0,
    }
}

/// Own calculation from moments: 3,000 kg, x 1.520 m, y 5.1 mm to the left.
#[test]
fn centre_of_mass_from_four_pads() {
    let centre = plan_centre(&pads()).unwrap();
    assert!((centre.mass_kg - 3_000.0).abs() < 1e-9);
    assert!((centre.x_mm - 1_520.0).abs() < 0.5);
    assert!((centre.y_mm + 5.1).abs() < 0.05);
    // Each of the pads counts with its distance from the centre, 2 kg in 3,000.
    assert!(
        centre.x_uncertainty_mm > 1.5 && centre.x_uncertainty_mm < 2.5,
        "{}",
        centre.x_uncertainty_mm
    );
    let refused = plan_centre(&PadReadings {
        rear_left_kg: -1.0,
        wheelbase_mm: 0.0,
        ..pads()
    })
    .unwrap_err();
    assert_eq!(refused.violations.len(), 2);
}

/// The readings behind a true height of 800 mm: 3,000 kg, level 1,600 rear, wheelbase 2,850 mm, radius 380 mm.
fn lift() -> AxleLift {
    let reading = |angle_deg, scale_kg| LiftReading {
        lifted: LiftedAxle::Front,
        angle_deg,
        scale_kg,
    };
    AxleLift {
        mass_kg: 3_000.0,
        wheelbase_mm: 2_850.0,
        loaded_radius_front_mm: 380.0,
        loaded_radius_rear_mm: 380.0,
        radius_uncertainty_mm: 3.0,
        scale_uncertainty_kg: 2.0,
        angle_uncertainty_deg: 0.1,
        readings: vec![
            reading(0.0, 1_600.0),
            reading(10.0, 1_677.96),
            reading(15.0, 1_718.46),
            reading(20.0, 1_760.91),
        ],
        confirmed: Precondition::TO_CONFIRM.to_vec(),
    }
}

/// Formula of ISO 10392 from memory, not verified; readings by own calculation: each step alone and all together
/// return 800 mm.
#[test]
fn height_from_a_raised_front_axle() {
    let all = lift();
    let found = axle_lift_height(&all).unwrap();
    assert!(
        (found.height.height_mm - 800.0).abs() < 0.1,
        "{}",
        found.height.height_mm
    );
    assert!((found.x_mm - 1_520.0).abs() < 0.05);
    assert_eq!(found.height.method, HeightMethod::AxleLift);
    assert!(found.unconfirmed.is_empty());
    assert!(
        found
            .residuals_kg
            .iter()
            .all(|residual_kg| residual_kg.abs() < 0.02)
    );
    assert!(found.from_scatter_mm.unwrap() < 0.1 && found.from_instruments_mm > 1.0);
    for step in 1..4 {
        let single = AxleLift {
            readings: vec![all.readings[0], all.readings[step]],
            ..all.clone()
        };
        let found = axle_lift_height(&single).unwrap();
        assert!(
            (found.height.height_mm - 800.0).abs() < 0.3,
            "{}",
            found.height.height_mm
        );
        assert_eq!(found.from_scatter_mm, None);
        assert_eq!(found.unconfirmed, [Precondition::ThreeSteps]);
    }
}

#[test]
fn unconfirmed_conditions_are_listed() {
    let open = axle_lift_height(&AxleLift {
        confirmed: vec![Precondition::FuelTanksFull],
        ..lift()
    })
    .unwrap();
    assert_eq!(open.unconfirmed.len(), Precondition::TO_CONFIRM.len() - 1);
    assert!(open.unconfirmed.contains(&Precondition::SuspensionBlocked));
}

#[test]
fn readings_that_cannot_tell_the_height_are_refused() {
    let reading = |lifted, angle_deg, scale_kg| LiftReading {
        lifted,
        angle_deg,
        scale_kg,
    };
    let with = |readings: Vec<LiftReading>| axle_lift_height(&AxleLift { readings, ..lift() });
    let cases = [
        vec![],
        vec![reading(LiftedAxle::Front, 0.0, 1_600.0); 3],
        vec![reading(LiftedAxle::Front, 15.0, 1_718.0); 3],
        // The scale under the wrong axle: the height comes out below ground.
        vec![
            reading(LiftedAxle::Front, 0.0, 1_600.0),
            reading(LiftedAxle::Front, 10.0, 1_400.0),
        ],
    ];
    for readings in cases {
        assert_eq!(with(readings).unwrap_err().violations[0].field, "readings");
    }
    let refused = with(vec![
        reading(LiftedAxle::Rear, f64::NAN, 1.0),
        reading(LiftedAxle::Rear, 60.0, -1.0),
    ])
    .unwrap_err();
    let fields: Vec<&str> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "readings[0].angle_deg",
            "readings[1].angle_deg",
            "readings[1].scale_kg"
        ]
    );
    let refused = axle_lift_height(&AxleLift {
        wheelbase_mm: 0.0,
        mass_kg: 0.0,
        ..lift()
    })
    .unwrap_err();
    assert_eq!(refused.violations.len(), 2);
    // Equal angles of both axles do tell it.
    let both = vec![
        reading(LiftedAxle::Front, 15.0, 1_718.46),
        reading(LiftedAxle::Rear, 15.0, 1_518.46),
    ];
    assert!((with(both).unwrap().height.height_mm - 800.0).abs() < 0.1);
}

/// Factor "one half the track width, t, divided by h" (agency's rule text, read). Figures by own calculation: track 1,545 mm and height
/// 800 mm give 0.9656 and 44.0 degrees; factors 1.0, 1.1, 1.2, 1.3 give 45.00, 47.73, 50.19, 52.43 degrees.
#[test]
fn stability_factor_and_sideways_ceiling() {
    let height = height_by_estimate(800.0, 40.0).unwrap();
    let factor = static_stability_factor(1_545.0, 5.0, &height).unwrap();
    assert!((factor.factor - 0.9656).abs() < 5e-5);
    assert!(
        (factor.uncertainty - 0.0484).abs() < 1e-4,
        "{}",
        factor.uncertainty
    );
    let stance = |track_mm: f64, height_mm: f64| Stance {
        wheelbase_mm: 2_850.0,
        track_front_mm: track_mm,
        track_rear_mm: track_mm,
        x_mm: 1_520.0,
        y_mm: 0.0,
        height: height_by_estimate(height_mm, 40.0).unwrap(),
    };
    let ceiling = ceilings(&stance(1_545.0, 800.0)).unwrap().sideways();
    assert!((ceiling.ceiling_deg() - 44.0).abs() < 0.005);
    assert!(ceiling.ceiling_at_upper_height_deg() < ceiling.ceiling_deg());
    assert!(ceiling.to_string().contains("not a safe slope"));
    for (factor, ceiling_deg) in [(1.0, 45.00), (1.1, 47.73), (1.2, 50.19), (1.3, 52.43)] {
        let ceiling = ceilings(&stance(1_600.0 * factor, 800.0)).unwrap().to_the_left;
        assert!((ceiling.ceiling_deg() - ceiling_deg).abs() < 0.005);
    }
    // Backwards: tan = distance to the rear axle over height (textbook).
    let fore_and_aft = ceilings(&stance(1_545.0, 800.0)).unwrap();
    assert!((fore_and_aft.uphill.ceiling_deg().to_radians().tan() - 1_330.0 / 800.0).abs() < 1e-12);
    assert!((fore_and_aft.downhill.ceiling_deg().to_radians().tan() - 1_520.0 / 800.0).abs() < 1e-12);
}

#[test]
fn a_centre_outside_the_wheels_is_refused() {
    let stance = Stance {
        wheelbase_mm: 2_850.0,
        track_front_mm: 1_550.0,
        track_rear_mm: 1_540.0,
        x_mm: 1_500.0,
        y_mm: 0.0,
        height: height_by_estimate(800.0, 40.0).unwrap(),
    };
    let field = |stance: Stance| ceilings(&stance).unwrap_err().violations[0].field.clone();
    assert_eq!(
        field(Stance {
            x_mm: 2_851.0,
            ..stance
        }),
        "x_mm"
    );
    assert_eq!(
        field(Stance {
            y_mm: -800.0,
            ..stance
        }),
        "y_mm"
    );
    assert_eq!(
        field(Stance {
            y_mm: f64::NAN,
            ..stance
        }),
        "y_mm"
    );
    assert_eq!(
        field(Stance {
            wheelbase_mm: 0.0,
            ..stance
        }),
        "wheelbase_mm"
    );
    assert_eq!(
        height_by_estimate(800.0, 0.0).unwrap_err().violations[0].field,
        "tolerance_mm"
    );
}

#[test]
fn height_from_a_list_of_items() {
    let item = |mass_kg, z_mm| ItemHeight {
        mass_kg,
        mass_uncertainty_kg: 10.0,
        z_mm,
        z_uncertainty_mm: 20.0,
    };
    let loaded = height_from_items(&[item(2_500.0, 750.0), item(500.0, 1_050.0)]).unwrap();
    assert!((loaded.height_mm - 800.0).abs() < 1e-9);
    // By hand: 20 mm × (2500, 500) / 3000 and (50, 250) mm × 10 kg / 3000.
    let expected =
        (16.666_667_f64.powi(2) + 3.333_333_f64.powi(2) + 0.166_667_f64.powi(2) + 0.833_333_f64.powi(2))
            .sqrt();
    assert!((loaded.uncertainty_mm - expected).abs() < 1e-5);
    assert_eq!(height_from_items(&[]).unwrap_err().violations[0].field, "items");
    assert_eq!(
        height_from_items(&[item(5.0, 1.0), item(-5.0, 1.0)])
            .unwrap_err()
            .violations[0]
            .field,
        "items"
    );
    assert_eq!(
        height_from_items(&[item(f64::NAN, 1.0)]).unwrap_err().violations[0].field,
        "items[0].mass_kg"
    );
}

proptest! {
    #[test]
    fn axle_lift_returns_the_height_that_made_the_readings(
        mass_kg in 1_000.0..10_000.0_f64,
        wheelbase_mm in 2_000.0..5_000.0_f64,
        along in 0.2..0.8_f64,
        above_axles_mm in 50.0..1_000.0_f64,
        radius_front_mm in 300.0..500.0_f64,
        radius_rear_mm in 300.0..500.0_f64,
        angles in proptest::collection::vec((any::<bool>(), 2.0..25.0_f64), 1..12),
    ) {
        let x_mm = along * wheelbase_mm;
        // Independent of the fit: moments about the raised axle's centre in the tilted frame.
        let scale_kg = |front: bool, angle_deg: f64| {
            let (sine, cosine) = angle_deg.to_radians().sin_cos();
            let from_raised_mm = if front { x_mm } else { wheelbase_mm - x_mm };
            mass_kg * (from_raised_mm * cosine + above_axles_mm * sine) / (wheelbase_mm * cosine)
        };
        let reading = |(front, angle_deg): (bool, f64)| LiftReading {
            lifted: if front { LiftedAxle::Front } else { LiftedAxle::Rear },
            angle_deg,
            scale_kg: scale_kg(front, angle_deg),
        };
        let readings = std::iter::once((true, 0.0)).chain(angles).map(reading).collect();
        let measured = AxleLift {
            mass_kg,
            wheelbase_mm,
            loaded_radius_front_mm: radius_front_mm,
            loaded_radius_rear_mm: radius_rear_mm,
            readings,
            ..lift()
        };
        let found = axle_lift_height(&measured).unwrap();
        let expected_mm = above_axles_mm + radius_front_mm + along * (radius_rear_mm - radius_front_mm);
        prop_assert!((found.height.height_mm - expected_mm).abs() < 1e-5 * expected_mm);
        prop_assert!((found.x_mm - x_mm).abs() < 1e-5 * x_mm);
        prop_assert!(found.height.uncertainty_mm.is_finite() && found.height.uncertainty_mm >= 3.0);
    }

    #[test]
    fn more_readings_are_never_less_certain_by_the_instruments(angle_deg in 3.0..25.0_f64) {
        let mut measured = lift();
        let before = axle_lift_height(&measured).unwrap().from_instruments_mm;
        let scale_kg = 1_600.0 + 3_000.0 * 420.0 / 2_850.0 * angle_deg.to_radians().tan();
        measured.readings.push(LiftReading { lifted: LiftedAxle::Front, angle_deg, scale_kg });
        // All readings weigh alike, so a steep one with its larger effect of the angle may cost a little.
        prop_assert!(axle_lift_height(&measured).unwrap().from_instruments_mm <= before * 1.05);
    }

    #[test]
    fn mirrored_pads_mirror_the_centre(loads in proptest::array::uniform4(1.0..2_000.0_f64)) {
        let [front_left_kg, front_right_kg, rear_left_kg, rear_right_kg] = loads;
        let one = PadReadings { front_left_kg, front_right_kg, rear_left_kg, rear_right_kg, ..pads() };
        let other = PadReadings {
            front_left_kg: front_right_kg,
            front_right_kg: front_left_kg,
            rear_left_kg: rear_right_kg,
            rear_right_kg: rear_left_kg,
            ..pads()
        };
        let (one, other) = (plan_centre(&one).unwrap(), plan_centre(&other).unwrap());
        prop_assert!((one.y_mm + other.y_mm).abs() < 1e-9 && (one.x_mm - other.x_mm).abs() < 1e-9);
        prop_assert!((0.0..=2_850.0).contains(&one.x_mm) && one.y_mm.abs() <= 775.0);
    }

    #[test]
    fn a_higher_centre_never_raises_factor_or_ceilings(
        height_mm in 300.0..2_000.0_f64,
        higher_mm in 0.0..1_000.0_f64,
        x_mm in 0.0..2_850.0_f64,
        y_mm in -700.0..700.0_f64,
    ) {
        let at = |height_mm: f64, y_mm: f64| {
            let height = height_by_estimate(height_mm, 40.0).unwrap();
            let stance = Stance { wheelbase_mm: 2_850.0, track_front_mm: 1_550.0, track_rear_mm: 1_540.0, x_mm, y_mm, height };
            (static_stability_factor(1_545.0, 5.0, &height).unwrap().factor, ceilings(&stance).unwrap())
        };
        let ((low_factor, low), (high_factor, high)) = (at(height_mm, y_mm), at(height_mm + higher_mm, y_mm));
        prop_assert!(high_factor <= low_factor);
        for (high, low) in [(high.to_the_left, low.to_the_left), (high.to_the_right, low.to_the_right), (high.uphill, low.uphill), (high.downhill, low.downhill)] {
            prop_assert!(high.ceiling_deg() <= low.ceiling_deg());
            prop_assert!(low.ceiling_at_upper_height_deg() <= low.ceiling_deg());
            prop_assert!((0.0..=90.0).contains(&low.ceiling_deg()));
        }
        let (_, mirrored) = at(height_mm, -y_mm);
        prop_assert_eq!(mirrored.to_the_left, low.to_the_right);
    }

    #[test]
    fn a_list_of_items_has_its_centre_among_them(items in proptest::collection::vec((0.1..500.0_f64, 0.0..2_500.0_f64), 1..30)) {
        let items: Vec<ItemHeight> = items
            .into_iter()
            .map(|(mass_kg, z_mm)| ItemHeight { mass_kg, mass_uncertainty_kg: 0.1, z_mm, z_uncertainty_mm: 10.0 })
            .collect();
        let height_mm = height_from_items(&items).unwrap().height_mm;
        let lowest = items.iter().map(|item| item.z_mm).fold(f64::INFINITY, f64::min);
        let highest = items.iter().map(|item| item.z_mm).fold(0.0, f64::max);
        prop_assert!(height_mm >= lowest - 1e-9 && height_mm <= highest + 1e-9);
    }
}
