//! The gates of tyres and of spare wheels.

use ostler_core::answer::Answer;
use ostler_core::readiness::{Finding, Readiness};
use ostler_core::record::InterfaceValue;
use ostler_core::tyres::MakerTable;
use ostler_core::tyres::maker_table::PressureRow;
use ostler_core::tyres::wheel_fit::Tube;

use super::fixture::{answer, gate, of, ready, worst};
use super::tyre_fixture::{marking, part_mut, policy, tyre, wheel};
use crate::builder::{fitment, id, name, v1, v1_mut};

fn saying<'a>(gate: &'a ostler_core::readiness::Gate, words: &str) -> &'a Finding {
    let found = gate.findings.iter().find(|finding| finding.text.contains(words));
    found.unwrap_or_else(|| panic!("{words}: {gate:#?}"))
}

fn convoy(readiness: &Readiness) -> ostler_core::readiness::Gate {
    let found = readiness.gates.iter().find(|gate| gate.id == "spares_fit");
    found.unwrap().clone()
}

/// Fits `part_id` at `end`.
fn fit(record: &mut ostler_core::record::Record, place: &str, part_id: &str) {
    let fitted = fitment("v1", place, part_id);
    v1_mut(record).fitments.insert(id(place), fitted);
}

/// Load index 123 is 1,550 kg and 80 is 450 kg: the load index table, read in secondary copies that agree.
#[test]
fn a_load_within_the_load_index_is_met_and_above_it_is_not() {
    let (mut record, departure) = ready();
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(found.answer, Answer::Met, "{found:#?}");
    let rear = saying(&found, "rear tyres: ");
    assert_eq!(rear.figures[0].limit, Some(1_550.0));
    let states = ostler_core::loads::states(&record, &departure, v1(&record));
    let heaviest_kg = states
        .iter()
        .map(|state| state.rear_axle.as_ref().unwrap().load_kg)
        .fold(0.0, f64::max);
    // On springs the heavier side carries at least half of the axle, and never all of it here.
    assert!(
        (heaviest_kg / 2.0..heaviest_kg).contains(&rear.figures[0].value),
        "{rear:?}"
    );
    marking(&mut record).designation = "LT265/75R16 80Q TL".parse().unwrap();
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "carries 450 kg").answer, Answer::NotMet);
}

#[test]
fn a_margin_in_doubt_is_a_condition() {
    let (record, mut departure) = ready();
    departure.policy.confidence_deviations = Some(10.0);
    departure.policy.margin_warn_fraction = Some(0.9);
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "rear tyres: ").answer, Answer::MetWithConditions);
}

/// By hand: 450 kPa x (load / 1,550 kg)^(1/0.7).
#[test]
fn a_pressure_below_the_need_is_not_met_unless_it_is_reduced_on_purpose() {
    let (record, mut departure) = ready();
    let found = gate(&of(&record, &departure), "tyres");
    let rear_kg = saying(&found, "rear tyres: ").figures[0].value;
    let pressure = &saying(&found, "rear tyres on gravel, sand").figures[0];
    let needed_kpa = 450.0 * (rear_kg / 1_550.0_f64).powf(1.0 / 0.7);
    assert!(
        (pressure.limit.unwrap() - needed_kpa).abs() < 1e-6,
        "{pressure:?} {needed_kpa}"
    );
    departure.vehicles[0].tyre_pressures[0].rear_kpa = needed_kpa - 1.0;
    assert_eq!(answer(&of(&record, &departure), "tyres"), Answer::NotMet);
    departure.vehicles[0].tyre_pressures[0].reduced = true;
    let finding = worst(&of(&record, &departure), "tyres");
    assert_eq!(finding.answer, Answer::MetWithConditions);
    assert!(finding.text.contains("at most 80 km/h"), "{}", finding.text);
    assert!(finding.remedy.contains("overheats"), "{}", finding.remedy);
}

#[test]
fn the_placard_and_the_rating_are_conditions_on_a_pressure() {
    let (record, mut departure) = ready();
    for (kpa, said) in [(235.0, "below the placard"), (460.0, "above the 450 kPa")] {
        departure.vehicles[0].tyre_pressures[0].front_kpa = kpa;
        let found = gate(&of(&record, &departure), "tyres");
        assert_eq!(saying(&found, said).answer, Answer::MetWithConditions);
    }
}

#[test]
fn the_makers_table_is_never_undercut() {
    let (mut record, departure) = ready();
    let row = |pressure_kpa, capacity_kg| PressureRow {
        pressure_kpa,
        capacity_kg,
    };
    marking(&mut record).pressure_table = Some(MakerTable {
        rows: vec![row(310.0, 1_000.0), row(450.0, 1_550.0)],
        source: "made up".to_owned(),
    });
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "the load needs 310 kPa").answer, Answer::NotMet);
    marking(&mut record).pressure_table = Some(MakerTable {
        rows: vec![row(100.0, 200.0), row(200.0, 300.0)],
        source: "made up".to_owned(),
    });
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(
        saying(&found, "above the tyre maker's table").answer,
        Answer::NotMet
    );
}

