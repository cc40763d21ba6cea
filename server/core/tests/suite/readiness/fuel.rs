//! The gates of fuel.

use ostler_core::answer::Answer;
use ostler_core::fuel::consumption::{MassCorrection, RateProvenance};
use ostler_core::readiness::{Gate, Readiness};
use ostler_core::record::{
    Departure, ExtraFuelPlaces, FuelContainer, Record, SupplyGate, SupplyKind, SupplyPoint,
};

use super::fixture::{answer, evidence, item, of, ready, worst};
use crate::builder::{add_vehicle, at, fill, going, id, name, vehicle, weighing};

fn shared(readiness: &Readiness) -> &Gate {
    readiness
        .gates
        .iter()
        .find(|gate| gate.id == "fuel_shared")
        .unwrap()
}

/// Fills the main tank of the first vehicle.
pub(super) fn fill_main(departure: &mut Departure, litres: f64) {
    departure.vehicles[0].fills[0] = fill("main", litres);
}

/// Adds a second vehicle like the first, with this much fuel.
pub(super) fn add_second(record: &mut Record, departure: &mut Departure, litres: f64) {
    add_vehicle(record, vehicle("v2"), weighing("v2"));
    departure
        .vehicles
        .push(going("v2", vec![fill("main", litres), fill("water", 0.0)]));
    let inspection = item("inspection-2", "inspection", Some("v2"), []);
    record.regulated_items.insert(inspection.name.clone(), inspection);
    let paper = evidence("paper-2", "inspection-paper", Some("v2"), None);
    record.evidence.insert(paper.name.clone(), paper);
}

/// 100 km at 12 and 100 km at 20 litres, a tenth more driven, a fifth in reserve: 42.24 l (own calculation).
#[test]
fn fuel_is_met_with_just_enough_and_not_met_below() {
    for (litres, expected) in [(44.25, Answer::Met), (44.23, Answer::NotMet)] {
        let (record, mut departure) = ready();
        fill_main(&mut departure, litres);
        let readiness = of(&record, &departure);
        assert_eq!(
            answer(&readiness, "fuel"),
            expected,
            "{litres} l, of which 2 l stay in the tank"
        );
        assert_eq!(shared(&readiness).answer, expected);
    }
    let (record, mut departure) = ready();
    fill_main(&mut departure, 34.0);
    let short = worst(&of(&record, &departure), "fuel");
    assert!(short.text.contains("10.2 l, 24.2 % short"), "{}", short.text);
    assert!(!short.figures.is_empty() && !short.remedy.is_empty());
}

#[test]
fn what_others_can_give_is_a_condition_on_both_gates() {
    let (mut record, mut departure) = ready();
    fill_main(&mut departure, 34.0);
    add_second(&mut record, &mut departure, 100.0);
    let readiness = of(&record, &departure);
    let short = readiness
        .vehicles
        .iter()
        .find(|one| one.vehicle == name("vehicles/v1"))
        .unwrap();
    let gate = short.gates.iter().find(|gate| gate.id == "fuel").unwrap();
    assert_eq!(gate.answer, Answer::MetWithConditions);
    assert!(
        gate.findings[0].remedy.contains("from v2 to v1"),
        "{:?}",
        gate.findings[0]
    );
    assert_eq!(shared(&readiness).answer, Answer::MetWithConditions);
}

#[test]
fn what_others_cannot_give_names_the_least_to_carry() {
    let (record, mut departure) = ready();
    fill_main(&mut departure, 34.0);
    departure.fuel_containers.push(FuelContainer {
        id: id("can"),
        display_name: "10 l can".to_owned(),
        fill_l: 10.0,
        unusable_l: 0.1,
        empty_mass_kg: 2.0,
    });
    let uncovered = shared(&of(&record, &departure)).clone();
    assert_eq!(uncovered.answer, Answer::NotMet);
    assert!(
        uncovered.findings[0].remedy.contains("0.0 l of the 10.2 l"),
        "{uncovered:?}"
    );
    departure.vehicles[0].extra_fuel_places = Some(ExtraFuelPlaces {
        count: 3,
        position: at(2_500.0, 0.0),
    });
    let covered = shared(&of(&record, &departure)).clone();
    assert!(
        covered.findings[0].remedy.contains("2 x 10 l can on V1"),
        "{covered:?}"
    );
}

