//! The gate of tanks: room to expand, flow to the pump, walls under test pressure, what shifts.

use ostler_core::answer::Answer;
use ostler_core::record::{SupplyGate, integrity};
use ostler_core::tanks::{Division, Passage, Shape};

use super::fixture::{answer, gate, of, ready, worst};
use crate::builder::v1_mut;

#[test]
fn a_tank_with_room_flow_and_walls_is_met() {
    let (record, departure) = ready();
    let gate = gate(&of(&record, &departure), "tanks");
    assert_eq!(gate.answer, Answer::Met, "{gate:#?}");
    // Room, flow, walls, what shifts.
    assert_eq!(gate.findings.len(), 4, "{gate:#?}");
    assert!(gate.summary.contains("free at 50 °C"), "{}", gate.summary);
}

// Table 54B (constants read in secondary copies) gives 840 kg/m3 an expansion of 594.5418/840^2 = 0.000 842 6 per degree: by
// hand exp(0.029491 x (1 + 0.8 x 0.029491)) = 1.030 65 over 35 degrees, so 110 l may be filled with 0.98 x 110 / 1.030 65 = 104.6 l.
#[test]
fn fuel_that_outgrows_its_tank_is_not_met_and_the_fill_is_named() {
    let (mut record, mut departure) = ready();
    v1_mut(&mut record).specification.tanks[0].build.brimful_l = Some(101.0);
    departure.vehicles[0].fills[0].volume_l = 100.0;
    let finding = worst(&of(&record, &departure), "tanks");
    assert_eq!(finding.answer, Answer::NotMet, "{finding:#?}");
    assert!(finding.text.contains("would spill"), "{}", finding.text);
    // 0.98 x 101 / 1.03065.
    assert!(finding.remedy.contains("at most 96.0 l"), "{}", finding.remedy);
    v1_mut(&mut record).specification.tanks[0].build.brimful_l = Some(104.5);
    let finding = worst(&of(&record, &departure), "tanks");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.text.contains("has only"), "{}", finding.text);
}

#[test]
fn holes_that_pass_too_little_or_a_cell_without_air_are_not_met() {
    for spoil in [
        (|chain| chain.baffles[0].holes[0].count = 1) as fn(&mut ostler_core::tanks::CellChain),
        |chain| chain.cells[1].is_vented = false,
        |chain| chain.baffles[0].holes[0].height_mm = 100.0,
    ] {
        let (mut record, departure) = ready();
        let build = &mut v1_mut(&mut record).specification.tanks[0].build;
        spoil(build.inside.as_mut().unwrap().chain.as_mut().unwrap());
        build.pump.as_mut().unwrap().rate_l_per_min = 5.0;
        let finding = worst(&of(&record, &departure), "tanks");
        assert_eq!(finding.answer, Answer::NotMet, "{finding:#?}");
        assert!(!finding.remedy.is_empty());
    }
}

// A square plate with free edges, Roark 7th edition table 11.4 case 1a (read): 0.2874 q b^2 / t^2. For 20 kPa, 200 mm and 3 mm
// that is 25.5 MPa; held edges give 0.3078 (from memory) and 27.4 MPa.
#[test]
fn walls_over_their_share_of_yield_are_not_met_and_bulging_ones_not_known() {
    let (mut record, mut departure) = ready();
    let gate_met = gate(&of(&record, &departure), "tanks");
    let mut figures = gate_met.findings.iter().flat_map(|finding| &finding.figures);
    let stress = figures.find(|figure| figure.id == "wall_stress_mpa").unwrap();
    assert!(
        (stress.value - 0.3078 * 0.02 * (200.0_f64 / 3.0).powi(2)).abs() < 0.01,
        "{stress:?}"
    );
    departure.policy.tanks.as_mut().unwrap().yield_share_max = Some(0.1);
    assert_eq!(answer(&of(&record, &departure), "tanks"), Answer::NotMet);
    let build = &mut v1_mut(&mut record).specification.tanks[0].build;
    build.walls.as_mut().unwrap().bays_mm = vec![(600.0, 600.0)];
    let finding = worst(&of(&record, &departure), "tanks");
    assert_eq!(finding.answer, Answer::NotKnown, "{finding:#?}");
    assert!(finding.missing[0].contains("bulges"), "{finding:#?}");
}

#[test]
fn what_shifts_is_a_condition_and_a_closed_wall_lengthwise_clears_it() {
    let (mut record, mut departure) = ready();
    departure.policy.tanks.as_mut().unwrap().free_surface_rise_max_mm = Some(2.0);
    let finding = worst(&of(&record, &departure), "tanks");
    assert_eq!(finding.answer, Answer::MetWithConditions, "{finding:#?}");
    assert_eq!(finding.key, "free_surface_rise_mm");
    for tank in &mut v1_mut(&mut record).specification.tanks {
        tank.build.inside.as_mut().unwrap().lengthwise_walls = vec![Division {
            from_left_mm: 250.0,
            passage: Passage::Closed,
        }];
    }
    assert_eq!(answer(&of(&record, &departure), "tanks"), Answer::Met);
}

#[test]
fn a_departure_may_leave_tanks_out_and_then_says_so() {
    let (mut record, mut departure) = ready();
    departure.policy.tanks = None;
    assert_eq!(answer(&of(&record, &departure), "tanks"), Answer::NotKnown);
    departure.policy.gates_not_asked.insert(SupplyGate::Tanks);
    v1_mut(&mut record).specification.tanks[0].build.inside = None;
    let finding = worst(&of(&record, &departure), "tanks");
    assert_eq!(finding.answer, Answer::Met);
    assert!(finding.text.contains("does not ask"), "{}", finding.text);
}

#[test]
fn an_inside_that_contradicts_itself_is_refused_with_its_path() {
    let (mut record, _) = ready();
    let vehicle = v1_mut(&mut record);
    let build = &mut vehicle.specification.tanks[0].build;
    build.pump.as_mut().unwrap().pickup_height_mm = 400.0;
    build.inside.as_mut().unwrap().shape = Shape::RectangularPrism {
        length_mm: 700.0,
        width_mm: 500.0,
        height_mm: 275.0,
    };
    let refused = integrity::vehicle(vehicle);
    let fields: Vec<&str> = refused.iter().map(|one| one.field.as_str()).collect();
    for field in ["pump.pickup_height_mm", "inside.cells", "inside"] {
        let path = format!("specification.tanks[0].{field}");
        assert!(fields.contains(&path.as_str()), "{path} in {fields:?}");
    }
}