/// Speed symbol Q is 160 km/h (read in secondary copies and in a maker's handbook page).
#[test]
fn more_speed_than_the_symbol_allows_is_not_met() {
    let (record, mut departure) = ready();
    departure.vehicles[0].tyre_pressures[0].speed_max_km_per_h = 161.0;
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "allows 160 km/h").answer, Answer::NotMet);
}

#[test]
fn another_size_on_one_axle_is_not_met() {
    let (mut record, departure) = ready();
    let other = tyre("other-tyre", "LT245/75R16 123/120Q TL");
    record.parts.insert(other.name.clone(), other);
    fit(&mut record, "tyre.rear.right", "other-tyre");
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "different sizes").answer, Answer::NotMet);
}

#[test]
fn a_tyre_of_another_rim_or_without_its_tube_is_not_met() {
    let (mut record, departure) = ready();
    part_mut(&mut record, "road-wheel")
        .figures
        .insert(id("rim_diameter_in"), 16.5);
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "different diameters").answer, Answer::NotMet);
    let (mut record, departure) = ready();
    part_mut(&mut record, "road-wheel")
        .wheel
        .as_mut()
        .unwrap()
        .airtight = Some(false);
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "a tube is needed").answer, Answer::NotMet);
    marking(&mut record).tube = Some(Tube::Fitted {
        radial_rated: Some(true),
    });
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "runs hot").answer, Answer::MetWithConditions);
}

/// By hand: 33 mm of stud less 20 mm of nave are 13 mm, one diameter is 14 mm.
#[test]
fn too_little_thread_and_another_seat_are_not_met() {
    let (mut record, departure) = ready();
    let nave = |record: &mut _, mm| {
        let wheel = part_mut(record, "road-wheel");
        let kind = wheel
            .interfaces
            .iter_mut()
            .find(|found| &*found.kind == "nave_thickness");
        kind.unwrap().value = Some(InterfaceValue::LengthMm(mm));
    };
    nave(&mut record, 20.0);
    let found = gate(&of(&record, &departure), "tyres");
    let finding = saying(&found, "engage 13.0 mm");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.remedy.contains("1.0 mm longer"), "{}", finding.remedy);
    nave(&mut record, 19.0);
    assert_eq!(answer(&of(&record, &departure), "tyres"), Answer::Met);
    let wheel = part_mut(&mut record, "road-wheel");
    let seat = wheel
        .interfaces
        .iter_mut()
        .find(|found| &*found.kind == "nut_seat");
    seat.unwrap().value = Some(InterfaceValue::Text("flat with washer".to_owned()));
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(
        saying(&found, "which needs flat with washer").answer,
        Answer::NotMet
    );
}

/// 285/75R16 for 265/75R16 is 3.73 % more, 103.73 km/h at indicated 100 (computed from the published design-size form).
#[test]
fn a_larger_tyre_than_the_policy_allows_is_not_met() {
    let (mut record, mut departure) = ready();
    marking(&mut record).designation = "LT285/75R16 123/120Q TL".parse().unwrap();
    let found = gate(&of(&record, &departure), "tyres");
    let finding = saying(&found, "103.7 km/h");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!((finding.figures[0].value - 3.732).abs() < 0.001, "{finding:?}");
    policy(&mut departure).diameter_change_max_percent = Some(4.0);
    assert_eq!(answer(&of(&record, &departure), "tyres"), Answer::Met);
}

#[test]
fn less_service_than_the_placard_is_a_condition() {
    let (mut record, departure) = ready();
    marking(&mut record).designation = "LT265/75R16 120Q TL".parse().unwrap();
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "less service").answer, Answer::MetWithConditions);
}

#[test]
fn a_capacity_that_contradicts_the_marking_is_not_known() {
    let (mut record, departure) = ready();
    let tyre = part_mut(&mut record, "road-tyre");
    tyre.interfaces.push(ostler_core::record::Interface {
        kind: id("load_capacity_kg"),
        value: Some(InterfaceValue::Number(2_000.0)),
    });
    let finding = worst(&of(&record, &departure), "tyres");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(
        finding.text.contains("1550") && finding.text.contains("2000"),
        "{}",
        finding.text
    );
}

#[test]
fn dual_tyres_are_not_known() {
    let (mut record, departure) = ready();
    let further = crate::builder::slot("tyre.rear.left-inner", 3_000.0);
    v1_mut(&mut record).specification.slots.push(further);
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "tyre.rear.left-inner").answer, Answer::NotKnown);
}

#[test]
fn a_spare_that_is_like_the_fitted_wheels_serves() {
    let (record, departure) = ready();
    let found = convoy(&of(&record, &departure));
    assert_eq!(found.answer, Answer::Met, "{found:#?}");
    assert!(found.findings[0].text.contains("tent"), "{found:#?}");
}

