//! The gate of wheels: the vehicle of the record on its springs, and measured heights with their causes.

use std::collections::BTreeMap;

use ostler_core::answer::Answer;
use ostler_core::readiness::{Earlier, Packs, assess_by};
use ostler_core::record::{
    Date, Hand, HeightKind, HeightReading, Heights, Position, Readings, Record, Weighing, WheelPosition,
};

use super::fixture::{answer, gate, of, outlook, ready, worst};
use crate::builder::{date, id, name, part, v1_mut};

fn finding_of<'a>(
    gate: &'a ostler_core::readiness::Gate,
    figure: &str,
) -> &'a ostler_core::readiness::Finding {
    gate.findings
        .iter()
        .find(|finding| finding.figures.iter().any(|held| held.id == figure))
        .unwrap()
}

/// Moves all cargo to the right.
fn load_to_the_right(record: &mut Record, y_mm: f64) {
    for item in record.cargo_items.values_mut() {
        item.position = Some(Position {
            x_mm: 2_500.0,
            y_mm,
            z_mm: None,
        });
    }
}

#[test]
fn a_level_vehicle_is_met_and_its_wheels_carry_its_weight() {
    let (record, departure) = ready();
    let gate = gate(&of(&record, &departure), "wheels");
    assert_eq!(gate.answer, Answer::Met, "{gate:?}");
    let wheels = finding_of(&gate, "rear_left_wheel_load_kg");
    let sum: f64 = wheels.figures.iter().map(|figure| figure.value).sum();
    let state = ostler_core::loads::compute(&record, &departure, crate::builder::v1(&record));
    assert!(
        (sum - state.total.load_kg).abs() < 1e-6,
        "{sum} {}",
        state.total.load_kg
    );
}

#[test]
fn load_to_a_side_is_not_met_and_names_the_side_and_the_moment() {
    let (mut record, departure) = ready();
    load_to_the_right(&mut record, 1_500.0);
    let lean = |record: &Record| {
        let gate = gate(&of(record, &departure), "wheels");
        finding_of(&gate, "lean_mm").clone()
    };
    let finding = lean(&record);
    assert_eq!(finding.answer, Answer::NotMet);
    // By hand: 11.1 kg of fuel go from 0.3 m right on the first leg and 18.5 kg on the second, 14 kg of water from
    // 0.3 m left on each: the first leg moves the load by 0.9 kg m to the right, both together by 0.5 to the left.
    assert!(
        finding.text.contains("right lower") && finding.text.contains("at the end of l1"),
        "{}",
        finding.text
    );
    assert_eq!(finding.figures[0].limit, Some(30.0));
    load_to_the_right(&mut record, -1_500.0);
    let finding = lean(&record);
    assert!(
        finding.text.contains("left lower") && finding.text.contains("at the end of l2"),
        "{}",
        finding.text
    );
}

#[test]
fn a_margin_below_the_warning_share_is_a_condition() {
    let (record, mut departure) = ready();
    departure.policy.rake_change_max_mm = Some(1e-3);
    assert_eq!(answer(&of(&record, &departure), "wheels"), Answer::NotMet);
    let rake = finding_of(&gate(&of(&record, &departure), "wheels"), "rake_change_mm").figures[0].value;
    departure.policy.rake_change_max_mm = Some(rake * 1.05);
    departure.policy.margin_warn_fraction = Some(0.1);
    let gate = gate(&of(&record, &departure), "wheels");
    assert_eq!(
        finding_of(&gate, "rake_change_mm").answer,
        Answer::MetWithConditions
    );
}

#[test]
fn a_bump_stop_that_is_pressed_is_not_met() {
    let (mut record, departure) = ready();
    let suspension = v1_mut(&mut record).specification.suspension.as_mut().unwrap();
    suspension.rear.bump_travel_mm = Some(0.0);
    let finding = worst(&of(&record, &departure), "wheels");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.text.contains("bump stop"), "{}", finding.text);
}

#[test]
fn springs_that_cannot_be_are_not_known() {
    let (mut record, departure) = ready();
    let coil = record.parts.get_mut(&name("parts/coil")).unwrap();
    coil.figures.insert(id("rate_n_per_mm"), -50.0);
    let finding = worst(&of(&record, &departure), "wheels");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(finding.text.contains("rate_n_per_mm"), "{}", finding.text);
}

#[test]
fn sides_weighed_wheel_by_wheel_need_no_stated_centre() {
    let (mut record, departure) = ready();
    let suspension = v1_mut(&mut record).specification.suspension.as_mut().unwrap();
    suspension.bare_centre_y_mm = None;
    record.weighings.values_mut().next().unwrap().readings = Some(Readings::Wheels {
        front_left_kg: 625.0,
        front_right_kg: 625.0,
        rear_left_kg: 575.0,
        rear_right_kg: 575.0,
    });
    assert_eq!(answer(&of(&record, &departure), "wheels"), Answer::Met);
}

