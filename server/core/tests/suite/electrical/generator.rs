//! Whether the generator stays at home.

use ostler_core::electrical::generator::{
    Answer, CarriedItem, Demand, DemandKind, GeneratorQuestion, leave_generator,
};

use super::{INVERTER, WELDER, bank, close};

fn question(current_a: f64) -> GeneratorQuestion {
    let item = |name: &str, mass_kg, x_mm| CarriedItem {
        name: name.to_owned(),
        vehicle: "V4".to_owned(),
        mass_kg,
        x_mm,
        y_mm: -600.0,
        z_mm: 1_350.0,
    };
    GeneratorQuestion {
        demands: vec![Demand {
            name: "weld a spring hanger".to_owned(),
            kind: DemandKind::Welding {
                welder: WELDER,
                current_a,
            },
            hours: 0.25,
            every_days: 7,
        }],
        bank: bank(),
        inverter: INVERTER,
        other_draw_wh_per_day: Some(600.0),
        offered_wh_per_day: Some(1_500.0),
        days: 14,
        left_at_home: vec![
            item("generator", 58.0, 3_700.0),
            item("petrol for it", 37.6, 4_300.0),
        ],
        comes_instead: vec![item("inverter", 12.0, 3_000.0)],
    }
}

#[test]
fn the_generator_stays_at_home_or_not() {
    let light = leave_generator(&question(80.0)).unwrap();
    assert_eq!(light.answer, Answer::Yes, "{:?}", light.reasons);
    close(light.mass_saved_kg, 83.6, 1e-9);
    let heavy = leave_generator(&question(120.0)).unwrap();
    assert_eq!(heavy.answer, Answer::No);
    assert!(
        heavy.reasons[0].text.contains("battery current limit"),
        "{:?}",
        heavy.reasons
    );
    let unknown = leave_generator(&GeneratorQuestion {
        other_draw_wh_per_day: None,
        ..question(80.0)
    })
    .unwrap();
    assert_eq!(unknown.answer, Answer::NotKnown);
    let dark = leave_generator(&GeneratorQuestion {
        offered_wh_per_day: Some(0.0),
        ..question(80.0)
    })
    .unwrap();
    assert_eq!(dark.answer, Answer::No);
    assert!(dark.reasons[1].text.starts_with("short by"), "{:?}", dark.reasons);
}

#[test]
fn a_demand_over_every_limit_is_no_not_a_panic() {
    let mut wild = question(160.0);
    wild.demands[0].hours = 24.0;
    wild.demands.push(Demand {
        name: "furnace".to_owned(),
        kind: DemandKind::Mains {
            power_w: 1e6,
            power_factor: None,
        },
        hours: 24.0,
        every_days: 1,
    });
    wild.demands = vec![wild.demands; 400].concat();
    assert_eq!(leave_generator(&wild).unwrap().answer, Answer::No);
}