#[test]
fn a_rate_that_was_not_measured_as_driven_is_a_condition() {
    let (record, mut departure) = ready();
    let basis = departure.vehicles[0].consumption_basis.as_mut().unwrap();
    basis.provenance = RateProvenance::MeasuredUnloaded;
    assert_eq!(
        answer(&of(&record, &departure), "fuel"),
        Answer::MetWithConditions
    );
    let basis = departure.vehicles[0].consumption_basis.as_mut().unwrap();
    basis.mass_correction = Some(MassCorrection {
        measured_at_kg: 2_400.0,
        mass_share: 0.5,
    });
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::Met);
    departure.vehicles[0].consumption_basis = None;
    assert_eq!(
        answer(&of(&record, &departure), "fuel"),
        Answer::MetWithConditions
    );
}

/// A correction for a mass that is not known, or that leaves out the people, gives no consumption.
#[test]
fn a_rate_that_follows_the_mass_needs_the_mass() {
    let (mut record, mut departure) = ready();
    let basis = departure.vehicles[0].consumption_basis.as_mut().unwrap();
    basis.mass_correction = Some(MassCorrection {
        measured_at_kg: 2_400.0,
        mass_share: 0.5,
    });
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::Met);
    let crew = std::mem::take(&mut departure.crew);
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::NotKnown);
    departure.crew = crew;
    record.weighings.clear();
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::NotKnown);
}

#[test]
fn the_chance_of_running_out_is_held_against_the_policy() {
    let (record, mut departure) = ready();
    fill_main(&mut departure, 45.0);
    departure.vehicles[0]
        .consumption_basis
        .as_mut()
        .unwrap()
        .spread_fraction = Some(0.2);
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::Met);
    departure.policy.fuel_chance_max = Some(0.01);
    let likely = worst(&of(&record, &departure), "fuel");
    assert_eq!(likely.answer, Answer::NotMet);
    assert!(likely.text.contains("chance"), "{}", likely.text);
    departure.policy.fuel_chance_max = Some(0.5);
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::Met);
    departure.vehicles[0]
        .consumption_basis
        .as_mut()
        .unwrap()
        .spread_fraction = None;
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::NotKnown);
}

#[test]
fn an_unconfirmed_point_counts_as_nothing_and_a_confirmed_one_fills_up() {
    let (record, mut departure) = ready();
    fill_main(&mut departure, 34.0);
    departure.supply_points.push(SupplyPoint {
        id: id("pump"),
        place: "end of l1".to_owned(),
        supplies: vec![SupplyKind::Diesel],
        confirmed: false,
        order_by_date: None,
        note: String::new(),
    });
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::NotMet);
    departure.supply_points[0].confirmed = true;
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::Met);
    departure.supply_points[0].supplies = vec![SupplyKind::Petrol];
    assert_eq!(answer(&of(&record, &departure), "fuel"), Answer::NotMet);
}

#[test]
fn only_the_policy_can_leave_fuel_out() {
    let (record, mut departure) = ready();
    fill_main(&mut departure, 3.0);
    departure.policy.fuel_reserve = None;
    let silent = of(&record, &departure);
    assert_eq!(answer(&silent, "fuel"), Answer::NotKnown);
    assert_eq!(shared(&silent).answer, Answer::NotKnown);
    departure.policy.gates_not_asked.insert(SupplyGate::Fuel);
    let left_out = of(&record, &departure);
    assert_eq!(answer(&left_out, "fuel"), Answer::Met);
    assert!(worst(&left_out, "fuel").text.contains("does not ask"));
    assert_eq!(shared(&left_out).answer, Answer::Met);
}