#[test]
fn a_spare_of_another_bolt_circle_does_not_serve_and_one_of_another_type_in_emergency_only() {
    let (mut record, departure) = ready();
    let mut other = wheel("other-wheel");
    let circle = other
        .interfaces
        .iter_mut()
        .find(|found| &*found.kind == "wheel_bolt_circle");
    if let Some(InterfaceValue::BoltCircle(circle)) = &mut circle.unwrap().value {
        circle.count = 6;
    }
    record.parts.insert(other.name.clone(), other);
    let spare = |record: &mut ostler_core::record::Record, wheel: Option<&str>, tyre: &str| {
        let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
        let spare = tent.spare_wheel.as_mut().unwrap();
        spare.wheel_part = wheel.map(|wheel| name(&format!("parts/{wheel}")));
        spare.tyre_part = Some(name(&format!("parts/{tyre}")));
    };
    spare(&mut record, Some("other-wheel"), "road-tyre");
    let found = convoy(&of(&record, &departure));
    assert_eq!(found.answer, Answer::NotMet);
    assert!(found.findings[0].text.contains("6x150 on 5x150"), "{found:#?}");
    let tubed = tyre("tubed-tyre", "LT265/75R16 123/120Q TT");
    record.parts.insert(tubed.name.clone(), tubed);
    spare(&mut record, Some("road-wheel"), "tubed-tyre");
    assert_eq!(convoy(&of(&record, &departure)).answer, Answer::MetWithConditions);
    // A tyre without a rim helps, but has to be fitted first.
    spare(&mut record, None, "road-tyre");
    assert_eq!(convoy(&of(&record, &departure)).answer, Answer::MetWithConditions);
}

#[test]
fn a_spare_left_at_home_serves_nobody() {
    let (mut record, departure) = ready();
    let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
    tent.spare_wheel = None;
    assert_eq!(convoy(&of(&record, &departure)).answer, Answer::NotMet);
}

/// Puts a second tyre beside each one of the rear axle.
fn twin(record: &mut ostler_core::record::Record, part_id: &str) {
    for side in ["left", "right"] {
        let place = format!("tyre.rear.{side}.inner");
        let mut inner = crate::builder::slot(&place, 3_000.0);
        inner.kind = id("tyre");
        v1_mut(record).specification.slots.push(inner);
        fit(record, &place, part_id);
    }
}

/// Load index 120 is 1,400 kg (table read in secondary copies): two side by side carry the dual index each, and half of the end.
#[test]
fn two_tyres_side_by_side_share_the_load_and_carry_by_their_dual_index() {
    let (mut record, departure) = ready();
    let states = ostler_core::loads::states(&record, &departure, v1(&record));
    let of_trip = |record: &ostler_core::record::Record| {
        ostler_core::tyres::trip::trip_tyres(record, &departure, v1(record), &states)
    };
    let [front, single] = of_trip(&record).axles;
    twin(&mut record, "road-tyre");
    let [same, dual] = of_trip(&record).axles;
    assert_eq!((&front, single.is_dual, dual.is_dual), (&same, false, true));
    assert_eq!(dual.capacity_kg, Some(1_400.0));
    let (single_kg, dual_kg) = (single.load.unwrap().load_kg, dual.load.clone().unwrap().load_kg);
    assert!((dual_kg - single_kg / 2.0).abs() < 1e-9, "{single_kg} {dual_kg}");
    // The declared model: p = 450 kPa x (load / capacity)^(1 / 0.7), by hand from its own formula.
    let by_hand_kpa = 450.0 * (dual_kg / 1_400.0_f64).powf(1.0 / 0.7);
    assert!((dual.needed_kpa.unwrap() - by_hand_kpa).abs() < 1e-6, "{dual:?}");
    assert_eq!(answer(&of(&record, &departure), "tyres"), Answer::Met);
}

#[test]
fn twins_that_differ_are_not_met_and_without_a_dual_index_not_known() {
    let (mut record, departure) = ready();
    let other = tyre("other-tyre", "LT235/85R16 120/116Q TL");
    record.parts.insert(other.name.clone(), other);
    twin(&mut record, "other-tyre");
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(
        saying(&found, "do not share the load evenly").answer,
        Answer::NotMet
    );
    let (mut record, departure) = ready();
    twin(&mut record, "road-tyre");
    marking(&mut record).designation = "LT265/75R16 123Q TL".parse().unwrap();
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "for two side by side").answer, Answer::NotKnown);
    v1_mut(&mut record).fitments.remove(&id("tyre.rear.left.inner"));
    let found = gate(&of(&record, &departure), "tyres");
    assert_eq!(saying(&found, "tyre.rear.left.inner").answer, Answer::NotKnown);
}

#[test]
fn every_moment_has_its_own_need_and_the_worst_is_that_of_the_trip() {
    let (record, departure) = ready();
    let states = ostler_core::loads::states(&record, &departure, v1(&record));
    let tyres = ostler_core::tyres::trip::trip_tyres(&record, &departure, v1(&record), &states);
    for axle in &tyres.axles {
        assert_eq!(axle.states.len(), states.len());
        let needs: Vec<f64> = axle
            .states
            .iter()
            .map(|state| state.needed_kpa.unwrap())
            .collect();
        let most = needs.iter().copied().fold(0.0, f64::max);
        assert!((most - axle.needed_kpa.unwrap()).abs() < 1e-9, "{needs:?}");
        assert!(
            needs.iter().any(|needed| *needed < most),
            "lighter under way: {needs:?}"
        );
    }
}