/// Handed rear springs, the right one 30 mm longer, on the wrong sides.
fn exchange_rear_springs(record: &mut Record) {
    for (fitted_on, hand, free_length_mm) in [("right", Hand::Left, 385.0), ("left", Hand::Right, 415.0)] {
        let mut spring = part(&format!("coil-for-{}", hand.word()), None);
        spring.kind = id("spring");
        spring.hand = Some(hand);
        spring.figures = BTreeMap::from([
            (id("rate_n_per_mm"), 50.0),
            (id("free_length_mm"), free_length_mm),
        ]);
        let fitment = v1_mut(record)
            .fitments
            .get_mut(&id(&format!("spring.rear.{fitted_on}")))
            .unwrap();
        fitment.part = Some(spring.name.clone());
        record.parts.insert(spring.name.clone(), spring);
    }
}

fn measure(record: &mut Record, day: &str, left_mm: f64, right_mm: f64) {
    let reading = |wheel, height_mm| HeightReading {
        wheel,
        kind: HeightKind::ArchToFloor,
        height_mm,
        tolerance_mm: None,
    };
    let weighed_date: Date = date(day);
    let heights = Weighing {
        name: name("weighings/heights"),
        weighed_date,
        readings: None,
        fills: Vec::new(),
        people: Vec::new(),
        fitted_parts: BTreeMap::new(),
        heights: Some(Heights {
            floor_level: true,
            readings: vec![
                reading(WheelPosition::RearLeft, left_mm),
                reading(WheelPosition::RearRight, right_mm),
            ],
        }),
        ..crate::builder::weighing("v1")
    };
    record.weighings.insert(heights.name.clone(), heights);
}

#[test]
fn exchanged_springs_lead_the_causes_of_a_measured_lean() {
    let (mut record, mut departure) = ready();
    departure.policy.lean_max_mm = Some(15.0);
    exchange_rear_springs(&mut record);
    // What the bare vehicle shows with them exchanged, by hand: 30 mm x 50 N/mm x 0.5 m make 750 N m against two axles
    // of 1/2 50 1000^2 N mm/rad each: 0.015 rad, at 1 600 mm 24 mm.
    measure(&mut record, "2027-04-20", 919.0, 895.0);
    let gate = gate(&of(&record, &departure), "wheels");
    let finding = finding_of(&gate, "measured_lean_mm");
    assert_eq!(finding.answer, Answer::NotMet);
    for said in [
        "24 mm lower",
        "most probable cause: rear springs exchanged left for right",
        "rear right 24.0 mm lower",
    ] {
        assert!(finding.text.contains(said), "{said}: {}", finding.text);
    }
    assert!(finding.remedy.contains("measure next"), "{}", finding.remedy);
    let predicted = finding
        .figures
        .iter()
        .find(|figure| figure.id == "leading_rear_difference_mm")
        .unwrap();
    assert!((predicted.value - 24.0).abs() < 0.01, "{predicted:?}");
    assert!(
        finding
            .records
            .contains(&name("vehicles/v1/fitments/spring.rear.left"))
    );
}

/// What is kept of a diagnosis counts for an equal question only: with it every state of a record reads as without.
#[test]
fn a_kept_diagnosis_changes_no_answer() {
    let (mut record, mut departure) = ready();
    departure.policy.lean_max_mm = Some(15.0);
    exchange_rear_springs(&mut record);
    let earlier = Earlier::default();
    let mut seen = Vec::new();
    for (left_mm, right_mm) in [(919.0, 895.0), (930.0, 895.0), (919.0, 895.0), (895.0, 925.0)] {
        measure(&mut record, "2027-04-20", left_mm, right_mm);
        let outlook = outlook(&record, &departure).into();
        let packs = Packs::of(&record, &departure);
        let fresh = of(&record, &departure);
        let kept = assess_by(&record, &departure, None, &outlook, &packs, &earlier);
        assert_eq!(kept, fresh, "{left_mm} {right_mm}");
        seen.push(
            finding_of(&gate(&kept, "wheels"), "measured_lean_mm")
                .text
                .clone(),
        );
    }
    assert_eq!(seen[0], seen[2]);
    assert!(seen[0] != seen[1] && seen[0] != seen[3], "{seen:?}");
}

#[test]
fn a_measured_lean_without_the_suspension_is_not_met_and_says_what_is_missing() {
    let (mut record, mut departure) = ready();
    departure.policy.lean_max_mm = Some(15.0);
    measure(&mut record, "2027-04-20", 919.0, 895.0);
    v1_mut(&mut record).specification.suspension = None;
    let gate = gate(&of(&record, &departure), "wheels");
    let finding = finding_of(&gate, "measured_lean_mm");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(!finding.missing.is_empty());
}

#[test]
fn heights_older_than_the_springs_say_nothing() {
    let (mut record, departure) = ready();
    measure(&mut record, "2027-04-20", 900.0, 900.0);
    assert_eq!(answer(&of(&record, &departure), "wheels"), Answer::Met);
    let fitment = v1_mut(&mut record)
        .fitments
        .get_mut(&id("spring.rear.left"))
        .unwrap();
    fitment.fitted_date = Some(date("2027-04-25"));
    let finding = worst(&of(&record, &departure), "wheels");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(!finding.missing.is_empty());
}
